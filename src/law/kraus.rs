//! A filled rubber in larger motion: its stiffness falls with amplitude (Payne effect).
//!
//! With x = amplitude / critical amplitude, of the law at a vanishing amplitude
//!
//! Re D is multiplied by r + (1 - r) / (1 + x^2m),
//! Im D is multiplied by 1 + (p - 1) 2 x^m / (1 + x^2m),
//!
//! where r is the part of the stiffness that remains at large amplitude and p the ratio of the
//! greatest loss, at the critical amplitude, to that at small. Without p the whole law is reduced
//! by the first factor: its loss factor stays, and so do its states in time.
//!
//! Assumption: an equivalent linear law at one stated amplitude, strain or motion, of the harmonic
//! response; it does not follow the motion. The static stiffness is reduced like the rest. Source:
//! G. Kraus, J. Appl. Polym. Sci. Appl. Polym. Symp. 39 (1984), p. 75 (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::Dynamic;
use crate::error::{Error, Result, not_negative, positive};

/// A law at a stated amplitude of motion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AmplitudeReduction {
    /// Law at vanishing amplitude.
    pub law: Box<Dynamic>,
    /// Amplitude, in the unit of the critical one (strain, or m).
    pub amplitude: f64,
    /// Critical amplitude: half of the fall is reached there, and the loss is greatest.
    pub critical_amplitude: f64,
    /// Part of the storage stiffness that remains at large amplitude r, above 0 up to 1.
    pub residual: f64,
    /// Exponent m, about 0.5 to 0.6.
    pub exponent: f64,
    /// Greatest loss over that at small amplitude p; `None`: the loss falls with the storage.
    pub loss_peak: Option<f64>,
}

impl AmplitudeReduction {
    /// The law at an amplitude.
    ///
    /// # Errors
    /// [`Error::Invalid`] for values outside their ranges.
    pub fn new(
        law: Dynamic,
        amplitude: f64,
        critical_amplitude: f64,
        residual: f64,
        exponent: f64,
        loss_peak: Option<f64>,
    ) -> Result<Self> {
        not_negative("amplitude", amplitude, "")?;
        positive("critical_amplitude", critical_amplitude, "")?;
        positive("exponent", exponent, "")?;
        if positive("residual", residual, "")? > 1.0 {
            return Err(Error::invalid(
                "residual",
                residual,
                "must not be greater than 1",
                "give the stiffness at large amplitude as a part of that at small amplitude",
            ));
        }
        if let Some(p) = loss_peak {
            not_negative("loss_peak", p, "")?;
        }
        Ok(Self {
            law: Box::new(law),
            amplitude,
            critical_amplitude,
            residual,
            exponent,
            loss_peak,
        })
    }

    /// What multiplies the storage and the loss stiffness.
    pub fn factors(&self) -> [f64; 2] {
        let power = (self.amplitude / self.critical_amplitude).powf(self.exponent);
        // x^m / (1 + x^2m) without overflow at large x.
        let peak = if power > 1.0 {
            2.0 / (power + 1.0 / power)
        } else {
            2.0 * power / (1.0 + power * power)
        };
        let storage = self.residual + (1.0 - self.residual) / (1.0 + power * power);
        [storage, self.loss_peak.map_or(storage, |p| 1.0 + (p - 1.0) * peak)]
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        let [storage, loss] = self.factors();
        let whole = self.law.at_s(s) * storage;
        if storage == loss {
            return whole;
        }
        let on_axis = self.law.at_s(Complex64::new(0.0, s.im));
        whole + Complex64::new(0.0, (loss - storage) * on_axis.im)
    }
}
