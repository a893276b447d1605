//! A spring with a dashpot beside it (Kelvin and Voigt).
//!
//! D(s) = k + c s
//!
//! The dashpot stiffens without bound: the high-frequency limit is infinite unless c = 0.
//! Source: textbook, e.g. R. M. Christensen, Theory of Viscoelasticity, 2nd ed. 1982, section 1.5
//! (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::passive::creates_energy;
use super::realization::Realization;
use crate::error::{Result, finite, not_negative};

/// Spring and dashpot side by side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Viscous {
    /// Stiffness k, N/m.
    pub stiffness: f64,
    /// Viscous damping c, N s/m.
    pub damping: f64,
}

impl Viscous {
    /// From stiffness (N/m) and damping (N s/m).
    ///
    /// # Errors
    /// [`Error::Invalid`](crate::Error::Invalid) for a negative or infinite value.
    pub fn new(stiffness: f64, damping: f64) -> Result<Self> {
        not_negative("stiffness", stiffness, "N/m")?;
        if finite("damping", damping, "N s/m")? < 0.0 {
            return Err(creates_energy("damping", damping, "N s/m", "every frequency"));
        }
        Ok(Self { stiffness, damping })
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        self.stiffness + self.damping * s
    }

    pub(super) fn high_frequency_stiffness(&self) -> f64 {
        if self.damping > 0.0 { f64::INFINITY } else { self.stiffness }
    }

    pub(super) fn realization(&self) -> Realization {
        Realization { stiffness: self.stiffness, damping: self.damping, branches: Vec::new() }
    }
}
