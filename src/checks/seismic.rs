//! Which horizontal acceleration does a seismic code ask of a machine on soft mounts?
//!
//! Fp / Wp = 0.4 ap SDS / (Rp / Ip) (1 + 2 z / h), not below 0.3 SDS Ip nor above 1.6 SDS Ip
//! (ASCE/SEI 7-16, section 13.3.1, from memory; a component isolated from vibration has ap = 2.5
//! and Rp = 2). Restraints with a gap of more than 6.35 mm (1/4 in; FEMA E-74, read by the
//! reference pack) take twice that force (ASCE/SEI 7-22, section 13.6.4, from a second source).
//!
//! A machine that slides freely over the gap g meets its snubber with v = sqrt(2 a g), a the
//! ground's acceleration 0.4 SDS times gravity.
//!
//! Limits: editions differ (7-22 has another formula, other countries other codes), and vertical
//! shaking and load factors are not here. A first number for the check of hold-down; the local code
//! and a licensed engineer govern.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, not_negative, positive};

/// Gap above which restraints take twice the force, m: a quarter of an inch.
const CLOSE_GAP: f64 = 6.35e-3;

/// Site, machine and place in the building.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Seismic {
    /// SDS: spectral acceleration at short periods for design, part of g.
    pub sds: f64,
    /// ap: amplification by the component.
    pub amplification: f64,
    /// Rp: response modification.
    pub response: f64,
    /// Ip: importance.
    pub importance: f64,
    /// z / h: height of the floor in the building, 0 at grade, 1 at the roof.
    pub height_ratio: f64,
    /// Gap of the restraints, m; `None`: they touch.
    pub gap: Option<f64>,
}

impl Seismic {
    /// A machine on springs at grade, of ordinary importance, with restraints that touch.
    pub fn on_springs(sds: f64) -> Self {
        Self {
            sds,
            amplification: 2.5,
            response: 2.0,
            importance: 1.0,
            height_ratio: 0.0,
            gap: None,
        }
    }

    /// Horizontal force over weight.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a number that is not greater than zero, a height ratio outside 0 to 1
    /// or a negative gap.
    pub fn acceleration(&self) -> Result<f64> {
        let Self { sds, amplification: ap, response: rp, importance: ip, .. } = *self;
        for (name, value) in
            [("sds", sds), ("amplification", ap), ("response", rp), ("importance", ip)]
        {
            positive(name, value, "")?;
        }
        if !(0.0..=1.0).contains(&self.height_ratio) {
            return Err(Error::invalid(
                "height_ratio",
                self.height_ratio,
                "must lie from 0 (at grade) to 1 (at the roof)",
                "give the height of the floor over that of the building",
            ));
        }
        let gap = not_negative("gap", self.gap.unwrap_or(0.0), "m")?;
        let formula = 0.4 * ap * sds / (rp / ip) * (1.0 + 2.0 * self.height_ratio);
        let within = formula.clamp(0.3 * sds * ip, 1.6 * sds * ip);
        Ok(if gap > CLOSE_GAP { 2.0 * within } else { within })
    }
}

/// Speed with which a machine that slides freely meets a snubber over a gap (m), m/s.
///
/// # Errors
/// [`Error::Invalid`] for a negative gap, or SDS or gravity that is not greater than zero.
pub fn snubber_speed(gap: f64, sds: f64, gravity: f64) -> Result<f64> {
    let a = 0.4 * positive("sds", sds, "")? * positive("gravity", gravity, "m/s^2")?;
    Ok((2.0 * a * not_negative("gap", gap, "m")?).sqrt())
}
