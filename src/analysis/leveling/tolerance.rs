//! How level is level enough, and does every station keep it?
//!
//! Default: half a thousandth of an inch per foot, 0.0417 mm/m, for the rails of rolling bolsters
//! (common practice; no published tolerance was found). Bed and slide parallelism have values of
//! their own: give them.
//!
//! A station's level after the plan is what it reads now plus what the plan changes there: its own
//! deviation from the plane of the machine (a bed that is not flat) stays. The twist is judged by
//! the difference of level between opposite ends.

use serde::{Deserialize, Serialize};

use crate::error::{Result, not_negative};

/// Half a thousandth of an inch per foot, rad (common practice).
pub const COMMON_PRACTICE: f64 = 0.0005 / 12.0;

/// Where the default comes from.
pub const SOURCE: &str = "half a thousandth of an inch per foot: common practice";

/// A level tolerance (rad), refused where negative.
///
/// # Errors
/// [`crate::Error::Invalid`] if negative or not finite.
pub fn level_tolerance(value: f64) -> Result<f64> {
    not_negative("level_tolerance", value, "rad")
}

/// Level at a station before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StationLevel {
    /// Name of the station.
    pub name: String,
    /// Where it is, m.
    pub at: [f64; 3],
    /// Unit direction in the plan along which it is read.
    pub along: [f64; 2],
    /// Level now, rad: positive rises along the direction.
    pub before: f64,
    /// Level after the plan, rad.
    pub after: f64,
    /// What of it is the station's own deviation from the plane of the machine, rad.
    pub own: f64,
}

impl StationLevel {
    /// True if it is within a tolerance (rad) after the plan; rounding is no fault.
    pub fn keeps(&self, tolerance: f64) -> bool {
        self.after.abs() <= tolerance * (1.0 + 1e-9) + 1e-12
    }
}
