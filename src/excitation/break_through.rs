//! How does the work force rise, soften and collapse when the material breaks?
//!
//! Straight lines through: zero; F after the rise; F after the dwell; s F after the softening, while
//! the sheet thins; r F after the release, when it has broken; zero after the residual time.
//! F is the greatest force, s what is left of it when it breaks, r what friction and the stripper
//! hold after.
//!
//! The release can follow from the sheet: the crack runs while the slide goes on by a part of the
//! thickness that is left, release = tear (1 - penetration) thickness / speed.
//!
//! The force acts between slide and bed: on a press it is a pair, and its resultant is nothing.
//! Release times of 1 to 10 ms and a fracture of 0.3 to 3 ms are told (noise and forming literature,
//! from memory, low confidence): calibrate it on a tonnage record.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::Segment;
use super::forming::{Blanking, polygon};
use super::slide::SlideDrive;
use crate::error::{Error, Result, each, finite, positive};

/// A work force that breaks off, over time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BreakThrough {
    /// Greatest force F, N; it pushes the slide up and the bed down.
    pub force: f64,
    /// Time from nothing to F, s.
    pub rise: f64,
    /// Time at F, s.
    pub dwell: f64,
    /// Time in which F falls to s F, s.
    pub softening_time: f64,
    /// s: part of F at which the material breaks.
    pub softened_to: f64,
    /// Break-through time: from s F to r F, s.
    pub release: f64,
    /// r: part of F that is left, by friction and the stripper.
    pub residual: f64,
    /// Time in which that falls to nothing, s.
    pub residual_time: f64,
    /// Where the tool is, m; `None`: below the slide. It changes guide loads and where the bed is
    /// looked at, nothing else.
    pub point: Option<Vector3<f64>>,
    /// Strokes per minute, to see that it ends within the stroke.
    pub stroke_rate_spm: Option<f64>,
}

impl BreakThrough {
    /// A force (N) that rises (s) and breaks off within the release (s).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a force or time that is not positive.
    pub fn new(force: f64, rise: f64, release: f64) -> Result<Self> {
        let all = Self {
            force,
            rise,
            dwell: 0.0,
            softening_time: 0.0,
            softened_to: 1.0,
            release,
            residual: 0.0,
            residual_time: 0.0,
            point: None,
            stroke_rate_spm: None,
        };
        all.checked()
    }

    /// The force of a blank under a slide that turns at a stroke rate and meets the sheet at a height
    /// above bottom dead center (m): each time is the way of that part over the speed at contact.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a slide that stands there, a height outside the stroke, or a break that outlasts the
    /// stroke.
    pub fn of_blank(
        blank: &Blanking,
        drive: &SlideDrive,
        stroke_rate_spm: f64,
        height: f64,
    ) -> Result<Self> {
        let force = Self::at_speed(blank, speed_at(drive, stroke_rate_spm, height)?)?;
        Self { stroke_rate_spm: Some(stroke_rate_spm), ..force }.checked()
    }

    /// The same under a slide that comes down at a speed, m/s.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a speed that is not positive.
    pub fn at_speed(blank: &Blanking, speed: f64) -> Result<Self> {
        positive("speed", speed, "m/s")?;
        let [rise, softening, tear] = blank.ways().map(|way| way / speed);
        let softens = blank.softened_to < 1.0;
        Self {
            dwell: if softens { 0.0 } else { softening },
            softening_time: if softens { softening } else { 0.0 },
            softened_to: blank.softened_to,
            ..Self::new(blank.force(), rise, tear)?
        }
        .checked()
    }

    /// The same with a dwell at the greatest force, s.
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn with_dwell(mut self, dwell: f64) -> Result<Self> {
        self.dwell = dwell;
        self.checked()
    }

    /// The same falling to a part `to` of its force within `time` (s) before it breaks.
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn with_softening(mut self, to: f64, time: f64) -> Result<Self> {
        (self.softened_to, self.softening_time) = (to, time);
        self.checked()
    }

