//! Steady running of the slide: at the stroke rates of the job, and over a range of them.

use std::fmt::Write as _;

use serde::{Deserialize, Serialize};

use super::Study;
use super::figures::{Plain, STEADY, forces, plain};
use super::results::{observed, working_of};
use super::text::{show, table};
use crate::analysis::periodic::{Range, Wave};
use crate::analysis::stroke_rate::Meeting;
use crate::analysis::{Steady, StrokeRateMap, steady, stroke_rate_map};
use crate::error::Result;
use crate::excitation::SlideDrive;
use crate::installation::AS_IT_RUNS;
use crate::job::{Job, Slide};
use crate::units::Dimension;

/// Steady running at one stroke rate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Running {
    /// Name: "running at 25 strokes per minute".
    pub name: String,
    /// Load case.
    pub case: String,
    /// Harmonics of motion and force.
    pub steady: Steady,
    /// Motion of each named point, or of the center of mass.
    pub points: Vec<PointRun>,
    /// Greatest and least force of each mount on the floor along x, y, z, N.
    pub mount_force: Vec<[Range; 3]>,
    /// Greatest and least wrench on the floor, N and N m.
    pub ground_wrench: [Range; 6],
    /// Greatest and least wrench of the moving parts, N and N m.
    pub applied: [Range; 6],
    /// Least and greatest force of the connecting rods on the slide, down positive, N.
    pub rod_force: [f64; 2],
}

/// Steady motion of a named point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PointRun {
    /// Name.
    pub point: String,
    /// Greatest and least displacement along each axis, m and rad.
    pub displacement: [Range; 6],
    /// Greatest absolute displacement (m), velocity (m/s) and acceleration (m/s^2) along an axis.
    pub peaks: [f64; 3],
}

impl PointRun {
    /// Greatest minus least position along the axis where that is most, m.
    pub fn peak_to_peak(&self) -> f64 {
        self.displacement[..3].iter().map(Range::peak_to_peak).fold(0.0, f64::max)
    }
}

/// All that the job asks of its slide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SlideResult {
    /// Steady running, one for each stroke rate of the job.
    pub running: Vec<Running>,
    /// The map of stroke rates.
    pub map: Option<StrokeRateMap>,
    /// Whose motion the map watches.
    pub map_point: String,
}

/// Computes it.
pub(super) fn running(job: &Job) -> Result<Option<SlideResult>> {
    let Some(slide) = &job.slide else { return Ok(None) };
    let inst = &job.installation;
    let (body, _) = inst.case(slide.case.as_deref())?;
    let linear = working_of(inst, &job.statics, slide.case.as_deref())?.linear();
    let mut running = Vec::new();
    for &rate in &slide.stroke_rates_spm {
        let found = steady(&linear, &slide.drive, rate, slide.harmonics)?;
        let points = observed(inst, body.center())
            .map(|point| {
                let motion = found.at(&point.at);
                let displacement = motion.range();
                let peaks = [0, 1, 2].map(|order| derivative_peak(&found, &motion, order));
                PointRun { point: point.name, displacement, peaks }
            })
            .collect();
        running.push(Running {
            name: format!("running at {rate} strokes per minute"),
            case: slide.case.clone().unwrap_or_else(|| AS_IT_RUNS.into()),
            points,
            mount_force: found.mount_range(),
            ground_wrench: found.ground_range(),
            applied: found.applied_range(),
            rod_force: rod_force(slide, rate, inst.gravity)?,
            steady: found,
        });
    }
    let map = match &slide.map {
        Some(range) => {
            let point = range.point.as_ref().map(|(_, at)| *at);
            let rates = range.rates();
            Some(stroke_rate_map(&linear, &slide.drive, &rates, slide.harmonics, point)?)
        }
        None => None,
    };
    let map_point = slide.map.as_ref().and_then(|range| range.point.as_ref());
    let map_point = map_point.map_or("center of mass", |(name, _)| name.as_str()).to_owned();
    Ok(Some(SlideResult { running, map, map_point }))
}

