//! Rotating unbalance, hydraulic and screw presses.

use pyo3::prelude::*;

use super::super::body::vector;
use super::super::convert::{direction, scalar};
use super::super::error::to_py;
use super::super::stored::stored;
use super::{PyExcitation, or, place};
use crate::excitation::{Excitation, Hydraulic, Rotating, ScrewBlow, SpeedRamp, UnbalancePlane};
use crate::units::Dimension;

/// Unbalance in one plane of a rotor.
///
/// Parameters
/// ----------
/// unbalance : float, str or quantity
///     Mass times eccentricity, kg m.
/// at : (3,), optional
///     Point of the shaft, m; by default the center of mass of the machine.
/// angle : float, str or quantity
///     Ahead of the rotor's mark, rad.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "UnbalancePlane", module = "underfoot")]
pub struct PyUnbalancePlane(pub UnbalancePlane);

#[pymethods]
impl PyUnbalancePlane {
    #[new]
    #[pyo3(signature = (unbalance, at=None, angle=None))]
    fn new(
        unbalance: &Bound<'_, PyAny>,
        at: Option<&Bound<'_, PyAny>>,
        angle: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let unbalance = scalar(unbalance, "unbalance", Dimension::MASS_MOMENT)?;
        let unbalance = crate::error::positive("unbalance", unbalance, "kg m").map_err(to_py)?;
        let angle = or(angle, "angle", Dimension::ANGLE, 0.0)?;
        Ok(Self(UnbalancePlane { unbalance, at: place(at)?, angle }))
    }

    /// kg m.
    #[getter]
    fn unbalance(&self) -> f64 {
        self.0.unbalance
    }

    /// Point of the shaft (3,), m; None: the center of mass of the machine.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.at.as_ref().map(|at| vector(py, at)).transpose()
    }

    /// rad.
    #[getter]
    fn angle(&self) -> f64 {
        self.0.angle
    }

    fn __repr__(&self) -> String {
        format!("UnbalancePlane({} kg m, angle={} rad)", self.0.unbalance, self.0.angle)
    }
}
stored!(PyUnbalancePlane, UnbalancePlane);

/// An unbalanced rotor: m e omega^2 turning with the shaft, in one plane or more.
///
/// Parameters
/// ----------
/// axis : "x", "y", "z", with a minus sign if wanted, or a unit vector (3,)
///     It turns right-handed about it.
/// planes : sequence of UnbalancePlane
///     One or more.
/// inertia : float, str or quantity
///     About the shaft, kg m^2, for the reaction to a change of speed; 0 leaves it out.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "RotatingUnbalance", module = "underfoot")]
pub struct PyRotatingUnbalance(pub Rotating);

#[pymethods]
impl PyRotatingUnbalance {
    #[new]
    #[pyo3(signature = (axis, planes, inertia=None))]
    fn new(
        axis: &Bound<'_, PyAny>,
        planes: Vec<PyRef<'_, PyUnbalancePlane>>,
        inertia: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let planes = planes.iter().map(|p| p.0.clone()).collect();
        let inertia = or(inertia, "inertia", Dimension::INERTIA, 0.0)?;
        Rotating::new(direction(axis, "axis")?, planes, inertia).map(Self).map_err(to_py)
    }