    /// The same with a part of its force left after the break, which falls to nothing in a time (s).
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn with_residual(mut self, residual: f64, time: f64) -> Result<Self> {
        (self.residual, self.residual_time) = (residual, time);
        self.checked()
    }

    /// The same with the tool at a point, m.
    ///
    /// # Errors
    /// As [`Self::checked`].
    pub fn with_point(mut self, point: Vector3<f64>) -> Result<Self> {
        self.point = Some(point);
        self.checked()
    }

    /// The value itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        positive("force", self.force, "N")?;
        positive("rise", self.rise, "s")?;
        positive("release", self.release, "s")?;
        for (name, time) in [
            ("dwell", self.dwell),
            ("softening_time", self.softening_time),
            ("residual_time", self.residual_time),
        ] {
            crate::error::not_negative(name, time, "s")?;
        }
        part("softened_to", self.softened_to, 1.0)?;
        part("residual", self.residual, self.softened_to)?;
        let needs = [
            ("softening_time", self.softened_to < 1.0, self.softening_time),
            ("residual_time", self.residual > 0.0, self.residual_time),
        ];
        for (name, needed, time) in needs {
            if needed != (time > 0.0) {
                return Err(Error::invalid(
                    name,
                    format!("{time} s"),
                    if needed { "must be greater than zero" } else { "has nothing to act on" },
                    "give the part of the force (softened_to, residual) and its time together",
                ));
            }
        }
        each(finite, "point", self.point.iter().flatten(), "m")?;
        if let Some(rate) = self.stroke_rate_spm {
            let stroke = 60.0 / positive("stroke_rate_spm", rate, "per minute")?;
            if self.end() > stroke {
                return Err(Error::invalid(
                    "release",
                    format!("{} s", self.release),
                    format!("the force must end ({} s) within the stroke ({stroke} s)", self.end()),
                    "check rise, softening, release and residual time, or the stroke rate",
                ));
            }
        }
        Ok(self)
    }

    /// Knots (s, N) of the force over time.
    pub fn knots(&self) -> Vec<[f64; 2]> {
        let f = self.force;
        let mut t = 0.0;
        let mut knots = vec![[0.0, 0.0]];
        let ways = [
            (self.rise, f),
            (self.dwell, f),
            (self.softening_time, self.softened_to * f),
            (self.release, self.residual * f),
            (self.residual_time, 0.0),
        ];
        for (time, force) in ways.into_iter().filter(|(time, _)| *time > 0.0) {
            t += time;
            knots.push([t, force]);
        }
        knots
    }

    /// When the material begins to break, s.
    pub fn breaks_at(&self) -> f64 {
        self.rise + self.dwell + self.softening_time
    }

    /// When the force is over, s.
    pub fn end(&self) -> f64 {
        self.breaks_at() + self.release + self.residual_time
    }

    /// In closed form, for the analyses.
    pub fn segments(&self) -> Vec<Segment> {
        polygon(&self.knots())
    }
}

/// Speed at which a slide comes down at a height above bottom dead center (m), m/s.
///
/// # Errors
/// [`Error::Invalid`] for a height outside the stroke, or one where the slide stands still.
pub fn speed_at(drive: &SlideDrive, stroke_rate_spm: f64, height: f64) -> Result<f64> {
    let omega = SlideDrive::crank_speed(stroke_rate_spm)?;
    let speed = -drive.velocity(drive.angle_above_bottom(height)?, omega);
    if speed > 0.0 {
        return Ok(speed);
    }
    Err(Error::invalid(
        "height",
        format!("{height} m"),
        format!("must be where the slide comes down (its speed is {speed} m/s)"),
        "give the height above bottom dead center at which the tool meets the sheet",
    ))
}

fn part(name: &str, value: f64, most: f64) -> Result<f64> {
    if (0.0..=most).contains(&value) {
        return Ok(value);
    }
    Err(Error::invalid(
        name,
        value,
        format!("must lie between 0 and {most}"),
        "give a part of the greatest force, as 0.6 or \"60 %\"",
    ))
}
