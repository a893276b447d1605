//! Drive trains: rotors, clutch, brake and slide.

use pyo3::prelude::*;

use super::super::body::vector;
use super::super::convert::{choice, direction, name_of, scalar};
use super::super::error::to_py;
use super::super::slide::PySlideDrive;
use super::super::stored::stored;
use super::{PyExcitation, or};
use crate::excitation::{DriveEvent, DriveTrain, Rotor, Side};
use crate::units::Dimension;

const SIDES: [(&str, Side); 2] = [("driving", Side::Driving), ("driven", Side::Driven)];

/// Something that turns in a drive.
///
/// Parameters
/// ----------
/// name : str
/// inertia : float, str or quantity
///     About its own shaft, kg m^2.
/// ratio : float
///     Its speed over that of the crank; negative if it turns the other way.
/// side : {"driven", "driving"}
///     Behind the clutch (gears, crank), or before it (motor, flywheel).
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "Rotor", module = "underfoot")]
pub struct PyRotor(pub Rotor);

#[pymethods]
impl PyRotor {
    #[new]
    #[pyo3(signature = (name, inertia, ratio=None, side="driven"))]
    fn new(
        name: &str,
        inertia: &Bound<'_, PyAny>,
        ratio: Option<&Bound<'_, PyAny>>,
        side: &str,
    ) -> PyResult<Self> {
        let ratio = or(ratio, "ratio", Dimension::RATIO, 1.0)?;
        let side = choice("side", side, &SIDES)?;
        Rotor::new(name, scalar(inertia, "inertia", Dimension::INERTIA)?, ratio, side)
            .map(Self)
            .map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// kg m^2.
    #[getter]
    fn inertia(&self) -> f64 {
        self.0.inertia
    }

    /// Its speed over that of the crank.
    #[getter]
    fn ratio(&self) -> f64 {
        self.0.ratio
    }

    /// "driving" or "driven".
    #[getter]
    fn side(&self) -> &'static str {
        name_of(self.0.side, &SIDES)
    }

    fn __repr__(&self) -> String {
        let r = &self.0;
        format!("Rotor({:?}, {} kg m^2, ratio={}, {})", r.name, r.inertia, r.ratio, self.side())
    }
}
stored!(PyRotor, Rotor);

/// A drive: what the frame feels is minus the rate of change of the angular momentum of all rotors,
/// signed by their sense of rotation, and the slide's inertia.
///
/// A clutch straight on a flywheel is internal and gives none, a brake on the frame gives all.
/// Lock the drive out before anybody works on it; local codes govern.
///
/// Parameters
/// ----------
/// axis : "x", "y", "z", with a minus sign if wanted, or a unit vector (3,)
///     Of the crank, in its sense of rotation.
/// speed : float, str or quantity
///     Of the crank, Hz, or text such as "50 spm".
/// rotors : sequence of Rotor
///     All that the frame carries, the motor's included.
/// slide : SlideDrive, optional
///     With its mechanism.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "DriveTrain", module = "underfoot")]
pub struct PyDriveTrain(pub DriveTrain);

impl PyDriveTrain {
    fn event(&self, event: &DriveEvent) -> PyResult<PyExcitation> {
        self.0.motion(event).map(|m| PyExcitation(m.excitation)).map_err(to_py)
    }
}