    /// Unit vector (3,) about which it turns right-handed.
    #[getter]
    fn axis<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.axis)
    }

    /// Planes of unbalance.
    #[getter]
    fn planes(&self) -> Vec<PyUnbalancePlane> {
        self.0.planes.iter().cloned().map(PyUnbalancePlane).collect()
    }

    /// About the shaft, kg m^2.
    #[getter]
    fn inertia(&self) -> f64 {
        self.0.inertia
    }

    /// One turn at a steady speed, come back for long.
    ///
    /// Parameters
    /// ----------
    /// speed : float, str or quantity
    ///     Turns a second, Hz, or text such as "960 rpm".
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn steady(&self, speed: &Bound<'_, PyAny>) -> PyResult<PyExcitation> {
        let turn = self.0.steady(scalar(speed, "speed", Dimension::FREQUENCY)?).map_err(to_py)?;
        Ok(PyExcitation(Excitation::repeated(turn)))
    }

    /// The speed changes evenly from one value to another: run-up, or run-down.
    ///
    /// The load is brought into closed form to 1e-12; the motion under it is exact. The peak comes after
    /// a resonance has been passed.
    ///
    /// Parameters
    /// ----------
    /// from_speed, to_speed : float, str or quantity
    ///     Hz. Above zero at the start, the machine has run at that speed for long.
    /// time : float, str or quantity
    ///     In which it changes, s.
    /// hold : float, str or quantity
    ///     At the last speed afterwards, s.
    /// from_rest : bool
    ///     The machine stands still at the start, whatever the speed.
    /// tangential : bool
    ///     False: the centrifugal force alone.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (from_speed, to_speed, time, hold=None, *, from_rest=false, tangential=true))]
    fn run_up(
        &self,
        from_speed: &Bound<'_, PyAny>,
        to_speed: &Bound<'_, PyAny>,
        time: &Bound<'_, PyAny>,
        hold: Option<&Bound<'_, PyAny>>,
        from_rest: bool,
        tangential: bool,
    ) -> PyResult<PyExcitation> {
        let from = scalar(from_speed, "from_speed", Dimension::FREQUENCY)?;
        let to = scalar(to_speed, "to_speed", Dimension::FREQUENCY)?;
        let time = scalar(time, "time", Dimension::TIME)?;
        let hold = or(hold, "hold", Dimension::TIME, 0.0)?;
        let ramp = SpeedRamp::new(from, to, time).and_then(|r| r.with_hold(hold));
        let mut ramp = ramp.map_err(to_py)?;
        ramp.from_steady &= !from_rest;
        ramp.tangential = tangential;
        self.0.ramp(&ramp).map(|(excitation, _)| PyExcitation(excitation)).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let planes: Vec<_> =
            self.0.planes.iter().map(|p| format!("{} kg m", p.unbalance)).collect();
        format!("RotatingUnbalance(planes=[{}])", planes.join(", "))
    }
}
stored!(PyRotatingUnbalance, Rotating);

/// Force, oil column and frame of a hydraulic press: k_oil = B A / L.
///
/// Stored energy is let off by trained people with the press locked out, under local codes.
///
/// Parameters
/// ----------
/// force : float, str or quantity
///     Held before the release, N.
/// piston_area : float, str or quantity
///     m^2.
/// column : float, str or quantity
///     Length of the oil column, m.
/// bulk_modulus : float, str or quantity
///     Of the oil, Pa; 1.2 to 1.6 GPa at working pressure: common practice.
/// frame_stiffness : float, str or quantity
///     Between cylinder and bed, N/m.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "Hydraulic", module = "underfoot")]
pub struct PyHydraulic(pub Hydraulic);

