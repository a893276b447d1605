//! The study of a job: figures, checks and all results.

use pyo3::prelude::*;

use super::checks::PyChecks;
use super::error::to_py;
use super::job::{PyInput, units};
use super::rank::PyRanking;
use super::results::{
    NamedEnvelope, PlacedPlan, PlacedStatics, PyEnvelope, PyLevelingPlan, PyModes, PyRailStep,
    PyResponse, PyShock, PySnapThrough, PyStability, PyStatics, PySteady, PyStrokeRateMap,
    PyTransmissibility, PyUnevenness,
};
use super::stored::stored;
use crate::analysis::leveling::Outcome;
use crate::error::by_name;
use crate::study::{Ask, Figure, Running, Study};
use crate::units::Dimension;

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
        let text =
            format!("Figure({:?}, {} [{}, {}] {}", f.name, f.value, f.low, f.high, self.unit());
        format!("{})", text.trim_end())
    }
}
stored!(PyFigure, Figure);

/// An assumed input to ask the client for, and the verdict that it moves most; see `Study.asks`.
#[pyclass(frozen, name = "Ask", module = "underfoot")]
pub struct PyAsk(pub Ask);

#[pymethods]
impl PyAsk {
    /// Key path of the input.
    #[getter]
    fn path(&self) -> &str {
        &self.0.path
    }

    /// The input in words.
    #[getter]
    fn label(&self) -> &str {
        &self.0.label
    }

    /// Who can confirm it; None where nobody is named.
    #[getter]
    fn confirm(&self) -> Option<&str> {
        self.0.confirm.as_deref()
    }

    /// Part of the way to its limit that the input moves the check; 1 or more flips its verdict.
    #[getter]
    fn reach(&self) -> f64 {
        self.0.reach
    }

    /// True if the input flips a verdict alone.
    #[getter]
    fn flips(&self) -> bool {
        self.0.flips
    }

    /// The question of the check that it moves most.
    #[getter]
    fn question(&self) -> &str {
        &self.0.question
    }

    /// Load case or shock of that check.
    #[getter]
    fn case(&self) -> &str {
        &self.0.case
    }

    fn __repr__(&self) -> String {
        let a = &self.0;
        let does = if a.flips { "flips" } else { "moves" };
        format!("Ask({:?} {does} {:?}: {:.3} of the way)", a.label, a.question, a.reach)
    }
}
stored!(PyAsk, Ask);

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
        units(self.0.units)
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

    /// Checks with verdicts, as a table.
    #[getter]
    fn checks(&self) -> PyChecks {
        PyChecks(self.0.checks.clone())
    }

    /// Assumed inputs to ask the client for, those first that move a verdict most.
    #[getter]
    fn asks(&self) -> Vec<PyAsk> {
        self.0.asks.iter().cloned().map(PyAsk).collect()
    }

    /// Mount models that could stand there instead, the best first; None if the job does not ask.
    #[getter]
    fn options(&self) -> Option<PyRanking> {
        self.0.options.clone().map(PyRanking)
    }

    /// Steps of the rails while the bolster rolls out, one for each of its places.
    #[getter]
    fn rail_steps(&self) -> Vec<PyRailStep> {
        let steps = &self.0.results.rail_steps;
        steps.chunk_by(|a, b| a.to == b.to).map(|place| PyRailStep(place.to_vec())).collect()
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
        PyEnvelope(NamedEnvelope::new(&cases, results.envelope.clone(), results.rises.clone()))
    }

    /// Influence of an uneven floor on the loads.
    #[getter]
    fn unevenness(&self) -> PyUnevenness {
        PyUnevenness(self.0.results.unevenness.clone())
    }

    /// The leveling plan; None if the job does not ask for one, or its limits conflict.
    #[getter]
    fn leveling(&self) -> Option<PyLevelingPlan> {
        match &self.0.results.leveling {
            Some(Outcome::Plan(plan)) => Some(PyLevelingPlan(PlacedPlan((**plan).clone()))),
            _ => None,
        }
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

    /// Names of the work forces that break off.
    #[getter]
    fn snap_throughs(&self) -> Vec<String> {
        self.0.results.snap_throughs.iter().map(|s| s.name.clone()).collect()
    }

    /// What a work force that breaks off does.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of `snap_throughs`.
    ///
    /// Returns
    /// -------
    /// SnapThrough
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn snap_through(&self, name: &str) -> PyResult<PySnapThrough> {
        let all = &self.0.results.snap_throughs;
        find("snap_through", name, all, |s| &s.name).map(|s| PySnapThrough(s.snap.clone()))
    }

    /// Names of the steady loads.
    #[getter]
    fn harmonics(&self) -> Vec<String> {
        self.0.results.harmonics.iter().map(|h| h.name.clone()).collect()
    }

    /// Load case of a shock.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of `shocks`.
    ///
    /// Returns
    /// -------
    /// str
    ///     One of `cases`.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn shock_case(&self, name: &str) -> PyResult<String> {
        find("shock", name, &self.0.results.shocks, |s| &s.name).map(|s| s.case.clone())
    }

    /// Names of the points whose motion is computed.
    #[getter]
    fn points(&self) -> Vec<String> {
        let running = self.0.results.cases.iter().take(1);
        running.flat_map(|c| c.points.iter().map(|(name, _)| name.clone())).collect()
    }

    /// Mass of the machine in each load case, kg, in the order of `cases`.
    #[getter]
    fn case_masses(&self) -> Vec<f64> {
        self.0.results.cases.iter().map(|c| c.mass).collect()
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

    /// Names of the states of steady running, one for each stroke rate of the job.
    #[getter]
    fn running(&self) -> Vec<String> {
        self.runs().iter().map(|run| run.name.clone()).collect()
    }

    /// Steady running at a stroke rate of the job.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     One of `running`.
    ///
    /// Returns
    /// -------
    /// Steady
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn run(&self, name: &str) -> PyResult<PySteady> {
        find("running", name, self.runs(), |run| &run.name).map(|run| PySteady(run.steady.clone()))
    }

    /// The map of stroke rates; None if the job does not ask for it.
    #[getter]
    fn stroke_rate_map(&self) -> Option<PyStrokeRateMap> {
        let slide = self.0.results.slide.as_ref()?;
        slide.map.clone().map(PyStrokeRateMap)
    }

    /// Name of the point whose motion the map of stroke rates gives; None without a map.
    #[getter]
    fn stroke_rate_map_point(&self) -> Option<&str> {
        let slide = self.0.results.slide.as_ref()?;
        slide.map.as_ref().map(|_| slide.map_point.as_str())
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

impl PyStudy {
    fn runs(&self) -> &[Running] {
        self.0.results.slide.as_ref().map_or(&[], |slide| &slide.running)
    }
}

pub(super) fn find<'a, T>(
    argument: &str,
    wanted: &str,
    all: &'a [T],
    name: impl Fn(&T) -> &String + Clone,
) -> PyResult<&'a T> {
    let named = all.iter().map(|item| (name(item).as_str(), item));
    by_name(argument, wanted, named, ["the study has", "the study has none"]).map_err(to_py)
}
