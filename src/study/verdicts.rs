//! The checks of a job: what its mounts and its user allow, against what was computed.

use super::conditions::job_in;
use super::results::{Results, ShockResult};
use super::{limits_at_rest, limits_in_motion};
use crate::analysis::statics::{Envelope, envelope};
use crate::checks::{
    AMPLIFICATION_LIMIT, Check, Sense, dynamic_contact, dynamic_load, load_range, rocking,
    stays_loaded, tilt,
};
use crate::error::Result;
use crate::job::{Condition, Job};
use crate::support::LoadRange;

/// Source of a limit that the user set.
pub const USER: &str = "limit of the job";

/// A check, and the mount whose load it is about: that load also moves with an uneven floor.
#[derive(Debug, Clone, PartialEq)]
pub struct Asked {
    /// The check for one set of inputs.
    pub check: Check,
    /// Index of the mount.
    pub mount: Option<usize>,
}

/// Results of a job as given and in every condition of its mounts, without histories.
pub struct Computed {
    /// As given.
    pub results: Results,
    /// The job in each condition.
    there: Vec<(Job, Results)>,
}

impl Computed {
    /// Computes them.
    pub fn of(job: &Job) -> Result<Self> {
        let there = |condition| {
            let there = job_in(job, condition)?;
            Results::without_histories(&there).map(|found| (there, found))
        };
        let results = Results::without_histories(job)?;
        Ok(Self { results, there: job.conditions.iter().map(there).collect::<Result<_>>()? })
    }

    /// The same for a job that differs in one input from one that is known.
    pub fn beside(job: &Job, (other, known): (&Job, &Self)) -> Result<Self> {
        let results = Results::beside(job, (other, &known.results))?;
        let there = |(condition, (other, found)): (&Condition, &(Job, Results))| {
            let there = job_in(job, condition)?;
            Results::beside(&there, (other, found)).map(|found| (there, found))
        };
        let pairs = job.conditions.iter().zip(&known.there);
        Ok(Self { results, there: pairs.map(there).collect::<Result<_>>()? })
    }
}

/// All checks, each in that state of the mounts (as given, or a condition of the job) in which it
/// holds least; the list has the same entries for every value of the inputs.
pub fn checks(job: &Job, computed: &Computed) -> Result<Vec<Asked>> {
    let mut all = as_given(job, &computed.results)?;
    for (condition, (there, results)) in job.conditions.iter().zip(&computed.there) {
        let found = as_given(there, results)?;
        for (asked, other) in all.iter_mut().zip(found) {
            if holds_less(&other.check, &asked.check) {
                *asked = other;
                let case = &mut asked.check.governing_case;
                let comma = if case.is_empty() { "" } else { ", " };
                case.push_str(&format!("{comma}mounts {}", condition.name));
            }
        }
    }
    Ok(all)
}

/// The same question is answered worse.
fn holds_less(other: &Check, asked: &Check) -> bool {
    match asked.sense {
        Sense::AtMost => other.demand > asked.demand,
        Sense::AtLeast => other.demand < asked.demand,
    }
}

fn as_given(job: &Job, results: &Results) -> Result<Vec<Asked>> {
    let ranges: Vec<LoadRange> = job.installation.mounts.iter().map(|m| m.load_range).collect();
    let mut all = Vec::new();
    for (i, only) in one_by_one(&ranges).enumerate() {
        all.extend(load_range(&results.envelope, &only)?.into_iter().map(|c| about(c, i)));
    }
    all.extend(stays_loaded(&results.bonded)?.into_iter().enumerate().map(|(i, c)| about(c, i)));
    all.extend(worst_rocking(results)?.into_iter().map(general));
    if let Some(limit) = job.limits.tilt {
        all.extend(tilt(&results.envelope, limit, USER)?.into_iter().map(general));
    }
    if let (Some(asked), Some(outcome)) = (&job.leveling, &results.leveling) {
        let found = super::leveling::checks(asked, outcome, &job.installation.mounts)?;
        all.extend(found.into_iter().map(general));
    }
    for shock in &results.shocks {
        all.extend(mounts_in(shock, results, &ranges)?);
        all.extend(user_limits(job, shock)?.into_iter().map(general));
    }
    for snap in &results.snap_throughs {
        all.extend(super::snap_through::checks(job, snap, results, &ranges)?);
    }
    if let (Some(limit), Some(t)) = (&job.limits.transmissibility, results.at_limit) {
        let question =
            format!("vertical transmissibility to a rigid floor at {} Hz", limit.frequency);
        all.push(general(Check::at_most(question, t, limit.max, "")?.from_source(USER)));
    }
    all.extend(limits_at_rest::checks(job, results)?);
    all.extend(limits_in_motion::checks(job, results)?);
    Ok(all)
}

