//! How is "92 000 lb" read, and what is it in SI?
//!
//! value in SI = number x product of factor^power, with the factors of one table of exact
//! rationals ([`table`]), so that the result is the nearest double wherever the text fits into
//! 128-bit fractions (all but very long numbers).
//!
//! What is read:
//! - numbers: `42`, `-0.35`, `1.2e6`, `92 000` and `92_000` (groups of three), `1/8`, `2 3/8`,
//!   `2-3/8`; a comma is refused, since it divides thousands in one country and decimals in another;
//! - units: products by a space, `*`, `·` or a hyphen between units, quotients by `/` (from left to
//!   right; a product by a space after `/` is ambiguous and refused: write `N s/m` or `N/(m s)`),
//!   powers `^2`, `**2`, `²` or a digit right after the unit (`kg m2`);
//! - `14 ft 6 in`.
//!
//! Conventions: `lb` is mass and `lbf` force; `g` is gram and `g_n` standard gravity; `ton` is
//! refused. An angular velocity where a frequency is expected is divided by 2 pi (600 rpm is
//! 10 Hz), the other way round multiplied. `N m` serves for `N m/rad`, `mm/m` for an angle.
//!
//! Source of the factors: see [`table`]. Limits: no temperatures, no logarithmic units.

mod dimension;
mod exact;
mod number;
mod read;
mod table;

pub use dimension::{Dimension, Exponents};
pub use exact::Exact;
pub use table::Unit;

use crate::error::{Error, Result};
use dimension::Fit;
use read::{Magnitude, Problem};
use std::f64::consts::TAU;

/// Every unit of the table; the factors are exact (NIST SP 811, 2008, appendix B; international
/// yard and pound agreement, 1959; from memory).
pub fn table() -> impl Iterator<Item = &'static Unit> {
    table::TABLE.iter()
}

/// The quantity in SI.
///
/// `argument` is only for the message: the argument or key that the text was given for.
///
/// # Errors
/// [`Error::Unit`] with the argument, the text, what is wrong and what to write.
///
/// ```
/// use underfoot::units::{parse, Dimension};
/// assert_eq!(parse("stroke", "14 in", Dimension::LENGTH)?, 0.3556);
/// assert_eq!(parse("mass", "92 000 lb", Dimension::MASS)?, 41730.49804);
/// # Ok::<(), underfoot::Error>(())
/// ```
pub fn parse(argument: &str, text: &str, expected: Dimension) -> Result<f64> {
    quantity(text, &expected).map_err(|p| p.into_error(argument, text))
}

/// Factor to SI and exponents of a unit or a compound of units ("lbf s/in").
///
/// # Errors
/// [`Error::Unit`] if the text is not a unit.
pub fn factor(unit: &str) -> Result<(f64, Exponents)> {
    let (magnitude, exponents) = unit_of(unit).map_err(|p| p.into_error("unit", unit))?;
    Ok((magnitude.to_f64(), exponents))
}

/// `value` (SI) in `unit`.
///
/// # Errors
/// [`Error::Unit`] if the text is not a unit.
pub fn convert(value: f64, unit: &str) -> Result<f64> {
    Ok(value / factor(unit)?.0)
}

/// `value` (SI) in `unit` as text that [`parse`] reads back to within 1e-15.
///
/// # Errors
/// [`Error::Unit`] if the text is not a unit.
pub fn format(value: f64, unit: &str) -> Result<String> {
    let exact = convert(value, unit)?;
    // Fifteen digits look better and serve as well where they read back to within 1e-15.
    let short: f64 = format!("{exact:.14e}").parse().unwrap_or(exact);
    let (magnitude, _) = unit_of(unit).map_err(|p| p.into_error("unit", unit))?;
    let error = (short * magnitude.to_f64() - value).abs();
    let kept = if error <= 4e-16 * value.abs() { short } else { exact };
    Ok(with_unit(shortest(kept), unit))
}

