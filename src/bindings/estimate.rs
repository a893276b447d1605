//! A first answer from a few facts.

use std::collections::BTreeMap;

use nalgebra::Vector3;
use pyo3::prelude::*;
use pyo3::types::PyString;

use super::body::{PyRigidBody, vector};
use super::convert::{scalar, vector3};
use super::die::PyDie;
use super::error::to_py;
use super::stored::stored;
use super::wrench::PyWrench;
use crate::error::{Error, did_you_mean};
use crate::installation::Wrench;
use crate::machine::{self, Assumption, Facts, FirstAnswer, Practice, PressKind};
use crate::units::Dimension;

/// A number that stands in for one nobody has given.
#[pyclass(frozen, name = "Assumption", module = "underfoot")]
pub struct PyAssumption(pub Assumption);

#[pymethods]
impl PyAssumption {
    /// Key: give it under this name in `assumed` to replace it.
    #[getter]
    fn key(&self) -> &str {
        &self.0.key
    }

    /// What it is.
    #[getter]
    fn what(&self) -> &str {
        &self.0.what
    }

    /// Value used, in `unit`.
    #[getter]
    fn value(&self) -> f64 {
        self.0.value
    }

    /// Lower end of what is usual.
    #[getter]
    fn low(&self) -> f64 {
        self.0.low
    }

    /// Upper end of what is usual.
    #[getter]
    fn high(&self) -> f64 {
        self.0.high
    }

    /// Unit; empty for a ratio.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit
    }

    /// Who can confirm it.
    #[getter]
    fn confirm(&self) -> &str {
        &self.0.confirm
    }

    /// Where the value comes from.
    #[getter]
    fn source(&self) -> &str {
        &self.0.source
    }

    fn __repr__(&self) -> String {
        let a = &self.0;
        let unit = if a.unit.is_empty() { String::new() } else { format!(" {}", a.unit) };
        format!("Assumption({:?}, {}{unit}, usual {} ... {}{unit})", a.key, a.value, a.low, a.high)
    }
}
stored!(PyAssumption, Assumption);

/// What a few facts and common practice say of a press; see `first_answer`.
#[pyclass(frozen, name = "FirstAnswer", module = "underfoot")]
pub struct PyFirstAnswer(pub FirstAnswer);

#[pymethods]
impl PyFirstAnswer {
    /// The machine without die.
    #[getter]
    fn body(&self) -> PyRigidBody {
        PyRigidBody(self.0.body.clone())
    }

    /// The heaviest die; None if none was given.
    #[getter]
    fn die(&self) -> Option<PyDie> {
        self.0.die.clone().map(PyDie)
    }

    /// Slide with the upper half of the heaviest die, kg.
    #[getter]
    fn moving_mass(&self) -> f64 {
        self.0.moving_mass
    }

    /// First harmonic of the slide's inertia, vertical, peak, N.
    #[getter]
    fn slide_force(&self) -> f64 {
        self.0.slide_force
    }

    /// The same as a wrench, for `Installation.response` at `stroke_rate`.
    #[getter]
    fn slide(&self) -> PyResult<PyWrench> {
        let force = Vector3::new(0.0, 0.0, self.0.slide_force);
        Wrench::new(force, Vector3::zeros(), Some(self.0.slide_at)).map(PyWrench).map_err(to_py)
    }

    /// Where the slide moves (3,), m.
    #[getter]
    fn slide_at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.slide_at)
    }

    /// Strokes a second, Hz.
    #[getter]
    fn stroke_rate(&self) -> f64 {
        self.0.stroke_rate
    }

    /// Everything that was assumed, with what is usual and who can confirm it.
    #[getter]
    fn assumptions(&self) -> Vec<PyAssumption> {
        self.0.assumptions.iter().cloned().map(PyAssumption).collect()
    }

    fn __repr__(&self) -> String {
        let f = &self.0;
        format!(
            "FirstAnswer({} kg, center of mass {} m up, slide force {} N, {} assumptions)",
            f.body.mass(),
            f.body.center().z,
            f.slide_force,
            f.assumptions.len()
        )
    }
}
stored!(PyFirstAnswer, FirstAnswer);

/// What can be said of a press of which only a few facts are known.
///
/// What is missing is taken from common practice for its kind (mass over tonnage, height of the
/// center of mass, radius of gyration, slide) and listed in `assumptions` with its band. A job file
/// with `[machine.facts]` carries the bands through a whole study and ranks what to ask for.
///
/// Parameters
/// ----------
/// kind : "straight-side", "gap-frame" or "hydraulic"
///     How it is built.
/// tonnage : float, str or quantity
///     Rated force, N; say which tons: "400 tonf" (short), "400 tf" (metric), "4000 kN".
/// outline : (3,)
///     Left-right, front-back, height, m.
/// stroke_rate : float, str or quantity
///     Strokes a second, Hz; or text: "40 spm".
/// stroke : float, str or quantity
///     m.
/// heaviest_die : float, str or quantity, optional
///     kg.
/// mass : float, str or quantity, optional
///     Without die, kg; from the tonnage where it is not known.
/// assumed : mapping of key -> float, optional
///     Values in place of what is usual, by the keys of `assumptions`.
///
/// Returns
/// -------
/// FirstAnswer
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError, UnknownNameError
#[pyfunction]
#[pyo3(signature = (kind, tonnage, outline, stroke_rate, stroke, heaviest_die=None, *, mass=None,
                    assumed=None))]
