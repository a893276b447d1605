//! Units for Python: the same parser and table as the core.

use pyo3::prelude::*;

use super::error::to_py;
use crate::error::Error;
use crate::units::{self, Dimension};

type Exponents = (i8, i8, i8, i8);

fn exponents(of: units::Exponents) -> Exponents {
    (of.mass, of.length, of.time, of.angle)
}

/// The quantity written in `text`, in SI; `dimension` is a name of `dimension_table()`.
///
/// Raises UnitError, with `argument` in the message, for a text that cannot be read or has another
/// dimension.
#[pyfunction]
pub fn parse_quantity(argument: &str, text: &str, dimension: &str) -> PyResult<f64> {
    let dimension = Dimension::from_name(dimension).ok_or_else(|| unknown(dimension))?;
    units::parse(argument, text, dimension).map_err(to_py)
}

/// Rows of the table of units: (symbol, name, factor to SI, exponents of kg, m, s, rad, definition).
#[pyfunction]
pub fn unit_table() -> Vec<(&'static str, &'static str, f64, Exponents, &'static str)> {
    let row =
        |u: &units::Unit| (u.symbol, u.name, u.factor(), exponents(u.exponents), u.definition);
    units::table().map(row).collect()
}

/// Kinds of quantity: (name, words, exponents of kg, m, s, rad, SI unit, US unit, example).
#[pyfunction]
#[allow(clippy::type_complexity, reason = "one row of a table, unpacked by name in units.py")]
pub fn dimension_table()
-> Vec<(&'static str, &'static str, Exponents, &'static str, &'static str, &'static str)> {
    let row = |d: &Dimension| (d.name, d.words, exponents(d.exponents), d.si, d.us, d.example);
    Dimension::ALL.iter().map(row).collect()
}

/// Factor to SI of a `unit` or compound ("lbf s/in"), and its exponents of kg, m, s, rad.
#[pyfunction]
pub fn unit_factor(unit: &str) -> PyResult<(f64, Exponents)> {
    let (factor, of) = units::factor(unit).map_err(to_py)?;
    Ok((factor, exponents(of)))
}

/// `value` (SI) in `unit` as text; rounded to `digits` significant digits if given.
#[pyfunction]
#[pyo3(signature = (value, unit, digits = None))]
pub fn format_quantity(value: f64, unit: &str, digits: Option<usize>) -> PyResult<String> {
    match digits {
        Some(digits) => units::format_rounded(value, unit, digits),
        None => units::format(value, unit),
    }
    .map_err(to_py)
}

fn unknown(name: &str) -> PyErr {
    let names: Vec<_> = Dimension::ALL.iter().map(|d| d.name).collect();
    to_py(Error::Unknown {
        argument: "dimension".into(),
        value: name.into(),
        allowed: format!("use one of {}", names.join(", ")),
    })
}
