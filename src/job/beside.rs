//! `[[bridge]]`, `[[stop]]` and `[what_if_bridged]`: what stands beside the mounts.

use serde::{Deserialize, Serialize};

use super::limits::above_zero;
use super::machine::axes;
use super::names::Names;
use super::node::Node;
use super::shock::{DIRECTIONS, direction};
use crate::error::Result;
use crate::support::{Bridge, Stop};
use crate::units::Dimension;

/// Short circuits that are not there, and what would follow if they were.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WhatIf {
    /// Bridges with `what_if = true`.
    pub bridges: Vec<Bridge>,
    /// Frequency of the force on the floor, Hz.
    pub frequency: f64,
    /// Damping ratio of every mode, without and with the bridge; `None`: that of the parts.
    pub damping_ratio: Option<f64>,
}

/// Bridges that are there, and those that are asked about.
pub(super) fn bridges(root: &Node<'_>) -> Result<(Vec<Bridge>, Option<WhatIf>)> {
    let mut names = Names::default();
    let (mut there, mut asked) = (Vec::new(), Vec::new());
    for node in root.tables("bridge")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let bridge = bridge(&node, name)?;
        let what_if = node.boolean_or("what_if", false)?;
        node.finish()?;
        if what_if { asked.push(bridge) } else { there.push(bridge) }
    }
    let Some(node) = root.table("what_if_bridged")? else {
        if asked.is_empty() {
            return Ok((there, None));
        }
        let what = "a bridge asks what if: add [what_if_bridged] with the frequency at which the \
                    force on the floor is compared";
        return Err(root.error("bridge", what));
    };
    let frequency = node.quantity("frequency", Dimension::FREQUENCY)?;
    let frequency = above_zero(&node, "frequency", frequency, "Hz")?;
    let damping_ratio = match node.optional_quantity("damping_ratio", Dimension::RATIO)? {
        Some(zeta) => Some(above_zero(&node, "damping_ratio", zeta, "")?),
        None => None,
    };
    node.finish()?;
    if asked.is_empty() {
        let problem = "no bridge asks: write what_if = true at a [[bridge]], or drop this section";
        return Err(root.error("what_if_bridged", problem));
    }
    Ok((there, Some(WhatIf { bridges: asked, frequency, damping_ratio })))
}

fn bridge(node: &Node<'_>, name: String) -> Result<Bridge> {
    let position = node.vector3("position", Dimension::LENGTH)?;
    let stiffness = node.vector3("stiffness", Dimension::STIFFNESS)?;
    let kind = node.optional_text("kind")?.unwrap_or_default();
    let at_rest = node.optional_vector3("static_stiffness", Dimension::STIFFNESS)?;
    let damping = node.one_or_three("damping", Dimension::DAMPING)?.unwrap_or_default();
    let loss_factor = node.one_or_three("loss_factor", Dimension::RATIO)?.unwrap_or_default();
    let axes = axes(node)?;
    Bridge::new(position.into(), stiffness)
        .and_then(|b| b.with_name(name, kind).with_axes(axes))
        .and_then(|b| b.with_static_stiffness(at_rest.unwrap_or(stiffness)))
        .and_then(|b| b.with_damping(damping)?.with_loss_factor(loss_factor))
        .map_err(|e| node.blame(e))
}

pub(super) fn stops(root: &Node<'_>) -> Result<Vec<Stop>> {
    let mut names = Names::default();
    let mut stops = Vec::new();
    for node in root.tables("stop")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let position = node.vector3("position", Dimension::LENGTH)?;
        let direction = direction(&node.required("direction", DIRECTIONS)?)?;
        let gap = node.quantity("gap", Dimension::LENGTH)?;
        let stiffness = node.quantity("stiffness", Dimension::STIFFNESS)?;
        let behind = node.optional_quantity("gap_behind", Dimension::LENGTH)?;
        let damping = node.optional_quantity("damping", Dimension::DAMPING)?.unwrap_or(0.0);
        let loss_factor = node.optional_quantity("loss_factor", Dimension::RATIO)?.unwrap_or(0.0);
        let build = || {
            let stop = Stop::new(position.into(), direction, gap, stiffness)?
                .with_name(name)
                .with_damping(damping)?
                .with_loss_factor(loss_factor)?;
            behind.map_or(Ok(stop.clone()), |gap| stop.with_gap_behind(gap))
        };
        stops.push(build().map_err(|e| node.blame(e))?);
        node.finish()?;
    }
    Ok(stops)
}
