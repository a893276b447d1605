//! Everything a job asks for, computed once for one set of inputs.

use nalgebra::{DVector, Vector3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::contacts::{by_pulse, with_contacts};
use super::events::{event_of, seen};
use super::levels::levels;
use super::running::{SlideResult, running};
use crate::analysis::leveling::{Outcome, leveling_plan};
use crate::analysis::snap_through::WorkForce;
use crate::analysis::statics::{
    Envelope, RailStep, Rise, Stability, Statics, StaticsOptions, Unevenness, at, envelope,
    stability, statics, unevenness, working_point,
};
use crate::analysis::transient::{self, Extrema, NO_HISTORIES, Peak, ShockOptions};
use crate::analysis::{
    BaseTransmissibility, ContactShock, Modes, Response, SnapThrough, SnapThroughOptions,
    Transmissibility, WhatIfBridged, base_transmissibility, modes, response, snap_through,
    transmissibility, what_if_bridged,
};
use crate::checks::{Feet, Sliding, sliding, worst_speed};
use crate::error::Result;
use crate::excitation::Source;
use crate::installation::{AS_IT_RUNS, Installation, Point};
use crate::job::{Fact, Harmonic, Job, Shock, SnapThroughAsked};
use crate::system::System;

/// Statics of one load case.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaseResult {
    /// Name of the load case.
    pub name: String,
    /// Mass of the machine in it, kg.
    pub mass: f64,
    /// Loads and deflections as the job asks for them.
    pub statics: Statics,
    /// Rocking about x and about y.
    pub stability: [Stability; 2],
    /// Natural frequencies in this case, Hz.
    pub frequency: Vec<f64>,
    /// Center of mass in this case, m.
    pub center: Vector3<f64>,
    /// Named points and where they are, m.
    pub points: Vec<(String, Vector3<f64>)>,
}

/// Peak motion of a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PointPeak {
    /// Name of the point.
    pub point: String,
    /// Largest displacement along an axis, m.
    pub displacement: Peak,
    /// Largest velocity along an axis, m/s.
    pub velocity: Peak,
    /// Largest acceleration along an axis, m/s^2.
    pub acceleration: Peak,
}

/// One shock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShockResult {
    /// Name of the shock.
    pub name: String,
    /// Load case.
    pub case: String,
    /// Histories and exact motion.
    pub shock: transient::Shock,
    /// Peak motion of each named point, or of the center of mass if there is none.
    pub points: Vec<PointPeak>,
    /// Least and greatest dynamic force of each mount on the ground, x y z each, N.
    pub mount_force: Vec<Extrema>,
    /// Least and greatest wrench on the ground, N and N m.
    pub ground_wrench: Vec<Extrema>,
    /// The same by source, each as if the others were silent; empty for what is no event of the press.
    pub sources: Vec<(Source, Vec<Extrema>)>,
    /// What else is to be told of it.
    pub facts: Vec<Fact>,
    /// What friction must hold; `None` where the job does not ask.
    pub sliding: Option<Sliding>,
    /// The motion with contacts that open and close, of which peaks of points, mounts and floor are;
    /// `None`: all stay as at rest.
    pub contacts: Option<Box<ContactShock>>,
}

/// One work force that breaks off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SnapThroughResult {
    /// Name of the work force.
    pub name: String,
    /// Load case.
    pub case: String,
    /// Work that the force does, J, where it is known over the way of the slide.
    pub forming_energy: Option<f64>,
    /// What it does.
    pub snap: SnapThrough,
}

/// One steady load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HarmonicResult {
    /// Name of the load.
    pub name: String,
    /// Response at its frequency.
    pub response: Response,
    /// Response to a load that rotates the other way round; `None` if it does not rotate.
    pub reversed: Option<Response>,
    /// Peak displacement of each named point along its largest axis, either way round, m.
    pub points: Vec<(String, f64)>,
    /// Peak vertical force of each mount on the ground, either way round, N.
    pub mount_force: Vec<f64>,
    /// Peak force on the ground along x, y and z, N.
    pub floor_force: [f64; 3],
    /// What friction must hold at the worst speed on the way up (Hz), for each sense of rotation;
    /// none where the job does not ask.
    pub sliding: Vec<(f64, Sliding)>,
}

