//! What does a tonnage monitor show? A gauge has a place and a filter, and filters differ: each is
//! named by its order and its -3 dB point.
//!
//! A filter is a sum of poles, z' = p z + x, y = sum of r z; between samples the signal is a straight
//! line, for which each pole is exact (ramp-invariant, as in ISO 18431-4).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use crate::analysis::transient::phi::phi;
use crate::error::{Error, Result, positive};

/// Where the gauge is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Gauge {
    /// On the columns (uprights, tie rods): stretch of the frame.
    Column,
    /// On the connections (pitman): push of the drive.
    Connection,
}

impl Gauge {
    /// Both by name.
    pub const NAMED: [(&str, Self); 2] =
        [("column", Self::Column), ("connection", Self::Connection)];
}

/// A low-pass filter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum GaugeFilter {
    /// Butterworth.
    Butterworth {
        /// Number of poles.
        order: u32,
        /// -3 dB point, Hz.
        cutoff: f64,
    },
    /// Equal single poles one after the other, each with its own -3 dB there.
    SinglePoles {
        /// Number of poles.
        order: u32,
        /// -3 dB point of each, Hz.
        cutoff: f64,
    },
}

impl GaugeFilter {
    /// From what a user says of it: order and -3 dB point (Hz) together or neither.
    ///
    /// # Errors
    /// [`Error::Invalid`] for one without the other, and as [`Self::checked`].
    pub fn of(order: Option<u32>, cutoff: Option<f64>, single_poles: bool) -> Result<Option<Self>> {
        match (order, cutoff) {
            (None, None) => Ok(None),
            (Some(order), Some(cutoff)) => {
                let filter = match single_poles {
                    true => Self::SinglePoles { order, cutoff },
                    false => Self::Butterworth { order, cutoff },
                };
                filter.checked().map(Some)
            }
            _ => Err(Error::invalid(
                if order.is_none() { "filter_order" } else { "filter_cutoff" },
                "not given",
                "filter_order and filter_cutoff must be given together",
                "a filter is its order and its -3 dB point",
            )),
        }
    }

    /// The filter itself, if its numbers are what they must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an order outside 1..8 or a -3 dB point that is not positive.
    pub fn checked(self) -> Result<Self> {
        let (Self::Butterworth { order, cutoff } | Self::SinglePoles { order, cutoff }) = &self;
        positive("cutoff", *cutoff, "Hz")?;
        if !(1..=8).contains(order) {
            return Err(Error::invalid("order", order, "must lie between 1 and 8", "2 is usual"));
        }
        Ok(self)
    }

    /// The filtered signal, samples `dt` (s) apart, from rest.
    pub fn apply(&self, signal: &[f64], dt: f64) -> Vec<f64> {
        match *self {
            Self::SinglePoles { order, cutoff } => {
                let w = TAU * cutoff;
                (0..order).fold(signal.to_vec(), |x, _| pole((-w).into(), w.into(), &x, dt))
            }
            Self::Butterworth { order, cutoff } => {
                let w = TAU * cutoff;
                let n = f64::from(order);
                let angle = |k: u32| PI * (2.0 * f64::from(k) + n + 1.0) / (2.0 * n);
                let poles: Vec<Complex64> =
                    (0..order).map(|k| Complex64::from_polar(w, angle(k))).collect();
                let mut out = vec![0.0; signal.len()];
                for (k, &p) in poles.iter().enumerate() {
                    let others = poles.iter().enumerate().filter(|(j, _)| *j != k);
                    let residue = others.fold(Complex64::from(w.powf(n)), |r, (_, q)| r / (p - q));
                    let part = pole(p, residue, signal, dt);
                    out.iter_mut().zip(part).for_each(|(o, y)| *o += y);
                }
                out
            }
        }
    }
}

/// Re(r z) with z' = p z + x.
fn pole(p: Complex64, residue: Complex64, x: &[f64], dt: f64) -> Vec<f64> {
    let [e, phi1, phi2] = phi(p * dt);
    let mut z = Complex64::from(0.0);
    let mut out = Vec::with_capacity(x.len());
    for (i, &next) in x.iter().enumerate() {
        if i > 0 {
            z = e * z + (phi1 * x[i - 1] + phi2 * (next - x[i - 1])) * dt;
        }
        out.push((residue * z).re);
    }
    out
}