/// Greatest absolute displacement, or its derivative of that order, along an axis.
fn derivative_peak(
    run: &Steady,
    motion: &crate::analysis::steady::SteadyMotion,
    order: i32,
) -> f64 {
    let omega = run.stroke_rate_spm * std::f64::consts::TAU / 60.0;
    (0..3)
        .map(|axis| {
            let harmonics = motion.displacement.column(axis);
            let scaled = harmonics.iter().enumerate().map(|(i, x)| {
                let rate = num_complex::Complex64::new(0.0, (i + 1) as f64 * omega);
                x * rate.powi(order)
            });
            Wave::new(scaled.collect()).range().peak()
        })
        .fold(0.0, f64::max)
}

fn rod_force(slide: &Slide, rate: f64, gravity: f64) -> Result<[f64; 2]> {
    let omega = SlideDrive::crank_speed(rate)?;
    let drive = &slide.drive;
    let [least, greatest] = drive.acceleration_range().map(|a| a * omega * omega);
    let force = |up: f64| drive.counterbalance - drive.slide_mass() * (gravity + up);
    Ok([force(greatest), force(least)])
}

/// What the study's JSON holds of it: no harmonics, but the curves over the stroke rates.
pub(super) fn json(found: &SlideResult) -> serde_json::Value {
    let runs = found.running.iter().map(|run| {
        serde_json::json!({
            "name": run.name,
            "case": run.case,
            "stroke_rate_spm": run.steady.stroke_rate_spm,
            "source": run.steady.source.name(),
            "points": run.points,
            "mount_force": run.mount_force,
            "ground_wrench": run.ground_wrench,
            "applied": run.applied,
            "rod_force": run.rod_force,
        })
    });
    let map = found.map.as_ref().map(|map| {
        serde_json::json!({
            "point": found.map_point,
            "stroke_rate_spm": map.stroke_rate_spm,
            "peak_motion": map.peak_motion(),
            "peak_floor_force": map.peak_floor_force(),
            "peak_applied_force": map.peak_applied_force(),
            "meetings": map.meetings.iter().map(meeting_json).collect::<Vec<_>>(),
        })
    });
    serde_json::json!({ "running": runs.collect::<Vec<_>>(), "map": map })
}

fn meeting_json(m: &Meeting) -> serde_json::Value {
    serde_json::json!({
        "stroke_rate_spm": m.stroke_rate_spm,
        "harmonic": m.harmonic,
        "mode": m.mode,
        "frequency": m.frequency,
        "amplitude": m.amplitude,
        "floor_force": m.floor_force,
        "amplification": m.amplification,
        "peak_motion": m.peak_motion(),
        "peak_floor_force": m.peak_floor_force(),
        "carry_over": m.carry_over,
        "worst_gain": m.worst_gain,
        "gain": m.gain,
    })
}

/// Key figures.
pub(super) fn figures(found: &SlideResult, all: &mut Vec<Plain>) {
    for run in &found.running {
        let label = |what: String| format!("{}: {what}", run.name);
        for point in &run.points {
            let at = &point.point;
            let [moved, _, _] = point.peaks;
            let name = label(format!("peak displacement of {at}"));
            all.push(plain(STEADY, name, moved, Dimension::LENGTH));
            let name = label(format!("peak-to-peak displacement of {at}"));
            all.push(plain(STEADY, name, point.peak_to_peak(), Dimension::LENGTH));
        }
        let [x, y, z] = [0, 1, 2].map(|i| &run.ground_wrench[i]);
        let sides = [-z.min.value, z.max.value, x.peak(), y.peak()];
        for (what, value) in forces(sides) {
            let name = label(format!("peak slide-inertia force {what}"));
            all.push(plain(STEADY, name, value, Dimension::FORCE));
        }
        let bolted = run.applied[2].peak();
        let name = label("peak vertical inertia force, as on bolts".into());
        all.push(plain(STEADY, name, bolted, Dimension::FORCE));
        for (which, value) in ["least", "greatest"].iter().zip(run.rod_force) {
            let name = label(format!("{which} force of the connecting rods on the slide, no work"));
            all.push(plain(STEADY, name, value, Dimension::FORCE));
        }
    }
    if let Some(map) = &found.map {
        let most = |list: &ndarray::Array2<f64>| list.iter().copied().fold(0.0, f64::max);
        let name = format!("over the stroke rates: greatest peak motion of {}", found.map_point);
        all.push(plain(STEADY, name, most(&map.peak_motion()), Dimension::LENGTH));
        let name = "over the stroke rates: greatest peak force on the floor".into();
        all.push(plain(STEADY, name, most(&map.peak_floor_force()), Dimension::FORCE));
        // No meeting in the range is no motion by one.
        let worst = map.meetings.first().map_or(0.0, |m| m.amplitude);
        let name = format!("over the stroke rates: worst meeting, motion of {}", found.map_point);
        all.push(plain(STEADY, name, worst, Dimension::LENGTH));
    }
}

