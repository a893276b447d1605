//! The floor moves: a forklift passes, a neighboring press strikes. How does the machine follow?
//!
//! All feet move together by u_g(t). With x measured from the floor, R the motion that carries the
//! machine along without straining any mount,
//!
//! M x'' + C x' + K x (+ loss factors, laws) = -M R u_g''(t):
//!
//! the same exact transient as for a force. Displacement and velocity of the result are those against
//! the moving floor (what pipes, feeds and mounts see), its acceleration is the absolute one, and the
//! forces of the mounts are those on the moving floor.
//!
//! Assumptions: the floor is rigid under the whole machine (all feet in step, no tilt); the floor's
//! motion is known and not changed by the machine. R is found from the ports: it must leave every
//! element unstrained, or the system is refused.
//!
//! Source: textbook, e.g. R. W. Clough and J. Penzien, Dynamics of Structures, 2nd ed. 1993, section
//! 2-7 (from memory).

use nalgebra::{DMatrix, Vector3};
use serde::{Deserialize, Serialize};

use super::load::Load;
use super::motion::{Start, Transient};
use super::{Shock, ShockOptions};
use crate::error::{Error, Result};
use crate::excitation::{Segment, unit_vector};
use crate::system::Linear;

/// Acceleration of the floor along a direction.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FloorMotion {
    /// Unit vector.
    pub direction: Vector3<f64>,
    /// Acceleration u_g'' over time, m/s^2; zero outside its segments.
    pub acceleration: Vec<Segment>,
}

/// R: motion of the degrees of freedom when the floor moves by 1 m along x, y and z, n x 3.
///
/// # Errors
/// [`Error::Invalid`] for a system that the floor cannot carry along without strain.
pub fn carried_along(linear: &Linear) -> Result<DMatrix<f64>> {
    let n = linear.size();
    // Least squares over all ports: B' R = G', G being the wrench on the ground of unit port forces.
    let (mut square, mut right) = (DMatrix::zeros(n, n), DMatrix::zeros(n, 3));
    let ground = |element: &crate::system::LinearElement| {
        let foot = element.ground.as_ref();
        foot.map(|foot| foot.about(&linear.reference).rows(0, 3).transpose())
    };
    for element in &linear.elements {
        square += &element.b * element.b.transpose();
        if let Some(wanted) = ground(element) {
            right += &element.b * wanted;
        }
    }
    let refuse = |detail: String| {
        Error::invalid(
            "system",
            detail,
            "must follow a floor that moves as a whole without strain in any mount",
            "check the mounts, or give the force on the machine instead",
        )
    };
    let carried =
        square.clone().pseudo_inverse(1e-12 * square.amax()).map(|inverse| inverse * right);
    let carried = carried.map_err(|e| refuse(e.to_owned()))?;
    for element in &linear.elements {
        let moved = element.b.transpose() * &carried;
        let left = ground(element).map_or(moved.clone(), |wanted| moved - wanted);
        if left.amax() > 1e-9 {
            return Err(refuse(format!(
                "{} is strained by {:.1e} m per m",
                element.label.name,
                left.amax()
            )));
        }
    }
    // What is rounding of a rigid motion is none.
    Ok(carried.map(|x| if (x - x.round()).abs() < 1e-11 { x.round() } else { x }))
}

impl Transient {
    /// Motion against a floor that moves, from rest, see the documentation of this file.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a direction that is no unit vector; those of [`carried_along`] and
    /// [`Transient::under`].
    pub fn on_floor(linear: &Linear, floor: &[FloorMotion], duration: Option<f64>) -> Result<Self> {
        let loads = floor_loads(linear, floor)?;
        let mut out = Self::under(linear, &loads, &Start::rest(linear.size()), duration)?;
        let along = carried_along(linear)?;
        let columns: Vec<_> = floor
            .iter()
            .map(|f| &along * DMatrix::from_column_slice(3, 1, f.direction.as_slice()))
            .collect();
        let mut carried = DMatrix::zeros(linear.size(), floor.len());
        for (i, column) in columns.iter().enumerate() {
            carried.set_column(i, &column.column(0));
        }
        out.carried = Some(carried);
        Ok(out)
    }
}

fn floor_loads(linear: &Linear, floor: &[FloorMotion]) -> Result<Vec<Load>> {
    let along = carried_along(linear)?;
    let one = |motion: &FloorMotion| {
        let direction = unit_vector("direction", motion.direction)?;
        let moved = &along * nalgebra::DVector::from_column_slice(direction.as_slice());
        Ok(Load::new(-(&linear.m * moved), motion.acceleration.clone()))
    };
    floor.iter().map(one).collect()
}

impl Shock {
    /// Histories of the motion against a floor that moves.
    ///
    /// # Errors
    /// Those of [`Transient::on_floor`].
    pub fn on_floor(
        linear: &Linear,
        floor: &[FloorMotion],
        options: &ShockOptions,
    ) -> Result<Self> {
        let motion = Transient::on_floor(linear, floor, options.duration)?;
        Self::of(motion, &floor_loads(linear, floor)?, options.dt)
    }
}
