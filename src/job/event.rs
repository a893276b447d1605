//! Events: what strikes, starts, stops or shakes the machine besides plain pulses. `[[blow]]`,
//! `[[floor_shock]]`, `[[decompression]]` and `[[screw_blow]]`; the others in files of their own.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::names::Names;
use super::node::Node;
use super::point::at;
use super::shock::{DIRECTIONS, case, contacts, direction, pulse};
use super::{drive_train, record, rotating};
use crate::analysis::statics::Contacts;
use crate::analysis::transient::FloorMotion;
use crate::error::Result;
use crate::excitation::{Action, Blow, Excitation, Hydraulic, ScrewBlow, SlideDrive};
use crate::installation::{Case, Point};
use crate::units::Dimension;

/// Something that shakes the machine, computed like a shock.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// Name.
    pub name: String,
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
    /// What acts.
    pub load: EventLoad,
    /// What is known of it without the machine.
    pub facts: Vec<Fact>,
    /// What to remember of it.
    pub notes: Vec<String>,
    /// The record that it is made from, for its rate.
    pub record: Option<crate::excitation::Record>,
    /// Stops strike, and mounts lift off where that is asked for; `None`: all stay as at rest.
    pub contacts: Option<Contacts>,
}

/// What acts in an [`Event`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum EventLoad {
    /// Forces and moments.
    Acting(Excitation),
    /// A blow of a ram.
    Struck {
        /// The blow.
        blow: Blow,
        /// Time to the next blow, s.
        interval: Option<f64>,
        /// Greatest part of the motion that may be left when the next blow falls.
        left_max: Option<f64>,
    },
    /// The floor moves.
    Floor(Vec<FloorMotion>),
}

/// A number that belongs to an event.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fact {
    /// What it is.
    pub what: String,
    /// SI.
    pub value: f64,
    /// Kind of quantity, by [`Dimension::name`].
    pub dimension: String,
}

impl Fact {
    /// A number with its kind.
    pub fn new(what: &str, value: f64, dimension: Dimension) -> Self {
        Self { what: what.into(), value, dimension: dimension.name.into() }
    }
}

impl Event {
    pub(super) fn new(name: String, case: Option<String>, load: EventLoad) -> Self {
        Self {
            name,
            case,
            load,
            facts: Vec::new(),
            notes: Vec::new(),
            record: None,
            contacts: None,
        }
    }

    pub(super) fn acting(name: String, case: Option<String>, actions: Vec<Action>) -> Self {
        Self::new(name, case, EventLoad::Acting(Excitation::once(actions)))
    }

    pub(super) fn with(mut self, what: &str, value: f64, dimension: Dimension) -> Self {
        self.facts.push(Fact::new(what, value, dimension));
        self
    }
}

/// What events refer to.
pub(super) struct Place<'a> {
    pub(super) points: &'a [Point],
    pub(super) cases: &'a [Case],
    pub(super) gravity: f64,
    pub(super) slide: Option<&'a SlideDrive>,
}

/// All events of a job, in the order of the sections.
pub(super) fn events(root: &Node<'_>, place: &Place<'_>, names: &mut Names) -> Result<Vec<Event>> {
    let mut all = drive_train::events(root, place, names)?;
    let mut each = |key, one: fn(&Node<'_>, &Place<'_>, String) -> Result<Vec<Event>>| {
        for node in root.tables(key)? {
            let name = node.text("name")?;
            let found = one(&node, place, name)?;
            for event in &found {
                names.add(&node, "name", &event.name)?;
            }
            node.finish()?;
            all.extend(found);
        }
        Ok::<(), crate::Error>(())
    };
    each("rotating", rotating::rotating)?;
    each("blow", blow)?;
    each("decompression", decompression)?;
    each("screw_blow", screw_blow)?;
    each("floor_shock", floor_shock)?;
    each("record", record::record)?;
    Ok(all)
}

