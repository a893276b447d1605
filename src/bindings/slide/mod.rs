//! Slide drives: crank, link, table, and the slide with its moving masses.

mod drive;
mod kinematics;
mod motion;

pub use drive::PySlideDrive;
pub use motion::{PyLinkDrive, PyMotionProfile, PySliderCrank};

use pyo3::prelude::*;
use pyo3::types::PyString;

use super::convert::{list, scalar};
use crate::units::Dimension;

/// Strokes per minute: a number is that already, text and quantities are frequencies.
pub fn rate(value: &Bound<'_, PyAny>) -> PyResult<f64> {
    let factor = if carries_unit(value)? { 60.0 } else { 1.0 };
    Ok(scalar(value, "stroke_rate_spm", Dimension::FREQUENCY)? * factor)
}

/// The same for a list.
pub fn rates(value: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
    let factor = if carries_unit(value)? { 60.0 } else { 1.0 };
    let rates = list(value, "stroke_rates_spm", Dimension::FREQUENCY)?;
    Ok(rates.into_iter().map(|r| r * factor).collect())
}

/// Text, a quantity, or a sequence that starts with one.
fn carries_unit(value: &Bound<'_, PyAny>) -> PyResult<bool> {
    let one = |v: &Bound<'_, PyAny>| -> PyResult<bool> {
        Ok(v.is_instance_of::<PyString>() || v.hasattr("dimensionality")?)
    };
    Ok(one(value)? || value.get_item(0).is_ok_and(|first| one(&first).unwrap_or(false)))
}

fn or_zero(
    value: Option<&Bound<'_, PyAny>>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<f64> {
    value.map_or(Ok(0.0), |v| scalar(v, argument, dimension))
}
