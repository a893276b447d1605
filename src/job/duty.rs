//! `[duty]`: how much the press runs, and how many strokes its parts bear.

use serde::{Deserialize, Serialize};

use super::limits::above_zero;
use super::node::Node;
use crate::checks::Duty;
use crate::error::Result;
use crate::units::Dimension;

/// Strokes in service, and the strokes that the parts bear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DutyLimit {
    /// How much the press runs.
    pub duty: Duty,
    /// Years of service.
    pub years: f64,
    /// Strokes that mounts, anchors or welds bear.
    pub endurance: f64,
}

pub(super) fn duty(root: &Node<'_>) -> Result<Option<DutyLimit>> {
    let Some(node) = root.table("duty")? else { return Ok(None) };
    let number = |key, default, reason| node.quantity_or(key, Dimension::RATIO, default, reason);
    let duty = Duty {
        stroke_rate_spm: 60.0 * node.quantity("stroke_rate", Dimension::FREQUENCY)?,
        hours_per_day: number("hours_per_day", 24.0, "not given: day and night")?,
        utilization: number("utilization", 0.7, "not given: common practice")?,
        days_per_year: number("days_per_year", 365.0, "not given: every day")?,
    };
    let duty = duty.checked().map_err(|e| node.blame(e))?;
    let years = node.quantity("years", Dimension::RATIO)?;
    let endurance = node.quantity("endurance", Dimension::RATIO)?;
    node.finish()?;
    Ok(Some(DutyLimit {
        duty,
        years: above_zero(&node, "years", years, "a")?,
        endurance: above_zero(&node, "endurance", endurance, "strokes")?,
    }))
}
