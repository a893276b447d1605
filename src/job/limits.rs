//! `[limits]`, `[[interface]]`, `[height]` and `[duty]`: what the study compares its results with.

use serde::{Deserialize, Serialize};

use super::node::Node;
use super::{duty, height, interface};
use crate::checks::{Friction, Interface, PointLimit, Seismic};
use crate::error::{Result, positive};
use crate::installation::{Case, Point};
use crate::units::Dimension;

pub use super::duty::DutyLimit;
pub use super::height::{Height, PassLine};

/// Limits of a job; `None` where none is set.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Limits {
    /// Greatest tilt of the machine in any load case, rad.
    pub tilt: Option<f64>,
    /// Greatest step of the bolster's rails when it is out, m.
    pub rail_step: Option<f64>,
    /// Greatest tilt of the bolster's rails half way, against the machine as the bolster left, rad.
    pub rail_tilt: Option<f64>,
    /// Greatest change of tilt from the machine as it runs to any load case, the weight's own
    /// moment included, rad.
    pub level: Option<f64>,
    /// Greatest displacement of any named point in any shock or steady load, peak, m.
    pub motion: Option<f64>,
    /// Greatest vertical force on the ground in any shock, peak, N.
    pub floor_force: Option<f64>,
    /// Greatest vertical transmissibility at one frequency.
    pub transmissibility: Option<TransmissibilityLimit>,
    /// Least part of its static load that must stay in each mount while the machine moves.
    pub contact_reserve: Option<f64>,
    /// Friction under the feet, for walking; as usual where the job gives none, `None` where it is
    /// anchored or nothing shakes it.
    pub friction: Option<Friction>,
    /// Greatest horizontal force of one foot, static and dynamic, N.
    pub lateral: Option<f64>,
    /// Greatest part of a horizontal force that one mount may take.
    pub lateral_share: Option<f64>,
    /// Horizontal acceleration that the machine must stand.
    pub sideways: Option<SidewaysLimit>,
    /// Limits of single points.
    pub points: Vec<PointLimit>,
    /// Points beside what stands on the floor.
    pub interfaces: Vec<Interface>,
    /// Height and screw travel.
    pub height: Option<Height>,
    /// Strokes in service.
    pub duty: Option<DutyLimit>,
}

/// A limit on the vertical transmissibility at one frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TransmissibilityLimit {
    /// Frequency, Hz.
    pub frequency: f64,
    /// Greatest |T_zz|.
    pub max: f64,
}

/// A horizontal acceleration, and what holds the machine down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SidewaysLimit {
    /// Acceleration as a part of g.
    pub acceleration: f64,
    /// Force with which each mount is held down, N; zero: it only stands.
    pub hold_down: f64,
}

/// `moves`: the job shakes the machine, so that it may walk.
pub(super) fn limits(
    root: &Node<'_>,
    points: &[Point],
    cases: &[Case],
    moves: bool,
) -> Result<Limits> {
    let mut limits = match root.table("limits")? {
        Some(node) => section(&node, points, moves)?,
        None if moves => {
            Limits { friction: Some(usual_friction(root, "limits.friction")?), ..Limits::default() }
        }
        None => Limits::default(),
    };
    limits.interfaces = interface::interfaces(root, points, cases)?;
    limits.height = height::height(root, points)?;
    limits.duty = duty::duty(root)?;
    Ok(limits)
}

