//! Mount options judged and ranked.

use ndarray::Array2;
use pyo3::prelude::*;

use super::catalog::PyCatalog;
use super::checks::PyCheck;
use super::convert::scalar;
use super::detached;
use super::error::to_py;
use super::installation::PyInstallation;
use super::job::PyJob;
use super::labeled::labeled;
use super::stored::stored;
use crate::error::{Error, positive};
use crate::job::{Limits, ReportUnits};
use crate::study::{Choice, Objective, RankOptions, Ranking, rank_installation, rank_options};
use crate::units::Dimension;

/// One option: a model for each group of mounts.
#[pyclass(frozen, name = "Choice", module = "underfoot")]
pub struct PyChoice(pub Choice);

#[pymethods]
impl PyChoice {
    /// The model, or the models of the groups in their order ("soft pad | firm pad").
    #[getter]
    fn label(&self) -> String {
        self.0.label()
    }

    /// Model of each group.
    #[getter]
    fn models(&self) -> Vec<String> {
        self.0.models.clone()
    }

    /// What all mounts cost together; None where a model has no price.
    #[getter]
    fn price(&self) -> Option<f64> {
        self.0.price
    }

    /// Value of each objective, SI; None where it could not be computed.
    #[getter]
    fn values(&self) -> Vec<Option<f64>> {
        self.0.values.clone()
    }

    /// Least relative margin of all checks; None where they could not be computed.
    #[getter]
    fn margin(&self) -> Option<f64> {
        self.0.margin
    }

    /// True if no hard limit rejects it.
    #[getter]
    fn accepted(&self) -> bool {
        self.0.is_accepted()
    }

    /// Accepted, and no other accepted option is better in one objective and as good in all.
    #[getter]
    fn unbeaten(&self) -> bool {
        self.0.unbeaten
    }

    /// Checks that say NO.
    #[getter]
    fn rejected_by(&self) -> Vec<PyCheck> {
        self.0.rejected_by.iter().cloned().map(PyCheck).collect()
    }

    /// Why it is rejected, one sentence each.
    ///
    /// Parameters
    /// ----------
    /// units : "si" or "us"
    #[pyo3(signature = (units="si"))]
    fn reasons(&self, units: &str) -> PyResult<Vec<String>> {
        Ok(self.0.reasons(report_units(units)?))
    }

    fn __repr__(&self) -> String {
        let c = &self.0;
        let verdict = if c.is_accepted() { "accepted" } else { "rejected" };
        format!("Choice({:?}, {verdict}, values={:?})", c.label(), c.values)
    }
}
stored!(PyChoice, Choice);

fn report_units(units: &str) -> PyResult<ReportUnits> {
    match units {
        "si" => Ok(ReportUnits::Si),
        "us" => Ok(ReportUnits::Us),
        other => Err(to_py(Error::Unknown {
            argument: "units".into(),
            value: other.into(),
            allowed: "use \"si\" or \"us\"".into(),
        })),
    }
}

fn matrix(ranking: &Ranking) -> Array2<f64> {
    let shape = (ranking.choices.len(), ranking.objectives.len());
    let value = |i: usize, j: usize| ranking.choices.get(i)?.values.get(j).copied().flatten();
    Array2::from_shape_fn(shape, |(i, j)| value(i, j).unwrap_or(f64::NAN))
}

fn of_each<T>(ranking: &Ranking, value: impl Fn(&Choice) -> T) -> Vec<T> {
    ranking.choices.iter().map(value).collect()
}

labeled! {
    /// Mount options in order, the best first and the rejected ones last.
    ///
    /// Made by `Job.rank_options` and `Installation.rank_options`. NaN stands where an option
    /// could not be computed or has no price.
    PyRanking "Ranking" (Ranking)
    coords {
        "option" => |r| of_each(r, Choice::label);
        "objective" => |r| r.objectives.iter().map(|o| o.name.clone()).collect::<Vec<_>>();
    }
    fields {
        accepted: ["option"] "1" "no hard limit rejects it" => |r| of_each(r, Choice::is_accepted);
        unbeaten: ["option"] "1" "no accepted option is better in one objective and as good in all"
            => |r| of_each(r, |c| c.unbeaten);
        value: ["option", "objective"] "SI" "value of each objective" => |r| matrix(r);
        price: ["option"] "1" "price of all mounts"
            => |r| of_each(r, |c| c.price.unwrap_or(f64::NAN));
        margin: ["option"] "1" "least relative margin of all checks"
            => |r| of_each(r, |c| c.margin.unwrap_or(f64::NAN));
    }
}

#[pymethods]
impl PyRanking {
    /// All options in order.
    #[getter]
    fn choices(&self) -> Vec<PyChoice> {
        self.0.choices.iter().cloned().map(PyChoice).collect()
    }

    /// Names of the mounts of each group.
    #[getter]
    fn groups(&self) -> Vec<Vec<String>> {
        self.0.groups.clone()
    }

    /// Names of the objectives, the most important first.
    #[getter]
    fn objectives(&self) -> Vec<String> {
        self.0.objectives.iter().map(|o| o.name.clone()).collect()
    }

    /// SI unit of each objective.
    #[getter]
    fn units(&self) -> Vec<String> {
        self.0.units.clone()
    }

