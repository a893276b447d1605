//! `[press]`: what moves inside the machine.

use super::machine::Machine;
use super::node::Node;
use crate::error::Result;
use crate::machine::press::REVERSE_LIMIT;
use crate::machine::{InnerMass, LinkDamping, Press};
use crate::units::Dimension;

pub(super) fn press(root: &Node<'_>, machine: &Machine) -> Result<Option<Press>> {
    let Some(node) = root.table("press")? else { return Ok(None) };
    let inner = |mass, position| {
        let mass = node.quantity(mass, Dimension::MASS)?;
        let position = node.vector3(position, Dimension::LENGTH)?.into();
        Ok::<_, crate::Error>(InnerMass { mass, position })
    };
    let slide = inner("slide_mass", "slide_position")?;
    let crown = inner("crown_mass", "crown_position")?;
    let frame = node.quantity("frame_stiffness", Dimension::STIFFNESS)?;
    let drive = node.quantity("drive_stiffness", Dimension::STIFFNESS)?;
    let frame_damping =
        damping(&node, ["frame_damping", "frame_loss_factor", "frame_damping_ratio"])?;
    let drive_damping =
        damping(&node, ["drive_damping", "drive_loss_factor", "drive_damping_ratio"])?;
    let clearance = node.optional_quantity("clearance", Dimension::LENGTH)?;
    let counterbalance = node.optional_quantity("counterbalance", Dimension::FORCE)?;
    let rated = node.optional_quantity("rated_force", Dimension::FORCE)?;
    let limit = node.optional_quantity("reverse_limit", Dimension::RATIO)?;
    let gibs = node.optional_quantity("guide_length", Dimension::LENGTH)?;
    let build = || {
        let mut press = Press::new(crown, slide, frame, drive)?;
        press.rest_of(&machine.body)?;
        press = press.with_damping(frame_damping, drive_damping, &machine.body)?;
        press = press.with_clearance(clearance.unwrap_or(0.0))?;
        (press.counterbalance, press.rated_force, press.guide_length) =
            (counterbalance, rated, gibs);
        press.reverse_limit = limit.unwrap_or(REVERSE_LIMIT);
        press.checked()
    };
    let press = build().map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(Some(press))
}

/// One of the three ways to state damping; none at all is none.
fn damping(node: &Node<'_>, keys: [&'static str; 3]) -> Result<LinkDamping> {
    let given: Vec<_> = keys.iter().filter(|key| node.has(key)).collect();
    if let [_, second, ..] = given[..] {
        return Err(node.error(second, format!("give only one of {}", keys.join(", "))));
    }
    let [damping, loss_factor, ratio] = keys;
    let viscous = node.optional_quantity(damping, Dimension::DAMPING)?;
    let loss = node.optional_quantity(loss_factor, Dimension::RATIO)?;
    let zeta = node.optional_quantity(ratio, Dimension::RATIO)?;
    let stated = loss.map(LinkDamping::LossFactor).or(zeta.map(LinkDamping::Ratio));
    Ok(stated.unwrap_or(LinkDamping::Viscous(viscous.unwrap_or(0.0))))
}
