//! What does handling a die, or stopping in a hurry, put on the mounts?
//!
//! - A crane sets a die down: the machine with the die, and (phi - 1) m g more on it, straight down
//!   where the die lands; phi is the impact factor, 1.5 to 2 in common practice (2 is a load let
//!   go without any drop, on a spring without damping).
//! - A die cart docks: a part of the die's weight rests on the edge of the machine while it is
//!   drawn over, and the cart may push against the side.
//! - An emergency stop: a brake that is fixed to the frame brings rotors of inertia I from the speed
//!   omega to rest in the time t_b and puts on the frame the torque T = I omega / t_b, in the sense
//!   of their rotation, for as long as it brakes. As a shock it is a rectangular pulse of a moment;
//!   its static equivalent is T times the dynamic load factor of one degree of freedom of
//!   frequency f without damping: 2 sin(pi f t_b) for f t_b < 1/2, else 2.
//!
//! Of the drive train only this brake is here: a clutch that couples rotors inside the frame puts
//! no torque on it, gears add or cancel by their sense of rotation, and the slide's own inertia is
//! left out. The torque of a real brake is not constant; its peak may pass T.
//!
//! Source: textbook (momentum; rectangular pulse, e.g. J. M. Biggs, Introduction to Structural
//! Dynamics, 1964, chapter 2, from memory); the impact factor is common practice.

use std::f64::consts::PI;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::{Case, Wrench, unit_vector};
use crate::error::{Error, Result, each, finite, positive};
use crate::excitation::Pulse;
use crate::machine::{Die, Part, PointMass, RigidBody};

/// What to remember where dies and bolsters are lifted or rolled.
pub const HANDLING: &str = "dies and bolsters that are lifted or rolled can crush: nobody under a \
load or between bolster and machine, slide blocked and drive locked out, crane, hooks and rails \
within their rated loads, and lifting by trained people under local codes";

/// A crane sets a die down.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetDown {
    /// Name of its load case ("die set down").
    pub name: String,
    /// The die, where it lands.
    pub die: Die,
    /// Greatest force while it lands over its weight.
    pub impact_factor: f64,
}

impl SetDown {
    /// Impact factor where none is stated, and its band: common practice.
    pub const USUAL_FACTOR: [f64; 3] = [1.75, 1.5, 2.0];

    /// A die that a crane sets down with an impact factor of at least 1.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a factor below 1.
    pub fn new(name: &str, die: Die, impact_factor: f64) -> Result<Self> {
        if finite("impact_factor", impact_factor, "")? < 1.0 {
            return Err(Error::invalid(
                "impact_factor",
                impact_factor,
                "must be at least 1: the die's own weight",
                "1.5 to 2 is common practice",
            ));
        }
        Ok(Self { name: name.into(), die, impact_factor })
    }

    /// Its load case on the machine without a die, under a gravity (m/s^2).
    ///
    /// # Errors
    /// Those of [`RigidBody::with_parts`].
    pub fn case(&self, without_die: &RigidBody, gravity: f64) -> Result<Case> {
        let more = (self.impact_factor - 1.0) * self.die.mass * gravity;
        let down = Vector3::new(0.0, 0.0, -more);
        Ok(Case {
            name: self.name.clone(),
            body: without_die.with_parts(&[self.die.part()?])?,
            loads: vec![Wrench::new(down, Vector3::zeros(), Some(self.die.center))?],
        })
    }
}

/// A die cart at the side of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cart {
    /// Name of its load case ("die cart").
    pub name: String,
    /// Mass that rests on the machine where the cart meets it, kg; zero: it only pushes.
    pub mass: f64,
    /// Where the cart meets the machine, m.
    pub at: Vector3<f64>,
    /// Force of the cart on the machine there, N.
    pub push: Vector3<f64>,
}

