//! `[machine]` and its parts: mass, center and inertia as they are, or a list of parts, or a few
//! facts.
//!
//! The inertia is a tensor about the center of mass; its off-diagonals are MINUS the products of
//! inertia. `turn` is three angles about the fixed axes x, then y, then z.

use nalgebra::{Matrix3, Vector3};

use super::facts::facts;
use super::node::{Node, Value};
use crate::error::Result;
use crate::machine::body::turned;
use crate::machine::{Cuboid, Cylinder, FirstAnswer, Part, PointMass, RigidBody};
use crate::units::Dimension;

/// What `[machine]` says.
pub(super) struct Machine {
    pub(super) name: String,
    pub(super) body: RigidBody,
    pub(super) height: Option<f64>,
    pub(super) first: Option<FirstAnswer>,
}

pub(super) fn machine(root: &Node<'_>) -> Result<Machine> {
    let node = root
        .required("machine", "a [machine] section with mass, center and inertia, or parts")?
        .table("a [machine] section")?;
    let name = node.optional_text("name")?.unwrap_or_else(|| "machine".into());
    let height = node.optional("height").map(|v| v.informational(Dimension::LENGTH)).transpose()?;
    let parts = parts(&node, "part")?;
    let whole = ["mass", "center", "inertia"].into_iter().find(|key| node.has(key));
    let first = node.table("facts")?;
    if let (Some(facts), Some(key)) = (&first, whole.or((!parts.is_empty()).then_some("part"))) {
        let problem = format!("give either facts, or {key}, not both");
        return Err(facts.context.source.error(facts.at, &facts.path, problem));
    }
    let first = first.map(|node| facts(&node)).transpose()?;
    let body = match (&first, parts.is_empty(), whole) {
        (_, false, Some(key)) => {
            return Err(node.error(key, "give either mass, center and inertia, or parts, not both"));
        }
        (Some(first), ..) => Ok(first.body.clone()),
        (None, false, None) => RigidBody::from_parts(&parts),
        (None, true, _) => RigidBody::new(
            node.quantity("mass", Dimension::MASS)?,
            node.vector3("center", Dimension::LENGTH)?.into(),
            inertia(&node)?,
        ),
    }
    .map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(Machine { name, body, height, first })
}

/// Parts in a list of tables.
pub(super) fn parts(node: &Node<'_>, key: &'static str) -> Result<Vec<Part>> {
    node.tables(key)?.iter().map(part).collect()
}

fn part(node: &Node<'_>) -> Result<Part> {
    node.optional_text("name")?;
    let kind = node.choice("kind", &["box", "cylinder", "point", "body"])?;
    let mass = node.quantity("mass", Dimension::MASS)?;
    let center: Vector3<f64> = node.vector3("center", Dimension::LENGTH)?.into();
    let length = |key| node.quantity(key, Dimension::LENGTH);
    let built = match kind {
        "box" => {
            let size = node.vector3("size", Dimension::LENGTH)?;
            Cuboid::new(mass, size, center, axes(node)?).map(Part::Box)
        }
        "cylinder" => {
            let (diameter, length) = (length("diameter")?, length("length")?);
            Cylinder::new(mass, diameter, length, center, axes(node)?).map(Part::Cylinder)
        }
        "point" => PointMass::new(mass, center).map(Part::Point),
        _ => RigidBody::new(mass, Vector3::zeros(), inertia(node)?)
            .and_then(|body| body.placed(&center, &axes(node)?))
            .map(Part::Body),
    };
    let built = built.map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(built)
}

fn inertia(node: &Node<'_>) -> Result<Matrix3<f64>> {
    let what = "a list of three moments [Ixx, Iyy, Izz] or a 3 x 3 tensor";
    let rows = node.required("inertia", what)?.tensor(Dimension::INERTIA)?;
    Ok(Matrix3::from_fn(|i, j| rows[i][j]))
}

/// Axes as columns, from three angles about fixed x, y, z.
pub(super) fn axes(node: &Node<'_>) -> Result<Matrix3<f64>> {
    let angles = node.optional("turn").map(|v: Value<'_>| v.vector3(Dimension::ANGLE));
    let [x, y, z] = angles.transpose()?.unwrap_or_default();
    Ok(turned(x, y, z))
}
