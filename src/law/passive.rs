//! Does a law give back more energy than it took? A mount must not.
//!
//! Over a cycle of amplitude u a law takes the energy pi u^2 Im D(omega); it is passive if
//! Im D >= 0 for every omega > 0 and its static stiffness is not negative (D(s)/s positive real,
//! with no root of its own that grows).

use std::f64::consts::TAU;

use crate::error::Error;

/// A value that makes a law create energy, and where.
pub(super) fn creates_energy(argument: &str, value: f64, unit: &str, place: &str) -> Error {
    let space = if unit.is_empty() { "" } else { " " };
    Error::invalid(
        argument,
        format!("{value}{space}{unit}"),
        format!("the law must not create energy, as it would at {place}"),
        "give values whose loss, the imaginary part of the dynamic stiffness, is not negative",
    )
}

/// A frequency (from rad/s) in words, to five digits: "0.14811 Hz", far out "1.5915e-7 Hz".
pub(super) fn hertz(omega: f64) -> String {
    let f = omega / TAU;
    if f != 0.0 && !(1e-3..1e6).contains(&f.abs()) {
        return format!("{f:.4e} Hz");
    }
    let digits = (4 - f.abs().max(1e-3).log10().floor() as i32).max(0) as usize;
    format!("{f:.digits$} Hz")
}

/// Points per decade of a search for the least loss.
const POINTS: f64 = 64.0;

/// omega (rad/s) and loss where the loss is least, between two frequencies (rad/s).
pub(super) fn least_loss(loss: impl Fn(f64) -> f64, low: f64, high: f64) -> (f64, f64) {
    let decades = (high / low).log10();
    let steps = (decades * POINTS).ceil().max(1.0);
    let at = |i: f64| low * 10_f64.powf(decades * i / steps);
    let mut best = (low, loss(low));
    for i in 1..=steps as usize {
        let omega = at(i as f64);
        let value = loss(omega);
        if value < best.1 {
            best = (omega, value);
        }
    }
    best
}