/// Results for one set of inputs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Results {
    /// Statics of every load case, the machine as it runs first.
    pub cases: Vec<CaseResult>,
    /// Extremes over the load cases.
    pub envelope: Envelope,
    /// Extremes over the load cases with mounts that may pull, for the check of lift-off.
    pub bonded: Envelope,
    /// Steps of the rails of a rolling bolster, by place of the bolster and rail point.
    pub rail_steps: Vec<RailStep>,
    /// Levels of each named point over the load cases, against the machine as it runs.
    pub rises: Vec<Rise>,
    /// Influence of an uneven floor.
    pub unevenness: Unevenness,
    /// The leveling plan, or why there is none; `None` if the job does not ask.
    pub leveling: Option<Outcome>,
    /// Modes of the machine as it runs.
    pub modes: Modes,
    /// Transmissibility to a rigid floor.
    pub transmissibility: Option<Transmissibility>,
    /// Motion of a point by that of the floor; `None` where the job does not ask.
    pub base_transmissibility: Option<BaseTransmissibility>,
    /// Vertical transmissibility at the frequency of the job's limit.
    pub at_limit: Option<f64>,
    /// Shocks.
    pub shocks: Vec<ShockResult>,
    /// Work forces that break off.
    pub snap_throughs: Vec<SnapThroughResult>,
    /// Steady loads.
    pub harmonics: Vec<HarmonicResult>,
    /// Steady running of the slide; `None` if the job says nothing of it.
    pub slide: Option<SlideResult>,
    /// What each bridge that the job asks about would do, at the frequency of its section.
    pub what_if_bridged: Vec<WhatIfBridged>,
}

