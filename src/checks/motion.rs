//! Does a point of the machine move more than its neighbors bear: feed, transfer, robot, pipe?
//!
//! What stands on the floor does not move with the machine. An interface names a point of the
//! machine and, along each of its directions, how far it may shift between load cases (static,
//! against the case in which it was aligned) and how far it may swing (dynamic, peak).
//!
//! Common practice: roll feed and transfer 0.5 to 1 mm each way; hose loops at least three times
//! the motion.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::Check;
use crate::error::{Error, Result, each, finite, not_negative, positive};
use crate::system::Axis;

/// A point of the machine beside something that stands on the floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Interface {
    /// Name ("roll feed").
    pub name: String,
    /// Point of the machine, m.
    pub at: Vector3<f64>,
    /// Directions that matter: x, y, z.
    pub directions: Vec<Axis>,
    /// Load case in which it was aligned; `None`: the machine as it runs.
    pub aligned_in: Option<String>,
    /// How far it may shift between load cases, either way, m.
    pub static_limit: Option<f64>,
    /// How far it may swing, peak, m.
    pub dynamic_limit: Option<f64>,
}

impl Interface {
    /// The same interface if it stands: a direction, limits that are positive.
    ///
    /// # Errors
    /// [`Error::Invalid`] otherwise.
    pub fn checked(self) -> Result<Self> {
        each(finite, "at", &self.at, "m")?;
        for (name, limit) in
            [("static_limit", self.static_limit), ("dynamic_limit", self.dynamic_limit)]
        {
            if let Some(limit) = limit {
                positive(name, limit, "m")?;
            }
        }
        let translations = [Axis::X, Axis::Y, Axis::Z];
        if self.directions.is_empty() || self.directions.iter().any(|d| !translations.contains(d)) {
            return Err(Error::invalid(
                "directions",
                format!("{:?}", self.directions.iter().map(|d| d.name()).collect::<Vec<_>>()),
                "must be one or more of x, y, z",
                "name the directions in which motion matters",
            ));
        }
        Ok(self)
    }

    /// Shift of the point between named load cases against the limit, one check for each
    /// direction; `shifts` is case and displacement less that of the aligned case, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a shift that is not finite.
    pub fn shift(&self, shifts: &[(&str, [f64; 3])]) -> Result<Vec<Check>> {
        self.judged("shift", self.static_limit, shifts)
    }

    /// Swing of the point in named loads against the limit, one check for each direction.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a swing that is not finite.
    pub fn swing(&self, swings: &[(&str, [f64; 3])]) -> Result<Vec<Check>> {
        self.judged("swing", self.dynamic_limit, swings)
    }

    fn judged(
        &self,
        what: &str,
        limit: Option<f64>,
        motions: &[(&str, [f64; 3])],
    ) -> Result<Vec<Check>> {
        let (Some(limit), false) = (limit, motions.is_empty()) else { return Ok(Vec::new()) };
        let one = |axis: &Axis| {
            let size = |m: &(&str, [f64; 3])| m.1[*axis as usize].abs();
            let worst = motions.iter().max_by(|a, b| size(a).total_cmp(&size(b)));
            let (case, demand) = worst.map_or(("", 0.0), |w| (w.0, size(w)));
            let question = format!("{what} along {} of {}", axis.name(), self.name);
            Ok(Check::at_most(question, demand, limit, "m")?
                .in_case(case)
                .from_source("limit of the interface"))
        };
        self.directions.iter().map(one).collect()
    }
}

/// Limits of the motion of one named point, peak; `None` where none is set.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct PointLimit {
    /// Name of the point.
    pub point: String,
    /// Greatest displacement along an axis, m.
    pub displacement: Option<f64>,
    /// Greatest velocity along an axis, m/s.
    pub velocity: Option<f64>,
    /// Greatest acceleration along an axis, m/s^2.
    pub acceleration: Option<f64>,
}

impl PointLimit {
    /// One check for each limit that is set; `peaks` are displacement (m), velocity (m/s) and
    /// acceleration (m/s^2) under one load.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a limit that is not positive or a peak that is negative.
    pub fn judge(&self, peaks: [f64; 3], load: &str, source: &str) -> Result<Vec<Check>> {
        let limits = [
            ("displacement", self.displacement, "m"),
            ("velocity", self.velocity, "m/s"),
            ("acceleration", self.acceleration, "m/s^2"),
        ];
        let mut checks = Vec::new();
        for ((what, limit, unit), peak) in limits.into_iter().zip(peaks) {
            let Some(limit) = limit else { continue };
            positive(what, limit, unit)?;
            not_negative("peak", peak, unit)?;
            let question = format!("peak {what} of {}", self.point);
            checks.push(
                Check::at_most(question, peak, limit, unit)?.in_case(load).from_source(source),
            );
        }
        Ok(checks)
    }
}
