//! How does the machine answer small motions about where it rests?
//!
//! [`at`] moves every law to its working point: a curved mount gets the tangent of its curve at its
//! own compression, a stop is open or closed as it stands. A system of constant stiffness is the
//! same at any working point. A mount that lifted off keeps its small-motion stiffness, as one of
//! constant stiffness does: statics reports it.

use nalgebra::{DVector, Vector3};
use serde::{Deserialize, Serialize};

use super::equilibrium::Model;
use super::gravity::Equilibrium;
use super::joint::{BRIDGE, STOP};
use super::{Statics, StaticsOptions, statics};
use crate::error::{Error, Result};
use crate::law::{Contact, Law};
use crate::system::System;

/// A bridge or a stop in a static equilibrium.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Beside {
    /// "bridge" or "stop".
    pub kind: String,
    /// Its name.
    pub name: String,
    /// Force on the machine, N, axes of the floor.
    pub force: Vector3<f64>,
    /// True if it touches (a bridge always does).
    pub touches: bool,
    /// Way to go until it touches in its direction, m; negative: pressed in. Zero for a bridge.
    pub way_to_go: f64,
    /// The same against its direction, where it stops that way too.
    pub way_back: Option<f64>,
}

/// The system with each law at its working point in the equilibrium `statics`.
///
/// # Errors
/// [`Error::Shape`] if `statics` is of another system.
pub fn at(system: &System, statics: &Statics) -> Result<System> {
    let n = system.dofs.len();
    let heights = statics.options.floor_height.as_deref();
    let model = Model::new(system, &DVector::zeros(n), heights)?;
    if statics.displacement.len() != n || statics.mount_names.len() != model.supports.len() {
        return Err(Error::Shape {
            argument: "statics".into(),
            found: format!("({}, {})", statics.mount_names.len(), statics.displacement.len()),
            expected: format!("({}, {n}): mounts, degrees of freedom", model.supports.len()),
        });
    }
    let mut moved = system.clone();
    if model.is_linear() {
        return Ok(moved);
    }
    let all = vec![1.0; model.supports.len()];
    let joints = model.at_work(&all);
    for (element, (joint, _, height)) in moved.elements.iter_mut().zip(joints) {
        let mut e = joint.deformation(&statics.displacement, height);
        if let Law::Curve(law) = &joint.law {
            // A mount that lifted off or is pulled has the stiffness of its unloaded end.
            let [start, _] = law.curve.range();
            let lifted = joint.support && e[law.axis] > 0.0 && statics.options.unilateral;
            e[law.axis] = if lifted { 0.0 } else { e[law.axis].min(-start) };
        }
        element.law = element.law.at(&e);
    }
    Ok(moved)
}

/// The system at the working point of a load; one of constant stiffness as it is.
///
/// # Errors
/// Those of [`statics`], for a system whose stiffness depends on the load.
pub fn working_point(
    system: System,
    load: &DVector<f64>,
    options: &StaticsOptions,
) -> Result<System> {
    if system.elements.iter().all(|element| element.law.is_linear()) {
        return Ok(system);
    }
    let rest = statics(&system, load, options)?;
    at(&system, &rest)
}

/// Refuses a mount whose curve ends before its load; warns of one that is pulled.
pub(super) fn in_range(model: &Model, found: &Equilibrium) -> Result<Vec<String>> {
    let mut warnings = Vec::new();
    for (i, &index) in model.supports.iter().enumerate().filter(|(i, _)| found.contact[*i]) {
        let joint = &model.joints[index];
        let Law::Curve(law) = &joint.law else { continue };
        let e = joint.deformation(&found.x, model.heights[i]);
        let Some(outside) = law.outside(-e[law.axis]) else { continue };
        let (end, load) = outside.end;
        if outside.compression < end {
            warnings.push(format!(
                "mount {} is pulled by {:.4e} m, beyond its curve: the stiffness at the curve's \
                 first point is used there",
                joint.name, -outside.compression
            ));
            continue;
        }
        return Err(Error::invalid(
            format!("curve of mount {}", joint.name),
            format!("compression {:.6e} m under {:.6e} N", outside.compression, outside.load),
            format!("its range ends at {end:.6e} m and {load:.6e} N"),
            "take a stiffer or larger mount there, spread the load, or give a curve that reaches \
             further",
        ));
    }
    Ok(warnings)
}

/// Bridges and stops at x, in the order of the system.
pub(super) fn beside(model: &Model, x: &DVector<f64>) -> Vec<Beside> {
    let all = vec![1.0; model.supports.len()];
    model
        .at_work(&all)
        .filter(|(joint, ..)| joint.kind == BRIDGE || joint.kind == STOP)
        .filter_map(|(joint, _, height)| {
            let (force, _) = joint.reaction(joint.ends.first()?, x, height);
            let e = joint.deformation(x, height);
            let (touches, way_to_go, way_back) = match &joint.law {
                Law::Gap(law) => (
                    law.contact_at(e[0]) != Contact::Open,
                    law.gap - e[0],
                    law.gap_behind.map(|behind| behind + e[0]),
                ),
                _ => (true, 0.0, None),
            };
            Some(Beside {
                kind: joint.kind.clone(),
                name: joint.name.clone(),
                force,
                touches,
                way_to_go,
                way_back,
            })
        })
        .collect()
}