impl Results {
    /// Computes all that a job asks for.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn of(job: &Job) -> Result<Self> {
        Self::sampled(job, &ShockOptions::default(), None)
    }

    /// The same without the histories of shocks, for figures and checks: peaks are solved for and
    /// need none.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn without_histories(job: &Job) -> Result<Self> {
        Self::sampled(job, &no_histories(), None)
    }

    /// The same, where another job has been computed: what does not depend on where they differ is
    /// taken over.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn beside(job: &Job, known: (&Job, &Self)) -> Result<Self> {
        Self::sampled(job, &no_histories(), Some(known))
    }

    fn sampled(job: &Job, options: &ShockOptions, known: Known<'_>) -> Result<Self> {
        let inst = &job.installation;
        let known = known.filter(|(j, _)| j.installation == *inst && j.statics == job.statics);
        let still = Still::of(job, known)?;
        let (rail_steps, rises) = levels(&still.cases, &inst.points, &job.steps)?;
        let mut all = Self {
            envelope: still.envelope,
            bonded: still.bonded,
            leveling: match known.filter(|(j, _)| j.leveling == job.leveling) {
                Some((_, found)) => found.leveling.clone(),
                None => job.leveling.as_ref().map(|ask| leveling_plan(inst, ask)).transpose()?,
            },
            rail_steps,
            rises,
            unevenness: still.unevenness,
            modes: still.modes,
            transmissibility: None,
            base_transmissibility: None,
            at_limit: None,
            shocks: Vec::new(),
            snap_throughs: match known.filter(|(j, _)| j.break_throughs == job.break_throughs) {
                Some((_, found)) => found.snap_throughs.clone(),
                None => snap_throughs(job, options)?,
            },
            harmonics: Vec::new(),
            slide: match known.filter(|(j, _)| j.slide == job.slide) {
                Some((_, found)) => found.slide.clone(),
                None => running(job)?,
            },
            what_if_bridged: match known.filter(|(j, _)| j.what_if == job.what_if) {
                Some((_, found)) => found.what_if_bridged.clone(),
                None => bridged(job)?,
            },
            cases: still.cases,
        };
        all.transfer(job, known)?;
        for (i, asked) in job.shocks.iter().enumerate() {
            let same = known.filter(|(j, _)| j.shocks.get(i) == Some(asked));
            let found = match same {
                Some((_, found)) => found.shocks[i].clone(),
                None => shock_of(inst, &job.statics, asked, options)?,
            };
            all.shocks.push(all.held(job, found)?);
        }
        let before = job.shocks.len();
        for (i, asked) in job.events.iter().enumerate() {
            let same =
                known.filter(|(j, _)| j.shocks.len() == before && j.events.get(i) == Some(asked));
            let found = match same {
                Some((_, found)) => found.shocks[before + i].clone(),
                None => event_of(inst, &job.statics, asked, options)?,
            };
            all.shocks.push(all.held(job, found)?);
        }
        for (i, asked) in job.harmonics.iter().enumerate() {
            let same = known.filter(|(j, _)| j.harmonics.get(i) == Some(asked));
            let found = match same {
                Some((_, found)) => found.harmonics[i].clone(),
                None => harmonic(job, asked)?,
            };
            all.harmonics.push(all.run_up(job, asked, found)?);
        }
        Ok(all)
    }

    /// Transmissibility as asked for, and at the frequency of its limit.
    fn transfer(&mut self, job: &Job, known: Known<'_>) -> Result<()> {
        let limit = job.limits.transmissibility.as_ref().map(|limit| limit.frequency);
        let same = known.filter(|(j, _)| {
            let other = j.limits.transmissibility.as_ref().map(|limit| limit.frequency);
            j.transmissibility == job.transmissibility && other == limit
        });
        if let Some((_, found)) = same {
            self.transmissibility = found.transmissibility.clone();
            self.base_transmissibility = found.base_transmissibility.clone();
            self.at_limit = found.at_limit;
            return Ok(());
        }
        let linear = working(job, &job.installation, None)?.linear();
        if let Some(range) = &job.transmissibility {
            let frequencies = range.frequencies();
            self.transmissibility = Some(transmissibility(&linear, &frequencies, None)?);
            if let Some((_, at)) = &range.floor_motion_at {
                let found = base_transmissibility(&linear, &frequencies, Some(*at))?;
                self.base_transmissibility = Some(found);
            }
        }
        if let Some(f) = limit {
            let vertical = crate::analysis::vertical_transmissibility(&linear, &[f])?;
            self.at_limit = vertical.first().copied();
        }
        Ok(())
    }

    /// A shock with what friction must hold, where the job asks and it is not known.
    fn held(&self, job: &Job, shock: ShockResult) -> Result<ShockResult> {
        let case = self.cases.iter().find(|c| c.name == shock.case);
        let (Some(case), true, true) =
            (case, job.limits.friction.is_some(), shock.sliding.is_none())
        else {
            return Ok(shock);
        };
        let motion = &shock.shock.transient;
        let feet = Feet::new(motion.linear(), &case.statics)?;
        let output = feet.output(motion)?;
        let found = sliding(&feet, &motion.joint(&output)?)?;
        Ok(ShockResult { sliding: Some(found), ..shock })
    }

    /// A steady load with what friction must hold at its worst speed, where the job asks and it is
    /// not known.
    fn run_up(&self, job: &Job, asked: &Harmonic, load: HarmonicResult) -> Result<HarmonicResult> {
        let case = self.cases.first();
        let (Some(case), true, true) =
            (case, job.limits.friction.is_some(), load.sliding.is_empty())
        else {
            return Ok(load);
        };
        let linear = &load.response.linear;
        let feet = Feet::new(linear, &case.statics)?;
        let natural = &self.modes.frequency;
        let (one, other) = asked.loads(job.installation.body.center());
        let mut found = Vec::new();
        for way in std::iter::once(&one).chain(&other) {
            let (speed, there) =
                worst_speed(&feet, linear, way.as_slice(), asked.frequency, natural)?;
            found.push((speed, sliding(&feet, &feet.steady(&there, 0)?)?));
        }
        Ok(HarmonicResult { sliding: found, ..load })
    }

    /// Warnings of the input and of every analysis, each once.
    pub fn warnings(&self, job: &Job) -> Vec<String> {
        let statics = self.cases.iter().flat_map(|case| {
            case.statics.warnings.iter().map(|w| format!("case {}: {w}", case.name))
        });
        let shocks = self
            .shocks
            .iter()
            .flat_map(|s| s.shock.warnings.iter().map(|w| format!("shock {}: {w}", s.name)));
        let snaps = self
            .snap_throughs
            .iter()
            .flat_map(|s| s.snap.warnings.iter().map(|w| format!("{}: {w}", s.name)));
        let leveling: &[String] = match &self.leveling {
            Some(Outcome::Plan(plan)) => &plan.warnings,
            _ => &[],
        };
        let leveling = leveling.iter().map(|w| format!("leveling: {w}"));
        let found = self.slide.iter();
        let slide = found.flat_map(|s| {
            let runs = s.running.iter().flat_map(|run| &run.steady.warnings);
            let all = runs.chain(s.map.iter().flat_map(|map| &map.warnings));
            all.map(|w| format!("slide: {w}"))
        });
        let mut all: Vec<String> = Vec::new();
        for warning in job
            .installation
            .warnings()
            .into_iter()
            .chain(statics)
            .chain(shocks)
            .chain(snaps)
            .chain(leveling)
            .chain(slide)
            .chain(job.cautions.iter().cloned())
        {
            if !all.contains(&warning) {
                all.push(warning);
            }
        }
        all
    }
}

