//! Readings of levels and heights, and the plane through them.

use numpy::ndarray::Array1;
use pyo3::prelude::*;

use super::super::convert::{list, scalar, shape, vector3};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::results::PyLevelPlane;
use super::super::stored::stored;
use super::{optional, word};
use crate::analysis::leveling::{Quantity, Reading, ReadingOptions, divisions, plane};
use crate::error::Error;
use crate::units::Dimension;

/// A level reading at a station.
///
/// A level reads the slope along a direction; turned end for end on the same spot it reads minus
/// the slope plus the same own error: slope = (value - reversed) / 2.
///
/// Parameters
/// ----------
/// station : str
///     Name of the station.
/// at : (3,)
///     Where it is, m.
/// along : "x", "y" or a unit vector (2,)
///     Direction in the plan along which a positive reading rises.
/// value : float, str or quantity
///     What it reads: an angle or slope, rad; a count where `division` is given.
/// reversed : float, str or quantity, optional
///     What it reads turned end for end, in its own sense.
/// division : float, str or quantity, optional
///     Division of the level, rad: value and reversed then count divisions.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "LevelReading", module = "underfoot")]
pub struct PyLevelReading(pub Reading);

#[pymethods]
impl PyLevelReading {
    #[new]
    #[pyo3(signature = (station, at, along, value, reversed=None, *, division=None))]
    fn new(
        station: &str,
        at: &Bound<'_, PyAny>,
        along: &Bound<'_, PyAny>,
        value: &Bound<'_, PyAny>,
        reversed: Option<&Bound<'_, PyAny>>,
        division: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let division = division.map(|d| scalar(d, "division", Dimension::ANGLE)).transpose()?;
        let read = |given: &Bound<'_, PyAny>, argument: &str| match division {
            Some(division) => {
                divisions(scalar(given, argument, Dimension::RATIO)?, division).map_err(to_py)
            }
            None => scalar(given, argument, Dimension::ANGLE),
        };
        let value = read(value, "value")?;
        let reversed = reversed.map(|r| read(r, "reversed")).transpose()?;
        let at = vector3(at, "at", Dimension::LENGTH)?;
        Reading::level(station, at.into(), direction(along)?, value, reversed)
            .map(Self)
            .map_err(to_py)
    }

    /// Name of the station.
    #[getter]
    fn station(&self) -> &str {
        &self.0.station
    }

    /// Where it is (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from_iter(self.0.at))
    }

    /// What it reads, rad.
    #[getter]
    fn value(&self) -> f64 {
        match self.0.quantity {
            Quantity::Level { value, .. } => value,
            Quantity::Height(height) => height,
        }
    }

    fn __repr__(&self) -> String {
        format!("LevelReading({:?}, {} rad)", self.0.station, self.value())
    }
}
stored!(PyLevelReading, Reading);

/// A dial or optical height at a station, over a common datum.
///
/// Parameters
/// ----------
/// station : str
///     Name of the station.
/// at : (3,)
///     Where it is, m.
/// height : float, str or quantity
///     m, up positive.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "HeightReading", module = "underfoot")]
pub struct PyHeightReading(pub Reading);

#[pymethods]
impl PyHeightReading {
    #[new]
    fn new(station: &str, at: &Bound<'_, PyAny>, height: &Bound<'_, PyAny>) -> PyResult<Self> {
        let at = vector3(at, "at", Dimension::LENGTH)?;
        let height = scalar(height, "height", Dimension::LENGTH)?;
        Reading::height(station, at.into(), height).map(Self).map_err(to_py)
    }

    /// Name of the station.
    #[getter]
    fn station(&self) -> &str {
        &self.0.station
    }

    /// Where it is (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from_iter(self.0.at))
    }

    /// Height over the datum, m.
    #[getter]
    fn height(&self) -> f64 {
        match self.0.quantity {
            Quantity::Level { value, .. } => value,
            Quantity::Height(height) => height,
        }
    }

    fn __repr__(&self) -> String {
        format!("HeightReading({:?}, {} m)", self.0.station, self.height())
    }
}
stored!(PyHeightReading, Reading);

/// The least-squares plane of level and height readings, with twist, bow and the level's own error.
///
/// tilt about x = dz/dy, about y = -dz/dx; twist and bow are told as the difference of level
/// between opposite ends. Twist above its limit is reported, never averaged away.
///
/// Parameters
/// ----------
/// readings : sequence of LevelReading and HeightReading
///     At three stations or more that are not on a line.
/// level_uncertainty, height_uncertainty : float, str or quantity, optional
///     Standard uncertainty of one reading, rad and m; by default from what the fit leaves.
/// twist_limit : float, str or quantity, optional
///     Twist above which the readings contradict a plane, rad.
///
/// Returns
/// -------
/// LevelPlane
///
/// Raises
/// ------
/// InvalidError
///     For fewer than three stations, stations on a line, or one direction only.
///
/// References
/// ----------
/// Reversal: US Army TM 38-260, 7-6 (quoted in a secondary source); uncertainty: GUM, JCGM
/// 100:2008, 4.2 (from memory).
#[pyfunction]
#[pyo3(signature = (readings, *, level_uncertainty=None, height_uncertainty=None, twist_limit=None))]
pub fn level_readings(
    readings: Vec<Bound<'_, PyAny>>,
    level_uncertainty: Option<&Bound<'_, PyAny>>,
    height_uncertainty: Option<&Bound<'_, PyAny>>,
    twist_limit: Option<&Bound<'_, PyAny>>,
) -> PyResult<PyLevelPlane> {
    let all = readings_of(&readings)?;
    let options = ReadingOptions {
        level_uncertainty: optional(level_uncertainty, "level_uncertainty", Dimension::ANGLE)?,
        height_uncertainty: optional(height_uncertainty, "height_uncertainty", Dimension::LENGTH)?,
        twist_limit: optional(twist_limit, "twist_limit", Dimension::ANGLE)?,
    };
    plane(&all, &options).map(PyLevelPlane).map_err(to_py)
}

/// Readings of both kinds.
pub fn readings_of(readings: &[Bound<'_, PyAny>]) -> PyResult<Vec<Reading>> {
    let mut all = Vec::with_capacity(readings.len());
    for (i, given) in readings.iter().enumerate() {
        if let Ok(level) = given.cast::<PyLevelReading>() {
            all.push(level.get().0.clone());
        } else if let Ok(height) = given.cast::<PyHeightReading>() {
            all.push(height.get().0.clone());
        } else {
            return Err(to_py(Error::invalid(
                format!("readings[{i}]"),
                given.repr()?,
                "must be a LevelReading or a HeightReading",
                "build it with one of these",
            )));
        }
    }
    Ok(all)
}

/// "x", "y" or a unit vector of the plan.
fn direction(value: &Bound<'_, PyAny>) -> PyResult<[f64; 2]> {
    if let Ok(text) = value.extract::<String>() {
        return word("along", &text, &[("x", [1.0, 0.0]), ("y", [0.0, 1.0])]);
    }
    let list = list(value, "along", Dimension::RATIO)?;
    list.try_into().map_err(|_| shape(value, "along", "\"x\", \"y\" or (2,): a unit vector"))
}
