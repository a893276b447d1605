//! How far can a mount be set? Its leveling screw: lift per turn, steps that can be set, travel.
//!
//! adjustment = pitch x turns, up positive; `down` and `up` are what is left each way from where
//! the screw stands.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, not_negative, positive};

/// The leveling screw of a mount.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Screw {
    /// Lift in one turn, m.
    pub pitch: f64,
    /// Steps of one turn that can be set (8: eighth turns, 6: flats of a hexagon).
    pub steps_per_turn: u32,
    /// Travel left downward, m, positive.
    pub down: f64,
    /// Travel left upward, m, positive.
    pub up: f64,
}

impl Screw {
    /// A screw.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a pitch that is not positive, no steps, or a negative travel.
    pub fn new(pitch: f64, steps_per_turn: u32, down: f64, up: f64) -> Result<Self> {
        if steps_per_turn == 0 {
            return Err(Error::invalid(
                "steps_per_turn",
                steps_per_turn,
                "must be at least 1",
                "give 8 for eighth turns, 6 for the flats of a hexagon",
            ));
        }
        Ok(Self {
            pitch: positive("pitch", pitch, "m")?,
            steps_per_turn,
            down: not_negative("down", down, "m")?,
            up: not_negative("up", up, "m")?,
        })
    }

    /// Lift of the smallest step that can be set, m.
    pub fn step(&self) -> f64 {
        self.pitch / f64::from(self.steps_per_turn)
    }
}
