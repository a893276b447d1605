//! The figures that a reader looks for, one list for every set of inputs.

use super::results::{Results, ShockResult};
use crate::analysis::leveling::Outcome;
use crate::analysis::statics::STOP;
use crate::units::Dimension;

/// A figure before its band: what it is, its value in SI, and what kind of quantity it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Plain {
    /// Group ("static loads").
    pub group: &'static str,
    /// What it is.
    pub name: String,
    /// SI value.
    pub value: f64,
    /// Kind of quantity.
    pub dimension: Dimension,
    /// Mount whose load also moves with the unevenness of the floor.
    pub mount: Option<usize>,
}

/// Names of the groups, in the order of the summary.
pub const STATIC: &str = "static";
/// See [`STATIC`].
pub const MODES: &str = "modes";
/// See [`STATIC`].
pub const TRANSFER: &str = "transmissibility to a rigid floor";
/// See [`STATIC`].
pub const LEVELING: &str = "leveling";
/// See [`STATIC`].
pub const SHOCK: &str = "shock";
/// See [`STATIC`].
pub const SNAP: &str = "break-through";
/// See [`STATIC`].
pub const STEADY: &str = "steady load";

/// See [`STATIC`].
pub const BRIDGED: &str = "short circuit left in";

/// A force below this part of the largest is rounding.
const ROUNDING: f64 = 1e-10;

/// All key figures; the list has the same entries for every value of the inputs.
pub fn figures(results: &Results) -> Vec<Plain> {
    let mut all = Vec::new();
    statics(results, &mut all);
    levels(results, &mut all);
    beside(results, &mut all);
    leveled(results, &mut all);
    modes(results, &mut all);
    transfer(results, &mut all);
    results.shocks.iter().for_each(|s| shock(s, &mut all));
    results.snap_throughs.iter().for_each(|s| super::snap_through::figures(s, &mut all));
    steady(results, &mut all);
    results.slide.iter().for_each(|found| super::running::figures(found, &mut all));
    bridged(results, &mut all);
    all
}

pub(super) fn plain(group: &'static str, name: String, value: f64, dimension: Dimension) -> Plain {
    Plain { group, name, value, dimension, mount: None }
}

fn statics(results: &Results, all: &mut Vec<Plain>) {
    let envelope = &results.envelope;
    for (i, mount) in envelope.mount_names.iter().enumerate() {
        for (which, list) in [("least", &envelope.load_min), ("greatest", &envelope.load_max)] {
            let name = format!("{which} load of {mount}");
            let figure = plain(STATIC, name, list[i].value, Dimension::FORCE);
            all.push(Plain { mount: Some(i), ..figure });
        }
    }
    let deflection = envelope.deflection_max.iter().map(|e| e.value).fold(f64::MIN, f64::max);
    all.push(plain(STATIC, "greatest static deflection".into(), deflection, Dimension::LENGTH));
    for (axis, tilt) in ["x", "y"].iter().zip(&envelope.tilt) {
        let name = format!("greatest tilt about {axis}");
        all.push(plain(STATIC, name, tilt.value.abs(), Dimension::ANGLE));
    }
    for (i, axis) in ["x", "y"].iter().enumerate() {
        let worst = results.cases.iter().map(|c| c.stability[i].amplification);
        let name = format!("amplification of tilt about {axis} by gravity");
        all.push(plain(STATIC, name, worst.fold(f64::MIN, f64::max), Dimension::RATIO));
    }
}

