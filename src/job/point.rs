//! `[[point]]`: named points of the machine; and `at`, which takes a name or coordinates.

use nalgebra::Vector3;
use toml::de::DeValue;

use super::names::{Names, find};
use super::node::Node;
use crate::error::Result;
use crate::installation::Point;
use crate::units::Dimension;

pub(super) fn points(root: &Node<'_>) -> Result<Vec<Point>> {
    let mut names = Names::default();
    let mut points = Vec::new();
    for node in root.tables("point")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let at = node.vector3("at", Dimension::LENGTH)?.into();
        node.finish()?;
        points.push(Point { name, at });
    }
    Ok(points)
}

/// The point of key `at`: a name or coordinates (m); `None` (the center of mass) if not given.
pub(super) fn at(node: &Node<'_>, points: &[Point]) -> Result<Option<Vector3<f64>>> {
    let Some(value) = node.optional("at") else { return Ok(None) };
    if let DeValue::String(_) = value.value {
        return find(&value, "point", points.iter().map(|p| (p.name.as_str(), p.at))).map(Some);
    }
    value.vector3(Dimension::LENGTH).map(|at| Some(at.into()))
}
