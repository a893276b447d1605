//! A check, a table of checks, and an interface between the machine and what stands beside it.

use pyo3::prelude::*;
use pyo3::types::{PyDict, PySlice};

use super::super::convert;
use super::super::error::to_py;
use super::super::labeled::labeled;
use super::super::stored::stored;
use crate::checks::{Check, Interface, Sense, Verdict, overall};
use crate::error::Error;
use crate::system::Axis;
use crate::units::Dimension;

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
        sense(&self.0)
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

    /// Load case, load or instant that governs it.
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

fn sense(check: &Check) -> &'static str {
    match check.sense {
        Sense::AtMost => "at most",
        Sense::AtLeast => "at least",
    }
}

/// "OK", "OK IF" or "NO".
fn short(check: &Check) -> &'static str {
    match check.verdict {
        Verdict::Ok => "OK",
        Verdict::OkIf(_) => "OK IF",
        Verdict::No => "NO",
    }
}

labeled! {
    /// A table of checks: a sequence of `Check`, and its numbers as arrays.
    ///
    /// Checks are data: filter them, show them, add tables with +, turn them into a dict of columns
    /// (for a DataFrame) or an xarray.Dataset.
    ///
    /// Parameters
    /// ----------
    /// checks : sequence of Check
    PyChecks "Checks" (Vec<Check>)
    coords {
        "check" => |r| r.iter().map(|c| c.question.clone()).collect::<Vec<_>>();
    }
    fields {
        demand: ["check"] "as in unit" "what the machine asks" => |r| r.iter().map(|c| c.demand).collect::<Vec<_>>();
        capacity: ["check"] "as in unit" "what is allowed" => |r| r.iter().map(|c| c.capacity).collect::<Vec<_>>();
        margin: ["check"] "1" "relative margin, positive where it holds" => |r| r.iter().map(|c| c.margin).collect::<Vec<_>>();
        low: ["check"] "as in unit" "least demand within its band" => |r| r.iter().map(|c| c.band.map_or(c.demand, |b| b[0])).collect::<Vec<_>>();
        high: ["check"] "as in unit" "greatest demand within its band" => |r| r.iter().map(|c| c.band.map_or(c.demand, |b| b[1])).collect::<Vec<_>>();
        holds: ["check"] "1" "true unless the verdict is NO" => |r| r.iter().map(|c| c.verdict != Verdict::No).collect::<Vec<_>>();
    }
}

#[pymethods]
impl PyChecks {
    #[new]
    fn new(checks: Vec<PyRef<'_, PyCheck>>) -> Self {
        Self(checks.iter().map(|c| c.0.clone()).collect())
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __getitem__<'py>(
        &self,
        py: Python<'py>,
        index: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let count = self.0.len() as isize;
        if let Ok(slice) = index.cast::<PySlice>() {
            let at = slice.indices(count)?;
            let mut chosen = Vec::new();
            let mut i = at.start;
            while (at.step > 0 && i < at.stop) || (at.step < 0 && i > at.stop) {
                chosen.extend(self.0.get(i as usize).cloned());
                i += at.step;
            }
            return Ok(Bound::new(py, Self(chosen))?.into_any());
        }
        let i: isize = index.extract()?;
        let place = if i < 0 { i + count } else { i };
        let found = usize::try_from(place).ok().and_then(|i| self.0.get(i));
        let found = found.ok_or_else(|| {
            pyo3::exceptions::PyIndexError::new_err(format!("check {i} of {count}"))
        })?;
        Ok(Bound::new(py, PyCheck(found.clone()))?.into_any())
    }

    fn __add__(&self, other: PyRef<'_, Self>) -> Self {
        Self(self.0.iter().chain(&other.0).cloned().collect())
    }

    /// Those checks that meet every condition given.
    ///
    /// Parameters
    /// ----------
    /// question : str, optional
    ///     Part of the question, in any case of letters.
    /// verdict : "OK", "OK IF" or "NO", optional
    /// case : str, optional
    ///     Part of the governing case.
    /// source : str, optional
    ///     Part of the source.
    /// margin_below : float, optional
    ///     Relative margin less than this.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (question=None, *, verdict=None, case=None, source=None, margin_below=None))]
    fn filter(
        &self,
        question: Option<&str>,
        verdict: Option<&str>,
        case: Option<&str>,
        source: Option<&str>,
        margin_below: Option<f64>,
    ) -> PyResult<Self> {
        if let Some(wanted) = verdict.filter(|v| !["OK", "OK IF", "NO"].contains(v)) {
            return Err(to_py(Error::Unknown {
                argument: "verdict".into(),
                value: wanted.into(),
                allowed: "use OK, OK IF or NO".into(),
            }));
        }
        let has = |text: &str, part: Option<&str>| {
            part.is_none_or(|p| text.to_lowercase().contains(&p.to_lowercase()))
        };
        let keep = |c: &&Check| {
            has(&c.question, question)
                && verdict.is_none_or(|v| v == short(c))
                && has(&c.governing_case, case)
                && has(&c.source, source)
                && margin_below.is_none_or(|m| c.margin < m)
        };
        Ok(Self(self.0.iter().filter(keep).cloned().collect()))
    }

