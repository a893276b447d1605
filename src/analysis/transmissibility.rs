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
use std::f64::consts::TAU;

use super::response::{
    check_frequencies, flat, ground_rows, ground_rows_seen, mount_force_rows, on_resonance,
    poles_seen, shaped, solve_any, solve_each, stiffness, sum_blocks,
};
use super::terms::Terms;
use crate::error::{Result, each, finite};
use crate::lanes::{self, Coefficients};
use crate::system::{self, Linear, wrench_transfer};

/// Transmissibility to a rigid floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Transmissibility {
    /// Frequency, Hz.
    pub frequency: Vec<f64>,
    /// Wrench on the ground for a unit wrench at the source, both about the source
    /// (frequency, ground axis, source axis).
    pub matrix: Array3<Complex64>,
    /// |T_zz|: vertical force on the ground for a unit vertical force at the source.
    pub vertical: Array1<f64>,
    /// Names of the mounts.
    pub mounts: Vec<String>,
    /// Where the wrench acts and about which point both are taken, m.
    pub source: Vector3<f64>,
    /// The system, for the forces of its mounts.
    pub linear: Linear,
}

impl Transmissibility {
    /// Force of each mount on the ground for a unit wrench at the source
    /// (frequency, mount, 3, source axis), N/N and 1/m. Solved for when asked: it is three times
    /// the work of the rest.
    ///
    /// # Errors
    /// None that [`transmissibility`] would not have met.
    pub fn mount(&self) -> Result<Array4<Complex64>> {
        let (mounts, rows) = mount_force_rows(&self.linear);
        let (points, count) = (self.frequency.len(), mounts.len());
        let mut forces = flat(points, 18 * count);
        let load = unit_wrench(&self.linear, &self.source);
        solve_each(&self.linear, &self.frequency, &load, &rows, |f| forces.extend_from_slice(f))?;
        shaped((points, count, 3, 6), forces)
    }
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
    let source = source.unwrap_or(linear.reference);
    each(finite, "source", &source, "m")?;
    let points = frequency.len();
    let ground = match about_center(linear, frequency, &source)? {
        Some(ground) => ground,
        None => {
            let rows = ground_rows_about(linear, &source);
            let load = unit_wrench(linear, &source);
            let mut ground = flat(points, 36);
            solve_each(linear, frequency, &load, &rows, |t| ground.extend_from_slice(t))?;
            ground
        }
    };
    let vertical = ground.chunks_exact(36).map(|t| t[14].norm()).collect();
    Ok(Transmissibility {
        frequency: frequency.to_vec(),
        vertical: Array1::from_vec(vertical),
        matrix: shaped((points, 6, 6), ground)?,
        mounts: linear.mount_names(),
        source,
        linear: linear.clone(),
    })
}

/// A unit wrench at the source as load on the degrees of freedom, n x 6.
fn unit_wrench(linear: &Linear, source: &Vector3<f64>) -> DMatrix<Complex64> {
    let mut load = DMatrix::zeros(linear.size(), 6);
    load.view_mut((0, 0), (6, 6)).copy_from(&wrench_transfer(source, &linear.reference));
    load.map(Complex64::from)
}

/// The shorter way of a single body that only the ground holds, on mounts with parallel axes;
/// none if the system is not of this kind.
fn about_center(
    linear: &Linear,
    frequency: &[f64],
    source: &Vector3<f64>,
) -> Result<Option<Vec<Complex64>>> {
    if linear.size() != 6 || *source != linear.reference {
        return Ok(None);
    }
    let z = stiffness(linear);
    let rows = ground_rows(linear);
    if !lanes::is_aligned(&z) || !rows.is_spring_part_of(&z) {
        return Ok(None);
    }
    check_frequencies("frequency", frequency)?;
    let omega: Vec<f64> = frequency.iter().map(|f| f * TAU).collect();
    let values = Terms::new(linear).values(&omega)?;
    let count = values.len() / omega.len();
    let mut ground = vec![Complex64::ZERO; 36 * omega.len()];
    let isa = lanes::instruction_set()?;
    for bad in lanes::transfer(isa, &z, &omega, &values, &mut ground) {
        let values = &values[bad * count..(bad + 1) * count];
        let load = unit_wrench(linear, source);
        let t = lanes::solve_pivoted(&z, omega[bad], values, &load, &rows)
            .ok_or_else(|| on_resonance(bad, frequency[bad]))?
            .transpose();
        ground[36 * bad..36 * (bad + 1)].copy_from_slice(t.as_slice());
    }
    Ok(Some(ground))
}

/// |z|, without the care of `hypot` where none is needed.
fn size(z: Complex64) -> f64 {
    let square = z.norm_sqr();
    if square > 1e-280 && square < 1e280 { square.sqrt() } else { z.norm() }
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
    check_frequencies("frequency", frequency)?;
    let mut vertical = Vec::with_capacity(frequency.len());
    let Some(seen) = poles_seen(linear, frequency, &rows)? else {
        solve_any(linear, frequency, &load, &rows, |y| vertical.push(size(y[0])))?;
        return Ok(vertical.into());
    };
    sum_blocks(&seen.under(&load), frequency, |places, block| {
        let t = (block[0].re * block[0].re + block[0].im * block[0].im).sqrt();
        vertical.extend_from_slice(&t.0[..places.len()]);
        Ok(())
    })?;
    if let Some(index) = vertical.iter().position(|t| !t.is_finite()) {
        return Err(on_resonance(index, frequency[index]));
    }
    Ok(vertical.into())
}

fn ground_rows_about(linear: &Linear, point: &Vector3<f64>) -> Coefficients {
    if *point == linear.reference {
        return ground_rows(linear);
    }
    let t = wrench_transfer(&linear.reference, point);
    ground_rows_seen(linear, &DMatrix::from_column_slice(6, 6, t.as_slice()))
}