/// `value` (SI) in `unit`, rounded to `digits` significant digits.
///
/// # Errors
/// [`Error::Unit`] if the text is not a unit.
pub fn format_rounded(value: f64, unit: &str, digits: usize) -> Result<String> {
    let digits = digits.max(1);
    let rounded: f64 = format!("{:.*e}", digits - 1, convert(value, unit)?)
        .parse()
        .map_err(|_| Error::invalid("value", value, "must be a number", "check the input"))?;
    let magnitude = if rounded == 0.0 { 0 } else { rounded.abs().log10().floor() as i32 };
    let decimals = usize::try_from(digits as i32 - 1 - magnitude).unwrap_or(0);
    let number =
        if magnitude.abs() < 7 { format!("{rounded:.decimals$}") } else { shortest(rounded) };
    Ok(with_unit(number, unit))
}

fn with_unit(number: String, unit: &str) -> String {
    if unit.is_empty() { number } else { format!("{number} {unit}") }
}

/// Shortest text that reads back to the same double; powers of ten where it would be long.
fn shortest(value: f64) -> String {
    let plain = value == 0.0 || (1e-4..1e9).contains(&value.abs());
    if plain { format!("{value}") } else { format!("{value:e}") }
}

fn unit_of(text: &str) -> std::result::Result<(Magnitude, Exponents), Problem> {
    if text.trim().is_empty() {
        return Ok((Magnitude::ONE, Exponents::default()));
    }
    read::unit(text)
}

fn quantity(text: &str, expected: &Dimension) -> std::result::Result<f64, Problem> {
    let found = read::quantity(text)?;
    if !found.has_unit && expected.name != Dimension::RATIO.name {
        return Err(Problem::new(
            format!("a unit is missing; {} is expected", expected.words),
            format!("write it with a unit, such as {}", expected.example),
        ));
    }
    let value = match expected.fit(found.exponents) {
        Fit::Yes => found.to_f64(),
        Fit::PerTurn => found.per_turn(),
        Fit::Turns => found.to_f64() * TAU,
        Fit::No => return Err(mismatch(&found, expected)),
    };
    finite(value, found.is_zero)
}

/// Refuses what overflows a double, and what is not zero but underflows to it.
fn finite(value: f64, is_zero: bool) -> std::result::Result<f64, Problem> {
    if value.is_finite() && (is_zero || value != 0.0) {
        Ok(value)
    } else {
        Err(Problem::new("outside the range of numbers", "check the exponent"))
    }
}

/// The wrong dimension; the slips between mass and force get a remedy of their own.
fn mismatch(found: &read::Quantity, expected: &Dimension) -> Problem {
    let has = |name: &str| found.symbols.contains(&name);
    let gap = |power: i8| {
        found
            .exponents
            .times(Dimension::ACCELERATION.exponents, power)
            .is_some_and(|e| expected.fit(e) != Fit::No)
    };
    let slip = |from: &str, to: &str, what: &str| format!("\"{from}\" is {what}: write \"{to}\"");
    let to_force =
        [("lb", "lbf"), ("kg", "kgf"), ("oz", "ozf"), ("t", "tf"), ("short_ton", "tonf")];
    let remedy = if gap(1) {
        to_force.iter().find(|(m, _)| has(m)).map(|(m, f)| slip(m, f, "a mass"))
    } else if gap(-1) {
        to_force.iter().find(|(_, f)| has(f)).map(|(m, f)| slip(f, m, "a force"))
    } else if expected.name == Dimension::ACCELERATION.name && has("g") {
        Some("\"g\" is the gram: write \"g_n\" for standard gravity".into())
    } else {
        None
    };
    let kind = Dimension::ALL.iter().find(|d| d.exponents == found.exponents);
    let given = kind.map_or_else(|| format!("in {}", found.exponents), |d| d.words.to_string());
    Problem::new(
        format!("this is {given}, but {} is expected", expected.words),
        remedy.unwrap_or_else(|| format!("write for example {}", expected.example)),
    )
}

#[cfg(test)]
mod tests;
