//! A measured dynamic stiffness: a table against frequency, and monotone curves between its rows.
//!
//! Storage Re D and loss Im D are each interpolated by a piecewise cubic that is monotone wherever
//! the table is (so that no loss turns negative between two rows), in frequency or in its
//! logarithm, as stated. Outside its rows the table says nothing: that is an error, with the range.
//!
//! In the upper half plane, where modes are sought, D(s) is the table at omega = Im s.
//!
//! Source: F. N. Fritsch and R. E. Carlson, SIAM J. Numer. Anal. 17 (1980), p. 238; slopes by
//! F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984), p. 300 (both from memory; the
//! widespread "PCHIP").

use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::passive::creates_energy;
use crate::error::{Error, Result, each, finite, not_negative};

/// In which variable a table is interpolated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub enum TableVariable {
    /// Frequency.
    #[default]
    Frequency,
    /// Logarithm of frequency; all rows must lie above 0 Hz.
    LogFrequency,
}

/// Dynamic stiffness against frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TabulatedStiffness {
    /// Frequency of each row, Hz, ascending.
    pub frequency: Vec<f64>,
    /// Dynamic stiffness of each row, N/m.
    pub stiffness: Vec<Complex64>,
    /// Variable of the interpolation.
    pub variable: TableVariable,
    /// Stiffness under a load that stays, N/m; `None`: that of the first row, its real part.
    pub static_stiffness: Option<f64>,
}

impl TabulatedStiffness {
    /// From rows of frequency (Hz, ascending) and complex stiffness (N/m).
    ///
    /// # Errors
    /// [`Error::Invalid`] for fewer than two rows, rows out of order, a value that is not finite, a
    /// negative storage stiffness, or a row that creates energy, named by its frequency.
    pub fn new(
        frequency: Vec<f64>,
        stiffness: Vec<Complex64>,
        variable: TableVariable,
        static_stiffness: Option<f64>,
    ) -> Result<Self> {
        if stiffness.len() != frequency.len() {
            return Err(Error::Shape {
                argument: "stiffness".into(),
                found: format!("({},)", stiffness.len()),
                expected: format!("({},), one entry for each frequency,", frequency.len()),
            });
        }
        if frequency.len() < 2 {
            return Err(Error::invalid(
                "frequency",
                format!("{frequency:?}"),
                "a table needs at least two rows",
                "give more rows, or a constant complex stiffness",
            ));
        }
        each(not_negative, "frequency", &frequency, "Hz")?;
        let law = Self { frequency, stiffness, variable, static_stiffness };
        law.check_rows()?;
        if let Some(k) = static_stiffness {
            not_negative("static_stiffness", k, "N/m")?;
        }
        Ok(law)
    }

    fn check_rows(&self) -> Result<()> {
        for (i, (&f, d)) in self.frequency.iter().zip(&self.stiffness).enumerate() {
            if i > 0 && f <= self.frequency[i - 1] {
                return Err(Error::invalid(
                    format!("frequency[{i}]"),
                    format!("{f} Hz"),
                    format!("must be greater than the row before ({} Hz)", self.frequency[i - 1]),
                    "sort the rows and drop repeated ones",
                ));
            }
            let place = format!("stiffness[{i}]");
            not_negative(&format!("{place}.re"), d.re, "N/m")?;
            if finite(&format!("{place}.im"), d.im, "N/m")? < 0.0 {
                return Err(creates_energy(&place, d.im, "N/m of loss", &format!("{f} Hz")));
            }
        }
        if self.variable == TableVariable::LogFrequency && self.frequency[0] == 0.0 {
            return Err(Error::invalid(
                "frequency[0]",
                "0 Hz",
                "must be greater than zero to be interpolated in the logarithm of frequency",
                "leave the row at 0 Hz out and give static_stiffness, or interpolate in frequency",
            ));
        }
        Ok(())
    }

    pub(super) fn static_stiffness(&self) -> f64 {
        self.static_stiffness.unwrap_or_else(|| self.stiffness.first().map_or(0.0, |d| d.re))
    }

    /// Storage stiffness of the last row, N/m: the table ends there.
    pub(super) fn high_frequency_stiffness(&self) -> f64 {
        self.stiffness.last().map_or(0.0, |d| d.re)
    }

    /// First and last frequency, rad/s.
    pub(super) fn range(&self) -> [f64; 2] {
        let [first, .., last] = self.frequency[..] else { return [f64::INFINITY, 0.0] };
        [first * TAU, last * TAU]
    }

    /// D at omega (rad/s); not a number outside the rows.
    pub(super) fn at(&self, omega: f64) -> Complex64 {
        let [low, high] = self.range();
        // The rounding of Hz to rad/s and back does not leave a table.
        let slack = 1e-13 * high;
        if !(low - slack..=high + slack).contains(&omega) {
            return Complex64::new(f64::NAN, f64::NAN);
        }
        let omega = omega.clamp(low, high);
        let last = self.frequency.len() - 1;
        let i = self.frequency.partition_point(|f| f * TAU <= omega).clamp(1, last) - 1;
        let (a, b) = (self.x(self.frequency[i]), self.x(self.frequency[i + 1]));
        let t = ((self.x(omega / TAU) - a) / (b - a)).clamp(0.0, 1.0);
        Complex64::new(self.hermite(|d| d.re, i, t, b - a), self.hermite(|d| d.im, i, t, b - a))
    }

    fn x(&self, frequency: f64) -> f64 {
        match self.variable {
            TableVariable::Frequency => frequency,
            TableVariable::LogFrequency => frequency.ln(),
        }
    }

    /// Cubic on the interval i of length h, t from 0 to 1 across it.
    fn hermite(&self, part: impl Fn(&Complex64) -> f64, i: usize, t: f64, h: f64) -> f64 {
        let (y0, y1) = (part(&self.stiffness[i]), part(&self.stiffness[i + 1]));
        let (m0, m1) = (h * self.slope(&part, i), h * self.slope(&part, i + 1));
        let u = 1.0 - t;
        u * u * ((1.0 + 2.0 * t) * y0 + t * m0) + t * t * ((1.0 + 2.0 * u) * y1 - u * m1)
    }

    /// Slope at row i: weighted harmonic mean of the secants beside it, zero at a turn.
    fn slope(&self, part: impl Fn(&Complex64) -> f64, i: usize) -> f64 {
        let step = |k: usize| self.x(self.frequency[k + 1]) - self.x(self.frequency[k]);
        let secant = |k: usize| (part(&self.stiffness[k + 1]) - part(&self.stiffness[k])) / step(k);
        let last = self.frequency.len() - 1;
        if last == 1 {
            return secant(0);
        }
        if i == 0 {
            return end_slope([step(0), step(1)], [secant(0), secant(1)]);
        }
        if i == last {
            return end_slope([step(i - 1), step(i - 2)], [secant(i - 1), secant(i - 2)]);
        }
        let (d0, d1) = (secant(i - 1), secant(i));
        if d0 * d1 <= 0.0 {
            return 0.0;
        }
        let (h0, h1) = (step(i - 1), step(i));
        let (w0, w1) = (2.0 * h1 + h0, h1 + 2.0 * h0);
        (w0 + w1) / (w0 / d0 + w1 / d1)
    }
}

/// Three-point slope at an end, kept monotone; nearest interval first.
fn end_slope([h0, h1]: [f64; 2], [d0, d1]: [f64; 2]) -> f64 {
    let slope = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if slope * d0 <= 0.0 {
        0.0
    } else if d0 * d1 < 0.0 && slope.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        slope
    }
}