/// Meetings that the summary shows.
const SHOWN: usize = 6;
/// Part of the bolted force that must be taken off before it is called a reduction.
const REDUCES: f64 = 0.05;

/// The section of the summary.
pub(super) fn section(study: &Study, text: &mut String) {
    let Some(found) = &study.results.slide else { return };
    if !found.running.is_empty() {
        text.push_str("## Running\n\n");
        let rows: Vec<_> = found.running.iter().map(|run| row(study, run)).collect();
        let header = [
            "stroke rate",
            "source",
            "inertia force (bolted), vertical",
            "on the floor, vertical",
            "what the mounts do",
            "on the floor, horizontal",
            "greatest motion, peak to peak",
        ];
        table(text, &header, &rows);
    }
    let Some(map) = &found.map else { return };
    let _ = writeln!(
        text,
        "Stroke rates from {} to {} per minute: where a harmonic meets a mode, ranked by the motion of \
         {} it makes there. Meeting alone is no trouble.\n",
        map.stroke_rate_spm[0],
        map.stroke_rate_spm[map.stroke_rate_spm.len() - 1],
        found.map_point
    );
    if map.meetings.is_empty() {
        text.push_str("No harmonic meets a damped mode in this range.\n\n");
        return;
    }
    let rows: Vec<_> = map.meetings.iter().take(SHOWN).map(|m| meeting(study, m)).collect();
    let header = [
        "strokes per minute",
        "harmonic",
        "mode",
        "its motion there",
        "all harmonics",
        "its floor force",
        "amplification",
        "carried over",
        "gain (at most)",
    ];
    table(text, &header, &rows);
}

fn row(study: &Study, run: &Running) -> Vec<String> {
    let (bolted, passed) = (run.applied[2].peak(), run.ground_wrench[2].peak());
    let ratio = passed / bolted;
    let does = if ratio > 1.0 + REDUCES {
        format!("raise it {ratio:.2} times")
    } else if ratio >= 1.0 - REDUCES {
        format!("pass it on, no reduction ({ratio:.2})")
    } else {
        format!("leave {ratio:.2} of it")
    };
    let worst = run.points.iter().max_by(|a, b| a.peak_to_peak().total_cmp(&b.peak_to_peak()));
    let motion = worst.map_or_else(String::new, |point| {
        format!("{} ({})", show(study, point.peak_to_peak(), Dimension::LENGTH), point.point)
    });
    vec![
        format!("{} spm", run.steady.stroke_rate_spm),
        run.steady.source.name().into(),
        show(study, bolted, Dimension::FORCE),
        show(study, passed, Dimension::FORCE),
        does,
        show(study, run.steady.horizontal_peak().value, Dimension::FORCE),
        motion,
    ]
}

fn meeting(study: &Study, m: &Meeting) -> Vec<String> {
    vec![
        format!("{:.1}", m.stroke_rate_spm),
        format!("{}", m.harmonic),
        format!("{} ({})", m.mode, show(study, m.frequency, Dimension::FREQUENCY)),
        show(study, m.amplitude, Dimension::LENGTH),
        show(study, m.peak_motion(), Dimension::LENGTH),
        show(study, m.floor_force, Dimension::FORCE),
        format!("{:.2}", m.amplification),
        format!("{:.2}", m.carry_over),
        format!("{:.2} ({:.2})", m.gain, m.worst_gain),
    ]
}
