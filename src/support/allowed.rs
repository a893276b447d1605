//! What may a part bear? Limits that come from the part itself: strain of a pad, solid height or
//! buckling of a coil, stress as the load at which it is reached.
//!
//! A limit is data: what is asked, on which quantity, how much, and who says so. The checks judge
//! it in every load case.

use serde::{Deserialize, Serialize};

use crate::error::{Result, positive};

/// What of a mount is limited.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum AllowedQuantity {
    /// Static compression, m.
    Compression,
    /// Static deflection across the vertical axis, m.
    Shear,
    /// Static vertical load, N.
    Load,
}

impl AllowedQuantity {
    /// Unit of the limit.
    pub fn unit(self) -> &'static str {
        match self {
            Self::Compression | Self::Shear => "m",
            Self::Load => "N",
        }
    }
}

/// A limit of the part on a static quantity.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Allowed {
    /// What is asked ("compressive strain within 15 %").
    pub question: String,
    /// Which quantity.
    pub quantity: AllowedQuantity,
    /// The most it may be, m or N.
    pub max: f64,
    /// Who says so.
    pub source: String,
}

impl Allowed {
    /// A limit.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a limit that is not positive and finite.
    pub fn new(
        question: impl Into<String>,
        quantity: AllowedQuantity,
        max: f64,
        source: impl Into<String>,
    ) -> Result<Self> {
        let max = positive("max", max, quantity.unit())?;
        Ok(Self { question: question.into(), quantity, max, source: source.into() })
    }
}
