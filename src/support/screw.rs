//! How far can a mount be set? Its leveling screw: lift per turn, steps that can be set, travel; or
//! the shims under it.
//!
//! adjustment = pitch x turns, up positive; `down` and `up` are what is left each way from where
//! the screw stands. Shims have no turns: one step is one shim.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, not_negative, positive};

/// Steps of one turn that can be set, if there is at least one.
///
/// # Errors
/// [`Error::Invalid`] below 1 and beyond what a count holds.
pub fn steps(count: i64) -> Result<u32> {
    u32::try_from(count).ok().filter(|steps| *steps > 0).ok_or_else(|| {
        Error::invalid(
            "steps_per_turn",
            count,
            "must be at least 1",
            "give 8 for eighth turns, 6 for the flats of a hexagon",
        )
    })
}

/// The leveling screw of a mount, or its shims.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Screw {
    /// Lift in one turn, or thickness of one shim, m.
    pub pitch: f64,
    /// Steps of one turn that can be set (8: eighth turns, 6: flats of a hexagon; 1 for shims).
    pub steps_per_turn: u32,
    /// Travel left downward, m, positive.
    pub down: f64,
    /// Travel left upward, m, positive.
    pub up: f64,
    /// True where the foot is set by shims instead of a screw.
    pub is_shims: bool,
}

impl Screw {
    /// A screw.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a pitch that is not positive, no steps, or a negative travel.
    pub fn new(pitch: f64, steps_per_turn: u32, down: f64, up: f64) -> Result<Self> {
        let steps_per_turn = steps(steps_per_turn.into())?;
        Ok(Self {
            pitch: positive("pitch", pitch, "m")?,
            steps_per_turn,
            down: not_negative("down", down, "m")?,
            up: not_negative("up", up, "m")?,
            is_shims: false,
        })
    }

    /// Shims of one thickness (m): `down` is the height of those that can be taken out, `up` what
    /// can be put in, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a thickness that is not positive, or a negative travel.
    pub fn shims(thickness: f64, down: f64, up: f64) -> Result<Self> {
        let pitch = positive("thickness", thickness, "m")?;
        Ok(Self { is_shims: true, ..Self::new(pitch, 1, down, up)? })
    }

    /// Lift of the smallest step that can be set, m.
    pub fn step(&self) -> f64 {
        self.pitch / f64::from(self.steps_per_turn)
    }

    /// Smallest steps in an adjustment (m) that is whole in them, up positive.
    pub fn steps_in(&self, adjustment: f64) -> i64 {
        (adjustment / self.step()).round() as i64
    }

    /// Turns that lift by so much (m), up positive; `None` for shims.
    pub fn turns(&self, adjustment: f64) -> Option<f64> {
        (!self.is_shims).then(|| adjustment / self.pitch)
    }
}
