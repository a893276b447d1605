//! How does a rubber mount sink with time, and when is it leveled again?
//!
//! delta(t) = delta_1 (1 + a log10(t / t_1)), t_1 = 1 min; a is the creep in one decade of time.
//! Only the difference between feet tilts the machine; feet with equal static deflection creep alike.
//!
//! Source: logarithmic creep of rubber, common practice (rates in [`super::compound`]). Rule for
//! leveling again, derived from it: once, after 10^3 to 10^4 minutes; what is left then is a decade or
//! two less. Limits: constant load and temperature, from one minute on.

use crate::error::{Error, Result, not_negative, positive};

/// t_1, s.
pub const FIRST_READING: f64 = 60.0;

/// When to level again, s: from 10^3 to 10^4 minutes after loading (0.7 to 7 days).
pub const LEVEL_AGAIN: [f64; 2] = [1e3 * 60.0, 1e4 * 60.0];

/// log10(t / t_1): decades since the first minute.
///
/// # Errors
/// [`Error::Invalid`] for a time before the first minute.
pub fn decades(argument: &str, time: f64) -> Result<f64> {
    if positive(argument, time, "s")? < FIRST_READING {
        return Err(Error::invalid(
            argument,
            format!("{time} s"),
            "must be at least 60 s: creep is counted from the deflection at one minute",
            "give the time since the load came on",
        ));
    }
    Ok((time / FIRST_READING).log10())
}

/// Static deflection at a time (s) over that at one minute.
///
/// # Errors
/// [`Error::Invalid`] for a negative rate or a time before the first minute.
pub fn growth(creep_per_decade: f64, time: f64) -> Result<f64> {
    let rate = not_negative("creep_per_decade", creep_per_decade, "")?;
    Ok(1.0 + rate * decades("time", time)?)
}

/// Time (s) at which the deflection has grown by `part` of that at one minute.
///
/// # Errors
/// [`Error::Invalid`] for a rate that is not positive, a negative part, or a time that no number holds.
pub fn time_to(creep_per_decade: f64, part: f64) -> Result<f64> {
    let rate = positive("creep_per_decade", creep_per_decade, "")?;
    let time = FIRST_READING * 10f64.powf(not_negative("part", part, "")? / rate);
    if time.is_finite() {
        return Ok(time);
    }
    Err(Error::invalid(
        "part",
        part,
        "is never reached at this rate of creep",
        "ask for a smaller part",
    ))
}

/// How much the deflection grows between two times (s), as a part of that at one minute.
///
/// # Errors
/// [`Error::Invalid`] for a negative rate, a time before the first minute, or times out of order.
pub fn drift(creep_per_decade: f64, from: f64, to: f64) -> Result<f64> {
    let rate = not_negative("creep_per_decade", creep_per_decade, "")?;
    let (start, end) = (decades("from_time", from)?, decades("time", to)?);
    if end < start {
        return Err(Error::invalid(
            "time",
            format!("{to} s"),
            format!("must not be before from_time ({from} s)"),
            "swap the times",
        ));
    }
    Ok(rate * (end - start))
}
