//! What happens when the machine has moved as far as it may? A snubber or limit stop.
//!
//! A [`Stop`] touches after a gap along its direction n (and, if it is double, after another gap
//! the other way) and then acts as a second spring: force on the machine -k (n'u - gap) n.
//!
//! [`rebound`]: a mass m that meets a spring k1 at speed v, with a second spring k2 behind a gap g,
//! goes on until its energy is stored,
//!
//! k1 x^2 / 2 + k2 (x - g)^2 / 2 = m v^2 / 2,   F = k1 x + k2 (x - g),
//!
//! with x = v sqrt(m / k1) and no contact if that is within the gap. Derived from energy; undamped,
//! free of gravity (x counts from the position at rest), one direction.

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::bridge::grounded;
use crate::error::{Error, Result, each, finite, not_negative, positive};
use crate::law::{Contact, Gap, Law};
use crate::system::{Element, Label};

/// How far a direction may be from a unit vector.
const UNIT: f64 = 1e-9;

/// A snubber or limit stop between the machine and the floor.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stop {
    /// Name.
    pub name: String,
    /// Where it touches the machine, m.
    pub position: Vector3<f64>,
    /// Unit vector of the machine's motion that closes the gap.
    pub direction: Vector3<f64>,
    /// Way to go from the unloaded height of the mounts until it touches, m.
    pub gap: f64,
    /// Way to go the other way; `None`: it stops one way only, m.
    pub gap_behind: Option<f64>,
    /// Stiffness in contact, N/m.
    pub stiffness: f64,
    /// Viscous damping in contact, N s/m.
    pub damping: f64,
    /// Loss factor in contact.
    pub loss_factor: f64,
}

impl Stop {
    /// Undamped stop at a point of the machine (m), along a unit vector, after a gap (m), with a
    /// stiffness (N/m); it stops one way.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a direction that is no unit vector, a negative gap, or a stiffness
    /// that is not positive.
    pub fn new(
        position: Vector3<f64>,
        direction: Vector3<f64>,
        gap: f64,
        stiffness: f64,
    ) -> Result<Self> {
        let stop = Self {
            name: String::new(),
            position,
            direction,
            gap,
            gap_behind: None,
            stiffness,
            damping: 0.0,
            loss_factor: 0.0,
        };
        stop.checked()
    }

    /// The same stop with a name.
    #[must_use]
    pub fn with_name(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// The same stop touching the other way too, after a gap, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_gap_behind(mut self, gap: f64) -> Result<Self> {
        self.gap_behind = Some(gap);
        self.checked()
    }

    /// The same stop with viscous damping in contact, N s/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_damping(mut self, damping: f64) -> Result<Self> {
        self.damping = damping;
        self.checked()
    }

    /// The same stop with a loss factor in contact.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_loss_factor(mut self, loss_factor: f64) -> Result<Self> {
        self.loss_factor = loss_factor;
        self.checked()
    }

    /// The element it is in a system with `n` degrees of freedom, of which those of its machine
    /// begin at `first`, with the machine's center of mass at `center`.
    pub fn element(&self, n: usize, first: usize, center: &Vector3<f64>) -> Element {
        let law = Law::Gap(Gap {
            rank: 3,
            gap: self.gap,
            gap_behind: self.gap_behind,
            stiffness: self.stiffness,
            loss_factor: self.loss_factor,
            damping: self.damping,
            contact: Contact::Open,
        });
        let label = Label { kind: "stop".into(), name: self.name.clone() };
        grounded(n, first, center, (&self.position, &frame(&self.direction)), law, label)
    }

    /// The stop itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field, its value and what is required.
    pub fn checked(self) -> Result<Self> {
        each(finite, "position", &self.position, "m")?;
        each(finite, "direction", &self.direction, "")?;
        let length = self.direction.norm();
        if (length - 1.0).abs() > UNIT {
            return Err(Error::invalid(
                "direction",
                format!("{:?}", self.direction.as_slice()),
                format!("must be a unit vector, its length is {length}"),
                "divide it by its length",
            ));
        }
        not_negative("gap", self.gap, "m")?;
        not_negative("gap_behind", self.gap_behind.unwrap_or(0.0), "m")?;
        positive("stiffness", self.stiffness, "N/m")?;
        not_negative("damping", self.damping, "N s/m")?;
        not_negative("loss_factor", self.loss_factor, "")?;
        Ok(self)
    }
}

/// Right-handed axes of which the first is n.
fn frame(n: &Vector3<f64>) -> Matrix3<f64> {
    let n = n.normalize();
    let mut least = Vector3::zeros();
    least[n.iamin()] = 1.0;
    let second = n.cross(&least).normalize();
    Matrix3::from_columns(&[n, second, n.cross(&second)])
}

/// How far a moving mass goes against a mount and a stop, and the force there.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rebound {
    /// Greatest deflection x, m.
    pub deflection: f64,
    /// Force F at it, mount and stop together, N.
    pub force: f64,
    /// Force of the mount alone if there were no stop, N.
    pub force_without_stop: f64,
    /// True if the stop is reached.
    pub touches: bool,
}

/// Rebound of a mass (kg) at a speed (m/s) from a mount of stiffness k1 with a stop of stiffness k2
/// (N/m) behind a gap (m).
///
/// # Errors
/// [`Error::Invalid`] for a mass or stiffness that is not positive, or a negative gap or speed.
pub fn rebound(
    mass: f64,
    stiffness: f64,
    stop_stiffness: f64,
    gap: f64,
    speed: f64,
) -> Result<Rebound> {
    let m = positive("mass", mass, "kg")?;
    let k1 = positive("stiffness", stiffness, "N/m")?;
    let k2 = positive("stop_stiffness", stop_stiffness, "N/m")?;
    let g = not_negative("gap", gap, "m")?;
    let v = not_negative("speed", speed, "m/s")?;
    let free = v * (m / k1).sqrt();
    let force_without_stop = k1 * free;
    if free <= g {
        let force = force_without_stop;
        return Ok(Rebound { deflection: free, force, force_without_stop, touches: false });
    }
    // (k1 + k2) x^2 - 2 k2 g x + k2 g^2 - m v^2 = 0, by y = x - g, whose positive root has no
    // cancellation: (k1 + k2) y^2 + 2 k1 g y = m v^2 - k1 g^2.
    let left = k1 * (free - g) * (free + g);
    let half = k1 * g;
    let y = left / (half + (half * half + (k1 + k2) * left).sqrt());
    let deflection = g + y;
    Ok(Rebound { deflection, force: k1 * deflection + k2 * y, force_without_stop, touches: true })
}