/// A job that has been computed.
type Known<'a> = Option<(&'a Job, &'a Results)>;

/// What the standing machine is, whatever shakes it.
struct Still {
    cases: Vec<CaseResult>,
    envelope: Envelope,
    bonded: Envelope,
    unevenness: Unevenness,
    modes: Modes,
}

impl Still {
    fn of(job: &Job, known: Known<'_>) -> Result<Self> {
        if let Some((_, found)) = known {
            return Ok(Self {
                cases: found.cases.clone(),
                envelope: found.envelope.clone(),
                bonded: found.bonded.clone(),
                unevenness: found.unevenness.clone(),
                modes: found.modes.clone(),
            });
        }
        let inst = &job.installation;
        let cases = cases(inst, &job.statics)?;
        let as_asked = envelope(&named(&cases))?;
        let bonded = if job.statics.unilateral {
            let options = StaticsOptions { unilateral: false, ..job.statics.clone() };
            envelope(&named(&self::cases(inst, &options)?))?
        } else {
            as_asked.clone()
        };
        let as_it_runs = working(job, inst, None)?;
        Ok(Self {
            cases,
            envelope: as_asked,
            bonded,
            unevenness: unevenness(&as_it_runs)?,
            modes: modes(&as_it_runs.linear())?,
        })
    }
}

fn no_histories() -> ShockOptions {
    ShockOptions { dt: Some(NO_HISTORIES), ..ShockOptions::default() }
}

fn named(cases: &[CaseResult]) -> Vec<(String, Statics)> {
    cases.iter().map(|c| (c.name.clone(), c.statics.clone())).collect()
}

fn cases(inst: &Installation, options: &StaticsOptions) -> Result<Vec<CaseResult>> {
    inst.all_cases()
        .map(|(name, body, loads)| {
            let system = inst.system_of(body);
            let statics = statics(&system, &inst.static_load(body, loads), options)?;
            Ok(CaseResult {
                name: name.to_owned(),
                mass: body.mass(),
                stability: stability(&system, &statics)?,
                frequency: modes(&at(&system, &statics)?.linear())?.frequency,
                center: *body.center(),
                points: inst.points.iter().map(|p| (p.name.clone(), p.at)).collect(),
                statics,
            })
        })
        .collect()
}

/// The system at the working point of a load case of the job.
fn working(job: &Job, inst: &Installation, case: Option<&str>) -> Result<System> {
    working_of(inst, &job.statics, case)
}

/// The system of an installation at the working point of a load case.
///
/// # Errors
/// Those of the statics.
pub fn working_of(
    inst: &Installation,
    options: &StaticsOptions,
    case: Option<&str>,
) -> Result<System> {
    let (body, loads) = inst.case(case)?;
    working_point(inst.system_of(body), &inst.static_load(body, loads), options)
}

