//! A law at another temperature: colder rubber answers as warmer rubber does to a faster motion.
//!
//! D(omega; T) = D(aT omega; T0),   log10 aT = -c1 (T - T0) / (c2 + T - T0)
//!
//! Another reference temperature T1 gives the same curve with c2' = c2 + T1 - T0 and
//! c1' = c1 c2 / c2', exactly. Valid from the glass temperature to some 100 K above it, for one
//! compound; the change of the stiffness scale with absolute temperature (7 % from 20 to 40 C) is
//! left out. Source: M. L. Williams, R. F. Landel, J. D. Ferry, J. Am. Chem. Soc. 77 (1955),
//! p. 3701 (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::Dynamic;
use crate::error::{Error, Result, finite, positive};

/// The shift of a compound with temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Wlf {
    /// c1, dimensionless (for log10).
    pub c1: f64,
    /// c2, K.
    pub c2: f64,
    /// Temperature T0 at which the law holds as it stands, degrees Celsius.
    pub reference_celsius: f64,
}

impl Wlf {
    /// From c1, c2 (K) and the reference temperature (degrees Celsius).
    ///
    /// # Errors
    /// [`Error::Invalid`] for c1 or c2 that are not positive or a reference that is not finite.
    pub fn new(c1: f64, c2: f64, reference_celsius: f64) -> Result<Self> {
        positive("c1", c1, "")?;
        positive("c2", c2, "K")?;
        finite("reference_celsius", reference_celsius, "C")?;
        Ok(Self { c1, c2, reference_celsius })
    }

    /// Shift factor aT at a temperature (degrees Celsius), above 1 when colder.
    ///
    /// # Errors
    /// [`Error::Invalid`] at or below T0 - c2, where the formula ends.
    pub fn shift(&self, temperature_celsius: f64) -> Result<f64> {
        let above =
            finite("temperature_celsius", temperature_celsius, "C")? - self.reference_celsius;
        if above <= -self.c2 {
            return Err(Error::invalid(
                "temperature_celsius",
                format!("{temperature_celsius} C"),
                format!(
                    "must be above {} C, reference_celsius - c2",
                    self.reference_celsius - self.c2
                ),
                "give a temperature at which the compound is rubber, not glass",
            ));
        }
        let shift = 10_f64.powf(-self.c1 * above / (self.c2 + above));
        if shift.is_finite() {
            return Ok(shift);
        }
        Err(Error::invalid(
            "temperature_celsius",
            format!("{temperature_celsius} C"),
            "its shift factor must be finite",
            "give a temperature further above reference_celsius - c2",
        ))
    }

    /// The same compound with constants for another reference temperature (degrees Celsius); a law
    /// that goes with it must be shifted to that temperature too.
    ///
    /// # Errors
    /// As [`Wlf::shift`].
    pub fn with_reference(&self, reference_celsius: f64) -> Result<Self> {
        self.shift(reference_celsius)?;
        let c2 = self.c2 + reference_celsius - self.reference_celsius;
        Self::new(self.c1 * self.c2 / c2, c2, reference_celsius)
    }
}

/// A law at a temperature other than its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TemperatureShift {
    /// Law at the reference temperature.
    pub law: Box<Dynamic>,
    /// How the compound shifts.
    pub wlf: Wlf,
    /// Temperature of the mount, degrees Celsius.
    pub temperature_celsius: f64,
}

impl TemperatureShift {
    /// The law at a temperature (degrees Celsius).
    ///
    /// # Errors
    /// As [`Wlf::shift`].
    pub fn new(law: Dynamic, wlf: Wlf, temperature_celsius: f64) -> Result<Self> {
        wlf.shift(temperature_celsius)?;
        Ok(Self { law: Box::new(law), wlf, temperature_celsius })
    }

    /// Shift factor aT; not a number where the formula ends.
    pub fn factor(&self) -> f64 {
        self.wlf.shift(self.temperature_celsius).unwrap_or(f64::NAN)
    }

    pub(super) fn at(&self, s: Complex64) -> Complex64 {
        self.law.at_s(s * self.factor())
    }
}