impl Cart {
    /// A cart that lets a mass (kg) rest on the machine at a point (m), and pushes (N) there.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative mass, anything not finite, and a cart that does neither.
    pub fn new(name: &str, mass: f64, at: Vector3<f64>, push: Vector3<f64>) -> Result<Self> {
        crate::error::not_negative("mass", mass, "kg")?;
        each(finite, "at", &at, "m")?;
        each(finite, "push", &push, "N")?;
        if mass == 0.0 && push == Vector3::zeros() {
            return Err(Error::invalid(
                "push",
                "(0, 0, 0) N",
                "a cart on which no part of a die rests must push",
                "give the force, or the part of the die that rests on the machine",
            ));
        }
        Ok(Self { name: name.into(), mass, at, push })
    }

    /// Its load case on the machine without a die.
    ///
    /// # Errors
    /// Those of [`RigidBody::with_parts`].
    pub fn case(&self, without_die: &RigidBody) -> Result<Case> {
        let body = match self.mass {
            0.0 => without_die.clone(),
            mass => without_die.with_parts(&[Part::Point(PointMass::new(mass, self.at)?)])?,
        };
        let loads = match self.push == Vector3::zeros() {
            true => Vec::new(),
            false => vec![Wrench::new(self.push, Vector3::zeros(), Some(self.at))?],
        };
        Ok(Case { name: self.name.clone(), body, loads })
    }
}

/// A brake on the frame that stops the rotors in a hurry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EmergencyStop {
    /// Name ("emergency stop").
    pub name: String,
    /// Moment of inertia of all that the brake stops, at its shaft, kg m^2.
    pub inertia: f64,
    /// Speed of that shaft, turns a second, Hz.
    pub speed: f64,
    /// Time from full speed to rest, s.
    pub brake_time: f64,
    /// Unit vector of the torque on the frame: along the shaft, in the sense of its rotation.
    pub axis: Vector3<f64>,
}

impl EmergencyStop {
    /// What an emergency stop here is, and is not.
    pub const SCOPE: &'static str = "an emergency stop is the torque I omega / t_b of a brake fixed \
to the frame, constant while it brakes; gears, clutch and the slide's own inertia are not in it";

    /// Rotors of an inertia (kg m^2) at a speed (Hz) braked in a time (s) about an axis.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an inertia, speed or time that is not positive, or an axis that is no
    /// unit vector.
    pub fn new(
        name: &str,
        inertia: f64,
        speed: f64,
        brake_time: f64,
        axis: Vector3<f64>,
    ) -> Result<Self> {
        Ok(Self {
            name: name.into(),
            inertia: positive("inertia", inertia, "kg m^2")?,
            speed: positive("speed", speed, "Hz")?,
            brake_time: positive("brake_time", brake_time, "s")?,
            axis: unit_vector("axis", axis)?,
        })
    }

    /// T = I omega / t_b, N m.
    pub fn torque(&self) -> f64 {
        self.inertia * 2.0 * PI * self.speed / self.brake_time
    }

    /// The torque over time: a rectangular pulse, N m.
    ///
    /// # Errors
    /// Those of [`Pulse::rectangular`].
    pub fn pulse(&self) -> Result<Pulse> {
        Pulse::rectangular(self.torque(), self.brake_time)
    }

    /// Greatest deflection of one degree of freedom of a frequency (Hz) without damping, over that
    /// under the same torque at rest.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a frequency that is not positive.
    pub fn dynamic_load_factor(&self, frequency: f64) -> Result<f64> {
        let turns = positive("frequency", frequency, "Hz")? * self.brake_time;
        Ok(if turns < 0.5 { 2.0 * (PI * turns).sin() } else { 2.0 })
    }

    /// Its static equivalent as a load case: `factor` times the torque lasts. 2 holds for any
    /// frequency.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a factor that is not positive.
    pub fn case(&self, body: &RigidBody, factor: f64) -> Result<Case> {
        let moment = self.axis * (positive("static_factor", factor, "")? * self.torque());
        Ok(Case {
            name: format!("{} (static equivalent)", self.name),
            body: body.clone(),
            loads: vec![Wrench::new(Vector3::zeros(), moment, None)?],
        })
    }
}
