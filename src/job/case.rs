//! `[[case]]`: load cases, as parts added to and removed from the machine, and loads that stay.

use nalgebra::Vector3;

use super::machine::parts;
use super::names::Names;
use super::node::Node;
use super::point::at;
use crate::error::Result;
use crate::installation::{Case, Point, Wrench};
use crate::machine::RigidBody;
use crate::units::Dimension;

pub(super) fn cases(
    root: &Node<'_>,
    machine: &RigidBody,
    points: &[Point],
    names: &mut Names,
) -> Result<Vec<Case>> {
    let mut cases = Vec::new();
    for node in root.tables("case")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let (add, remove) = (parts(&node, "add")?, parts(&node, "remove")?);
        let mut body = machine.clone();
        if !remove.is_empty() {
            body = body.without_parts(&remove).map_err(|e| node.error("remove", e.to_string()))?;
        }
        if !add.is_empty() {
            body = body.with_parts(&add).map_err(|e| node.error("add", e.to_string()))?;
        }
        let mut loads = Vec::new();
        for load in node.tables("load")? {
            loads.push(wrench(&load, points)?);
            load.finish()?;
        }
        node.finish()?;
        cases.push(Case { name, body, loads });
    }
    Ok(cases)
}

/// Key `at`, required: where a station is, m.
pub(super) fn at_place(node: &Node<'_>, points: &[Point]) -> Result<[f64; 3]> {
    match at(node, points)? {
        Some(place) => Ok(place.into()),
        None => Err(node.missing("at", "a point or coordinates [x, y, z] are required")),
    }
}

/// Keys `force`, `moment`, `at`; a force or a moment is required.
pub(super) fn wrench(node: &Node<'_>, points: &[Point]) -> Result<Wrench> {
    let force = node.optional_vector3("force", Dimension::FORCE)?;
    let moment = node.optional_vector3("moment", Dimension::MOMENT)?;
    if force.is_none() && moment.is_none() {
        return Err(node.missing("force", "a force or a moment is required"));
    }
    let vector = |v: Option<[f64; 3]>| Vector3::from(v.unwrap_or_default());
    Wrench::new(vector(force), vector(moment), at(node, points)?).map_err(|e| node.blame(e))
}