fn bridged(job: &Job) -> Result<Vec<WhatIfBridged>> {
    let inst = &job.installation;
    let Some(asked) = job.what_if.as_ref() else { return Ok(Vec::new()) };
    let before = working(job, inst, None)?.linear();
    let each = asked.bridges.iter().map(|bridge| {
        let after = working(job, &inst.bridged(bridge)?, None)?.linear();
        what_if_bridged(&bridge.name, [&before, &after], &[asked.frequency], asked.damping_ratio)
    });
    each.collect()
}

/// Response of an installation to a shock, about the working point of its load case.
///
/// # Errors
/// Those of the analyses.
pub fn shock_of(
    inst: &Installation,
    statics: &StaticsOptions,
    asked: &Shock,
    options: &ShockOptions,
) -> Result<ShockResult> {
    let (body, _) = inst.case(asked.case.as_deref())?;
    let linear = working_of(inst, statics, asked.case.as_deref())?.linear();
    let load = asked.unit()?.about(body.center());
    let options = &ShockOptions { every: asked.every, ..options.clone() };
    let shock = transient::shock(&linear, &asked.pulse.segments(), &load, options)?;
    let found = seen(inst, body.center(), &asked.name, asked.case.as_deref(), shock)?;
    match asked.contacts {
        Some(contacts) => {
            let case = asked.case.as_deref();
            let by = |system: &_| by_pulse(inst, asked, system).map(Some);
            with_contacts(inst, case, contacts, options, found, by)
        }
        None => Ok(found),
    }
}

fn snap_throughs(job: &Job, options: &ShockOptions) -> Result<Vec<SnapThroughResult>> {
    let one = |asked: &SnapThroughAsked| {
        let options = SnapThroughOptions { dt: options.dt, ..asked.options.clone() };
        let (inst, work) = (&job.installation, WorkForce::from(&asked.force));
        Ok(SnapThroughResult {
            name: asked.name.clone(),
            case: asked.case.clone().unwrap_or_else(|| AS_IT_RUNS.into()),
            forming_energy: asked.forming_energy,
            snap: snap_through(inst, asked.case.as_deref(), &work, &options)?,
        })
    };
    job.break_throughs.iter().map(one).collect()
}

fn harmonic(job: &Job, asked: &Harmonic) -> Result<HarmonicResult> {
    let inst = &job.installation;
    let linear = working(job, inst, None)?.linear();
    let (load, other_way) = asked.loads(inst.body.center());
    let to = |load: &DVector<Complex64>| response(&linear, &[asked.frequency], load.as_slice());
    let (response, reversed) = (to(&load)?, other_way.as_ref().map(to).transpose()?);
    let mut mount_force = vec![0.0_f64; response.mounts.len()];
    for way in std::iter::once(&response).chain(&reversed) {
        let forces = way.mount_force()?;
        for (i, peak) in mount_force.iter_mut().enumerate() {
            *peak = peak.max(forces[[0, i, 2]].norm());
        }
    }
    let wrench = response.ground_wrench()?;
    let floor_force = [0, 1, 2].map(|i| wrench[[0, i]].norm());
    let points = observed(inst, inst.body.center())
        .map(|point| {
            let ways = std::iter::once(&response).chain(&reversed);
            let moved = ways.map(|r| peak_displacement(r, &point.at));
            let largest = moved.flatten().fold(0.0, f64::max);
            (point.name, largest)
        })
        .collect();
    Ok(HarmonicResult {
        name: asked.name.clone(),
        response,
        reversed,
        points,
        mount_force,
        floor_force,
        sliding: Vec::new(),
    })
}

/// Peak displacement of a point along x, y and z at the first frequency, m.
pub(super) fn peak_displacement(response: &Response, at: &Vector3<f64>) -> [f64; 3] {
    let moved = response.at(at);
    [0, 1, 2].map(|i| moved[[0, i]].norm())
}

/// The named points, or the center of mass where there is none.
pub(super) fn observed(inst: &Installation, center: &Vector3<f64>) -> impl Iterator<Item = Point> {
    let mut points = inst.points.clone();
    if points.is_empty() {
        points.push(Point { name: "center of mass".into(), at: *center });
    }
    points.into_iter()
}