    /// The verdict of all together: "OK", "OK IF ..." or "NO"; None for an empty table.
    #[getter]
    fn verdict(&self) -> Option<String> {
        overall(&self.0).map(|o| o.verdict.to_string())
    }

    /// The check that governs: the worst verdict, then the least margin; None for an empty table.
    #[getter]
    fn governing(&self) -> Option<PyCheck> {
        overall(&self.0).and_then(|o| self.0.get(o.governing).cloned()).map(PyCheck)
    }

    /// Columns by name, as lists: pandas.DataFrame(checks.to_dict()) makes a table of it.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = PyDict::new(py);
        let text = |of: fn(&Check) -> String| self.0.iter().map(of).collect::<Vec<_>>();
        let number = |of: fn(&Check) -> f64| self.0.iter().map(of).collect::<Vec<_>>();
        columns.set_item("question", text(|c| c.question.clone()))?;
        columns.set_item("verdict", text(|c| c.verdict.to_string()))?;
        columns.set_item("demand", number(|c| c.demand))?;
        columns.set_item("low", number(|c| c.band.map_or(c.demand, |b| b[0])))?;
        columns.set_item("high", number(|c| c.band.map_or(c.demand, |b| b[1])))?;
        columns.set_item("sense", text(|c| sense(c).into()))?;
        columns.set_item("capacity", number(|c| c.capacity))?;
        columns.set_item("unit", text(|c| c.unit.clone()))?;
        columns.set_item("margin", number(|c| c.margin))?;
        columns.set_item("governing_case", text(|c| c.governing_case.clone()))?;
        columns.set_item("source", text(|c| c.source.clone()))?;
        Ok(columns)
    }

    /// Text columns along the checks, for `to_xarray`.
    fn _labels<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let columns = self.to_dict(py)?;
        let labels = PyDict::new(py);
        for name in ["verdict", "sense", "unit", "governing_case", "source"] {
            labels.set_item(name, columns.get_item(name)?)?;
        }
        Ok(labels)
    }

    /// The table as lines of text, one for each check.
    fn __str__(&self) -> String {
        self.0.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
    }
}

/// A point of the machine beside something that stands on the floor: feed, transfer, robot, pipe.
///
/// Parameters
/// ----------
/// name : str
/// at : (3,)
///     Point of the machine, m.
/// directions : str
///     Directions in which motion matters, such as "xz".
/// aligned_in : str, optional
///     Load case in which it was aligned; by default the machine as it runs.
/// static_limit, dynamic_limit : float, str or quantity, optional
///     How far it may shift between load cases, and swing, either way, m.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Interface", module = "underfoot")]
pub struct PyInterface(pub Interface);

#[pymethods]
impl PyInterface {
    #[new]
    #[pyo3(signature = (name, at, directions="xyz", *, aligned_in=None, static_limit=None, dynamic_limit=None))]
    fn new(
        name: String,
        at: &Bound<'_, PyAny>,
        directions: &str,
        aligned_in: Option<String>,
        static_limit: Option<&Bound<'_, PyAny>>,
        dynamic_limit: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let axes = [Axis::X, Axis::Y, Axis::Z];
        let find = |letter: char| axes.into_iter().find(|a| a.name().starts_with(letter));
        let chosen: Option<Vec<Axis>> = directions.chars().map(find).collect();
        let chosen = chosen.ok_or_else(|| {
            to_py(Error::Unknown {
                argument: "directions".into(),
                value: directions.into(),
                allowed: "use letters of xyz".into(),
            })
        })?;
        let length = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map(|v| convert::scalar(v, name, Dimension::LENGTH)).transpose()
        };
        let interface = Interface {
            name,
            at: convert::vector3(at, "at", Dimension::LENGTH)?,
            directions: chosen,
            aligned_in,
            static_limit: length(static_limit, "static_limit")?,
            dynamic_limit: length(dynamic_limit, "dynamic_limit")?,
        };
        interface.checked().map(Self).map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Point of the machine (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        super::super::body::vector(py, &self.0.at)
    }

    /// Directions that matter, as letters.
    #[getter]
    fn directions(&self) -> String {
        self.0.directions.iter().map(|d| d.name()).collect()
    }

    /// Load case in which it was aligned.
    #[getter]
    fn aligned_in(&self) -> Option<&str> {
        self.0.aligned_in.as_deref()
    }

    /// How far it may shift between load cases, m.
    #[getter]
    fn static_limit(&self) -> Option<f64> {
        self.0.static_limit
    }

    /// How far it may swing, m.
    #[getter]
    fn dynamic_limit(&self) -> Option<f64> {
        self.0.dynamic_limit
    }

    fn __repr__(&self) -> String {
        let of = |limit: Option<f64>| limit.map_or("None".into(), |l| format!("{l} m"));
        let (shift, swing) = (of(self.0.static_limit), of(self.0.dynamic_limit));
        let directions = self.directions();
        format!("Interface({:?}, {directions}, static {shift}, dynamic {swing})", self.0.name)
    }
}
stored!(PyInterface, Interface);
