//! A stiffness with a loss factor, the same at every frequency.
//!
//! D(omega) = k (1 + j eta)
//!
//! Exact for a harmonic motion; as it stands it has no causal counterpart in time (the transient
//! analysis states the one it uses). Its low and high-frequency limits are both k. Source:
//! textbook, e.g. S. S. Rao, Mechanical Vibrations, 5th ed. 2011, section 2.6.4 (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::passive::creates_energy;
use crate::error::{Result, finite, not_negative};

/// Constant complex stiffness.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct ComplexStiffness {
    /// Stiffness k, N/m.
    pub stiffness: f64,
    /// Loss factor eta, dimensionless.
    pub loss_factor: f64,
}

impl ComplexStiffness {
    /// From stiffness (N/m) and loss factor.
    ///
    /// # Errors
    /// [`Error::Invalid`](crate::Error::Invalid) for a negative or infinite value.
    pub fn new(stiffness: f64, loss_factor: f64) -> Result<Self> {
        not_negative("stiffness", stiffness, "N/m")?;
        if finite("loss_factor", loss_factor, "")? < 0.0 {
            return Err(creates_energy("loss_factor", loss_factor, "", "every frequency"));
        }
        Ok(Self { stiffness, loss_factor })
    }

    pub(super) fn at(&self) -> Complex64 {
        Complex64::new(self.stiffness, self.stiffness * self.loss_factor)
    }
}
