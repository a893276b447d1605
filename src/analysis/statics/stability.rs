//! Does the machine rock over under its own weight?
//!
//! A tilt theta moves the center of mass by h theta off the mounts: the weight's moment m g h
//! theta works against k_theta theta. The machine stands if m g h < k_theta; any tilt is larger by
//! 1 / (1 - m g h / k_theta).
//!
//! - k_theta = 1 / C_theta,theta, with C the static compliance: every other motion is condensed
//!   out (the Schur complement), so k_theta is the stiffness about the elastic axis. For vertical
//!   mounts k_theta = sum k_i y_i^2.
//! - h is the height of the center of mass above the elastic axis, the height at which a
//!   horizontal force causes no rotation: h = -C_rx,y / C_rx,rx about x, C_ry,x / C_ry,ry about y.
//! - STATIC stiffness, since tipping is slow, of a curved mount at its working point; lifted mounts
//!   do not count.
//!
//! Where mounts of different heights or slanted axes carry, the weight works at the height where
//! it is carried, not at that of the elastic axis: `load_height` and `load_ratio` give that, as
//! the gravity stiffness of the statics has it. For mounts at one height both are the same.
//!
//! Source: textbook (see the rocking checks under `tests/published`). Limits: first body only;
//! coupling of the two rocking axes is left to the statics with gravity stiffness.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::equilibrium::{Model, parts};
use super::gravity::gravity_stiffness;
use super::{Statics, at};
use crate::error::{Error, Result, positive};
use crate::system::{Axis, System};

/// Rocking of the first body about one axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stability {
    /// Axis of rotation: [`Axis::Rx`] or [`Axis::Ry`].
    pub axis: Axis,
    /// Static rocking stiffness about the elastic axis, N m/rad.
    pub k_theta: f64,
    /// Height h of the center of mass above the elastic axis, m (negative: below).
    pub height: f64,
    /// Weight carried by the mounts of this body, N.
    pub weight: f64,
    /// m g h, N m/rad.
    pub weight_moment: f64,
    /// m g h / k_theta.
    pub ratio: f64,
    /// Factor on any tilt, 1 / (1 - ratio); infinite where the machine tips.
    pub amplification: f64,
    /// Height of the center of mass above the points where the mounts carry it, m.
    pub load_height: f64,
    /// m g load_height / k_theta.
    pub load_ratio: f64,
    /// True if both ratios are below 1.
    pub stable: bool,
}

/// Rocking about x and about y of the first body in the equilibrium `statics`.
///
/// # Errors
/// [`Error::Invalid`] if the first body cannot move in all six directions or `statics` puts no
/// weight on its mounts; [`Error::Unstable`] if
/// the mounts in contact do not hold it; [`Error::Shape`] if `statics` is of another system.
pub fn stability(system: &System, statics: &Statics) -> Result<[Stability; 2]> {
    let heights = statics.options.floor_height.as_deref();
    let system = &at(system, statics)?;
    let model = Model::new(system, &DVector::zeros(system.dofs.len()), heights)?;
    let m = model.supports.len();
    if statics.mount_names.len() != m || statics.displacement.len() != system.dofs.len() {
        return Err(Error::Shape {
            argument: "statics".into(),
            found: format!("({}, {})", statics.mount_names.len(), statics.displacement.len()),
            expected: format!("({m}, {}): mounts, degrees of freedom", system.dofs.len()),
        });
    }
    let contact: Vec<bool> = (0..m).map(|i| !statics.lifted.contains(&i)).collect();
    let rows = first_body_rows(system)?;
    let n = system.dofs.len();
    let k = model.stiffness(&parts(&contact, 0.0));
    let Some(factor) = model.factor(&k) else {
        return Err(model.why_unstable(&contact, &DMatrix::zeros(n, n)));
    };
    let (gravity, _) = gravity_stiffness(&model, &statics.displacement, &contact);
    let weight: f64 =
        (0..m).filter(|&i| model.support(i).ends[0].body == 0).map(|i| statics.load[[i, 2]]).sum();
    positive("weight on the mounts of the first body", weight, "N")?;
    let about = |axis: Axis, across: Axis, sign: f64| {
        let (turn, slide) = (rows[axis as usize], rows[across as usize]);
        let mut unit = DVector::zeros(n);
        unit[turn] = 1.0;
        let compliance = factor.solve(&k, &unit);
        let k_theta = 1.0 / compliance[turn];
        let height = sign * compliance[slide] / compliance[turn];
        let ratio = weight * height / k_theta;
        let load_ratio = -gravity[(turn, turn)] / k_theta;
        Stability {
            axis,
            k_theta,
            height,
            weight,
            weight_moment: weight * height,
            ratio,
            amplification: if ratio < 1.0 { 1.0 / (1.0 - ratio) } else { f64::INFINITY },
            load_height: load_ratio * k_theta / weight,
            load_ratio,
            stable: ratio < 1.0 && load_ratio < 1.0,
        }
    };
    Ok([about(Axis::Rx, Axis::Y, -1.0), about(Axis::Ry, Axis::X, 1.0)])
}

/// Rows of the six degrees of freedom of the first body.
fn first_body_rows(system: &System) -> Result<[usize; 6]> {
    let mut rows = [0; 6];
    let body = system.dofs.first().map_or("", |dof| dof.body.as_str());
    for axis in Axis::ALL {
        let row = system.dofs.iter().position(|dof| dof.body == body && dof.axis == axis);
        rows[axis as usize] = row.ok_or_else(|| {
            Error::invalid(
                "dofs",
                format!("no {body}.{}", axis.name()),
                "the first body must move in all six directions for the rocking check",
                "put the machine first and give it its six degrees of freedom",
            )
        })?;
    }
    Ok(rows)
}
