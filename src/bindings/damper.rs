//! Viscous dampers.

use pyo3::prelude::*;

use super::body::vector;
use super::convert::{one_or_three, scalar, vector3};
use super::error::to_py;
use super::mount::PyMount;
use super::stored::stored;
use crate::support::ViscousDamper;
use crate::units::Dimension;

/// A viscous damper along x, y, z, without stiffness.
///
/// Parameters
/// ----------
/// damping : one or (3,)
///     c along x, y, z, N s/m.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "ViscousDamper", module = "underfoot")]
pub struct PyViscousDamper(pub ViscousDamper);

#[pymethods]
impl PyViscousDamper {
    #[new]
    fn new(damping: &Bound<'_, PyAny>) -> PyResult<Self> {
        let damping = one_or_three(damping, "damping", Dimension::DAMPING)?;
        ViscousDamper::new(damping).map(Self).map_err(to_py)
    }

    /// c along x, y, z (3,), N s/m.
    #[getter]
    fn damping<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.damping.into())
    }

    /// Energy of one cycle (3,) along x, y, z, J: pi c omega X^2.
    ///
    /// Parameters
    /// ----------
    /// frequency : float, str or quantity
    ///     Hz.
    /// amplitude : float, str or quantity
    ///     X, m.
    ///
    /// Returns
    /// -------
    /// array (3,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn energy_per_cycle<'py>(
        &self,
        py: Python<'py>,
        frequency: &Bound<'py, PyAny>,
        amplitude: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let frequency = scalar(frequency, "frequency", Dimension::FREQUENCY)?;
        let amplitude = scalar(amplitude, "amplitude", Dimension::LENGTH)?;
        let energy = self.0.energy_per_cycle(frequency, amplitude).map_err(to_py)?;
        vector(py, &energy.into())
    }

    /// Loss factor (3,) that it makes beside a stiffness at a frequency: c omega / k.
    ///
    /// Parameters
    /// ----------
    /// stiffness : one or (3,)
    ///     k, N/m.
    /// frequency : float, str or quantity
    ///     Hz.
    ///
    /// Returns
    /// -------
    /// array (3,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn loss_factor<'py>(
        &self,
        py: Python<'py>,
        stiffness: &Bound<'py, PyAny>,
        frequency: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let stiffness = one_or_three(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let frequency = scalar(frequency, "frequency", Dimension::FREQUENCY)?;
        let eta = self.0.loss_factor(stiffness, frequency).map_err(to_py)?;
        vector(py, &eta.into())
    }

    /// The mount it is: no stiffness, so it stands beside a spring (`parallel`).
    ///
    /// Parameters
    /// ----------
    /// position : (3,)
    ///     Where the machine sits on it, m.
    /// name : str
    ///     Tag; by default its number.
    ///
    /// Returns
    /// -------
    /// Mount
    #[pyo3(signature = (position, name=""))]
    fn mount(&self, position: &Bound<'_, PyAny>, name: &str) -> PyResult<PyMount> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let mount = self.0.mount(position).map_err(to_py)?;
        Ok(PyMount(mount.with_name(name)))
    }

    fn __repr__(&self) -> String {
        format!("ViscousDamper(damping={:?} N s/m)", self.0.damping)
    }
}
stored!(PyViscousDamper, ViscousDamper);
