//! What does a dashpot take out? E = pi c omega X^2 in each cycle of amplitude X.
//!
//! Beside a spring k: loss factor eta = c omega / k, E = pi eta k X^2; at resonance eta = 2 zeta.
//! Source: textbook, e.g. S. S. Rao, Mechanical Vibrations, 5th ed. 2011, sections 2.6 and 3.7 (from
//! memory). Limits: force proportional to velocity, no stiffness of its own.

use std::f64::consts::{PI, TAU};

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::Mount;
use crate::error::{Result, each, not_negative, positive};

/// A viscous damper along three axes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ViscousDamper {
    /// c along x, y, z, N s/m.
    pub damping: [f64; 3],
}

impl ViscousDamper {
    /// A damper with c along x, y, z, N s/m.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if one is negative or not finite, or all are zero.
    pub fn new(damping: [f64; 3]) -> Result<Self> {
        each(not_negative, "damping", &damping, "N s/m")?;
        positive("damping", damping.iter().sum(), "N s/m in all directions together")?;
        Ok(Self { damping })
    }

    /// Energy of one cycle along x, y, z, J, at a frequency (Hz) and an amplitude (m).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a frequency or amplitude that is negative or not finite.
    pub fn energy_per_cycle(&self, frequency: f64, amplitude: f64) -> Result<[f64; 3]> {
        let omega = TAU * not_negative("frequency", frequency, "Hz")?;
        let x = not_negative("amplitude", amplitude, "m")?;
        Ok(self.damping.map(|c| PI * c * omega * x * x))
    }

    /// Loss factor along x, y, z that it makes beside a stiffness (N/m) at a frequency (Hz).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a stiffness that is not positive or a negative frequency.
    pub fn loss_factor(&self, stiffness: [f64; 3], frequency: f64) -> Result<[f64; 3]> {
        each(positive, "stiffness", &stiffness, "N/m")?;
        let omega = TAU * not_negative("frequency", frequency, "Hz")?;
        Ok(std::array::from_fn(|i| self.damping[i] * omega / stiffness[i]))
    }

    /// The mount it is at a position (m): no stiffness, so it stands beside a spring.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a position that is not finite.
    pub fn mount(&self, position: Vector3<f64>) -> Result<Mount> {
        Mount::new(position, [0.0; 3])?.with_damping(self.damping)
    }
}
