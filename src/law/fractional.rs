//! The fractional standard linear solid: rubber over many decades with four numbers.
//!
//! D(s) = k0 + (kinf - k0) (s tau)^a / (1 + (s tau)^a),   0 < a <= 1
//!
//! The principal branch is taken. D runs from k0 at rest to kinf; between, stiffness and loss
//! factor rise as powers of frequency. a = 1 is the [`Zener`](super::Zener) law. Its memory fades
//! by a power of time, so that no number of states is exact; [`fit`](super::fit) gives a Maxwell
//! law for a band. Source: R. L. Bagley and P. J. Torvik, J. Rheology 27 (1983), p. 201 (from
//! memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::passive::{creates_energy, hertz};
use crate::error::{Error, Result, finite, not_negative, positive};

/// Fractional standard linear solid.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FractionalZener {
    /// Stiffness at rest k0, N/m.
    pub static_stiffness: f64,
    /// Stiffness at high frequency kinf, N/m.
    pub high_frequency_stiffness: f64,
    /// Relaxation time tau, s.
    pub relaxation_time: f64,
    /// Order a of the derivative, above 0 up to 1.
    pub order: f64,
}

impl FractionalZener {
    /// From k0 and kinf (N/m), tau (s) and a.
    ///
    /// # Errors
    /// [`Error::Invalid`] for values outside their ranges; kinf < k0 creates energy and is told
    /// with its frequency.
    pub fn new(
        static_stiffness: f64,
        high_frequency_stiffness: f64,
        relaxation_time: f64,
        order: f64,
    ) -> Result<Self> {
        not_negative("static_stiffness", static_stiffness, "N/m")?;
        finite("high_frequency_stiffness", high_frequency_stiffness, "N/m")?;
        positive("relaxation_time", relaxation_time, "s")?;
        if positive("order", order, "")? > 1.0 {
            return Err(Error::invalid(
                "order",
                order,
                "must not be greater than 1",
                "give the order of the fractional derivative, 0.2 to 0.6 for most rubber",
            ));
        }
        if high_frequency_stiffness < static_stiffness {
            // |Im (j x)^a / (1 + (j x)^a)| is greatest at x = 1, by symmetry in log x.
            return Err(creates_energy(
                "high_frequency_stiffness",
                high_frequency_stiffness,
                "N/m, less than the static stiffness",
                &hertz(1.0 / relaxation_time),
            ));
        }
        Ok(Self { static_stiffness, high_frequency_stiffness, relaxation_time, order })
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        if s == Complex64::ZERO {
            return self.static_stiffness.into();
        }
        let z = (s * self.relaxation_time).powf(self.order);
        self.static_stiffness
            + (self.high_frequency_stiffness - self.static_stiffness) * (z / (1.0 + z))
    }
}