fn section(node: &Node<'_>, points: &[Point], moves: bool) -> Result<Limits> {
    let limit = |key, dimension: Dimension| match node.optional_quantity(key, dimension)? {
        Some(value) => above_zero(node, key, value, dimension.si).map(Some),
        None => Ok(None),
    };
    let part = |key| match node.optional_quantity(key, Dimension::RATIO)? {
        Some(value) => part_of_one(node, key, value).map(Some),
        None => Ok(None),
    };
    let limits = Limits {
        tilt: limit("tilt", Dimension::ANGLE)?,
        level: limit("level", Dimension::ANGLE)?,
        rail_step: limit("rail_step", Dimension::LENGTH)?,
        rail_tilt: limit("rail_tilt", Dimension::ANGLE)?,
        motion: limit("motion", Dimension::LENGTH)?,
        floor_force: limit("floor_force", Dimension::FORCE)?,
        transmissibility: node
            .table("transmissibility")?
            .map(|n| transmissibility(&n))
            .transpose()?,
        contact_reserve: part("contact_reserve")?,
        friction: walking(node, moves)?,
        lateral: limit("lateral", Dimension::FORCE)?,
        lateral_share: part("lateral_share")?,
        sideways: node.table("sideways")?.map(|n| sideways(&n)).transpose()?,
        points: interface::point_limits(node, points)?,
        ..Limits::default()
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

/// Friction as given, or as usual; none where the machine is anchored or nothing shakes it.
fn walking(node: &Node<'_>, moves: bool) -> Result<Option<Friction>> {
    let given = node.table("friction")?;
    let anchored = node.boolean_or("anchored", false)?;
    match given {
        Some(_) if anchored => {
            let both = "says how a machine walks that anchored = true holds; leave one of them out";
            Err(node.error("friction", both))
        }
        Some(given) => friction(&given).map(Some),
        None if moves && !anchored => usual_friction(node, "friction").map(Some),
        None => Ok(None),
    }
}

/// Friction that nobody has given: assumptions with their bands.
fn usual_friction(node: &Node<'_>, path: &str) -> Result<Friction> {
    let coefficient = node.banded_default(
        &format!("{path}.coefficient"),
        (Friction::OILY, Some(0.1), Some(0.2)),
        "",
        OILY,
        vec![],
    );
    let safety = node.banded_default(
        &format!("{path}.safety"),
        (Friction::SAFETY, Some(1.5), Some(2.0)),
        "",
        SAFETY,
        vec![],
    );
    Friction::new(coefficient, safety).map_err(|e| node.blame(e))
}

const OILY: &str = "not given: oily floor, common practice";
const SAFETY: &str = "not given: common practice, 1.5 to 2";

/// Coefficient and safety, with what is common practice where they are left out.
fn friction(node: &Node<'_>) -> Result<Friction> {
    let coefficient = match node.optional_quantity("coefficient", Dimension::RATIO)? {
        Some(value) => value,
        None => {
            let band = (Friction::OILY, Some(0.1), Some(0.2));
            node.banded_default("coefficient", band, "", OILY, vec![])
        }
    };
    let safety = match node.optional_quantity("safety", Dimension::RATIO)? {
        Some(value) => value,
        None => {
            let band = (Friction::SAFETY, Some(1.5), Some(2.0));
            node.banded_default("safety", band, "", SAFETY, vec![])
        }
    };
    node.finish()?;
    Friction::new(coefficient, safety).map_err(|e| node.blame(e))
}

fn sideways(node: &Node<'_>) -> Result<SidewaysLimit> {
    let acceleration = match node.table("seismic")? {
        Some(_) if node.has("acceleration") => {
            let what = "an acceleration is given as well; leave one of them out";
            return Err(node.error("seismic", what));
        }
        Some(code) => seismic(&code)?,
        None => {
            let acceleration = node.quantity("acceleration", Dimension::RATIO)?;
            above_zero(node, "acceleration", acceleration, "of g")?
        }
    };
    let reason = "not given: the mounts are not held down";
    let hold_down = node.quantity_or("hold_down", Dimension::FORCE, 0.0, reason)?;
    let hold_down = crate::error::not_negative("hold_down", hold_down, "N");
    let hold_down = hold_down.map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(SidewaysLimit { acceleration, hold_down })
}

/// The acceleration that a code asks, from the site and the place in the building.
fn seismic(node: &Node<'_>) -> Result<f64> {
    let usual = Seismic::on_springs(node.quantity("sds", Dimension::RATIO)?);
    let ratio = |key, value, reason| node.quantity_or(key, Dimension::RATIO, value, reason);
    let springs = "not given: a component on vibration isolators, ASCE/SEI 7-16 (from memory)";
    let code = Seismic {
        amplification: ratio("amplification", usual.amplification, springs)?,
        response: ratio("response", usual.response, springs)?,
        importance: ratio("importance", usual.importance, "not given: ordinary importance")?,
        height_ratio: ratio("height_ratio", usual.height_ratio, "not given: it stands at grade")?,
        gap: node.optional_quantity("gap", Dimension::LENGTH)?,
        ..usual
    };
    node.finish()?;
    code.acceleration().map_err(|e| node.blame(e))
}

/// `value` if it is greater than zero; else an error at the key.
pub(super) fn above_zero(node: &Node<'_>, key: &str, value: f64, unit: &str) -> Result<f64> {
    positive(key, value, unit).map_err(|e| node.blame(e))
}

/// `value` if it is greater than zero and at most one; else an error at the key.
fn part_of_one(node: &Node<'_>, key: &str, value: f64) -> Result<f64> {
    if value > 0.0 && value <= 1.0 {
        return Ok(value);
    }
    Err(node.error(key, format!("{value}: must lie between 0 and 1; write \"20 %\" or 0.2")))
}
