//! `[[rotating]]`: unbalanced rotors at a steady speed, and while they run up or down.

use super::event::{Event, EventLoad, Place};
use super::node::Node;
use super::point::at;
use super::shock::{DIRECTIONS, case, direction};
use crate::error::Result;
use crate::excitation::{Excitation, Rotating, SpeedRamp, UnbalancePlane};
use crate::units::Dimension;

pub(super) fn rotating(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let axis = direction(&node.required("axis", DIRECTIONS)?)?;
    let speed = node.quantity("speed", Dimension::FREQUENCY)?;
    let inertia = node.optional_quantity("inertia", Dimension::INERTIA)?.unwrap_or(0.0);
    let mut planes = Vec::new();
    node.required("plane", "one plane of unbalance or more, [[rotating.plane]],")?;
    for plane in node.tables("plane")? {
        planes.push(UnbalancePlane {
            unbalance: plane.quantity("unbalance", Dimension::MASS_MOMENT)?,
            at: at(&plane, place.points)?,
            angle: plane.optional_quantity("angle", Dimension::ANGLE)?.unwrap_or(0.0),
        });
        plane.finish()?;
    }
    let rotor = Rotating::new(axis, planes, inertia).map_err(|e| node.blame(e))?;
    let steady = rotor.steady(speed).map_err(|e| node.blame(e))?;
    let omega = std::f64::consts::TAU * speed;
    let force = rotor.planes.iter().map(|p| p.unbalance * omega * omega).fold(0.0, f64::max);
    let event =
        Event::new(name.clone(), case.clone(), EventLoad::Acting(Excitation::repeated(steady)));
    let what = "force of the greatest unbalance";
    let mut all = vec![event.with(what, force, Dimension::FORCE)];
    for (key, word, [from, to]) in
        [("run_up", "run-up", [0.0, speed]), ("run_down", "run-down", [speed, 0.0])]
    {
        let Some(table) = node.table(key)? else { continue };
        let at = |key, usual| {
            table.optional_quantity(key, Dimension::FREQUENCY).map(|f| f.unwrap_or(usual))
        };
        let time = table.quantity("time", Dimension::TIME)?;
        let hold = table.optional_quantity("hold", Dimension::TIME)?.unwrap_or(0.0);
        let ramp = SpeedRamp::new(at("from", from)?, at("to", to)?, time)
            .and_then(|ramp| ramp.with_hold(hold))
            .map_err(|e| table.blame(e))?;
        table.finish()?;
        let (excitation, _) = rotor.ramp(&ramp).map_err(|e| node.blame(e))?;
        let load = EventLoad::Acting(excitation);
        all.push(Event::new(format!("{name}, {word}"), case.clone(), load));
    }
    Ok(all)
}
