//! What part of a load on the machine reaches a rigid floor?
//!
//! T(omega) = G(omega) Z(omega)^-1, 6 x 6: wrench on the ground for a unit wrench on the machine,
//! both about the same point. For a single body T = D (D - omega^2 M)^-1 with D = K + jH + j omega C.
//!
//! - T(0) = 1, and for one degree of freedom |T| = 1 at sqrt(2) times the natural frequency
//!   whatever the damping.
//! - T is the transpose of the motion transmissibility Z^-1 D (what the machine feels of a moving
//!   floor).
//!
//! This is transmissibility to a rigid floor. It is no benefit, reduction or insertion loss: those
//! need the floor's or soil's own give, and the machine as it would stand otherwise.
//!
//! Source: textbook, e.g. Harris' Shock and Vibration Handbook, 5th ed. 2002, chapter 3 (from
//! memory). T is taken from the spring side, G Z^-1: the momentum side, 1 + omega^2 M Z^-1, loses
//! its digits far above resonance.

use nalgebra::{DMatrix, Vector3};
use ndarray::{Array1, Array3, Array4};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::response::{flat, ground_rows, ground_rows_seen, mount_force_rows, shaped, solve_each};
use crate::error::{Result, each, finite};
use crate::lanes::Coefficients;
use crate::system::{self, Linear, wrench_transfer};

/// Transmissibility to a rigid floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Transmissibility {
    /// Frequency, Hz.
    pub frequency: Vec<f64>,
    /// Wrench on the ground for a unit wrench at the source, both about the source
    /// (frequency, ground axis, source axis).
    pub matrix: Array3<Complex64>,
    /// Force of each mount on the ground for a unit wrench at the source
    /// (frequency, mount, 3, source axis).
    pub mount: Array4<Complex64>,
    /// |T_zz|: vertical force on the ground for a unit vertical force at the source.
    pub vertical: Array1<f64>,
    /// Names of the mounts.
    pub mounts: Vec<String>,
    /// Where the wrench acts and about which point both are taken, m.
    pub source: Vector3<f64>,
}

/// Transmissibility of a system at each frequency (Hz), from a wrench at a point of the first
/// body, by default its center of mass.
///
/// # Errors
/// Bad frequencies, a frequency that meets an undamped resonance, or a source that is not finite.
pub fn transmissibility(
    linear: &Linear,
    frequency: &[f64],
    source: Option<Vector3<f64>>,
) -> Result<Transmissibility> {
    let n = linear.size();
    let source = source.unwrap_or(linear.reference);
    each(finite, "source", &source, "m")?;
    let mut load = DMatrix::zeros(n, 6);
    load.view_mut((0, 0), (6, 6)).copy_from(&wrench_transfer(&source, &linear.reference));
    let (mounts, force_rows) = mount_force_rows(linear);
    let rows = ground_rows_about(linear, &source).stacked(&force_rows);
    let (points, count) = (frequency.len(), mounts.len());
    let (mut ground, mut forces) = (flat(points, 36), flat(points, 18 * count));
    solve_each(linear, frequency, &load.map(Complex64::from), &rows, |y| {
        let (t, f) = y.split_at(36);
        ground.extend_from_slice(t);
        forces.extend_from_slice(f);
    })?;
    let matrix = shaped((points, 6, 6), ground)?;
    Ok(Transmissibility {
        frequency: frequency.to_vec(),
        vertical: Array1::from_shape_fn(points, |f| matrix[[f, 2, 2]].norm()),
        matrix,
        mount: shaped((points, count, 3, 6), forces)?,
        mounts,
        source,
    })
}

/// |T_zz| alone, for a vertical force at the center of mass: what a sweep over many designs needs.
///
/// # Errors
/// As [`transmissibility`].
pub fn vertical_transmissibility(linear: &Linear, frequency: &[f64]) -> Result<Array1<f64>> {
    let z = system::Axis::Z as usize;
    let mut load = DMatrix::zeros(linear.size(), 1);
    load[(z, 0)] = Complex64::ONE;
    let pick = DMatrix::from_fn(1, 6, |_, j| f64::from(u8::from(j == z)));
    let rows = ground_rows_seen(linear, &pick);
    let mut vertical = Vec::with_capacity(frequency.len());
    solve_each(linear, frequency, &load, &rows, |y| vertical.push(y[0].norm()))?;
    Ok(vertical.into())
}

fn ground_rows_about(linear: &Linear, point: &Vector3<f64>) -> Coefficients {
    if *point == linear.reference {
        return ground_rows(linear);
    }
    let t = wrench_transfer(&linear.reference, point);
    ground_rows_seen(linear, &DMatrix::from_column_slice(6, 6, t.as_slice()))
}
