//! How level is level enough, and does every station keep it?
//!
//! Default: half a thousandth of an inch per foot, 0.0417 mm/m, for the rails of rolling bolsters
//! (common practice; no published tolerance was found). Bed and slide parallelism have values of
//! their own: give them.
//!
//! A station's level after the plan is what it reads now plus what the plan changes there: its own
//! deviation from the plane of the machine (a bed that is not flat) stays. The twist is judged by
//! the difference of level between opposite ends.
//!
//! Stations of the bed may have a tolerance of their own. The slide hangs in the gibs: screws do not
//! change how parallel it is to the bed, which is its own level less that of the bed's plane along
//! the same direction, |l_slide - l_plane|. Its readings are no part of the plane.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::influence::Influence;
use super::readings::{Plane, Quantity, Reading};
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
    /// The station after the mounts were raised by these heights, m.
    pub(super) fn moved(mut self, influence: &Influence, heights: &DVector<f64>) -> Self {
        let [x, y, _] = self.at;
        self.after = self.before + influence.station([x, y], self.along).dot(heights);
        self
    }

    /// True if it is within a tolerance (rad) after the plan; rounding is no fault.
    pub fn keeps(&self, tolerance: f64) -> bool {
        self.after.abs() <= tolerance * (1.0 + 1e-9) + 1e-12
    }
}

/// What the press's own surfaces must keep, besides the plane of all stations.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Surfaces {
    /// Stations on the bed.
    pub bed: Vec<String>,
    /// Greatest level at a station of the bed, rad.
    pub bed_tolerance: Option<f64>,
    /// Level readings under the slide, at the bottom of its stroke.
    pub slide: Vec<Reading>,
    /// Greatest difference of level between slide and bed, rad.
    pub slide_parallelism: Option<f64>,
}

impl Surfaces {
    /// Greatest level (rad) at a station: that of the bed for its stations where it is stated, else
    /// the tolerance of the machine.
    pub fn tolerance_at(&self, station: &str, level_tolerance: f64) -> f64 {
        let on_bed = self.bed.iter().any(|name| name == station);
        self.bed_tolerance.filter(|_| on_bed).unwrap_or(level_tolerance)
    }
}

/// Difference of level between each reading of the slide and the plane of the bed along the same
/// direction, rad, with the names of the stations; heights say nothing of it and are left out.
pub fn parallelism(plane: &Plane, slide: &[Reading]) -> Vec<(String, f64)> {
    let [about_x, about_y] = plane.tilt();
    let one = |reading: &Reading| {
        let Quantity::Level { along, value, reversed } = reading.quantity else { return None };
        let level = match reversed {
            Some(back) => 0.5 * (value - back),
            None => value - plane.own_error.unwrap_or(0.0),
        };
        let bed = about_x * along[1] - about_y * along[0];
        Some((reading.station.clone(), level - bed))
    };
    slide.iter().filter_map(one).collect()
}
