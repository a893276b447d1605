//! The job file and the study of it.

use std::path::PathBuf;

use pyo3::prelude::*;

use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::results::{
    NamedEnvelope, PlacedStatics, PyEnvelope, PyModes, PyResponse, PyShock, PyStability, PyStatics,
    PyTransmissibility, PyUnevenness,
};
use super::stored::stored;
use crate::checks::{Check, Sense};
use crate::error::Error;
use crate::job::{self, Input, Job};
use crate::study::{Figure, Study};
use crate::units::Dimension;

/// A commented job file that holds every key once, to start from.
#[pyfunction]
pub fn job_template() -> &'static str {
    job::template()
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
        match self.0.units {
            job::ReportUnits::Si => "si",
            job::ReportUnits::Us => "us",
        }
    }

    /// Machine, mounts, load cases and points.
    #[getter]
    fn installation(&self) -> PyInstallation {
        PyInstallation(self.0.installation.clone())
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
    /// Returns
    /// -------
    /// Study
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnstableError, InvalidError, NotConvergedError
    fn study(&self, py: Python<'_>) -> PyResult<PyStudy> {
        detached(py, || Study::of(&self.0)).map(PyStudy)
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
        slf.py().import("underfoot.report")?.call_method1("write", (study, path))
    }

    fn __repr__(&self) -> String {
        let job = &self.0;
        format!(
            "Job({:?}, {} inputs, {} shocks, {} load cases)",
            job.title,
            job.inputs.len(),
            job.shocks.len(),
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
        format!("Input({:?}, {} {})", self.0.path, self.0.value, self.0.unit)
    }
}
stored!(PyInput, Input);

/// A key figure of a study with the band that its inputs give it.
#[pyclass(frozen, name = "Figure", module = "underfoot")]
pub struct PyFigure(pub Figure);

#[pymethods]
impl PyFigure {
    /// Group: "static", "modes", "transmissibility to a rigid floor", "shock" or "steady load".
    #[getter]
    fn group(&self) -> &str {
        &self.0.group
    }

    /// What it is.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// SI value for the inputs as given.
    #[getter]
    fn value(&self) -> f64 {
        self.0.value
    }

    /// Lower end of the band.
    #[getter]
    fn low(&self) -> f64 {
        self.0.low
    }

    /// Upper end of the band.
    #[getter]
    fn high(&self) -> f64 {
        self.0.high
    }

    /// SI unit.
    #[getter]
    fn unit(&self) -> &'static str {
        Dimension::from_name(&self.0.dimension).map_or("", |d| d.si)
    }

    /// Inputs that move it, the strongest first: (label, value at the lower end, at the upper end).
    #[getter]
    fn moved_by(&self) -> Vec<(String, f64, f64)> {
        self.0.moved_by.clone()
    }

    fn __repr__(&self) -> String {
        let f = &self.0;
        format!("Figure({:?}, {} {} [{}, {}])", f.name, f.value, self.unit(), f.low, f.high)
    }
}
stored!(PyFigure, Figure);

/// One check: demand against capacity.
#[pyclass(frozen, name = "Check", module = "underfoot")]
pub struct PyCheck(pub Check);

#[pymethods]
impl PyCheck {
    /// What is asked.
    #[getter]
    fn question(&self) -> &str {
        &self.0.question
    }

    /// What the machine asks, in `unit`.
    #[getter]
    fn demand(&self) -> f64 {
        self.0.demand
    }

    /// What is allowed, in `unit`.
    #[getter]
    fn capacity(&self) -> f64 {
        self.0.capacity
    }

    /// Unit of demand and capacity.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit
    }

    /// "at most" or "at least".
    #[getter]
    fn sense(&self) -> &'static str {
        match self.0.sense {
            Sense::AtMost => "at most",
            Sense::AtLeast => "at least",
        }
    }

    /// Relative margin; positive: it holds.
    #[getter]
    fn margin(&self) -> f64 {
        self.0.margin
    }

    /// "OK", "OK IF ..." or "NO".
    #[getter]
    fn verdict(&self) -> String {
        self.0.verdict.to_string()
    }

    /// Least and greatest demand within the bands of the inputs.
    #[getter]
    fn band(&self) -> Option<(f64, f64)> {
        self.0.band.map(|[low, high]| (low, high))
    }

    /// Load case or shock that governs it.
    #[getter]
    fn governing_case(&self) -> &str {
        &self.0.governing_case
    }

    /// Where the limit comes from.
    #[getter]
    fn source(&self) -> &str {
        &self.0.source
    }

    fn __repr__(&self) -> String {
        format!("Check({})", self.0)
    }
}
stored!(PyCheck, Check);

/// A job computed: verdicts, key figures with bands, and all results; see `Job.study`.
#[pyclass(frozen, name = "Study", module = "underfoot")]
pub struct PyStudy(pub Study);

#[pymethods]
impl PyStudy {
    /// Title of the job.
    #[getter]
    fn title(&self) -> &str {
        &self.0.title
    }

