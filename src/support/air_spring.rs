//! How stiff is a cushion of air? k = n p A^2 / V + p_g dA/dz.
//!
//! p absolute and p_g gauge pressure, A effective area, V volume, dA/dz growth of the area with the
//! deflection, n polytropic exponent: 1 for a load that stays (isothermal), 1.4 in motion (adiabatic;
//! the transition lies at 0.001 to 0.1 Hz: P. F. Pelz and J. Buttenbender, ISMA 2004, seen). It carries
//! p_g A. Limits: small motion, closed volume. Without a height valve it has next to no stiffness
//! against rocking over the time in which a machine is leveled. Sideways the bellows decides: give what
//! its maker states.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::Mount;
use crate::error::{Error, Result, finite, not_negative, positive};

/// Pressure of the air around, Pa.
pub const ATMOSPHERE: f64 = 101_325.0;

/// An air spring.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct AirSpring {
    /// Gauge pressure p_g, Pa.
    pub gauge_pressure: f64,
    /// Effective area A, m^2.
    pub area: f64,
    /// Volume V, m^3.
    pub volume: f64,
    /// dA/dz with the deflection, m.
    pub area_slope: f64,
    /// Polytropic exponent in motion.
    pub polytropic: f64,
    /// Polytropic exponent under a load that stays.
    pub static_polytropic: f64,
    /// Pressure of the air around, Pa.
    pub ambient_pressure: f64,
    /// Stiffness of the bellows sideways, N/m.
    pub lateral_stiffness: f64,
    /// Loss factor.
    pub loss_factor: f64,
}

impl AirSpring {
    /// An air spring by gauge pressure (Pa), effective area (m^2) and volume (m^3), n = 1.4 in motion
    /// and 1 at rest, of constant area, free sideways, without loss.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the argument that is not positive.
    pub fn new(gauge_pressure: f64, area: f64, volume: f64) -> Result<Self> {
        Self {
            gauge_pressure,
            area,
            volume,
            area_slope: 0.0,
            polytropic: 1.4,
            static_polytropic: 1.0,
            ambient_pressure: ATMOSPHERE,
            lateral_stiffness: 0.0,
            loss_factor: 0.0,
        }
        .checked()
    }

    /// The spring itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        for (name, value, unit) in [
            ("gauge_pressure", self.gauge_pressure, "Pa"),
            ("area", self.area, "m^2"),
            ("volume", self.volume, "m^3"),
        ] {
            positive(name, value, unit)?;
        }
        finite("area_slope", self.area_slope, "m")?;
        for (name, value, unit) in [
            ("ambient_pressure", self.ambient_pressure, "Pa"),
            ("lateral_stiffness", self.lateral_stiffness, "N/m"),
            ("loss_factor", self.loss_factor, ""),
        ] {
            not_negative(name, value, unit)?;
        }
        let exponents =
            [("polytropic", self.polytropic), ("static_polytropic", self.static_polytropic)];
        for (name, n) in exponents {
            if !(1.0..=1.67).contains(&n) {
                return Err(Error::invalid(
                    name,
                    n,
                    "must lie in 1 (isothermal) to 1.67 (adiabatic, one atom)",
                    "air in motion has 1.4, air at rest 1",
                ));
            }
        }
        for (name, k) in [("area_slope", self.static_stiffness()), ("area_slope", self.stiffness())]
        {
            if !(k > 0.0 && k.is_finite()) {
                return Err(Error::invalid(
                    name,
                    format!("{} m", self.area_slope),
                    format!("makes a vertical stiffness of {k} N/m, which must be positive"),
                    "check its sign: positive where the area grows with the deflection",
                ));
            }
        }
        Ok(self)
    }

    fn with_exponent(&self, n: f64) -> f64 {
        let absolute = self.gauge_pressure + self.ambient_pressure;
        n * absolute * self.area * self.area / self.volume + self.gauge_pressure * self.area_slope
    }

    /// Vertical stiffness in motion, N/m.
    pub fn stiffness(&self) -> f64 {
        self.with_exponent(self.polytropic)
    }

    /// Vertical stiffness under a load that stays, N/m.
    pub fn static_stiffness(&self) -> f64 {
        self.with_exponent(self.static_polytropic)
    }

    /// What it carries, N.
    pub fn load(&self) -> f64 {
        self.gauge_pressure * self.area
    }

    /// The mount it is at a position (m).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a position that is not finite.
    pub fn mount(&self, position: Vector3<f64>) -> Result<Mount> {
        let side = self.lateral_stiffness;
        Mount::new(position, [side, side, self.stiffness()])?
            .with_static_stiffness([side, side, self.static_stiffness()])?
            .with_loss_factor([self.loss_factor; 3])
    }
}
