//! The generalized Maxwell solid: a spring, and beside it any number of branches.
//!
//! D(s) = k0 + sum of k_i tau_i s / (1 + tau_i s)
//!
//! D runs from k0 at rest to k0 + sum of k_i. A negative k_i is allowed where the others outweigh
//! it at every frequency; with all k_i >= 0 the law is passive by its form. Source: textbook, e.g.
//! J. D. Ferry, Viscoelastic Properties of Polymers, 3rd ed. 1980, chapter 3 (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::passive::{creates_energy, hertz, least_loss};
use super::realization::{Branch, Realization};
use crate::error::{Error, Result, finite, not_negative, positive};

/// A branch of a [`Maxwell`] law.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MaxwellTerm {
    /// Spring k_i, N/m.
    pub stiffness: f64,
    /// Relaxation time tau_i, s.
    pub relaxation_time: f64,
}

/// Generalized Maxwell solid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Maxwell {
    /// Stiffness at rest k0, N/m.
    pub static_stiffness: f64,
    /// Branches.
    pub terms: Vec<MaxwellTerm>,
}

impl Maxwell {
    /// From k0 (N/m) and branches.
    ///
    /// # Errors
    /// [`Error::Invalid`] for no branch, a relaxation time that is not positive, a negative k0, or
    /// a law that creates energy, told with its frequency.
    pub fn new(static_stiffness: f64, terms: Vec<MaxwellTerm>) -> Result<Self> {
        not_negative("static_stiffness", static_stiffness, "N/m")?;
        if terms.is_empty() {
            return Err(Error::invalid(
                "terms",
                "[]",
                "must not be empty",
                "give stiffness and relaxation time of each branch",
            ));
        }
        for (i, term) in terms.iter().enumerate() {
            finite(&format!("stiffness[{i}]"), term.stiffness, "N/m")?;
            positive(&format!("relaxation_time[{i}]"), term.relaxation_time, "s")?;
        }
        let law = Self { static_stiffness, terms };
        law.passive()?;
        Ok(law)
    }

    fn passive(&self) -> Result<()> {
        let Some((i, worst)) = self.terms.iter().enumerate().find(|(_, t)| t.stiffness < 0.0)
        else {
            return Ok(());
        };
        let times = || self.terms.iter().map(|t| t.relaxation_time);
        let (short, long) = (times().fold(f64::INFINITY, f64::min), times().fold(0.0, f64::max));
        let loss = |omega: f64| self.at(Complex64::new(0.0, omega)).im;
        let (omega, least) = least_loss(loss, 1e-4 / long, 1e4 / short);
        let size: f64 = self.terms.iter().map(|t| t.stiffness.abs()).sum();
        if least < -1e-14 * size {
            let name = format!("stiffness[{i}]");
            return Err(creates_energy(&name, worst.stiffness, "N/m", &hertz(omega)));
        }
        Ok(())
    }

    pub(super) fn high_frequency_stiffness(&self) -> f64 {
        self.static_stiffness + self.terms.iter().map(|t| t.stiffness).sum::<f64>()
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        let branch = |t: &MaxwellTerm| {
            let z = s * t.relaxation_time;
            t.stiffness * (z / (1.0 + z))
        };
        self.static_stiffness + self.terms.iter().map(branch).sum::<Complex64>()
    }

    pub(super) fn realization(&self) -> Realization {
        let whole = Realization { stiffness: self.static_stiffness, ..Realization::default() };
        self.terms.iter().fold(whole, |sum, t| {
            let branch = Branch { stiffness: t.stiffness, time: t.relaxation_time };
            sum.beside(Realization { branches: vec![branch], ..Realization::default() })
        })
    }
}