/// Bridges and stops: greatest force, and least way of a stop until it touches.
fn beside(results: &Results, all: &mut Vec<Plain>) {
    let Some(first) = results.cases.first() else { return };
    for (i, part) in first.statics.beside.iter().enumerate() {
        let each = || results.cases.iter().filter_map(|case| case.statics.beside.get(i));
        let name = |what: &str| format!("{what} of {}", part.name);
        let force = each().map(|part| part.force.norm()).fold(0.0, f64::max);
        all.push(plain(STATIC, name("greatest static force"), force, Dimension::FORCE));
        if part.kind != STOP {
            continue;
        }
        let way = each().map(|part| part.way_to_go).fold(f64::MAX, f64::min);
        all.push(plain(STATIC, name("least way to go"), way, Dimension::LENGTH));
        if part.way_back.is_some() {
            let back = each().filter_map(|part| part.way_back).fold(f64::MAX, f64::min);
            all.push(plain(STATIC, name("least way back"), back, Dimension::LENGTH));
        }
    }
}

fn levels(results: &Results, all: &mut Vec<Plain>) {
    for step in &results.rail_steps {
        let name = format!("rail step of {}, {}", step.point, step.to);
        all.push(plain(STATIC, name, step.rise, Dimension::LENGTH));
    }
    if results.cases.len() > 1 {
        for rise in &results.rises {
            for (what, end) in [("rise", &rise.up), ("sinking", &rise.down)] {
                let name = format!("greatest {what} of {}", rise.point);
                all.push(plain(STATIC, name, end.value, Dimension::LENGTH));
            }
        }
    }
}

/// How it stands before it is leveled, and what the exact plan asks of each screw. Where the limits
/// conflict there is no plan: its figures are then no numbers.
fn leveled(results: &Results, all: &mut Vec<Plain>) {
    let Some(outcome) = &results.leveling else { return };
    let (before, plan) = match outcome {
        Outcome::Plan(plan) => (&plan.before, Some(plan)),
        Outcome::Conflict(conflict) => (&conflict.before, None),
    };
    for (axis, tilt) in ["x", "y"].iter().zip(before.tilt) {
        let name = format!("tilt about {axis} before leveling");
        all.push(plain(LEVELING, name, tilt, Dimension::ANGLE));
    }
    for (i, mount) in results.envelope.mount_names.iter().enumerate().take(before.load.len()) {
        let load = before.load[i];
        all.push(plain(
            LEVELING,
            format!("load of {mount} before leveling"),
            load,
            Dimension::FORCE,
        ));
        let screw = plan.map_or(f64::NAN, |plan| plan.optimum[i]);
        let name = format!("adjustment of {mount}, exact");
        all.push(plain(LEVELING, name, screw, Dimension::LENGTH));
    }
    let total = plan.map_or(f64::NAN, |p| p.optimum.iter().map(|a| a.abs()).sum());
    all.push(plain(LEVELING, "screw motion of all mounts".into(), total, Dimension::LENGTH));
}

fn modes(results: &Results, all: &mut Vec<Plain>) {
    for (i, f) in results.modes.frequency.iter().enumerate() {
        all.push(plain(MODES, format!("frequency of mode {}", i + 1), *f, Dimension::FREQUENCY));
    }
    for (i, zeta) in results.modes.damping_ratio.iter().enumerate() {
        let name = format!("damping ratio of mode {}", i + 1);
        all.push(plain(MODES, name, *zeta, Dimension::RATIO));
    }
}

fn transfer(results: &Results, all: &mut Vec<Plain>) {
    if let Some(t) = &results.transmissibility {
        for (index, which) in [(0, "first"), (t.frequency.len() - 1, "last")] {
            let name = format!("vertical, at the {which} frequency ({} Hz)", t.frequency[index]);
            all.push(plain(TRANSFER, name, t.vertical[index], Dimension::RATIO));
        }
        let most = t.vertical.iter().copied().fold(0.0, f64::max);
        all.push(plain(TRANSFER, "vertical, greatest computed".into(), most, Dimension::RATIO));
    }
    if let Some(t) = &results.base_transmissibility {
        let most = t.vertical.iter().copied().fold(0.0, f64::max);
        let name = "vertical motion of the watched point over that of the floor, greatest".into();
        all.push(plain(TRANSFER, name, most, Dimension::RATIO));
    }
    if let Some(t) = results.at_limit {
        let name = "vertical, at the frequency of its limit".into();
        all.push(plain(TRANSFER, name, t, Dimension::RATIO));
    }
}

