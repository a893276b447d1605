//! Sampled records.

use pyo3::prelude::*;

use super::super::convert::{direction, list, scalar};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::stored::stored;
use super::{PyExcitation, place};
use crate::excitation::{Action, Excitation, Record, Source};
use crate::units::Dimension;

/// An evenly sampled force, or motion of the floor; straight lines between its samples.
///
/// Parameters
/// ----------
/// values : (time,)
///     N, m/s^2 or m; no gaps, no NaN.
/// interval : float, str or quantity, optional
///     Time between samples, s.
/// time : (time,), optional
///     Of each sample, s, in place of interval; must be even.
///
/// Raises
/// ------
/// InvalidError
///     For gaps, NaN and uneven sampling, with the place.
#[pyclass(frozen, name = "Record", module = "underfoot")]
pub struct PyRecord(pub Record);

#[pymethods]
impl PyRecord {
    #[new]
    #[pyo3(signature = (values, interval=None, *, time=None))]
    fn new(
        values: Vec<f64>,
        interval: Option<&Bound<'_, PyAny>>,
        time: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        match (interval, time) {
            (Some(interval), None) => {
                Record::new(scalar(interval, "interval", Dimension::TIME)?, values)
            }
            (None, Some(time)) => Record::from_times(&list(time, "time", Dimension::TIME)?, values),
            _ => Err(crate::Error::invalid(
                "interval",
                if interval.is_some() { "given with time" } else { "not given" },
                "either interval or time is required",
                "give one of them",
            )),
        }
        .map(Self)
        .map_err(to_py)
    }

    /// Reads columns of text: time (s) and value.
    ///
    /// Parameters
    /// ----------
    /// text : str
    ///     Of a CSV file; a heading and lines that begin with # are left out.
    /// name : str
    ///     Stands for the file in messages.
    /// time_column, value_column : int
    ///     Counted from 0.
    ///
    /// Returns
    /// -------
    /// Record
    ///
    /// Raises
    /// ------
    /// InvalidError
    #[staticmethod]
    #[pyo3(signature = (text, name="record", *, time_column=0, value_column=1))]
    fn from_csv(text: &str, name: &str, time_column: usize, value_column: usize) -> PyResult<Self> {
        Record::from_csv(text, name, time_column, value_column).map(Self).map_err(to_py)
    }

    /// Time between samples, s.
    #[getter]
    fn interval(&self) -> f64 {
        self.0.interval
    }

    /// Samples a second, Hz.
    #[getter]
    fn sample_rate(&self) -> f64 {
        self.0.sample_rate()
    }

    /// Samples (time,).
    #[getter]
    fn values<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, ndarray::Array1::from(self.0.values.clone()))
    }

    /// What was done to it.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.0.notes.clone()
    }

    /// The same history at another rate, within the band of both; `notes` say how.
    ///
    /// Parameters
    /// ----------
    /// rate : float, str or quantity
    ///     Hz.
    ///
    /// Returns
    /// -------
    /// Record
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn resampled(&self, rate: &Bound<'_, PyAny>) -> PyResult<Self> {
        self.0.resampled(scalar(rate, "rate", Dimension::FREQUENCY)?).map(Self).map_err(to_py)
    }

    /// The record as text, time (s) and value in columns: what `from_csv` and a job's `[[record]]` read.
    ///
    /// Returns
    /// -------
    /// str
    fn to_csv(&self) -> String {
        self.0.to_csv()
    }

    /// Each sample times a factor.
    ///
    /// Parameters
    /// ----------
    /// scale : float
    ///
    /// Returns
    /// -------
    /// Record
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn scaled(&self, scale: &Bound<'_, PyAny>) -> PyResult<Self> {
        let scale = scalar(scale, "scale", Dimension::RATIO)?;
        self.0.clone().scaled(scale).map(Self).map_err(to_py)
    }

    /// The record as a force (N) on the machine.
    ///
    /// Parameters
    /// ----------
    /// direction : "x", "y", "z", with a minus sign if wanted, or a unit vector (3,)
    /// at : (3,), optional
    ///     m; by default the center of mass.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (direction, at=None))]
    fn force(
        &self,
        direction: &Bound<'_, PyAny>,
        at: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyExcitation> {
        let along = self::direction(direction, "direction")?;
        let action = Action::recorded(Source::Other, along, place(at)?, &self.0);
        Ok(PyExcitation(Excitation::once(vec![action])))
    }

    fn __repr__(&self) -> String {
        format!("Record({} samples every {} s)", self.0.values.len(), self.0.interval)
    }
}
stored!(PyRecord, Record);
