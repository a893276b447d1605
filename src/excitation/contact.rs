//! What else acts between slide and bed: cylinders that push back, blocks that stop, dampers.
//!
//! A nitrogen cylinder or a cushion is a force that is there at once when the slide meets it, grows
//! with the stroke, and is gone when the slide leaves it on its way up: two steps, each of which the
//! press answers. Between them it is a force like that of the work, internal to the press.
//!
//! Stop blocks and break-through damper cylinders stand beside the tool. They carry k (g - w) - c w'
//! for w < g, w the elastic motion of the slide against the bed (up positive) and g the height where
//! they touch; they only push. A damper that is to work during the break touches before it: g > 0.
//!
//! Source: textbook; the step at contact and the release on return are common practice.

use serde::{Deserialize, Serialize};

use super::Segment;
use crate::error::{Error, Result, finite, not_negative, positive};

/// A force between slide and bed that begins at contact and ends on the return.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cushion {
    /// Name.
    pub name: String,
    /// Force at contact, N.
    pub force: f64,
    /// Force when it is left, N: a gas grows stiffer as it is pressed.
    pub final_force: f64,
    /// When the slide meets it, s on the clock of the work force.
    pub contact: f64,
    /// When it is left, s.
    pub release: f64,
}

impl Cushion {
    /// Force (N) that stays the same from contact to release, s.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a force that is not positive or a release that does not follow contact.
    pub fn new(force: f64, contact: f64, release: f64) -> Result<Self> {
        Self { name: String::new(), force, final_force: force, contact, release }.checked()
    }

    /// The value itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        positive("force", self.force, "N")?;
        positive("final_force", self.final_force, "N")?;
        not_negative("contact", self.contact, "s")?;
        if finite("release", self.release, "s")? <= self.contact {
            return Err(Error::invalid(
                "release",
                format!("{} s", self.release),
                format!("must come after contact, {} s", self.contact),
                "give the time at which the slide leaves it on its way up",
            ));
        }
        Ok(self)
    }

    /// In closed form, for the analyses.
    pub fn segments(&self) -> Vec<Segment> {
        vec![Segment {
            start: self.contact,
            end: self.release,
            constant: self.force,
            slope: (self.final_force - self.force) / (self.release - self.contact),
            exponentials: Vec::new(),
        }]
    }
}

/// A block or a damper cylinder between slide and bed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SlideStop {
    /// Name.
    pub name: String,
    /// Height of the slide above its place at rest where it touches, m; negative: below.
    pub height: f64,
    /// Stiffness, N/m.
    pub stiffness: f64,
    /// Viscous damping, N s/m.
    pub damping: f64,
}

impl SlideStop {
    /// A block or damper that touches at a height (m), with stiffness (N/m) and damping (N s/m).
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field; one of stiffness and damping must be positive.
    pub fn new(name: &str, height: f64, stiffness: f64, damping: f64) -> Result<Self> {
        finite("height", height, "m")?;
        not_negative("stiffness", stiffness, "N/m")?;
        not_negative("damping", damping, "N s/m")?;
        positive("stiffness + damping", stiffness + damping, "")?;
        Ok(Self { name: name.into(), height, stiffness, damping })
    }
}
