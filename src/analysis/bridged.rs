//! What does one short circuit left in do to the modes and to the force on the floor?
//!
//! The same machine without and with the bridge: natural frequencies, and the vertical force on the
//! floor per unit vertical force at the center of mass,
//!
//! T(omega) = |e' (K + j H + j omega C) x|,   (K + j H + j omega C - omega^2 M) x = e,
//!
//! with the damping of the parts. Asked for, every mode of each system has one damping ratio zeta in
//! its place; with u = e for one body (all vertical degrees of freedom for several) and phi' M phi = 1
//!
//! T(omega) = |sum over modes of (u' M phi)(phi' e) (w^2 + 2 j zeta w omega)
//!             / (w^2 + 2 j zeta w omega - omega^2)|.
//!
//! The two differ where the bridge is undamped: dashpots at the mounts damp its mode little. Source:
//! textbook (modal damping). Limits: floor rigid, as in [`mod@super::transmissibility`].

use nalgebra::{Cholesky, DMatrix, DVector, SymmetricEigen};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::response::check_frequencies;
use super::{modes, vertical_transmissibility};
use crate::error::{Error, Result, not_negative};
use crate::system::{Axis, Linear};

/// A machine without and with a bridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WhatIfBridged {
    /// Name of the bridge.
    pub bridge: String,
    /// Frequency, Hz.
    pub frequency: Vec<f64>,
    /// Vertical force on the floor per unit vertical force at the center of mass, without it.
    pub floor_force_before: Vec<f64>,
    /// The same with the bridge.
    pub floor_force_after: Vec<f64>,
    /// Natural frequencies without it, Hz, ascending.
    pub mode_frequency_before: Vec<f64>,
    /// The same with the bridge.
    pub mode_frequency_after: Vec<f64>,
    /// Damping ratio of each mode without it.
    pub damping_ratio_before: Vec<f64>,
    /// The same with the bridge.
    pub damping_ratio_after: Vec<f64>,
    /// The damping ratio asked for in every mode; `None`: damping of the parts.
    pub damping_ratio: Option<f64>,
}

/// Compares a system before and after a bridge is added, at frequencies (Hz).
///
/// # Errors
/// Those of [`modes`] and [`vertical_transmissibility`]; [`Error::Invalid`] for a negative damping
/// ratio or a frequency that meets an undamped resonance.
pub fn what_if_bridged(
    bridge: &str,
    [before, after]: [&Linear; 2],
    frequency: &[f64],
    damping_ratio: Option<f64>,
) -> Result<WhatIfBridged> {
    check_frequencies("frequency", frequency)?;
    let one = |linear: &Linear| -> Result<(Vec<f64>, Vec<f64>, Vec<f64>)> {
        let found = modes(linear)?;
        Ok(match damping_ratio {
            None => {
                let force = vertical_transmissibility(linear, frequency)?.to_vec();
                (force, found.frequency, found.damping_ratio)
            }
            Some(zeta) => {
                not_negative("damping_ratio", zeta, "")?;
                let force = modally_damped(linear, frequency, zeta)?;
                let count = found.frequency.len();
                (force, found.frequency, vec![zeta; count])
            }
        })
    };
    let (floor_force_before, mode_frequency_before, damping_ratio_before) = one(before)?;
    let (floor_force_after, mode_frequency_after, damping_ratio_after) = one(after)?;
    Ok(WhatIfBridged {
        bridge: bridge.into(),
        frequency: frequency.to_vec(),
        floor_force_before,
        floor_force_after,
        mode_frequency_before,
        mode_frequency_after,
        damping_ratio_before,
        damping_ratio_after,
        damping_ratio,
    })
}

/// T(omega) with the damping ratio zeta in every mode.
fn modally_damped(linear: &Linear, frequency: &[f64], zeta: f64) -> Result<Vec<f64>> {
    let not_a_mass = || {
        Error::invalid(
            "mass matrix",
            "not positive definite",
            "every motion must have mass",
            "check the inertia of the bodies",
        )
    };
    let l = Cholesky::new(linear.m.clone()).ok_or_else(not_a_mass)?.l();
    let inverse = l.clone().try_inverse().ok_or_else(not_a_mass)?;
    let eigen = SymmetricEigen::new(&inverse * &linear.k * inverse.transpose());
    let shapes: DMatrix<f64> = inverse.transpose() * &eigen.eigenvectors;
    let first = linear.dofs.first().map(|dof| dof.body.as_str());
    let vertical = |only_first: bool| {
        DVector::from_iterator(
            linear.size(),
            linear.dofs.iter().map(|dof| {
                let counts = dof.axis == Axis::Z && (!only_first || Some(&*dof.body) == first);
                f64::from(u8::from(counts))
            }),
        )
    };
    let felt = shapes.tr_mul(&(&linear.m * vertical(false)));
    let driven = shapes.tr_mul(&vertical(true));
    let mut out = Vec::with_capacity(frequency.len());
    for (i, &f) in frequency.iter().enumerate() {
        let omega = TAU * f;
        let terms = (0..linear.size()).map(|j| {
            let w = eigen.eigenvalues[j].max(0.0).sqrt();
            let spring = Complex64::new(w * w, 2.0 * zeta * w * omega);
            spring / (spring - omega * omega) * (felt[j] * driven[j])
        });
        let force = terms.sum::<Complex64>().norm();
        if !force.is_finite() {
            return Err(Error::invalid(
                format!("frequency[{i}]"),
                format!("{f} Hz"),
                "must not meet an undamped resonance, where the response is infinite",
                "give a damping ratio above zero, or move the frequency",
            ));
        }
        out.push(force);
    }
    Ok(out)
}
