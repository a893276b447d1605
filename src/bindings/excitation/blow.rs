//! Blows of a ram.

use pyo3::prelude::*;

use super::super::body::vector;
use super::super::convert::{direction, scalar};
use super::super::error::to_py;
use super::super::stored::stored;
use super::{or, place};
use crate::excitation::Blow;
use crate::installation::STANDARD_GRAVITY;
use crate::units::Dimension;

/// A ram strikes the machine: impulse J = (1 + e) v m m_p / (m + m_p), m_p the mass that the struck
/// point shows.
///
/// Hammers strike with great energy: guards and local codes apply, and foundations are the work of
/// licensed engineers.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     Ram, kg.
/// speed : float, str or quantity
///     Just before it strikes, m/s.
/// restitution : float
///     e, 0 to 1; 0.5 in die forging, 0.25 in open-die forging, 0 for soft metals: common practice.
/// direction : "x", "y", "z", with a minus sign if wanted, or a unit vector (3,)
///     Of the ram; by default straight down.
/// at : (3,), optional
///     Where it strikes, m; by default on a line through the center of mass.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "Blow", module = "underfoot")]
pub struct PyBlow(pub Blow);

#[pymethods]
impl PyBlow {
    #[new]
    #[pyo3(signature = (mass, speed, restitution, direction=None, at=None))]
    fn new(
        mass: &Bound<'_, PyAny>,
        speed: &Bound<'_, PyAny>,
        restitution: &Bound<'_, PyAny>,
        direction: Option<&Bound<'_, PyAny>>,
        at: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let down = -nalgebra::Vector3::z();
        let along = direction.map_or(Ok(down), |d| self::direction(d, "direction"))?;
        Blow::new(
            scalar(mass, "mass", Dimension::MASS)?,
            scalar(speed, "speed", Dimension::VELOCITY)?,
            scalar(restitution, "restitution", Dimension::RATIO)?,
            along,
            place(at)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Speed of a ram that falls, v = efficiency sqrt(2 (g + push/mass) height), m/s.
    ///
    /// Parameters
    /// ----------
    /// mass : float, str or quantity
    ///     kg.
    /// height : float, str or quantity
    ///     m.
    /// push : float, str or quantity
    ///     Of steam or air besides the weight, N.
    /// efficiency : float
    ///     0.9 for a drop hammer, 0.6 to 0.8 with steam or air: common practice.
    /// gravity : float, str or quantity, optional
    ///     m/s^2.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[staticmethod]
    #[pyo3(signature = (mass, height, push=None, efficiency=None, gravity=None))]
    fn fall_speed(
        mass: &Bound<'_, PyAny>,
        height: &Bound<'_, PyAny>,
        push: Option<&Bound<'_, PyAny>>,
        efficiency: Option<&Bound<'_, PyAny>>,
        gravity: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<f64> {
        Blow::fall_speed(
            scalar(mass, "mass", Dimension::MASS)?,
            scalar(height, "height", Dimension::LENGTH)?,
            or(push, "push", Dimension::FORCE, 0.0)?,
            or(efficiency, "efficiency", Dimension::RATIO, 1.0)?,
            or(gravity, "gravity", Dimension::ACCELERATION, STANDARD_GRAVITY)?,
        )
        .map_err(to_py)
    }

    /// Ram, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// m/s.
    #[getter]
    fn speed(&self) -> f64 {
        self.0.speed
    }

    /// Coefficient of restitution.
    #[getter]
    fn restitution(&self) -> f64 {
        self.0.restitution
    }

    /// Unit vector (3,) of the ram.
    #[getter]
    fn direction<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.direction)
    }

    /// Where it strikes (3,), m; None: on a line through the center of mass.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.at.as_ref().map(|at| vector(py, at)).transpose()
    }

    /// Impulse on a point that shows a mass, N s.
    ///
    /// Parameters
    /// ----------
    /// struck_mass : float, str or quantity
    ///     kg.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// UnitError
    fn impulse(&self, struck_mass: &Bound<'_, PyAny>) -> PyResult<f64> {
        Ok(self.0.impulse(scalar(struck_mass, "struck_mass", Dimension::MASS)?))
    }

    fn __repr__(&self) -> String {
        let b = &self.0;
        format!("Blow({} kg at {} m/s, restitution={})", b.mass, b.speed, b.restitution)
    }
}
stored!(PyBlow, Blow);
