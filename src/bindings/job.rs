//! The job file.

use std::path::PathBuf;

use pyo3::prelude::*;

use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::stored::stored;
use super::study::PyStudy;
use crate::job::{self, Input, Job};
use crate::study::Study;

/// A commented job file that holds every key once, to start from.
#[pyfunction]
pub fn job_template() -> &'static str {
    job::template()
}

/// A commented job file of a machine of which only a few facts are known, to start from.
#[pyfunction]
pub fn job_template_of_facts() -> &'static str {
    job::template_of_facts()
}

/// A job file: machine, mounts, load cases, shocks, limits, with bands and sources of the inputs.
///
/// Made by `Job.load(path)` or `Job.from_text(text)`.
#[pyclass(frozen, name = "Job", module = "underfoot")]
pub struct PyJob(pub Job);

#[pymethods]
impl PyJob {
    /// Reads a job file.
    ///
    /// Parameters
    /// ----------
    /// path : str or path
    ///     The TOML file.
    ///
    /// Returns
    /// -------
    /// Job
    ///
    /// Raises
    /// ------
    /// FileError
    ///     If it cannot be read as text.
    /// JobFileError
    ///     With file, line, column and key path for anything that is wrong in it.
    #[staticmethod]
    fn load(py: Python<'_>, path: PathBuf) -> PyResult<Self> {
        detached(py, || Job::load(path)).map(Self)
    }

    /// Reads a job from text.
    ///
    /// Parameters
    /// ----------
    /// text : str
    ///     What a job file holds.
    /// name : str
    ///     Stands for the file in messages.
    ///
    /// Returns
    /// -------
    /// Job
    ///
    /// Raises
    /// ------
    /// JobFileError
    #[staticmethod]
    #[pyo3(signature = (text, name="job"))]
    fn from_text(text: &str, name: &str) -> PyResult<Self> {
        Job::from_text(text, name).map(Self).map_err(to_py)
    }

    /// The same job with one input replaced.
    ///
    /// Parameters
    /// ----------
    /// path : str
    ///     Key path as in `inputs`.
    /// value : float
    ///     SI; a factor where the input is a list that moves together.
    ///
    /// Returns
    /// -------
    /// Job
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError, JobFileError
    fn with_input(&self, path: &str, value: f64) -> PyResult<Self> {
        self.0.with_input(path, value).map(Self).map_err(to_py)
    }

    /// Title of the job.
    #[getter]
    fn title(&self) -> &str {
        &self.0.title
    }

    /// Units of the report: "si" or "us".
    #[getter]
    fn units(&self) -> &'static str {
        units(self.0.units)
    }

    /// Machine, mounts, load cases and points.
    #[getter]
    fn installation(&self) -> PyInstallation {
        PyInstallation(self.0.installation.clone().into())
    }

    /// Names of the shocks.
    #[getter]
    fn shocks(&self) -> Vec<String> {
        let shocks = self.0.shocks.iter().map(|s| s.name.clone());
        shocks.chain(self.0.events.iter().map(|e| e.name.clone())).collect()
    }

    /// Names of the steady loads.
    #[getter]
    fn harmonics(&self) -> Vec<String> {
        self.0.harmonics.iter().map(|h| h.name.clone()).collect()
    }

    /// Every number of the file and every default, in file order.
    #[getter]
    fn inputs(&self) -> Vec<PyInput> {
        self.0.inputs.iter().cloned().map(PyInput).collect()
    }

    /// The text of the file.
    #[getter]
    fn text(&self) -> &str {
        self.0.text()
    }

    /// Runs the whole job: once as given, and at both ends of every band.
    ///
    /// Parameters
    /// ----------
    /// bands : bool
    ///     False: for the inputs as given alone, without the bands of the inputs.
    ///
    /// Returns
    /// -------
    /// Study
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnstableError, InvalidError, NotConvergedError
    #[pyo3(signature = (bands=true))]
    fn study(&self, py: Python<'_>, bands: bool) -> PyResult<PyStudy> {
        let run = if bands { Study::of } else { Study::as_given };
        detached(py, || run(&self.0)).map(PyStudy)
    }

    /// Runs the job and writes its report folder; returns the path.
    ///
    /// The folder is written under a temporary name and then renamed, so that it is never there in
    /// part. An existing report of the same name is replaced.
    ///
    /// Parameters
    /// ----------
    /// path : str or path
    ///     Folder of the report.
    #[pyo3(signature = (path))]
    fn report<'py>(slf: &Bound<'py, Self>, path: PathBuf) -> PyResult<Bound<'py, PyAny>> {
        let study = slf.call_method0("study")?;
        let installation = slf.getattr("installation")?;
        slf.py().import("underfoot.report")?.call_method1("write", (study, path, installation))
    }

    fn __repr__(&self) -> String {
        let job = &self.0;
        format!(
            "Job({:?}, {} inputs, {} shocks, {} load cases)",
            job.title,
            job.inputs.len(),
            job.shocks.len() + job.events.len(),
            job.installation.cases.len()
        )
    }
}
stored!(PyJob, Job);

/// One number of a job: its value, band and source.
#[pyclass(frozen, name = "Input", module = "underfoot")]
pub struct PyInput(pub Input);

#[pymethods]
impl PyInput {
    /// Key path, counted from 0: "mount[2].stiffness[0]".
    #[getter]
    fn path(&self) -> &str {
        &self.0.path
    }

    /// The same in words, with the names that the file gives: "rubber pad: stiffness".
    #[getter]
    fn label(&self) -> &str {
        &self.0.label
    }

    /// Value in SI; a plain factor for a list that moves together.
    #[getter]
    fn value(&self) -> f64 {
        self.0.value
    }

    /// SI unit.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit
    }

    /// Lower end of the band.
    #[getter]
    fn low(&self) -> Option<f64> {
        self.0.low
    }

    /// Upper end of the band.
    #[getter]
    fn high(&self) -> Option<f64> {
        self.0.high
    }

    /// Where the number comes from, as the file says.
    #[getter]
    fn source(&self) -> Option<&str> {
        self.0.source.as_deref()
    }

    /// True if the file says that it is assumed.
    #[getter]
    fn assumed(&self) -> bool {
        self.0.assumed
    }

    /// Who can confirm it; None where nobody is named.
    #[getter]
    fn confirm(&self) -> Option<&str> {
        self.0.confirm.as_deref()
    }

    /// Why a value stands here that the file does not give; None if the file gives it.
    #[getter]
    fn default(&self) -> Option<&str> {
        self.0.default.as_deref()
    }

    /// True if it is only reported and changes no result.
    #[getter]
    fn informational(&self) -> bool {
        self.0.informational
    }

    fn __repr__(&self) -> String {
        let quantity = format!("{} {}", self.0.value, self.0.unit);
        format!("Input({:?}, {})", self.0.path, quantity.trim_end())
    }
}
stored!(PyInput, Input);

/// Units of the report, as Python spells them.
pub fn units(units: job::ReportUnits) -> &'static str {
    match units {
        job::ReportUnits::Si => "si",
        job::ReportUnits::Us => "us",
    }
}
