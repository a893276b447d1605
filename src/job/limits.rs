//! `[limits]`: what the study compares its results with.

use serde::{Deserialize, Serialize};

use super::node::Node;
use crate::error::{Result, positive};
use crate::units::Dimension;

/// Limits of a job; `None` where none is set.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Limits {
    /// Greatest tilt of the machine in any load case, rad.
    pub tilt: Option<f64>,
    /// Greatest displacement of any named point in any shock, peak, m.
    pub motion: Option<f64>,
    /// Greatest vertical force on the ground in any shock, peak, N.
    pub floor_force: Option<f64>,
    /// Greatest vertical transmissibility at one frequency.
    pub transmissibility: Option<TransmissibilityLimit>,
}

/// A limit on the vertical transmissibility at one frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TransmissibilityLimit {
    /// Frequency, Hz.
    pub frequency: f64,
    /// Greatest |T_zz|.
    pub max: f64,
}

pub(super) fn limits(root: &Node<'_>) -> Result<Limits> {
    let Some(node) = root.table("limits")? else { return Ok(Limits::default()) };
    let limit = |key, dimension: Dimension| match node.optional_quantity(key, dimension)? {
        Some(value) => above_zero(&node, key, value, dimension.si).map(Some),
        None => Ok(None),
    };
    let limits = Limits {
        tilt: limit("tilt", Dimension::ANGLE)?,
        motion: limit("motion", Dimension::LENGTH)?,
        floor_force: limit("floor_force", Dimension::FORCE)?,
        transmissibility: node
            .table("transmissibility")?
            .map(|n| transmissibility(&n))
            .transpose()?,
    };
    node.finish()?;
    Ok(limits)
}

fn transmissibility(node: &Node<'_>) -> Result<TransmissibilityLimit> {
    let frequency = node.quantity("frequency", Dimension::FREQUENCY)?;
    let max = node.quantity("max", Dimension::RATIO)?;
    node.finish()?;
    Ok(TransmissibilityLimit {
        frequency: above_zero(node, "frequency", frequency, "Hz")?,
        max: above_zero(node, "max", max, "")?,
    })
}

/// `value` if it is greater than zero; else an error at the key.
pub(super) fn above_zero(node: &Node<'_>, key: &str, value: f64, unit: &str) -> Result<f64> {
    positive(key, value, unit).map_err(|e| node.blame(e))
}
