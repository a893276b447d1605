//! What does a kind of rubber add to its hardness? Dynamic over static stiffness, loss factor, creep,
//! and what temperature and age do to them.
//!
//! All figures are common practice (from memory), as bands; the middle of a band is the value. Natural
//! rubber is linear between its rows; beyond them, and for the other kinds, the nearest row is taken
//! and a warning says so.
//!
//! Temperature, in motion: between 5 and 40 C the stiffness of filled rubber moves by 10 to 30 %,
//! softer when warm (common practice): exp(-alpha (T - 20)), alpha from ln(1.1)/35 to ln(1.3)/35 per K.
//! Range -25 to 50 C, short 70 C (EN 1337-3, scope, seen). Age: 30 years made bearings 14.6 % stiffer in
//! shear, 5.9 % in compression (Nippon Gomu Kyokaishi 93 (2020) 3-9, seen); aged or oily rubber 30 to
//! 50 % either way (common practice).

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};

/// A value between two ends.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// Lower end.
    pub low: f64,
    /// The value itself.
    pub value: f64,
    /// Upper end.
    pub high: f64,
}

impl Band {
    /// The middle of two ends.
    pub fn between(low: f64, high: f64) -> Self {
        Self { low, value: 0.5 * (low + high), high }
    }

    /// A value without a band.
    pub fn exactly(value: f64) -> Self {
        Self { low: value, value, high: value }
    }
}

/// Kind of rubber.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Compound {
    /// Natural rubber, filled above 48 IRHD.
    #[default]
    Natural,
    /// Chloroprene.
    Chloroprene,
    /// Nitrile, for oil.
    Nitrile,
    /// Butyl, highly damped.
    Butyl,
}

/// Hardness (IRHD), low, high.
type Rows = &'static [[f64; 3]];

impl Compound {
    /// All of them, with their names.
    pub const ALL: [(&'static str, Self); 4] = [
        ("natural", Self::Natural),
        ("chloroprene", Self::Chloroprene),
        ("nitrile", Self::Nitrile),
        ("butyl", Self::Butyl),
    ];

    /// Dynamic over static stiffness at a hardness (IRHD).
    pub fn dynamic_factor(self, hardness: f64) -> Band {
        row(
            match self {
                Self::Natural => {
                    &[[40.0, 1.1, 1.25], [50.0, 1.2, 1.4], [60.0, 1.35, 1.7], [70.0, 1.6, 2.4]]
                }
                Self::Chloroprene => &[[60.0, 1.5, 2.2]],
                Self::Nitrile => &[[60.0, 1.6, 2.5]],
                Self::Butyl => &[[60.0, 2.0, 4.0]],
            },
            hardness,
        )
    }

    /// Loss factor at a hardness (IRHD).
    pub fn loss_factor(self, hardness: f64) -> Band {
        row(
            match self {
                // Gum, and with 50 parts of carbon black.
                Self::Natural => &[[45.0, 0.02, 0.05], [50.0, 0.08, 0.18]],
                Self::Chloroprene => &[[60.0, 0.10, 0.25]],
                Self::Nitrile => &[[60.0, 0.12, 0.30]],
                Self::Butyl => &[[60.0, 0.25, 0.50]],
            },
            hardness,
        )
    }

    /// Creep in one decade of time, as a part of the deflection at one minute.
    pub fn creep_per_decade(self, hardness: f64) -> Band {
        row(
            match self {
                Self::Natural => &[
                    [40.0, 0.015, 0.03],
                    [50.0, 0.04, 0.07],
                    [60.0, 0.04, 0.07],
                    [70.0, 0.07, 0.10],
                ],
                Self::Chloroprene => &[[60.0, 0.06, 0.10]],
                Self::Nitrile => &[[60.0, 0.07, 0.12]],
                Self::Butyl => &[[60.0, 0.10, 0.15]],
            },
            hardness,
        )
    }

    /// Hardnesses for which the figures were given, IRHD.
    pub fn range(self) -> [f64; 2] {
        match self {
            Self::Natural => [40.0, 70.0],
            _ => [55.0, 65.0],
        }
    }
}

fn row(rows: Rows, hardness: f64) -> Band {
    let i = rows.partition_point(|r| r[0] <= hardness);
    let (a, b) = (&rows[i.saturating_sub(1)], &rows[i.min(rows.len() - 1)]);
    let t = if b[0] > a[0] { (hardness - a[0]) / (b[0] - a[0]) } else { 0.0 };
    let mix = |column: usize| a[column] * (1.0 - t) + b[column] * t;
    Band::between(mix(1), mix(2))
}

/// Softening per kelvin of filled rubber in motion, between its two ends.
const SOFTENING: [f64; 2] = [0.095_310_179_804_324_87 / 35.0, 0.262_364_264_467_491_06 / 35.0];

/// Temperature of the tables, C.
pub const ROOM_CELSIUS: f64 = 20.0;

/// Factor on the dynamic stiffness between two temperatures, against 20 C: softest (warm) and
/// stiffest (cold), with the stronger of the two ends of common practice.
///
/// # Errors
/// [`Error::Invalid`] outside -25 to 70 C or for ends out of order.
pub fn temperature_band(low_celsius: f64, high_celsius: f64) -> Result<Band> {
    for (name, value) in [("low_celsius", low_celsius), ("high_celsius", high_celsius)] {
        if !(-25.0..=70.0).contains(&value) {
            return Err(Error::invalid(
                name,
                format!("{value} C"),
                "must lie in -25 to 70 C, where rubber bearings are used",
                "give degrees Celsius; ask the maker outside this range",
            ));
        }
    }
    if low_celsius > high_celsius {
        return Err(Error::invalid(
            "low_celsius",
            format!("{low_celsius} C"),
            format!("must not be above high_celsius ({high_celsius} C)"),
            "swap the temperatures",
        ));
    }
    let ends = |celsius: f64| SOFTENING.map(|alpha| (-alpha * (celsius - ROOM_CELSIUS)).exp());
    let all = [ends(low_celsius), ends(high_celsius)].concat();
    Ok(Band {
        low: all.iter().copied().fold(1.0, f64::min),
        value: 1.0,
        high: all.iter().copied().fold(1.0, f64::max),
    })
}

/// Factors on the stiffness in compression and in shear after 30 years in a bearing.
pub const THIRTY_YEARS: [f64; 2] = [1.059, 1.146];

/// Aged or oily rubber, either way: the middle of 30 to 50 %.
pub const AGED_OR_OILY: f64 = 0.4;
