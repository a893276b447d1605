//! `[[shock]]`: pulses of a force or of a moment on the machine.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use toml::de::DeValue;

use super::names::{Names, find};
use super::node::{Node, Value};
use super::point::at;
use crate::analysis::statics::Contacts;
use crate::error::Result;
use crate::excitation::Pulse;
use crate::installation::{self, Case, Point, Wrench, unit_vector};
use crate::system::ContactRule;
use crate::units::Dimension;

/// A pulse of a force or of a moment on the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shock {
    /// Name.
    pub name: String,
    /// Force over time, N; or moment, N m.
    pub pulse: Pulse,
    /// Unit vector of the force; or of the moment, right-handed.
    pub direction: Vector3<f64>,
    /// True if the pulse is that of a moment.
    pub moment: bool,
    /// Where a force acts, m; `None`: at the center of mass. A moment acts on the whole machine.
    pub at: Option<Vector3<f64>>,
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
    /// Stops strike, and mounts lift off where that is asked for; `None`: all stay as at rest.
    pub contacts: Option<Contacts>,
    /// It comes back every so often, s, and has done so for long; `None`: it acts once.
    pub every: Option<f64>,
}

impl Shock {
    /// The unit force or moment that the pulse is the size of.
    ///
    /// # Errors
    /// Those of [`Wrench::new`].
    pub fn unit(&self) -> Result<Wrench> {
        let zero = Vector3::zeros();
        match self.moment {
            true => Wrench::new(zero, self.direction, None),
            false => Wrench::new(self.direction, zero, self.at),
        }
    }
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

pub(super) fn shocks(
    root: &Node<'_>,
    points: &[Point],
    cases: &[Case],
    names: &mut Names,
) -> Result<Vec<Shock>> {
    let mut shocks = Vec::new();
    for node in root.tables("shock")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let case = case(&node, cases)?;
        let moment = node.optional("moment");
        if let Some(axis) = moment.as_ref().filter(|_| node.has("direction")) {
            let problem = "give either direction (of a force) or moment (its axis), not both";
            return Err(axis.error(problem));
        }
        let peak = if moment.is_some() { Dimension::MOMENT } else { Dimension::FORCE };
        // The pulse first: "duration" is no slip of a missing "direction".
        let (pulse, at) = (pulse(&node, peak)?, at(&node, points)?);
        let direction = match &moment {
            Some(axis) => direction(axis)?,
            None => direction(&node.required("direction", DIRECTIONS)?)?,
        };
        let moment = moment.is_some();
        if moment && at.is_some() {
            return Err(node.error("at", "a moment acts on the whole machine; leave it out"));
        }
        let contacts = contacts(&node)?;
        let every = node.optional_quantity("every", Dimension::TIME)?;
        if let Some(every) = every {
            super::limits::above_zero(&node, "every", every, "s")?;
            if contacts.is_some() {
                let problem = "stands beside lift_off or stops: contacts are followed from rest";
                return Err(node.error("every", problem));
            }
        }
        node.finish()?;
        shocks.push(Shock { name, pulse, direction, moment, at, case, contacts, every });
    }
    Ok(shocks)
}

/// Keys `stops`, `lift_off` and `rule`: what opens and closes in a shock or an event.
pub(super) fn contacts(node: &Node<'_>) -> Result<Option<Contacts>> {
    let lift_off = node.boolean_or("lift_off", false)?;
    let strikes = node.boolean_or("stops", lift_off)?;
    if lift_off && !strikes {
        return Err(node.error("stops", "strike wherever mounts lift off; leave it out"));
    }
    if !strikes {
        if node.has("rule") {
            return Err(
                node.error("rule", "says when contacts touch: add lift_off or stops = true")
            );
        }
        return Ok(None);
    }
    Ok(Some(Contacts { rule: rule(node)?, lift_off }))
}

/// Key `rule`: when contacts touch.
pub(super) fn rule(node: &Node<'_>) -> Result<ContactRule> {
    Ok(match node.choice_or("rule", &ContactRule::NAMES, ContactRule::NAMES[0])? {
        "geometric" => ContactRule::Geometric,
        _ => ContactRule::ForceClipped,
    })
}

/// Key `case`: a load case by name; `None` if not given.
pub(super) fn case(node: &Node<'_>, cases: &[Case]) -> Result<Option<String>> {
    let Some(value) = node.optional("case") else { return Ok(None) };
    let named = cases.iter().map(|c| (c.name.as_str(), c.name.clone()));
    find(&value, "case", named).map(Some)
}

pub(super) fn pulse(node: &Node<'_>, peak: Dimension) -> Result<Pulse> {
    let shape = node.choice("pulse", &PULSES)?;
    let peak = node.quantity("peak", peak)?;
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

/// What a direction may be.
pub(super) const DIRECTIONS: &str = "\"x\", \"-x\", \"y\", \"-y\", \"z\", \"-z\" or a unit vector";

/// A signed axis or a unit vector; a vector of another length is refused, never normalized.
pub(super) fn direction(value: &Value<'_>) -> Result<Vector3<f64>> {
    let what = DIRECTIONS;
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
