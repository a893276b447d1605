//! `[[interface]]` and `[[limits.point]]`: where the machine meets what stands on the floor, and
//! how much a single point may move.

use super::limits::above_zero;
use super::names::{Names, find};
use super::node::Node;
use super::point::at;
use crate::checks::{Interface, PointLimit};
use crate::error::Result;
use crate::installation::{Case, Point};
use crate::system::Axis;
use crate::units::Dimension;

pub(super) fn interfaces(
    root: &Node<'_>,
    points: &[Point],
    cases: &[Case],
) -> Result<Vec<Interface>> {
    let mut names = Names::default();
    let mut interfaces = Vec::new();
    for node in root.tables("interface")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let place = "a point, or coordinates [x, y, z]";
        node.required("at", place)?;
        let point = at(&node, points)?.unwrap_or_default();
        let named = || cases.iter().map(|c| (c.name.as_str(), c.name.clone()));
        let aligned_in =
            node.optional("aligned_in").map(|v| find(&v, "case", named())).transpose()?;
        let limit = |key| match node.optional_quantity(key, Dimension::LENGTH)? {
            Some(value) => above_zero(&node, key, value, "m").map(Some),
            None => Ok(None),
        };
        let (static_limit, dynamic_limit) = (limit("static_limit")?, limit("dynamic_limit")?);
        if static_limit.is_none() && dynamic_limit.is_none() {
            return Err(node.missing("static_limit", "a static_limit or a dynamic_limit"));
        }
        let directions = directions(&node)?;
        node.finish()?;
        let interface =
            Interface { name, at: point, directions, aligned_in, static_limit, dynamic_limit };
        interfaces.push(interface.checked().map_err(|e| node.blame(e))?);
    }
    Ok(interfaces)
}

/// Directions that matter: a list of x, y, z; all three where none is given.
fn directions(node: &Node<'_>) -> Result<Vec<Axis>> {
    let all = [Axis::X, Axis::Y, Axis::Z];
    let Some(value) = node.optional("directions") else { return Ok(all.to_vec()) };
    let words = "a list of \"x\", \"y\", \"z\"";
    let mut chosen = Vec::new();
    for item in value.items(words)? {
        let name = item.text()?;
        let axis = all.into_iter().find(|axis| axis.name() == name);
        let axis = axis.ok_or_else(|| item.wrong(words))?;
        if chosen.contains(&axis) {
            return Err(item.error(format!("{name:?} stands twice; name each direction once")));
        }
        chosen.push(axis);
    }
    if chosen.is_empty() {
        return Err(value.wrong(words));
    }
    Ok(chosen)
}

pub(super) fn point_limits(limits: &Node<'_>, points: &[Point]) -> Result<Vec<PointLimit>> {
    let mut names = Names::default();
    let mut all = Vec::new();
    for node in limits.tables("point")? {
        let value = node.required("point", "the name of a [[point]]")?;
        let point =
            find(&value, "point", points.iter().map(|p| (p.name.as_str(), p.name.clone())))?;
        names.add(&node, "point", &point)?;
        let limit = |key, dimension: Dimension| match node.optional_quantity(key, dimension)? {
            Some(value) => above_zero(&node, key, value, dimension.si).map(Some),
            None => Ok(None),
        };
        let limit = PointLimit {
            point,
            displacement: limit("displacement", Dimension::LENGTH)?,
            velocity: limit("velocity", Dimension::VELOCITY)?,
            acceleration: limit("acceleration", Dimension::ACCELERATION)?,
        };
        if [limit.displacement, limit.velocity, limit.acceleration].iter().all(Option::is_none) {
            let required = "a displacement, a velocity or an acceleration";
            return Err(node.missing("displacement", required));
        }
        node.finish()?;
        all.push(limit);
    }
    Ok(all)
}