fn shock(shock: &ShockResult, all: &mut Vec<Plain>) {
    let label = |what: String| format!("{}: {what}", shock.name);
    for point in &shock.points {
        let at = &point.point;
        let values = [
            ("displacement", point.displacement.value, Dimension::LENGTH),
            ("velocity", point.velocity.value, Dimension::VELOCITY),
            ("acceleration", point.acceleration.value, Dimension::ACCELERATION),
        ];
        for (what, value, dimension) in values {
            all.push(plain(SHOCK, label(format!("peak {what} of {at}")), value, dimension));
        }
    }
    for fact in &shock.facts {
        let dimension = Dimension::from_name(&fact.dimension).unwrap_or(Dimension::RATIO);
        all.push(plain(SHOCK, label(fact.what.clone()), fact.value, dimension));
    }
    let [x, y, z] = [0, 1, 2].map(|i| &shock.ground_wrench[i]);
    let sideways = [x, y].map(|e| e.max.value.abs().max(e.min.value.abs()));
    for (what, value) in forces([-z.min.value, z.max.value, sideways[0], sideways[1]]) {
        let name = label(format!("peak dynamic force {what}"));
        all.push(plain(SHOCK, name, value, Dimension::FORCE));
    }
    for (source, wrench) in shock.sources.iter().filter(|_| shock.sources.len() > 1) {
        let [x, y, z] = [0, 1, 2].map(|i| &wrench[i]);
        let sideways = [x, y].map(|e| e.max.value.abs().max(e.min.value.abs()));
        for (what, value) in forces([-z.min.value, z.max.value, sideways[0], sideways[1]]) {
            let name = label(format!("peak dynamic force {what}, from {}", source.name()));
            all.push(plain(SHOCK, name, value, Dimension::FORCE));
        }
    }
}

/// Forces on the floor by the way they act: down, up, along x, along y. One that never acts that
/// way is zero, and so is what rounding leaves of one.
pub(super) fn forces(values: [f64; 4]) -> impl Iterator<Item = (&'static str, f64)> {
    let ways =
        ["down on the floor", "up on the floor", "along x on the floor", "along y on the floor"];
    let largest = values.into_iter().fold(0.0, f64::max);
    let kept = values.map(|value| if value > largest * ROUNDING { value } else { 0.0 });
    ways.into_iter().zip(kept)
}

fn steady(results: &Results, all: &mut Vec<Plain>) {
    for harmonic in &results.harmonics {
        for (point, value) in &harmonic.points {
            let name = format!("{}: peak displacement of {point}", harmonic.name);
            all.push(plain(STEADY, name, *value, Dimension::LENGTH));
        }
        for (value, axis) in harmonic.floor_force.iter().zip(["x", "y", "z"]) {
            let name = format!("{}: peak force along {axis} on the floor", harmonic.name);
            all.push(plain(STEADY, name, *value, Dimension::FORCE));
        }
    }
}

fn bridged(results: &Results, all: &mut Vec<Plain>) {
    for found in &results.what_if_bridged {
        let name = |what: String| format!("{}: {what}", found.bridge);
        let pairs = found.mode_frequency_before.iter().zip(&found.mode_frequency_after);
        for (i, (before, after)) in pairs.enumerate() {
            let rise = name(format!("frequency of mode {} with it, over that without", i + 1));
            all.push(plain(BRIDGED, rise, after / before, Dimension::RATIO));
        }
        for (i, f) in found.frequency.iter().enumerate() {
            let force =
                |which| name(format!("vertical force on the floor per unit at {f} Hz, {which} it"));
            let (before, after) = (found.floor_force_before[i], found.floor_force_after[i]);
            all.push(plain(BRIDGED, force("without"), before, Dimension::RATIO));
            all.push(plain(BRIDGED, force("with"), after, Dimension::RATIO));
        }
    }
}
