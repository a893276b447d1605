//! What does the tool put between slide and bed: a force that breaks off, or any curve over time?
//!
//! Either way the force is internal: it pushes the slide up and the bed down, and its resultant on
//! the press is nothing ([`crate::machine::press`]).

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::{BreakThrough, Segment, TimeCurve};
use crate::error::{Result, each, finite};

/// A force between slide and bed over one stroke.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Work {
    /// It rises, softens and breaks off.
    BreakThrough(BreakThrough),
    /// Straight lines over time: drawing, coining, a record.
    Curve {
        /// Force over time.
        curve: TimeCurve,
        /// Where the tool is, m; `None`: below the slide.
        point: Option<Vector3<f64>>,
    },
}

impl Work {
    /// Greatest force, N.
    pub fn peak(&self) -> f64 {
        match self {
            Self::BreakThrough(force) => force.force,
            Self::Curve { curve, .. } => curve.peak(),
        }
    }

    /// Where the tool is, m; `None`: below the slide.
    pub fn point(&self) -> Option<Vector3<f64>> {
        match self {
            Self::BreakThrough(force) => force.point,
            Self::Curve { point, .. } => *point,
        }
    }

    /// In closed form, for the analyses.
    pub fn segments(&self) -> Vec<Segment> {
        match self {
            Self::BreakThrough(force) => force.segments(),
            Self::Curve { curve, .. } => curve.segments(),
        }
    }

    /// The force that breaks off, if it is one.
    pub fn break_through(&self) -> Option<&BreakThrough> {
        match self {
            Self::BreakThrough(force) => Some(force),
            Self::Curve { .. } => None,
        }
    }

    /// The value itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        match self {
            Self::BreakThrough(force) => force.checked().map(Self::BreakThrough),
            Self::Curve { curve, point } => {
                each(finite, "point", point.iter().flatten(), "m")?;
                Ok(Self::Curve { curve: TimeCurve::new(curve.knots)?, point })
            }
        }
    }
}

impl From<BreakThrough> for Work {
    fn from(force: BreakThrough) -> Self {
        Self::BreakThrough(force)
    }
}

impl From<TimeCurve> for Work {
    fn from(curve: TimeCurve) -> Self {
        Self::Curve { curve, point: None }
    }
}