    /// Units of the report: "si" or "us".
    #[getter]
    fn units(&self) -> &'static str {
        match self.0.units {
            job::ReportUnits::Si => "si",
            job::ReportUnits::Us => "us",
        }
    }

    /// The study on a page, as Markdown.
    #[getter]
    fn summary(&self) -> String {
        self.0.summary()
    }

    /// Key figures, checks, register and tables as JSON (histories and curves are left out).
    fn to_json(&self) -> PyResult<String> {
        self.0.to_json().map_err(to_py)
    }

    /// "OK", "OK IF ..." or "NO" for all checks together; None if nothing is checked.
    #[getter]
    fn verdict(&self) -> Option<String> {
        self.0.overall.as_ref().map(|o| o.verdict.to_string())
    }

    /// Key figures with bands.
    #[getter]
    fn figures(&self) -> Vec<PyFigure> {
        self.0.figures.iter().cloned().map(PyFigure).collect()
    }

    /// Checks with verdicts.
    #[getter]
    fn checks(&self) -> Vec<PyCheck> {
        self.0.checks.iter().cloned().map(PyCheck).collect()
    }

    /// Every number of the job, with band and source.
    #[getter]
    fn inputs(&self) -> Vec<PyInput> {
        self.0.inputs.iter().cloned().map(PyInput).collect()
    }

    /// What to know before trusting the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }

    /// Names of the load cases; the machine as it runs is the first.
    #[getter]
    fn cases(&self) -> Vec<String> {
        self.0.results.cases.iter().map(|c| c.name.clone()).collect()
    }

    /// Statics of a load case.
    ///
    /// Parameters
    /// ----------
    /// case : str
    ///     One of `cases`.
    ///
    /// Returns
    /// -------
    /// Statics
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn statics(&self, case: &str) -> PyResult<PyStatics> {
        let found = find("case", case, &self.0.results.cases, |c| &c.name)?;
        Ok(PyStatics(PlacedStatics {
            statics: found.statics.clone(),
            center: found.center,
            points: found.points.clone(),
        }))
    }

    /// Rocking stability in a load case.
    ///
    /// Parameters
    /// ----------
    /// case : str
    ///     One of `cases`.
    ///
    /// Returns
    /// -------
    /// Stability
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn stability(&self, case: &str) -> PyResult<PyStability> {
        let found = find("case", case, &self.0.results.cases, |c| &c.name)?;
        Ok(PyStability(found.stability.to_vec()))
    }

    /// Least and greatest static values over the load cases.
    #[getter]
    fn envelope(&self) -> PyEnvelope {
        let results = &self.0.results;
        let cases: Vec<_> =
            results.cases.iter().map(|c| (c.name.clone(), c.statics.clone())).collect();
        PyEnvelope(NamedEnvelope::new(&cases, results.envelope.clone()))
    }

    /// Influence of an uneven floor on the loads.
    #[getter]
    fn unevenness(&self) -> PyUnevenness {
        PyUnevenness(self.0.results.unevenness.clone())
    }

    /// Modes of the machine as it runs.
    #[getter]
    fn modes(&self) -> PyModes {
        PyModes(self.0.results.modes.clone())
    }

    /// Transmissibility to a rigid floor; None if the job does not ask for it.
    #[getter]
    fn transmissibility(&self) -> Option<PyTransmissibility> {
        self.0.results.transmissibility.clone().map(PyTransmissibility)
    }

    /// Names of the shocks.
    #[getter]
    fn shocks(&self) -> Vec<String> {
        self.0.results.shocks.iter().map(|s| s.name.clone()).collect()
    }

    /// Response to a shock.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of `shocks`.
    ///
    /// Returns
    /// -------
    /// Shock
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn shock(&self, name: &str) -> PyResult<PyShock> {
        find("shock", name, &self.0.results.shocks, |s| &s.name).map(|s| PyShock(s.shock.clone()))
    }

    /// Names of the steady loads.
    #[getter]
    fn harmonics(&self) -> Vec<String> {
        self.0.results.harmonics.iter().map(|h| h.name.clone()).collect()
    }

    /// Response to a steady load.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of `harmonics`.
    ///
    /// Returns
    /// -------
    /// Response
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn harmonic(&self, name: &str) -> PyResult<PyResponse> {
        find("harmonic", name, &self.0.results.harmonics, |h| &h.name)
            .map(|h| PyResponse(h.response.clone()))
    }

    fn __repr__(&self) -> String {
        let verdict = self.verdict().unwrap_or_else(|| "nothing checked".into());
        format!("Study({:?}: {verdict})", self.0.title)
    }

    fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("underfoot.labeled")?.call_method1("study_html", (slf,))
    }
}
stored!(PyStudy, Study);

fn find<'a, T>(
    argument: &str,
    wanted: &str,
    all: &'a [T],
    name: impl Fn(&T) -> &String,
) -> PyResult<&'a T> {
    all.iter().find(|item| name(item) == wanted).ok_or_else(|| {
        let names: Vec<_> = all.iter().map(|item| format!("{:?}", name(item))).collect();
        to_py(Error::Unknown {
            argument: argument.into(),
            value: wanted.into(),
            allowed: format!("the study has {}", names.join(", ")),
        })
    })
}
