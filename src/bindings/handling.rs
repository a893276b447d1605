//! Crane, die cart and emergency stop.

use nalgebra::Vector3;
use pyo3::prelude::*;

use super::body::{PyRigidBody, vector};
use super::convert::{direction, scalar, vector3};
use super::die::PyDie;
use super::error::to_py;
use super::pulse::PyRectangular;
use super::stored::stored;
use super::wrench::PyCase;
use crate::installation::{Cart, EmergencyStop, STANDARD_GRAVITY, SetDown};
use crate::units::Dimension;

/// A crane sets a die down on the machine.
///
/// Nobody under a load; crane and hooks within their rated loads; lifting by trained people under
/// local codes.
///
/// Parameters
/// ----------
/// name : str
///     Name of the load case.
/// die : Die
///     The die, where it lands.
/// impact_factor : float, str or quantity
///     Greatest force while it lands over its weight, at least 1; 1.5 to 2 is common practice.
///
/// Raises
/// ------
/// InvalidError
#[pyclass(frozen, name = "SetDown", module = "underfoot")]
pub struct PySetDown(pub SetDown);

#[pymethods]
impl PySetDown {
    #[new]
    #[pyo3(signature = (name, die, impact_factor=None))]
    fn new(
        name: &str,
        die: PyRef<'_, PyDie>,
        impact_factor: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let factor = match impact_factor {
            Some(given) => scalar(given, "impact_factor", Dimension::RATIO)?,
            None => SetDown::USUAL_FACTOR[0],
        };
        SetDown::new(name, die.0.clone(), factor).map(Self).map_err(to_py)
    }

    /// Name of the load case.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// The die.
    #[getter]
    fn die(&self) -> PyDie {
        PyDie(self.0.die.clone())
    }

    /// Greatest force while it lands over its weight.
    #[getter]
    fn impact_factor(&self) -> f64 {
        self.0.impact_factor
    }

    /// Its load case: the machine with the die, and what the impact adds to its weight.
    ///
    /// Parameters
    /// ----------
    /// without_die : RigidBody
    ///     The machine without a die.
    /// gravity : float, str or quantity, optional
    ///     m/s^2; standard gravity by default.
    ///
    /// Returns
    /// -------
    /// Case
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (without_die, gravity=None))]
    fn case(
        &self,
        without_die: PyRef<'_, PyRigidBody>,
        gravity: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyCase> {
        let gravity = gravity
            .map_or(Ok(STANDARD_GRAVITY), |g| scalar(g, "gravity", Dimension::ACCELERATION))?;
        self.0.case(&without_die.0, gravity).map(PyCase).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let (s, d) = (&self.0, &self.0.die);
        format!("SetDown({:?}, {} kg, impact factor {})", s.name, d.mass, s.impact_factor)
    }
}
stored!(PySetDown, SetDown);

/// A die cart at the side of the machine.
///
/// Parameters
/// ----------
/// name : str
///     Name of the load case.
/// at : (3,)
///     Where it meets the machine, m.
/// mass : float, str or quantity, optional
///     Part of a die that rests on the machine there, kg.
/// push : (3,), optional
///     Force of the cart on the machine there, N.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Cart", module = "underfoot")]
pub struct PyCart(pub Cart);

#[pymethods]
impl PyCart {
    #[new]
    #[pyo3(signature = (name, at, mass=None, push=None))]
    fn new(
        name: &str,
        at: &Bound<'_, PyAny>,
        mass: Option<&Bound<'_, PyAny>>,
        push: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        Cart::new(
            name,
            mass.map_or(Ok(0.0), |m| scalar(m, "mass", Dimension::MASS))?,
            vector3(at, "at", Dimension::LENGTH)?,
            push.map_or(Ok(Vector3::zeros()), |p| vector3(p, "push", Dimension::FORCE))?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Name of the load case.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Where it meets the machine (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.at)
    }

    /// Part of a die that rests on the machine, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// Force of the cart on the machine (3,), N.
    #[getter]
    fn push<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.push)
    }

    /// Its load case.
    ///
    /// Parameters
    /// ----------
    /// without_die : RigidBody
    ///     The machine without a die.
    ///
    /// Returns
    /// -------
    /// Case
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn case(&self, without_die: PyRef<'_, PyRigidBody>) -> PyResult<PyCase> {
        self.0.case(&without_die.0).map(PyCase).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let (c, p) = (&self.0, &self.0.push);
        format!("Cart({:?}, {} kg, push=({}, {}, {}) N)", c.name, c.mass, p.x, p.y, p.z)
    }
}
stored!(PyCart, Cart);

