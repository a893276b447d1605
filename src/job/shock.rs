//! `[[shock]]`: force pulses on the machine.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use toml::de::DeValue;

use super::names::{Names, find};
use super::node::{Node, Value};
use super::point::at;
use crate::error::Result;
use crate::excitation::Pulse;
use crate::installation::{self, Case, Point, unit_vector};
use crate::units::Dimension;

/// A force pulse on the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shock {
    /// Name.
    pub name: String,
    /// Force over time, N.
    pub pulse: Pulse,
    /// Unit vector of the force.
    pub direction: Vector3<f64>,
    /// Where the force acts, m; `None`: at the center of mass.
    pub at: Option<Vector3<f64>>,
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
}

const PULSES: [&str; 8] = [
    "half_sine",
    "haversine",
    "rectangular",
    "triangular",
    "initial_peak_sawtooth",
    "terminal_peak_sawtooth",
    "ramp_step",
    "exponential_decay",
];

pub(super) fn shocks(root: &Node<'_>, points: &[Point], cases: &[Case]) -> Result<Vec<Shock>> {
    let mut names = Names::default();
    let mut shocks = Vec::new();
    for node in root.tables("shock")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let case = match node.optional("case") {
            Some(v) => {
                Some(find(&v, "case", cases.iter().map(|c| (c.name.as_str(), c.name.clone())))?)
            }
            None => None,
        };
        let what = "\"x\", \"-x\", \"y\", \"-y\", \"z\", \"-z\" or a unit vector";
        let direction = direction(&node.required("direction", what)?, what)?;
        let (pulse, at) = (pulse(&node)?, at(&node, points)?);
        node.finish()?;
        shocks.push(Shock { name, pulse, direction, at, case });
    }
    Ok(shocks)
}

fn pulse(node: &Node<'_>) -> Result<Pulse> {
    let shape = node.choice("pulse", &PULSES)?;
    let peak = node.quantity("peak", Dimension::FORCE)?;
    let time = |key| node.quantity(key, Dimension::TIME);
    match shape {
        "half_sine" => Pulse::half_sine(peak, time("duration")?),
        "haversine" => Pulse::haversine(peak, time("duration")?),
        "rectangular" => Pulse::rectangular(peak, time("duration")?),
        "triangular" => Pulse::triangular(peak, time("duration")?),
        "initial_peak_sawtooth" => Pulse::initial_peak_sawtooth(peak, time("duration")?),
        "terminal_peak_sawtooth" => Pulse::terminal_peak_sawtooth(peak, time("duration")?),
        "ramp_step" => Pulse::ramp_step(peak, time("rise")?, time("hold")?),
        _ => Pulse::exponential_decay(peak, time("time_constant")?, time("duration")?),
    }
    .map_err(|e| node.blame(e))
}

/// A signed axis or a unit vector; a vector of another length is refused, never normalized.
pub(super) fn direction(value: &Value<'_>, what: &str) -> Result<Vector3<f64>> {
    let vector = match value.value {
        DeValue::String(text) => {
            return installation::direction("direction", text).map_err(|_| value.wrong(what));
        }
        DeValue::Array(_) => components(value, what)?,
        _ => return Err(value.wrong(what)),
    };
    if let Ok(unit) = unit_vector("direction", vector) {
        return Ok(unit);
    }
    let length = vector.norm();
    let remedy = if length > 0.0 && length.is_finite() {
        let [x, y, z]: [f64; 3] = (vector / length).into();
        format!("write [{x}, {y}, {z}]")
    } else {
        "give a direction".into()
    };
    Err(value.error(format!("has length {length}; a unit vector is required; {remedy}")))
}

/// Three plain numbers: a direction is no uncertain quantity and stays out of the register.
fn components(value: &Value<'_>, what: &str) -> Result<Vector3<f64>> {
    let items = value.items(what)?;
    let [x, y, z] = &items[..] else { return Err(value.wrong(what)) };
    let read = |v: &Value<'_>| v.unregistered(Dimension::RATIO);
    Ok(Vector3::new(read(x)?, read(y)?, read(z)?))
}
