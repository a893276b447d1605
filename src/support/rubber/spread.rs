//! How sure is a stiffness from hardness and shape? One cause at a time, as factors on the value.

use serde::{Deserialize, Serialize};

use super::compound::{self, Band};
use super::finite::{self, CompressionLaw};
use super::hardness::Route;
use super::pad::{PadOptions, RubberPad, hardness_ends};
use crate::error::Result;

/// One cause, and the factors between which it leaves the stiffness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Spread {
    /// What is not known.
    pub cause: String,
    /// Factor on the stiffness in compression.
    pub compression: Band,
    /// Factor on the stiffness in shear.
    pub shear: Band,
    /// Who says so.
    pub source: String,
}

impl RubberPad {
    /// Static stiffness in compression at rest at the two ends of the hardness tolerance, N/m.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if a tolerance that was given leaves the hardness table.
    pub fn compression_band(&self) -> Result<Band> {
        let [low, high] = self.at_hardness_ends()?;
        let value = self.compression_stiffness();
        Ok(Band { low: low.compression_stiffness(), value, high: high.compression_stiffness() })
    }

    /// Static stiffness in shear at rest, along x, at the two ends of the hardness tolerance, N/m.
    ///
    /// # Errors
    /// As [`Self::compression_band`].
    pub fn shear_band(&self) -> Result<Band> {
        let [low, high] = self.at_hardness_ends()?;
        let value = self.shear_stiffness();
        Ok(Band { low: low.shear_stiffness(), value, high: high.shear_stiffness() })
    }

    fn at_hardness_ends(&self) -> Result<[Self; 2]> {
        let [low, high] = hardness_ends(self);
        Ok([self.with_hardness(low)?, self.with_hardness(high)?])
    }

    /// What moves the stiffness, one cause at a time; the temperature between two ends (C).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for temperatures out of order or outside the range of rubber.
    pub fn spread(&self, low_celsius: f64, high_celsius: f64) -> Result<Vec<Spread>> {
        let factors = |band: Band| Band {
            low: band.low / band.value,
            value: 1.0,
            high: band.high / band.value,
        };
        let row = |cause: String, compression, shear, source: &str| Spread {
            cause,
            compression,
            shear,
            source: source.into(),
        };
        let [soft, hard] = hardness_ends(self);
        let temperature = compound::temperature_band(low_celsius, high_celsius)?;
        let [aged, aged_shear] = compound::THIRTY_YEARS;
        let to = |high| Band { low: 1.0, value: 1.0, high };
        let worn = Band {
            low: 1.0 - compound::AGED_OR_OILY,
            value: 1.0,
            high: 1.0 + compound::AGED_OR_OILY,
        };
        Ok(vec![
            row(
                format!("hardness {soft} to {hard} IRHD"),
                factors(self.compression_band()?),
                factors(self.shear_band()?),
                "hardness table (Lindley, from memory)",
            ),
            row(
                "route from hardness to modulus".into(),
                self.route_band()?,
                Band::exactly(1.0),
                "table, Gent, Ruess, ISO 48 probit",
            ),
            row(
                format!("load-deflection law at {} strain", self.options.strain_limit),
                self.law_band(),
                Band::exactly(1.0),
                "linear, constant and growing shape factor",
            ),
            row(
                format!("temperature {low_celsius} to {high_celsius} C, in motion"),
                temperature,
                temperature,
                "common practice: 10 to 30 % between 5 and 40 C",
            ),
            row(
                "30 years of age".into(),
                to(aged),
                to(aged_shear),
                "Nippon Gomu Kyokaishi 93 (2020) 3-9",
            ),
            row("aged or oily rubber".into(), worn, worn, "common practice: 30 to 50 %"),
        ])
    }

    fn route_band(&self) -> Result<Band> {
        let mut band = Band::exactly(1.0);
        for (_, route) in Route::ALL {
            let options = PadOptions { route, ..self.options.clone() };
            let other = Self::new(self.hardness, self.shape, self.thickness, options)?;
            let factor = other.compression_stiffness() / self.compression_stiffness();
            band.low = band.low.min(factor);
            band.high = band.high.max(factor);
        }
        Ok(band)
    }

    fn law_band(&self) -> Band {
        let strain = self.options.strain_limit;
        let own = finite::force(&self.compression_terms(), strain);
        let mut band = Band::exactly(1.0);
        for (_, law) in CompressionLaw::ALL {
            let factor = finite::force(&self.terms_of(law), strain) / own;
            band.low = band.low.min(factor);
            band.high = band.high.max(factor);
        }
        band
    }
}
