//! How many strokes must it bear?
//!
//! n = spm x 60 x hours a day x use x days a year x years; 40 spm, 24 h, 70 % use, every day is
//! 14.7 million strokes a year (arithmetic).

use serde::{Deserialize, Serialize};

use super::Check;
use crate::error::{Error, Result, positive};

/// How much a press runs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Duty {
    /// Stroke rate while it runs, strokes a minute.
    pub stroke_rate_spm: f64,
    /// Hours a day.
    pub hours_per_day: f64,
    /// Part of those hours in which it strokes, 0 to 1.
    pub utilization: f64,
    /// Days a year.
    pub days_per_year: f64,
}

impl Duty {
    /// The duty if it can be.
    ///
    /// # Errors
    /// [`Error::Invalid`] for more than 24 hours, 366 days or a use above 1, or nothing at all.
    pub fn checked(self) -> Result<Self> {
        positive("stroke_rate_spm", self.stroke_rate_spm, "strokes a minute")?;
        let bounded = [
            ("hours_per_day", self.hours_per_day, 24.0),
            ("utilization", self.utilization, 1.0),
            ("days_per_year", self.days_per_year, 366.0),
        ];
        for (name, value, most) in bounded {
            positive(name, value, "")?;
            if value > most {
                let required = format!("must be at most {most}");
                return Err(Error::invalid(name, value, required, "check the unit"));
            }
        }
        Ok(self)
    }

    /// Strokes a year.
    pub fn strokes_per_year(&self) -> f64 {
        self.stroke_rate_spm * 60.0 * self.hours_per_day * self.utilization * self.days_per_year
    }

    /// Strokes in `years` within an endurance (strokes that mounts, anchors or welds bear).
    ///
    /// # Errors
    /// [`Error::Invalid`] for years or an endurance that are not positive.
    pub fn fatigue(&self, years: f64, endurance: f64) -> Result<Check> {
        let strokes = self.checked()?.strokes_per_year() * positive("years", years, "a")?;
        positive("endurance", endurance, "strokes")?;
        let check = Check::at_most("strokes in service", strokes, endurance, "")?;
        Ok(check.from_source("endurance as entered"))
    }
}
