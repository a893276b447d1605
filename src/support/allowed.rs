//! What may a part bear? Limits that come from the part itself: strain of a pad, solid height or
//! buckling of a coil, stress as the load at which it is reached.
//!
//! A limit is data: what is asked, on which quantity, how much, and who says so. The checks judge
//! it in every load case, and where it holds in motion too (coils that touch, a strain that tears)
//! under every load, static and dynamic together.

use serde::{Deserialize, Serialize};

use crate::error::{Result, positive};

/// What of a mount is limited; in motion static and dynamic part together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum AllowedQuantity {
    /// Compression, m.
    Compression,
    /// Deflection across the vertical axis, m.
    Shear,
    /// Vertical load, N.
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

/// A limit of the part.
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
    /// Whether it holds in motion too; else it is one for loads that stay.
    pub in_motion: bool,
}

impl Allowed {
    /// A limit for loads that stay.
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
        let (question, source) = (question.into(), source.into());
        Ok(Self { question, quantity, max, source, in_motion: false })
    }

    /// The same limit, which must hold in motion too.
    #[must_use]
    pub fn in_motion(mut self) -> Self {
        self.in_motion = true;
        self
    }
}