/// A check of the load of a mount.
pub fn about(check: Check, mount: usize) -> Asked {
    Asked { check, mount: Some(mount) }
}

/// A check of anything else.
pub fn general(check: Check) -> Asked {
    Asked { check, mount: None }
}

/// The ranges with all but one of them left open, for each mount in turn.
pub fn one_by_one(ranges: &[LoadRange]) -> impl Iterator<Item = Vec<LoadRange>> {
    (0..ranges.len()).map(|i| {
        let mut only = vec![LoadRange::default(); ranges.len()];
        only[i] = ranges[i];
        only
    })
}

/// Rocking in the case where it is worst, about each axis.
fn worst_rocking(results: &Results) -> Result<Vec<Check>> {
    let mut worst = Vec::new();
    for axis in 0..2 {
        let ratio = |i: usize| {
            let s = &results.cases[i].stability[axis];
            s.ratio.max(s.load_ratio)
        };
        let governing =
            (0..results.cases.len()).max_by(|&a, &b| ratio(a).total_cmp(&ratio(b))).unwrap_or(0);
        let case = &results.cases[governing];
        worst.extend(rocking(&case.stability[axis..=axis], AMPLIFICATION_LIMIT, &case.name)?);
    }
    Ok(worst)
}

/// Static plus dynamic load of each mount, and contact, in one shock.
fn mounts_in(shock: &ShockResult, results: &Results, ranges: &[LoadRange]) -> Result<Vec<Asked>> {
    let still = case_of(&shock.case, results)?;
    // Bridges and stops follow the mounts.
    let vertical = shock.mount_force.iter().skip(2).step_by(3).take(ranges.len());
    let down: Vec<f64> = vertical.clone().map(|e| (-e.min.value).max(0.0)).collect();
    let up: Vec<f64> = vertical.map(|e| e.max.value.max(0.0)).collect();
    let mut checks = Vec::new();
    for (i, only) in one_by_one(ranges).enumerate() {
        let loads = dynamic_load(&still, &down, &only, &shock.name)?;
        checks.extend(loads.into_iter().map(|c| about(c, i)));
    }
    let contact = dynamic_contact(&still, &up, &shock.name)?;
    checks.extend(contact.into_iter().enumerate().map(|(i, c)| about(c, i)));
    Ok(checks)
}

/// The envelope of one load case.
pub fn case_of(case: &str, results: &Results) -> Result<Envelope> {
    let cases: Vec<_> = results
        .cases
        .iter()
        .filter(|c| c.name == case)
        .map(|c| (c.name.clone(), c.statics.clone()))
        .collect();
    envelope(&cases)
}

fn user_limits(job: &Job, shock: &ShockResult) -> Result<Vec<Check>> {
    let mut checks = Vec::new();
    if let Some(limit) = job.limits.motion {
        for point in &shock.points {
            let question = format!("peak motion of {}", point.point);
            let check = Check::at_most(question, point.displacement.value, limit, "m")?;
            checks.push(check.in_case(&shock.name).from_source(USER));
        }
    }
    if let Some(limit) = job.limits.floor_force {
        let z = &shock.ground_wrench[2];
        let peak = z.max.value.abs().max(z.min.value.abs());
        let check = Check::at_most("peak vertical force on the floor", peak, limit, "N")?;
        checks.push(check.in_case(&shock.name).from_source(USER));
    }
    Ok(checks)
}