#[allow(clippy::too_many_arguments)] // one keyword each, as users write them
pub fn first_answer(
    kind: &str,
    tonnage: &Bound<'_, PyAny>,
    outline: &Bound<'_, PyAny>,
    stroke_rate: &Bound<'_, PyAny>,
    stroke: &Bound<'_, PyAny>,
    heaviest_die: Option<&Bound<'_, PyAny>>,
    mass: Option<&Bound<'_, PyAny>>,
    assumed: Option<BTreeMap<String, f64>>,
) -> PyResult<PyFirstAnswer> {
    let kilograms = |value: Option<&Bound<'_, PyAny>>, name| {
        value.map(|v| scalar(v, name, Dimension::MASS)).transpose()
    };
    let facts = Facts {
        kind: PressKind::from_name(kind).map_err(to_py)?,
        tonnage: force(tonnage)?,
        mass: kilograms(mass, "mass")?,
        outline: vector3(outline, "outline", Dimension::LENGTH)?.into(),
        stroke_rate: scalar(stroke_rate, "stroke_rate", Dimension::FREQUENCY)?,
        stroke: scalar(stroke, "stroke", Dimension::LENGTH)?,
        heaviest_die: kilograms(heaviest_die, "heaviest_die")?.unwrap_or_default(),
    };
    let mut practice = Practice::of(facts.kind);
    for (key, value) in assumed.unwrap_or_default() {
        replace(&mut practice, &key, value)?;
    }
    machine::first_answer(&facts, &practice).map(PyFirstAnswer).map_err(to_py)
}

/// Tons that are written as a mass stand for their weight.
fn force(value: &Bound<'_, PyAny>) -> PyResult<f64> {
    if value.is_instance_of::<PyString>()
        && let Ok(mass) = scalar(value, "tonnage", Dimension::MASS)
    {
        return Ok(mass * crate::installation::STANDARD_GRAVITY);
    }
    scalar(value, "tonnage", Dimension::FORCE)
}

fn replace(practice: &mut Practice, key: &str, value: f64) -> PyResult<()> {
    let mut all = practice.all_mut();
    if let Some(found) = all.iter_mut().find(|a| a.key == key) {
        found.value = value;
        return Ok(());
    }
    let keys: Vec<_> = all.iter().map(|a| a.key.as_str()).collect();
    let hint = did_you_mean(key, keys.iter().copied());
    Err(to_py(Error::Unknown {
        argument: "assumed".into(),
        value: key.into(),
        allowed: format!("assumed for this kind of press are {};{hint}", keys.join(", ")),
    }))
}

#[pymethods]
impl PyRigidBody {
    /// The machine, with its heaviest die in, of which only a few facts are known.
    ///
    /// The body of `first_answer`, which also lists what was assumed; the arguments are the same.
    ///
    /// Parameters
    /// ----------
    /// kind : "straight-side", "gap-frame" or "hydraulic"
    ///     How it is built.
    /// tonnage : float, str or quantity
    ///     Rated force, N; say which tons: "400 tonf" (short), "400 tf" (metric), "4000 kN".
    /// outline : (3,)
    ///     Left-right, front-back, height, m.
    /// stroke_rate : float, str or quantity
    ///     Strokes a second, Hz; or text: "40 spm".
    /// stroke : float, str or quantity
    ///     m.
    /// heaviest_die : float, str or quantity, optional
    ///     kg.
    /// mass : float, str or quantity, optional
    ///     Without die, kg; from the tonnage where it is not known.
    /// assumed : mapping of key -> float, optional
    ///     Values in place of what is usual.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    #[staticmethod]
    #[pyo3(signature = (kind, tonnage, outline, stroke_rate, stroke, heaviest_die=None, *,
                        mass=None, assumed=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn from_facts(
        kind: &str,
        tonnage: &Bound<'_, PyAny>,
        outline: &Bound<'_, PyAny>,
        stroke_rate: &Bound<'_, PyAny>,
        stroke: &Bound<'_, PyAny>,
        heaviest_die: Option<&Bound<'_, PyAny>>,
        mass: Option<&Bound<'_, PyAny>>,
        assumed: Option<BTreeMap<String, f64>>,
    ) -> PyResult<Self> {
        let die = heaviest_die;
        let first = first_answer(kind, tonnage, outline, stroke_rate, stroke, die, mass, assumed)?;
        Ok(Self(first.0.body))
    }
}