    /// The best accepted option; None if every one is rejected.
    #[getter]
    fn best(&self) -> Option<PyChoice> {
        self.0.accepted().next().cloned().map(PyChoice)
    }

    /// The options as a table in Markdown, each rejected one with its reason.
    ///
    /// Parameters
    /// ----------
    /// units : "si" or "us"
    #[pyo3(signature = (units="si"))]
    fn table(&self, units: &str) -> PyResult<String> {
        Ok(self.0.table(report_units(units)?))
    }

    fn __len__(&self) -> usize {
        self.0.choices.len()
    }
}

#[pymethods]
impl PyJob {
    /// Judges every model of a catalog, and mixtures of models, by the checks of this job and
    /// ranks those that hold.
    ///
    /// Parameters
    /// ----------
    /// catalog : Catalog
    ///     Models to choose from.
    /// objectives : list of str or (str, "least" or "greatest"), optional
    ///     What is asked for, the most important first: "price", "margin" (greatest) or the name
    ///     of a key figure (least). By default price, where every model has one, then margin.
    /// groups : list of lists of str, optional
    ///     Mounts that get one model; by default left-right mirror images.
    /// mixed : bool
    ///     Whether groups may get different models.
    /// most : int
    ///     Most options that are tried; more is an error.
    ///
    /// Returns
    /// -------
    /// Ranking
    ///
    /// Raises
    /// ------
    /// UnknownNameError, InvalidError
    #[pyo3(signature = (catalog, objectives=None, groups=None, mixed=true, most=2000))]
    fn rank_options(
        &self,
        py: Python<'_>,
        catalog: PyRef<'_, PyCatalog>,
        objectives: Option<Vec<Bound<'_, PyAny>>>,
        groups: Option<Vec<Vec<String>>>,
        mixed: bool,
        most: usize,
    ) -> PyResult<PyRanking> {
        let asked = objectives.unwrap_or_default();
        let objectives = asked.iter().map(objective).collect::<PyResult<_>>()?;
        let options = RankOptions { objectives, groups, mixed, most };
        let (job, catalog) = (&self.0, &catalog.0);
        detached(py, || rank_options(job, catalog, &options)).map(PyRanking)
    }
}

#[pymethods]
impl PyInstallation {
    /// Judges every model of a catalog, and mixtures of models, by what the mounts allow and ranks
    /// those that hold: load ranges, limits of the parts, lift-off and rocking in every load case,
    /// and the limits given here. `Job.rank_options` judges shocks and steady loads too.
    ///
    /// Parameters
    /// ----------
    /// catalog : Catalog
    ///     Models to choose from.
    /// objectives : list of str or (str, "least" or "greatest"), optional
    ///     What is asked for, the most important first: "price", "margin" (greatest) or the name
    ///     of a key figure (least). By default price, where every model has one, then margin.
    /// groups : list of lists of str, optional
    ///     Mounts that get one model; by default left-right mirror images.
    /// mixed : bool
    ///     Whether groups may get different models.
    /// most : int
    ///     Most options that are tried; more is an error.
    /// tilt : float, str or quantity, optional
    ///     Greatest tilt in any load case, rad.
    /// level : float, str or quantity, optional
    ///     Greatest tilt of any load case against the machine as it runs, rad.
    ///
    /// Returns
    /// -------
    /// Ranking
    ///
    /// Raises
    /// ------
    /// UnknownNameError, InvalidError
    #[pyo3(signature = (catalog, objectives=None, groups=None, mixed=true, most=2000, *, tilt=None,
                        level=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn rank_options(
        &self,
        py: Python<'_>,
        catalog: PyRef<'_, PyCatalog>,
        objectives: Option<Vec<Bound<'_, PyAny>>>,
        groups: Option<Vec<Vec<String>>>,
        mixed: bool,
        most: usize,
        tilt: Option<&Bound<'_, PyAny>>,
        level: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyRanking> {
        let asked = objectives.unwrap_or_default();
        let objectives = asked.iter().map(objective).collect::<PyResult<_>>()?;
        let options = RankOptions { objectives, groups, mixed, most };
        let angle = |value: Option<&Bound<'_, PyAny>>, name| {
            let value = value.map(|v| scalar(v, name, Dimension::ANGLE)).transpose()?;
            value.map(|v| positive(name, v, "rad").map_err(to_py)).transpose()
        };
        let limits = Limits {
            tilt: angle(tilt, "tilt")?,
            level: angle(level, "level")?,
            ..Limits::default()
        };
        let (inst, catalog) = (&self.0, &catalog.0);
        detached(py, || rank_installation(inst, limits, catalog, &options)).map(PyRanking)
    }
}

fn objective(value: &Bound<'_, PyAny>) -> PyResult<Objective> {
    let Ok((name, sense)) = value.extract::<(String, String)>() else {
        return value.extract().map(|name: String| Objective::new(name));
    };
    match sense.as_str() {
        "least" | "greatest" => Ok(Objective { name, greatest: sense == "greatest" }),
        _ => Err(to_py(Error::Unknown {
            argument: "objectives".into(),
            value: sense,
            allowed: "use \"least\" or \"greatest\"".into(),
        })),
    }
}