/// A brake fixed to the frame stops the rotors in a hurry: torque T = I omega / t_b on the frame.
///
/// As a shock: `installation.shock(stop.pulse, moment=stop.axis)`. Gears, clutch and the slide's own
/// inertia are not in it.
///
/// Parameters
/// ----------
/// name : str
///     Name.
/// inertia : float, str or quantity
///     Moment of inertia of all that the brake stops, at its shaft, kg m^2.
/// speed : float, str or quantity
///     Turns a second, Hz; or text such as "50 spm".
/// brake_time : float, str or quantity
///     From full speed to rest, s.
/// axis : "x", "-x", "y", "-y", "z", "-z" or a unit vector (3,)
///     Along the shaft, in the sense of its rotation.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "EmergencyStop", module = "underfoot")]
pub struct PyEmergencyStop(pub EmergencyStop);

#[pymethods]
impl PyEmergencyStop {
    #[new]
    fn new(
        name: &str,
        inertia: &Bound<'_, PyAny>,
        speed: &Bound<'_, PyAny>,
        brake_time: &Bound<'_, PyAny>,
        axis: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        EmergencyStop::new(
            name,
            scalar(inertia, "inertia", Dimension::INERTIA)?,
            scalar(speed, "speed", Dimension::FREQUENCY)?,
            scalar(brake_time, "brake_time", Dimension::TIME)?,
            direction(axis, "axis")?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Moment of inertia of all that the brake stops, kg m^2.
    #[getter]
    fn inertia(&self) -> f64 {
        self.0.inertia
    }

    /// Turns a second, Hz.
    #[getter]
    fn speed(&self) -> f64 {
        self.0.speed
    }

    /// From full speed to rest, s.
    #[getter]
    fn brake_time(&self) -> f64 {
        self.0.brake_time
    }

    /// Unit vector (3,) of the torque on the frame.
    #[getter]
    fn axis<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.axis)
    }

    /// Torque on the frame while it brakes, N m.
    #[getter]
    fn torque(&self) -> f64 {
        self.0.torque()
    }

    /// The torque over time: a rectangular pulse whose peak is in N m.
    #[getter]
    fn pulse(&self) -> PyResult<PyRectangular> {
        self.0.pulse().map(PyRectangular).map_err(to_py)
    }

    /// Greatest deflection of one degree of freedom without damping over that under the same torque
    /// at rest: 2 sin(pi f t_b) for f t_b < 1/2, else 2.
    ///
    /// Parameters
    /// ----------
    /// frequency : float, str or quantity
    ///     f, Hz.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn dynamic_load_factor(&self, frequency: &Bound<'_, PyAny>) -> PyResult<f64> {
        let frequency = scalar(frequency, "frequency", Dimension::FREQUENCY)?;
        self.0.dynamic_load_factor(frequency).map_err(to_py)
    }

    /// Its static equivalent as a load case: a lasting moment of `factor` times the torque.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine.
    /// factor : float
    ///     As `dynamic_load_factor`; 2 holds for any mounts.
    ///
    /// Returns
    /// -------
    /// Case
    ///
    /// Raises
    /// ------
    /// InvalidError
    #[pyo3(signature = (body, factor=2.0))]
    fn case(&self, body: PyRef<'_, PyRigidBody>, factor: f64) -> PyResult<PyCase> {
        self.0.case(&body.0, factor).map(PyCase).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        format!("EmergencyStop({:?}, torque={} N m for {} s)", s.name, s.torque(), s.brake_time)
    }
}
stored!(PyEmergencyStop, EmergencyStop);