fn blow(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let mass = node.quantity("mass", Dimension::MASS)?;
    let speed = match node.optional_quantity("height", Dimension::LENGTH)? {
        Some(height) => {
            if node.has("speed") {
                return Err(node.error("speed", "follows from height; leave one of them out"));
            }
            let push = node.optional_quantity("push", Dimension::FORCE)?.unwrap_or(0.0);
            let reason = "not given: nothing is lost in the fall";
            let efficiency = node.quantity_or("efficiency", Dimension::RATIO, 1.0, reason)?;
            Blow::fall_speed(mass, height, push, efficiency, place.gravity)
        }
        None => node.quantity("speed", Dimension::VELOCITY),
    };
    let speed = speed.map_err(|e| node.blame(e))?;
    let restitution = node.quantity("restitution", Dimension::RATIO)?;
    let down = match node.optional("direction") {
        Some(value) => direction(&value)?,
        None => -Vector3::z(),
    };
    let at = at(node, place.points)?;
    let interval = node.optional_quantity("interval", Dimension::TIME)?;
    let left_max = node.optional_quantity("left_max", Dimension::RATIO)?;
    if left_max.is_some() && interval.is_none() {
        return Err(node.missing("interval", "the time to the next blow"));
    }
    let positive = |key: &str, value: Option<f64>, unit| match value {
        Some(x) => crate::error::positive(key, x, unit).map(|_| ()).map_err(|e| node.blame(e)),
        None => Ok(()),
    };
    positive("interval", interval, "s")?;
    positive("left_max", left_max, "")?;
    let blow = Blow::new(mass, speed, restitution, down, at).map_err(|e| node.blame(e))?;
    let event = Event::new(name, case, EventLoad::Struck { blow, interval, left_max });
    let event = Event { contacts: contacts(node)?, ..event };
    Ok(vec![event.with("speed of the ram", speed, Dimension::VELOCITY)])
}

fn decompression(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let press = Hydraulic::new(
        node.quantity("force", Dimension::FORCE)?,
        node.quantity("piston_area", Dimension::AREA)?,
        node.quantity("column", Dimension::LENGTH)?,
        node.quantity("bulk_modulus", Dimension::PRESSURE)?,
        node.quantity("frame_stiffness", Dimension::STIFFNESS)?,
    );
    let press = press.map_err(|e| node.blame(e))?;
    let action = press.decompression(
        node.quantity("springing_mass", Dimension::MASS)?,
        node.quantity("time", Dimension::TIME)?,
        at(node, place.points)?,
    );
    let event = Event::acting(name, case, vec![action.map_err(|e| node.blame(e))?]);
    let event = Event { contacts: contacts(node)?, ..event }
        .with("pressure of the oil", press.pressure(), Dimension::PRESSURE)
        .with("stiffness of the oil column", press.oil_stiffness(), Dimension::STIFFNESS)
        .with(
            "stiffness of oil and frame in series",
            press.series_stiffness(),
            Dimension::STIFFNESS,
        )
        .with("energy in the oil", press.oil_energy(), Dimension::ENERGY)
        .with("energy in the frame", press.frame_energy(), Dimension::ENERGY);
    Ok(vec![event])
}

fn screw_blow(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let blow = ScrewBlow {
        inertia: node.quantity("inertia", Dimension::INERTIA)?,
        speed: node.quantity("speed", Dimension::FREQUENCY)?,
        stop_time: node.quantity("stop_time", Dimension::TIME)?,
        rebound: node.quantity("rebound", Dimension::RATIO)?,
        axis: match node.optional("axis") {
            Some(value) => direction(&value)?,
            None => -Vector3::z(),
        },
        slide_mass: node.optional_quantity("slide_mass", Dimension::MASS)?.unwrap_or(0.0),
        lead: node.optional_quantity("lead", Dimension::LENGTH)?.unwrap_or(0.0),
        at: at(node, place.points)?,
    };
    let blow = blow.checked().map_err(|e| node.blame(e))?;
    let actions = blow.actions().map_err(|e| node.blame(e))?;
    let event = Event { contacts: contacts(node)?, ..Event::acting(name, case, actions) };
    Ok(vec![event.with("greatest torque on the frame", blow.torque(), Dimension::MOMENT)])
}

fn floor_shock(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let pulse = pulse(node, Dimension::ACCELERATION)?;
    let direction = direction(&node.required("direction", DIRECTIONS)?)?;
    let floor = FloorMotion { direction, acceleration: pulse.segments() };
    Ok(vec![Event::new(name, case, EventLoad::Floor(vec![floor]))])
}