#[pymethods]
impl PyHydraulic {
    #[new]
    fn new(
        force: &Bound<'_, PyAny>,
        piston_area: &Bound<'_, PyAny>,
        column: &Bound<'_, PyAny>,
        bulk_modulus: &Bound<'_, PyAny>,
        frame_stiffness: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        Hydraulic::new(
            scalar(force, "force", Dimension::FORCE)?,
            scalar(piston_area, "piston_area", Dimension::AREA)?,
            scalar(column, "column", Dimension::LENGTH)?,
            scalar(bulk_modulus, "bulk_modulus", Dimension::PRESSURE)?,
            scalar(frame_stiffness, "frame_stiffness", Dimension::STIFFNESS)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Pa.
    #[getter]
    fn pressure(&self) -> f64 {
        self.0.pressure()
    }

    /// N/m.
    #[getter]
    fn oil_stiffness(&self) -> f64 {
        self.0.oil_stiffness()
    }

    /// Of oil and frame in series, N/m.
    #[getter]
    fn series_stiffness(&self) -> f64 {
        self.0.series_stiffness()
    }

    /// How much shorter the oil column is, m.
    #[getter]
    fn oil_shortening(&self) -> f64 {
        self.0.oil_shortening()
    }

    /// J.
    #[getter]
    fn oil_energy(&self) -> f64 {
        self.0.oil_energy()
    }

    /// J.
    #[getter]
    fn frame_energy(&self) -> f64 {
        self.0.frame_energy()
    }

    /// The oil is let off: the frame closes and pushes the machine up and down.
    ///
    /// Parameters
    /// ----------
    /// springing_mass : float, str or quantity
    ///     Crown and cylinder, kg.
    /// time : float, str or quantity
    ///     In which the pressure falls, s.
    /// at : (3,), optional
    ///     m; by default on the vertical through the center of mass.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (springing_mass, time, at=None))]
    fn decompression(
        &self,
        springing_mass: &Bound<'_, PyAny>,
        time: &Bound<'_, PyAny>,
        at: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyExcitation> {
        let mass = scalar(springing_mass, "springing_mass", Dimension::MASS)?;
        let time = scalar(time, "time", Dimension::TIME)?;
        let action = self.0.decompression(mass, time, place(at)?).map_err(to_py)?;
        Ok(PyExcitation(Excitation::once(vec![action])))
    }

    fn __repr__(&self) -> String {
        format!("Hydraulic({} N, oil {} N/m)", self.0.force, self.0.oil_stiffness())
    }
}
stored!(PyHydraulic, Hydraulic);

/// The blow of a screw press: the frame takes the angular momentum of its flywheel.
///
/// Parameters
/// ----------
/// inertia : float, str or quantity
///     Flywheel and screw, kg m^2.
/// speed : float, str or quantity
///     Before the blow, Hz, or text such as "90 rpm".
/// stop_time : float, str or quantity
///     In which they come to rest, s.
/// rebound : float
///     Speed springing back over that before, 0 to 1.
/// axis : "z", "-z" or a unit vector (3,)
///     Right-handed in the sense of rotation before the blow; by default "-z".
/// slide_mass : float, str or quantity
///     kg; 0 leaves its momentum out.
/// lead : float, str or quantity
///     Way of the slide by a turn, m.
/// at : (3,), optional
///     Slide's line, m; by default on the vertical through the center of mass.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "ScrewBlow", module = "underfoot")]
pub struct PyScrewBlow(pub ScrewBlow);

#[pymethods]
impl PyScrewBlow {
    #[new]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    #[pyo3(signature = (inertia, speed, stop_time, rebound, axis=None, *, slide_mass=None, lead=None,
                        at=None))]
    fn new(
        inertia: &Bound<'_, PyAny>,
        speed: &Bound<'_, PyAny>,
        stop_time: &Bound<'_, PyAny>,
        rebound: &Bound<'_, PyAny>,
        axis: Option<&Bound<'_, PyAny>>,
        slide_mass: Option<&Bound<'_, PyAny>>,
        lead: Option<&Bound<'_, PyAny>>,
        at: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let blow = ScrewBlow {
            inertia: scalar(inertia, "inertia", Dimension::INERTIA)?,
            speed: scalar(speed, "speed", Dimension::FREQUENCY)?,
            stop_time: scalar(stop_time, "stop_time", Dimension::TIME)?,
            rebound: scalar(rebound, "rebound", Dimension::RATIO)?,
            axis: axis.map_or(Ok(-nalgebra::Vector3::z()), |a| direction(a, "axis"))?,
            slide_mass: or(slide_mass, "slide_mass", Dimension::MASS, 0.0)?,
            lead: or(lead, "lead", Dimension::LENGTH, 0.0)?,
            at: place(at)?,
        };
        blow.checked().map(Self).map_err(to_py)
    }

    /// Angular momentum that the frame takes, N m s.
    #[getter]
    fn angular_impulse(&self) -> f64 {
        self.0.angular_impulse()
    }

    /// Greatest torque on the frame, N m.
    #[getter]
    fn torque(&self) -> f64 {
        self.0.torque()
    }

    /// What acts.
    #[getter]
    fn excitation(&self) -> PyResult<PyExcitation> {
        self.0.actions().map(|a| PyExcitation(Excitation::once(a))).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        format!("ScrewBlow({} N m s within {} s)", self.0.angular_impulse(), self.0.stop_time)
    }
}
stored!(PyScrewBlow, ScrewBlow);
