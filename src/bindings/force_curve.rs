//! Work forces over the way of the slide and over time, and what draws or coins.

use pyo3::prelude::*;

use super::convert::{list, scalar, shape};
use super::error::to_py;
use super::forming::pairs;
use super::slide::{PySlideDrive, rate};
use super::stored::stored;
use crate::excitation::forming::{coining, drawing};
use crate::excitation::{ForceCurve, TimeCurve};
use crate::units::Dimension;

fn knots(
    x: &Bound<'_, PyAny>,
    force: &Bound<'_, PyAny>,
    name: &str,
    dimension: Dimension,
) -> PyResult<Vec<[f64; 2]>> {
    let ways = list(x, name, dimension)?;
    let forces = list(force, "force", Dimension::FORCE)?;
    if ways.len() != forces.len() {
        return Err(shape(force, "force", &format!("({},), as many as {name}", ways.len())));
    }
    Ok(ways.into_iter().zip(forces).map(|(x, f)| [x, f]).collect())
}

/// A work force over the way of the slide from first contact: a polygon.
///
/// Parameters
/// ----------
/// way : (knot,)
///     m, ascending from zero.
/// force : (knot,)
///     N.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "ForceCurve", module = "underfoot")]
pub struct PyForceCurve(pub ForceCurve);

#[pymethods]
impl PyForceCurve {
    #[new]
    fn new(way: &Bound<'_, PyAny>, force: &Bound<'_, PyAny>) -> PyResult<Self> {
        let knots = knots(way, force, "way", Dimension::LENGTH)?;
        ForceCurve::new(knots).map(Self).map_err(to_py)
    }

    /// Knots (knot, 2): m and N.
    #[getter]
    fn knots<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        pairs(py, &self.0.knots)
    }

    /// Greatest force, N.
    #[getter]
    fn peak(&self) -> f64 {
        self.0.peak()
    }

    /// Work, the area under the curve, J.
    #[getter]
    fn forming_energy(&self) -> f64 {
        self.0.forming_energy()
    }

    /// Over time at a constant speed of the slide.
    ///
    /// Parameters
    /// ----------
    /// speed : float, str or quantity
    ///     m/s.
    ///
    /// Returns
    /// -------
    /// TimeCurve
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn at_speed(&self, speed: &Bound<'_, PyAny>) -> PyResult<PyTimeCurve> {
        let speed = scalar(speed, "speed", Dimension::VELOCITY)?;
        self.0.at_speed(speed).map(PyTimeCurve).map_err(to_py)
    }

    /// Over time under a slide that meets the work at a height above bottom dead center: each knot at the
    /// instant the slide is there.
    ///
    /// Parameters
    /// ----------
    /// drive : SlideDrive
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// height : float, str or quantity
    ///     Above bottom dead center, m; at least the way of the force.
    ///
    /// Returns
    /// -------
    /// TimeCurve
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn under(
        &self,
        drive: PyRef<'_, PySlideDrive>,
        stroke_rate_spm: &Bound<'_, PyAny>,
        height: &Bound<'_, PyAny>,
    ) -> PyResult<PyTimeCurve> {
        let height = scalar(height, "height", Dimension::LENGTH)?;
        self.0.under(&drive.0, rate(stroke_rate_spm)?, height).map(PyTimeCurve).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        format!(
            "ForceCurve(peak={:.6e} N, energy={:.6e} J, {} knots)",
            self.0.peak(),
            self.0.forming_energy(),
            self.0.knots.len()
        )
    }
}
stored!(PyForceCurve, ForceCurve);

/// A work force over time: a polygon that begins at t = 0.
///
/// Parameters
/// ----------
/// time : (knot,)
///     s, ascending from zero.
/// force : (knot,)
///     N.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "TimeCurve", module = "underfoot")]
pub struct PyTimeCurve(pub TimeCurve);

#[pymethods]
impl PyTimeCurve {
    #[new]
    fn new(time: &Bound<'_, PyAny>, force: &Bound<'_, PyAny>) -> PyResult<Self> {
        let knots = knots(time, force, "time", Dimension::TIME)?;
        TimeCurve::new(knots).map(Self).map_err(to_py)
    }

    /// Knots (knot, 2): s and N.
    #[getter]
    fn knots<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        pairs(py, &self.0.knots)
    }

    /// Greatest force, N.
    #[getter]
    fn peak(&self) -> f64 {
        self.0.peak()
    }

    fn __repr__(&self) -> String {
        format!("TimeCurve(peak={:.6e} N, {} knots)", self.0.peak(), self.0.knots.len())
    }
}
stored!(PyTimeCurve, TimeCurve);

/// Force over way of drawing a cup: F = pi d t UTS (D / d - 0.7) at a third of the depth (M. P. Groover,
/// from memory).
///
/// Parameters
/// ----------
/// punch_diameter, blank_diameter, thickness, depth : float, str or quantity
///     m.
/// tensile_strength : float, str or quantity
///     Pa.
///
/// Returns
/// -------
/// ForceCurve
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
pub fn drawing_force(
    punch_diameter: &Bound<'_, PyAny>,
    blank_diameter: &Bound<'_, PyAny>,
    thickness: &Bound<'_, PyAny>,
    tensile_strength: &Bound<'_, PyAny>,
    depth: &Bound<'_, PyAny>,
) -> PyResult<PyForceCurve> {
    let length = |value, name| scalar(value, name, Dimension::LENGTH);
    drawing(
        length(punch_diameter, "punch_diameter")?,
        length(blank_diameter, "blank_diameter")?,
        length(thickness, "thickness")?,
        scalar(tensile_strength, "tensile_strength", Dimension::PRESSURE)?,
        length(depth, "depth")?,
    )
    .map(PyForceCurve)
    .map_err(to_py)
}

/// Force over way of coining: F = p A (s / travel)^n.
///
/// Parameters
/// ----------
/// area : float, str or quantity
///     m^2.
/// pressure : float, str or quantity
///     At the bottom, Pa.
/// travel : float, str or quantity
///     m.
/// exponent : float
///     n.
///
/// Returns
/// -------
/// ForceCurve
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (area, pressure, travel, exponent=3.0))]
pub fn coining_force(
    area: &Bound<'_, PyAny>,
    pressure: &Bound<'_, PyAny>,
    travel: &Bound<'_, PyAny>,
    exponent: f64,
) -> PyResult<PyForceCurve> {
    coining(
        scalar(area, "area", Dimension::AREA)?,
        scalar(pressure, "pressure", Dimension::PRESSURE)?,
        scalar(travel, "travel", Dimension::LENGTH)?,
        exponent,
    )
    .map(PyForceCurve)
    .map_err(to_py)
}
