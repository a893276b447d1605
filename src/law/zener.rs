//! The standard linear solid: a spring, and beside it a spring in line with a dashpot.
//!
//! D(s) = k0 + k1 tau s / (1 + tau s),   tau = c1 / k1
//!
//! D runs from k0 at rest to k0 + k1 at high frequency; the loss factor is greatest at
//! omega = sqrt(k0 / (k0 + k1)) / tau. In time the dashpot's displacement xi is one state of its
//! own, tau xi' = u - xi. Source: C. Zener, Elasticity and Anelasticity of Metals, 1948, chapter 5
//! (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::passive::{creates_energy, hertz};
use super::realization::{Branch, Realization};
use crate::error::{Result, finite, not_negative, positive};

/// Standard linear solid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Zener {
    /// Stiffness at rest k0, N/m.
    pub static_stiffness: f64,
    /// Spring in line with the dashpot k1, N/m.
    pub branch_stiffness: f64,
    /// Dashpot c1, N s/m.
    pub branch_damping: f64,
}

impl Zener {
    /// From k0 and k1 (N/m) and c1 (N s/m).
    ///
    /// # Errors
    /// [`Error::Invalid`](crate::Error::Invalid) for a branch that is not positive, a negative k0,
    /// or anything infinite; a law that creates energy is told with its frequency.
    pub fn new(static_stiffness: f64, branch_stiffness: f64, branch_damping: f64) -> Result<Self> {
        not_negative("static_stiffness", static_stiffness, "N/m")?;
        finite("branch_stiffness", branch_stiffness, "N/m")?;
        if finite("branch_damping", branch_damping, "N s/m")? < 0.0 {
            // Im D = c1 omega / (1 + (tau omega)^2) is least at omega = 1/|tau|.
            let worst = hertz((branch_stiffness / branch_damping).abs());
            return Err(creates_energy("branch_damping", branch_damping, "N s/m", &worst));
        }
        positive("branch_stiffness", branch_stiffness, "N/m")?;
        positive("branch_damping", branch_damping, "N s/m")?;
        Ok(Self { static_stiffness, branch_stiffness, branch_damping })
    }

    /// Relaxation time tau = c1 / k1, s.
    pub fn relaxation_time(&self) -> f64 {
        self.branch_damping / self.branch_stiffness
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        self.realization().at(s)
    }

    pub(super) fn realization(&self) -> Realization {
        let branch = Branch { stiffness: self.branch_stiffness, time: self.relaxation_time() };
        Realization { stiffness: self.static_stiffness, damping: 0.0, branches: vec![branch] }
    }
}
