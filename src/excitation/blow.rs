//! A ram strikes: with what speed does the struck body set off?
//!
//! Ram of mass m at speed v, restitution e, along the unit vector d at a point of the machine. The
//! point answers like a mass m_p, 1/m_p = g' M^-1 g (g: generalized force of unit force along d).
//! Momentum and restitution give the impulse
//!
//! J = (1 + e) v m m_p / (m + m_p),    and the velocities just after it M^-1 g J.
//!
//! For a blow through the center of mass of a body of mass M that is the well-known
//! v_0 = (1 + e) v / (1 + M / m).
//!
//! Assumptions: the blow is short against the periods of vibration; the machine is one rigid body
//! while it lasts; the ram is caught or springs back and does not rest on the machine afterwards.
//! Common practice: restitution 0.5 in die forging, 0.25 in open-die forging, 0 for soft metals.
//!
//! Source: momentum and Newton's restitution, textbook; e.g. C. Venkatramaiah, Geotechnical
//! Engineering, chapter 20 (as quoted in `tests/reference/shock/hammer_examples.json`).

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::direction::unit_vector;
use crate::error::{Error, Result, each, finite, positive};

/// A blow of a ram.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Blow {
    /// Mass of the ram, kg.
    pub mass: f64,
    /// Speed of the ram just before it strikes, m/s.
    pub speed: f64,
    /// Coefficient of restitution, 0 to 1.
    pub restitution: f64,
    /// Unit vector along which the ram moves.
    pub direction: Vector3<f64>,
    /// Where it strikes, m; `None`: along a line through the center of mass.
    pub at: Option<Vector3<f64>>,
}

impl Blow {
    /// A ram of a mass (kg) and speed (m/s) that strikes along a direction at a point (m).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a mass or speed that is not positive, a restitution outside 0 to 1,
    /// and a direction that is no unit vector.
    pub fn new(
        mass: f64,
        speed: f64,
        restitution: f64,
        direction: Vector3<f64>,
        at: Option<Vector3<f64>>,
    ) -> Result<Self> {
        positive("mass", mass, "kg")?;
        positive("speed", speed, "m/s")?;
        if !(0.0..=1.0).contains(&restitution) {
            return Err(Error::invalid(
                "restitution",
                restitution,
                "must lie between 0 (the ram stays down) and 1 (nothing is lost)",
                "0.5 in die forging, 0.25 in open-die forging and 0 for soft metals are common practice",
            ));
        }
        each(finite, "at", at.iter().flatten(), "m")?;
        let direction = unit_vector("direction", direction)?;
        Ok(Self { mass, speed, restitution, direction, at })
    }

    /// Speed of a ram that falls from a height (m), pushed by a force besides its weight (N, steam or
    /// air), with an efficiency between 0 and 1: v = eff sqrt(2 (g + F/m) h), m/s.
    ///
    /// # Errors
    /// [`Error::Invalid`] for anything that is not positive, a negative force, an efficiency above 1.
    pub fn fall_speed(
        mass: f64,
        height: f64,
        push: f64,
        efficiency: f64,
        gravity: f64,
    ) -> Result<f64> {
        positive("mass", mass, "kg")?;
        positive("height", height, "m")?;
        crate::error::not_negative("push", push, "N")?;
        positive("gravity", gravity, "m/s^2")?;
        if positive("efficiency", efficiency, "")? > 1.0 {
            return Err(Error::invalid(
                "efficiency",
                efficiency,
                "must be at most 1",
                "0.9 is common for a drop hammer, 0.6 to 0.8 with steam or air (common practice)",
            ));
        }
        Ok(efficiency * (2.0 * (gravity + push / mass) * height).sqrt())
    }

    /// Impulse on a point that answers like the mass `struck` (kg), N s.
    pub fn impulse(&self, struck: f64) -> f64 {
        (1.0 + self.restitution) * self.speed * self.mass * struck / (self.mass + struck)
    }

    /// Energy that neither the ram nor the struck mass (kg) has afterwards: what forges, J.
    pub fn forging_energy(&self, struck: f64) -> f64 {
        let reduced = self.mass * struck / (self.mass + struck);
        0.5 * reduced * self.speed * self.speed * (1.0 - self.restitution * self.restitution)
    }

    /// Unit force along the blow about a point (m): N and N m.
    pub fn about(&self, point: &Vector3<f64>) -> [f64; 6] {
        let d = self.direction;
        let m = self.at.map_or_else(Vector3::zeros, |at| (at - point).cross(&d));
        [d.x, d.y, d.z, m.x, m.y, m.z]
    }
}
