//! Wrenches and load cases.

use nalgebra::Vector3;
use pyo3::prelude::*;

use super::body::{PyRigidBody, vector};
use super::convert::vector3;
use super::error::to_py;
use super::stored::stored;
use crate::installation::{Case, Wrench};
use crate::units::Dimension;

/// A force and a moment at a point.
///
/// Parameters
/// ----------
/// force : (3,), optional
///     N.
/// moment : (3,), optional
///     N m.
/// at : (3,), optional
///     Where it acts, m; by default at the center of mass.
#[pyclass(frozen, name = "Wrench", module = "underfoot")]
pub struct PyWrench(pub Wrench);

#[pymethods]
impl PyWrench {
    #[new]
    #[pyo3(signature = (force=None, moment=None, at=None))]
    fn new(
        force: Option<&Bound<'_, PyAny>>,
        moment: Option<&Bound<'_, PyAny>>,
        at: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let or_zero = |value: Option<&Bound<'_, PyAny>>, name, dimension| {
            value.map_or(Ok(Vector3::zeros()), |v| vector3(v, name, dimension))
        };
        Wrench::new(
            or_zero(force, "force", Dimension::FORCE)?,
            or_zero(moment, "moment", Dimension::MOMENT)?,
            at.map(|v| vector3(v, "at", Dimension::LENGTH)).transpose()?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Force (3,), N.
    #[getter]
    fn force<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.force)
    }

    /// Moment (3,), N m.
    #[getter]
    fn moment<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.moment)
    }

    /// Where it acts (3,), m; None at the center of mass.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.at.as_ref().map(|at| vector(py, at)).transpose()
    }

    fn __repr__(&self) -> String {
        let (f, m) = (&self.0.force, &self.0.moment);
        let at = self
            .0
            .at
            .map_or("the center of mass".to_owned(), |p| format!("({}, {}, {}) m", p.x, p.y, p.z));
        format!(
            "Wrench(force=({}, {}, {}) N, moment=({}, {}, {}) N m, at {at})",
            f.x, f.y, f.z, m.x, m.y, m.z
        )
    }
}
stored!(PyWrench, Wrench);

/// A named load case: a variant of the machine, and loads that stay on it besides its weight.
///
/// Parameters
/// ----------
/// name : str
///     "die out".
/// body : RigidBody
///     The machine in this case.
/// loads : sequence of Wrench
///     Static loads besides the weight.
#[pyclass(frozen, name = "Case", module = "underfoot")]
pub struct PyCase(pub Case);

#[pymethods]
impl PyCase {
    #[new]
    #[pyo3(signature = (name, body, loads=vec![]))]
    fn new(name: String, body: PyRef<'_, PyRigidBody>, loads: Vec<PyRef<'_, PyWrench>>) -> Self {
        let loads = loads.iter().map(|w| w.0.clone()).collect();
        Self(Case { name, body: body.0.clone(), loads })
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// The machine in this case.
    #[getter]
    fn body(&self) -> PyRigidBody {
        PyRigidBody(self.0.body.clone())
    }

    /// Static loads besides the weight.
    #[getter]
    fn loads(&self) -> Vec<PyWrench> {
        self.0.loads.iter().cloned().map(PyWrench).collect()
    }

    fn __repr__(&self) -> String {
        format!(
            "Case({:?}, mass={} kg, {} loads)",
            self.0.name,
            self.0.body.mass(),
            self.0.loads.len()
        )
    }
}
stored!(PyCase, Case);
