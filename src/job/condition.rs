//! `[[condition]]`: the mounts when cold, warm or aged, for which every check is judged too.

use serde::{Deserialize, Serialize};

use super::limits::above_zero;
use super::names::Names;
use super::node::Node;
use crate::error::Result;
use crate::units::Dimension;

/// A state of the mounts: every stiffness, static and dynamic, times a factor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Condition {
    /// Name ("cold, 5 C", "aged 10 years").
    pub name: String,
    /// Factor on every stiffness of every mount.
    pub stiffness_factor: f64,
}

pub(super) fn conditions(root: &Node<'_>) -> Result<Vec<Condition>> {
    let mut names = Names::default();
    let mut conditions = Vec::new();
    for node in root.tables("condition")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let factor = node.quantity("stiffness_factor", Dimension::RATIO)?;
        node.finish()?;
        let stiffness_factor = above_zero(&node, "stiffness_factor", factor, "")?;
        conditions.push(Condition { name, stiffness_factor });
    }
    Ok(conditions)
}
