//! `[height]`: what the leveling screws must make up for, and the pass line.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::limits::above_zero;
use super::node::Node;
use super::point::at;
use crate::checks::{Budget, creep_decades};
use crate::error::Result;
use crate::installation::Point;
use crate::units::Dimension;

/// Height and screw travel.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Height {
    /// What the screws must make up for.
    pub budget: Budget,
    /// Height at which the material passes, if the line needs one.
    pub pass_line: Option<PassLine>,
}

/// Height at which the material passes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PassLine {
    /// Point of the machine, unloaded on its mounts, m.
    pub at: Vector3<f64>,
    /// Height that the line needs, m.
    pub height: f64,
    /// How far it may be off, either way, m.
    pub tolerance: f64,
}

pub(super) fn height(root: &Node<'_>, points: &[Point]) -> Result<Option<Height>> {
    let Some(node) = root.table("height")? else { return Ok(None) };
    let length = |key, reason| node.quantity_or(key, Dimension::LENGTH, 0.0, reason);
    let (floor, settlement, reserve) = (
        length("floor", "not given: an even floor")?,
        length("settlement", "not given: no settlement")?,
        length("reserve", "not given: no reserve")?,
    );
    let creep_decades = match node.optional_quantity("creep_time", Dimension::TIME)? {
        Some(time) => creep_decades(time).map_err(|e| node.blame(e))?,
        None => 0.0,
    };
    let budget = Budget { floor, settlement, reserve, creep_decades };
    let budget = budget.checked().map_err(|e| node.blame(e))?;
    let pass_line = node.table("pass_line")?.map(|n| pass_line(&n, points)).transpose()?;
    node.finish()?;
    Ok(Some(Height { budget, pass_line }))
}

fn pass_line(node: &Node<'_>, points: &[Point]) -> Result<PassLine> {
    node.required("at", "a point, or coordinates [x, y, z]")?;
    let at = at(node, points)?.unwrap_or_default();
    let height = node.quantity("height", Dimension::LENGTH)?;
    let tolerance = node.quantity("tolerance", Dimension::LENGTH)?;
    node.finish()?;
    let tolerance = above_zero(node, "tolerance", tolerance, "m")?;
    Ok(PassLine { at, height: above_zero(node, "height", height, "m")?, tolerance })
}
