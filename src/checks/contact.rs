//! Does a mount keep contact while the machine moves?
//!
//! In a computed motion: least static load less the greatest lift, as a part of the static load,
//! at least a stated reserve. For a first look, of one degree of freedom on its static deflection:
//! a kick by a velocity v0 swings to v0 / omega <= g / omega^2, so v0 <= g / omega, as impulse
//! I <= m g / omega; a harmonic force passes F0 / |1 - r^2| <= W, r = f / f_n.
//!
//! Assumptions of the first look: undamped, vertical, kick short against the period; on the safe
//! side for the lift of a damped mount. Source: textbook.

use super::Check;
use crate::error::{Error, Result, finite, not_negative, positive};

/// The part of its static load (N) that is left in a mount when it lifts most, by `lift` (N,
/// positive), at least `reserve` (0 to 1).
///
/// # Errors
/// [`Error::Invalid`] for a reserve outside 0 to 1 or a negative lift.
pub fn contact_reserve(
    mount: &str,
    static_load: f64,
    lift: f64,
    reserve: f64,
    case: &str,
) -> Result<Check> {
    finite("static_load", static_load, "N")?;
    not_negative("lift", lift, "N")?;
    if !(0.0..=1.0).contains(&reserve) {
        return Err(Error::invalid(
            "reserve",
            reserve,
            "must lie between 0 and 1",
            "give the part of the static load that must stay in the mount",
        ));
    }
    let left = if static_load > 0.0 { 1.0 - lift / static_load } else { f64::NEG_INFINITY };
    let check = Check::at_least(
        format!("least part of its load that stays of {mount}"),
        left,
        reserve,
        "",
    )?;
    Ok(check.in_case(case))
}

/// A vertical kick by a velocity `v0` (m/s) keeps contact: v0 at most g / omega.
///
/// # Errors
/// [`Error::Invalid`] unless frequency and gravity are positive.
pub fn kick_velocity(v0: f64, frequency: f64, gravity: f64) -> Result<Check> {
    let most = bound(frequency, gravity)?;
    let check = Check::at_most("velocity of a kick (lift-off)", v0.abs(), most, "m/s")?;
    Ok(check.from_source(KICK))
}

/// A short vertical impulse (N s) on a mass (kg) keeps contact: at most m g / omega.
///
/// # Errors
/// [`Error::Invalid`] unless mass, frequency and gravity are positive.
pub fn kick_impulse(impulse: f64, mass: f64, frequency: f64, gravity: f64) -> Result<Check> {
    let most = positive("mass", mass, "kg")? * bound(frequency, gravity)?;
    let check = Check::at_most("impulse of a kick (lift-off)", impulse.abs(), most, "N s")?;
    Ok(check.from_source(KICK))
}

/// A steady vertical force of peak `force` (N) keeps contact with a weight (N):
/// F0 / |1 - r^2| at most W. At resonance the demand is infinite.
///
/// # Errors
/// [`Error::Invalid`] unless frequencies are positive and numbers finite.
pub fn steady_contact(force: f64, frequency: f64, natural: f64, weight: f64) -> Result<Check> {
    finite("force", force, "N")?;
    let r = positive("frequency", frequency, "Hz")? / positive("natural", natural, "Hz")?;
    let passed = force.abs() / (1.0 - r * r).abs();
    let question = "steady force on the mounts against the weight (lift-off)";
    let check = Check::at_most(question, passed, positive("weight", weight, "N")?, "N")?;
    Ok(check.from_source("one undamped degree of freedom: F0 / |1 - r^2| <= W (textbook)"))
}

const KICK: &str = "one undamped degree of freedom: v0 <= g / omega (textbook)";

/// g / omega, m/s.
fn bound(frequency: f64, gravity: f64) -> Result<f64> {
    positive("gravity", gravity, "m/s^2")?;
    Ok(gravity / (std::f64::consts::TAU * positive("frequency", frequency, "Hz")?))
}