fn time(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<f64> {
    scalar(value, argument, Dimension::TIME)
}

#[pymethods]
impl PyDriveTrain {
    #[new]
    #[pyo3(signature = (axis, speed, rotors, slide=None))]
    fn new(
        axis: &Bound<'_, PyAny>,
        speed: &Bound<'_, PyAny>,
        rotors: Vec<PyRef<'_, PyRotor>>,
        slide: Option<PyRef<'_, PySlideDrive>>,
    ) -> PyResult<Self> {
        let speed = scalar(speed, "speed", Dimension::FREQUENCY)?;
        let rotors = rotors.iter().map(|r| r.0.clone()).collect();
        let slide = slide.map(|s| s.0.clone());
        DriveTrain::new(direction(axis, "axis")?, speed, rotors, slide).map(Self).map_err(to_py)
    }

    /// Unit vector (3,) of the crank, in its sense of rotation.
    #[getter]
    fn axis<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.axis)
    }

    /// Of the crank, Hz.
    #[getter]
    fn speed(&self) -> f64 {
        self.0.speed
    }

    /// All rotors.
    #[getter]
    fn rotors(&self) -> Vec<PyRotor> {
        self.0.rotors.iter().cloned().map(PyRotor).collect()
    }

    /// From rest at the top to working speed, then on for one turn.
    ///
    /// Parameters
    /// ----------
    /// clutch_time : float, str or quantity
    ///     In which the clutch slips, s.
    /// torque_rise : float, str or quantity
    ///     Part of it in which the torque rises, s.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (clutch_time, torque_rise=None))]
    fn start(
        &self,
        clutch_time: &Bound<'_, PyAny>,
        torque_rise: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyExcitation> {
        self.event(&DriveEvent::Start {
            clutch_time: time(clutch_time, "clutch_time")?,
            torque_rise: or(torque_rise, "torque_rise", Dimension::TIME, 0.0)?,
        })
    }

    /// From steady running to rest, by a brake on the frame; an emergency stop is a stop in a short time
    /// at any angle.
    ///
    /// Parameters
    /// ----------
    /// brake_time : float, str or quantity
    ///     s.
    /// torque_rise : float, str or quantity
    ///     Part of it in which the torque rises, s.
    /// angle : float, str or quantity, optional
    ///     Of the crank where braking begins, rad; by default so that it ends at the top.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (brake_time, torque_rise=None, angle=None))]
    fn stop(
        &self,
        brake_time: &Bound<'_, PyAny>,
        torque_rise: Option<&Bound<'_, PyAny>>,
        angle: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyExcitation> {
        self.event(&DriveEvent::Stop {
            brake_time: time(brake_time, "brake_time")?,
            torque_rise: or(torque_rise, "torque_rise", Dimension::TIME, 0.0)?,
            angle: angle.map(|a| scalar(a, "angle", Dimension::ANGLE)).transpose()?,
        })
    }

    /// Short runs one after the other: clutch, brake, pause.
    ///
    /// Parameters
    /// ----------
    /// speed_share : float
    ///     Speed that is reached over the working speed, 0 to 1.
    /// clutch_time, brake_time, pause : float, str or quantity
    ///     s.
    /// count : int
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (speed_share, clutch_time, brake_time, pause, count=2))]
    fn inching(
        &self,
        speed_share: &Bound<'_, PyAny>,
        clutch_time: &Bound<'_, PyAny>,
        brake_time: &Bound<'_, PyAny>,
        pause: &Bound<'_, PyAny>,
        count: u32,
    ) -> PyResult<PyExcitation> {
        self.event(&DriveEvent::Inch {
            speed_share: scalar(speed_share, "speed_share", Dimension::RATIO)?,
            clutch_time: time(clutch_time, "clutch_time")?,
            brake_time: time(brake_time, "brake_time")?,
            pause: time(pause, "pause")?,
            count,
        })
    }

    /// The slide sticks at the bottom, and the clutch slips on the standing crank.
    ///
    /// Parameters
    /// ----------
    /// stop_time : float, str or quantity
    ///     In which the crank comes to rest, s.
    /// clutch_torque : float, str or quantity
    ///     On the crank, N m.
    /// slip_time : float, str or quantity
    ///     s.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn stuck(
        &self,
        stop_time: &Bound<'_, PyAny>,
        clutch_torque: &Bound<'_, PyAny>,
        slip_time: &Bound<'_, PyAny>,
    ) -> PyResult<PyExcitation> {
        self.event(&DriveEvent::Stick {
            stop_time: time(stop_time, "stop_time")?,
            clutch_torque: scalar(clutch_torque, "clutch_torque", Dimension::MOMENT)?,
            slip_time: time(slip_time, "slip_time")?,
        })
    }

    /// The stuck crank is freed backward: the clutch pulls until it lets go.
    ///
    /// Parameters
    /// ----------
    /// clutch_torque : float, str or quantity
    ///     On the crank when it lets go, N m.
    /// rise, hold : float, str or quantity
    ///     Of that torque, s.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn freed(
        &self,
        clutch_torque: &Bound<'_, PyAny>,
        rise: &Bound<'_, PyAny>,
        hold: &Bound<'_, PyAny>,
    ) -> PyResult<PyExcitation> {
        self.event(&DriveEvent::Free {
            clutch_torque: scalar(clutch_torque, "clutch_torque", Dimension::MOMENT)?,
            rise: time(rise, "rise")?,
            hold: time(hold, "hold")?,
        })
    }

    /// A servo drive without clutch: all rotors follow the crank through straight lines of speed, again
    /// and again.
    ///
    /// Parameters
    /// ----------
    /// knots : sequence of (time, speed)
    ///     s and Hz; from 0 s, one period, back at the first speed, whole turns (or none).
    /// angle : float, str or quantity
    ///     Of the crank at the start, rad.
    ///
    /// Returns
    /// -------
    /// Excitation
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (knots, angle=None))]
    fn servo(
        &self,
        knots: Vec<[f64; 2]>,
        angle: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyExcitation> {
        let angle = or(angle, "angle", Dimension::ANGLE, 0.0)?;
        self.0.servo(&knots, angle).map(PyExcitation).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        format!("DriveTrain({} rotors at {} Hz)", self.0.rotors.len(), self.0.speed)
    }
}
stored!(PyDriveTrain, DriveTrain);
