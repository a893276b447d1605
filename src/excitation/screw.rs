//! What does the blow of a screw press do to the frame?
//!
//! Flywheel and screw of inertia I about the vertical turn at omega and come to rest within the time T,
//! springing back with the share e of their speed: the frame takes their angular momentum,
//!
//! integral of M dt = I omega (1 + e) along the axis, in the sense of the rotation before the blow,
//!
//! here as a half-sine. The slide of mass m comes down at v; its momentum m v (1 + e) goes into the bed
//! in the same time: a downward half-sine. The forming force itself is internal.
//!
//! Source: momentum, textbook; the half-sine is a usual shape of a blow (common practice).

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use super::direction::unit_vector;
use super::{Action, Pulse, Source};
use crate::error::{Error, Result, each, finite, not_negative, positive};

/// The blow of a screw press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScrewBlow {
    /// Moment of inertia of flywheel and screw, kg m^2.
    pub inertia: f64,
    /// Their speed before the blow, turns a second, Hz.
    pub speed: f64,
    /// Time in which they come to rest, s.
    pub stop_time: f64,
    /// Speed with which they spring back over that before the blow, 0 to 1.
    pub rebound: f64,
    /// Unit vector of the screw, right-handed in its sense of rotation before the blow.
    pub axis: Vector3<f64>,
    /// Mass of the slide, kg; zero leaves its momentum out.
    pub slide_mass: f64,
    /// Way of the slide by one turn of the screw, m.
    pub lead: f64,
    /// Point of the slide's line, m; `None`: on the vertical through the center of mass.
    pub at: Option<Vector3<f64>>,
}

impl ScrewBlow {
    /// The blow, if its numbers are possible.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an inertia, speed or time that is not positive, a rebound outside 0 to 1,
    /// a negative mass or lead, and an axis that is no unit vector.
    pub fn checked(self) -> Result<Self> {
        positive("inertia", self.inertia, "kg m^2")?;
        positive("speed", self.speed, "Hz")?;
        positive("stop_time", self.stop_time, "s")?;
        not_negative("slide_mass", self.slide_mass, "kg")?;
        not_negative("lead", self.lead, "m")?;
        unit_vector("axis", self.axis)?;
        each(finite, "at", self.at.iter().flatten(), "m")?;
        if (0.0..=1.0).contains(&self.rebound) {
            return Ok(self);
        }
        Err(Error::invalid(
            "rebound",
            self.rebound,
            "must lie between 0 (it stops) and 1 (nothing is lost)",
            "0.1 to 0.3 in forging, up to 0.8 in a blow without work (common practice)",
        ))
    }

    /// Angular momentum that the frame takes, N m s.
    pub fn angular_impulse(&self) -> f64 {
        self.inertia * TAU * self.speed * (1.0 + self.rebound)
    }

    /// Greatest torque on the frame, N m.
    pub fn torque(&self) -> f64 {
        self.angular_impulse() * PI / (2.0 * self.stop_time)
    }

    /// Momentum of the slide that the bed takes, N s.
    pub fn slide_impulse(&self) -> f64 {
        self.slide_mass * self.lead * self.speed * (1.0 + self.rebound)
    }

    /// What acts on the frame.
    ///
    /// # Errors
    /// Those of [`Pulse::half_sine`].
    pub fn actions(&self) -> Result<Vec<Action>> {
        let torque = Pulse::half_sine(self.torque(), self.stop_time)?.segments();
        let mut all = vec![Action::moment(Source::Contact, self.axis, torque)];
        let slide = self.slide_impulse() * PI / (2.0 * self.stop_time);
        if slide > 0.0 {
            let down = Pulse::half_sine(slide, self.stop_time)?.segments();
            all.push(Action::force(Source::Contact, -Vector3::z(), self.at, down));
        }
        Ok(all)
    }
}
