//! The installation and the analyses of it.

use nalgebra::Vector3;
use num_complex::Complex64;
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyMapping};

use super::body::{PyRigidBody, vector};
use super::bridge::PyBridge;
use super::convert;
use super::detached;
use super::error::to_py;
use super::excitation::PyExcitation;
use super::held::Held;
use super::labeled::array;
use super::mount::PyMount;
use super::press::PyPress;
use super::results::{PyModes, PyResponse, PyShock, PyTransmissibility};
use super::snap_through::segments_of;
use super::stop::PyStop;
use super::stored::stored;
use super::wrench::{PyCase, PyWrench};
use crate::analysis;
use crate::error::Error;
use crate::excitation::Segment;
use crate::installation::{Installation, Point, STANDARD_GRAVITY, Wrench};
use crate::machine::{Press, RigidBody};
use crate::units::Dimension;

/// A machine on its mounts, on a rigid floor.
///
/// Parameters
/// ----------
/// body : RigidBody or Press
///     The machine as it runs.
/// mounts : sequence of Mount
///     What it stands on; at least one.
/// foundation : None
///     The floor is rigid. Blocks and soil are not modeled by this version.
/// gravity : float, str or quantity
///     m/s^2.
/// cases : sequence of Case
///     Other load cases (die out, bolster rolled out).
/// points : mapping of name -> (3,)
///     Named points of the machine, m.
/// stops : sequence of Stop
///     Snubbers and limit stops.
/// bridges : sequence of Bridge
///     Short circuits of the mounts that are there. See `what_if_bridged` for one that is not.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Installation", module = "underfoot")]
pub struct PyInstallation(pub Held);

#[pymethods]
impl PyInstallation {
    #[new]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    #[pyo3(signature = (body, mounts, foundation=None, gravity=None, *, cases=vec![], points=None,
                        stops=vec![], bridges=vec![]))]
    fn new(
        body: &Bound<'_, PyAny>,
        mounts: Vec<PyRef<'_, PyMount>>,
        foundation: Option<&Bound<'_, PyAny>>,
        gravity: Option<&Bound<'_, PyAny>>,
        cases: Vec<PyRef<'_, PyCase>>,
        points: Option<&Bound<'_, PyMapping>>,
        stops: Vec<PyRef<'_, PyStop>>,
        bridges: Vec<PyRef<'_, PyBridge>>,
    ) -> PyResult<Self> {
        if let Some(given) = foundation {
            return Err(to_py(Error::invalid(
                "foundation",
                given.repr()?,
                "must be None: the floor is rigid in this version",
                "leave it out",
            )));
        }
        let gravity = gravity.map_or(Ok(STANDARD_GRAVITY), |g| {
            convert::scalar(g, "gravity", Dimension::ACCELERATION)
        })?;
        let (body, press) = machine(body)?;
        Installation::new(body, mounts.iter().map(|m| m.0.clone()).collect())
            .and_then(|i| press.map_or(Ok(i.clone()), |press| i.with_press(press)))
            .and_then(|i| i.with_gravity(gravity))
            .and_then(|i| i.with_cases(cases.iter().map(|c| c.0.clone()).collect()))
            .and_then(|i| i.with_bridges(bridges.iter().map(|b| b.0.clone()).collect()))
            .and_then(|i| i.with_stops(stops.iter().map(|s| s.0.clone()).collect()))
            .map_err(to_py)?
            .with_points(named_points(points)?)
            .map(|installation| Self(installation.into()))
            .map_err(to_py)
    }

    /// The machine as it runs.
    #[getter]
    fn body(&self) -> PyRigidBody {
        PyRigidBody(self.0.body.clone())
    }

    /// What it stands on.
    #[getter]
    fn mounts(&self) -> Vec<PyMount> {
        self.0.mounts.iter().cloned().map(PyMount).collect()
    }

    /// Other load cases.
    #[getter]
    fn cases(&self) -> Vec<PyCase> {
        self.0.cases.iter().cloned().map(PyCase).collect()
    }

    /// Named points of the machine, m.
    #[getter]
    fn points<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for point in &self.0.points {
            out.set_item(&point.name, vector(py, &point.at)?)?;
        }
        Ok(out)
    }

    /// Acceleration of gravity, m/s^2.
    #[getter]
    fn gravity(&self) -> f64 {
        self.0.gravity
    }

    /// What to know about this input before trusting a result.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings()
    }

    /// The same installation with other load cases.
    ///
    /// Parameters
    /// ----------
    /// cases : sequence of Case
    ///     In place of those there are.
    ///
    /// Returns
    /// -------
    /// Installation
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If two share a name.
    fn with_cases(&self, cases: Vec<PyRef<'_, PyCase>>) -> PyResult<Self> {
        let cases = cases.iter().map(|c| c.0.clone()).collect();
        Installation::from(self.0.clone()).with_cases(cases).map(|i| Self(i.into())).map_err(to_py)
    }

    /// Response to a pulse of force at a point, or of a moment, from rest; exact, with peaks solved for.
    ///
    /// Loss factors have no causal counterpart in time as they stand: `Shock.time_model` names the
    /// causal equivalent used, `Shock.time_model_error` its error over `Shock.time_model_band`.
    ///
    /// Parameters
    /// ----------
    /// pulse : HalfSine, Haversine, Rectangular, Triangular, InitialPeakSawtooth,
    ///     TerminalPeakSawtooth, RampStep, ExponentialDecay, EquivalentPulse or Excitation
    ///     An excitation (of a drive train, a rotor, a record ...) says itself where it acts, and what
    ///     went on before it.
    /// direction : "x", "y", "z" or a unit vector (3,)
    ///     Of the force; left out for a moment, and for an equivalent pulse, which acts up where it belongs.
    /// point : (3,) or name of a point, optional
    ///     Where the force acts, m; by default the center of mass.
    /// duration : float, str or quantity, optional
    ///     How long, s; by default until the motion has died away.
    /// moment : "x", "y", "z" or a unit vector (3,), optional
    ///     Axis, right-handed: the pulse is a moment on the whole machine, its numbers are in N m.
    /// dt : float, str or quantity, optional
    ///     Step of the histories, s. Peaks do not depend on it.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// every : float, str or quantity, optional
    ///     The load comes back every so often, s, and has done so for long (repeated strokes): one period
    ///     of the steady state. By default it acts once.
    ///
    /// Returns
    /// -------
    /// Shock
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError, FreeMotionError
    #[pyo3(signature = (pulse, direction=None, point=None, duration=None, *, moment=None, dt=None,
                        case=None, every=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn shock(
        &self,
        py: Python<'_>,
        pulse: &Bound<'_, PyAny>,
        direction: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
        duration: Option<&Bound<'_, PyAny>>,
        moment: Option<&Bound<'_, PyAny>>,
        dt: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        every: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyShock> {
        let every = every.map(|e| convert::scalar(e, "every", Dimension::TIME)).transpose()?;
        let options =
            analysis::transient::ShockOptions { every, ..super::events::options(duration, dt)? };
        if let Ok(event) = pulse.extract::<PyRef<'_, PyExcitation>>() {
            if direction.or(moment).or(point).is_some() {
                return Err(to_py(Error::invalid(
                    "pulse",
                    "an Excitation with direction, moment or point",
                    "says itself where and how it acts",
                    "leave them out",
                )));
            }
            let event = event.0.clone();
            return detached(py, || {
                analysis::transient::shock_by(&*self.0.linear(case)?, &event, &options)
            })
            .map(PyShock);
        }
        let (load, unit) = self.shaking(pulse, direction, moment, point)?;
        detached(py, || {
            let body = self.body_of(case)?;
            let linear = self.0.linear(case)?;
            analysis::transient::shock(&linear, &load, &unit.about(body.center()), &options)
        })
        .map(PyShock)
    }

    /// Undamped and damped modes, frequencies ascending.
    ///
    /// K phi = omega^2 M phi; damped: (M s^2 + C s + K + j H) phi = 0.
    ///
    /// Parameters
    /// ----------
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Modes
    ///
    /// Raises
    /// ------
    /// FreeMotionError
    ///     If the mounts leave the machine free to move.
    #[pyo3(signature = (case=None))]
    fn modes(&self, py: Python<'_>, case: Option<&str>) -> PyResult<PyModes> {
        detached(py, || analysis::modes(self.0.linear(case)?.as_ref())).map(PyModes)
    }

    /// Transmissibility to a rigid floor: wrench on the ground for a unit wrench on the machine.
    ///
    /// T = (K + j H + j omega C) (K + j H + j omega C - omega^2 M)^-1 about the center of mass.
    /// It claims no benefit over another way of standing.
    ///
    /// Parameters
    /// ----------
    /// frequency : (frequency,)
    ///     Hz, ascending, from zero up.
    /// source : (3,) or name of a point, optional
    ///     Where the wrench acts, m; by default the center of mass.
    /// receiver : "ground"
    ///     Where the wrench is felt: underfoot.GROUND.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Transmissibility
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For bad frequencies, or one that meets an undamped resonance.
    #[pyo3(signature = (frequency, source=None, receiver="ground", case=None))]
    fn transmissibility(
        &self,
        py: Python<'_>,
        frequency: &Bound<'_, PyAny>,
        source: Option<&Bound<'_, PyAny>>,
        receiver: &str,
        case: Option<&str>,
    ) -> PyResult<PyTransmissibility> {
        if receiver != "ground" {
            return Err(to_py(Error::Unknown {
                argument: "receiver".into(),
                value: receiver.into(),
                allowed: "it must be underfoot.GROUND".into(),
            }));
        }
        let frequency = convert::list(frequency, "frequency", Dimension::FREQUENCY)?;
        let source = source.map(|s| self.place(s, "source")).transpose()?;
        detached(py, || {
            analysis::transmissibility(self.0.linear(case)?.as_ref(), &frequency, source)
        })
        .map(PyTransmissibility)
    }

    /// |T_zz| (frequency,) alone: vertical force on a rigid floor for a unit vertical force at the
    /// center of mass, as `transmissibility(frequency).vertical`, for those who need no more.
    ///
    /// Parameters
    /// ----------
    /// frequency : (frequency,)
    ///     Hz, ascending, from zero up.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For bad frequencies, or one that meets an undamped resonance.
    #[pyo3(signature = (frequency, case=None))]
    fn vertical_transmissibility<'py>(
        &self,
        py: Python<'py>,
        frequency: &Bound<'py, PyAny>,
        case: Option<&str>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let frequency = convert::list(frequency, "frequency", Dimension::FREQUENCY)?;
        let vertical = detached(py, || {
            analysis::vertical_transmissibility(self.0.linear(case)?.as_ref(), &frequency)
        })?;
        array(py, vertical)
    }

    /// Steady response to a harmonic wrench (peak phasors under e^(+j omega t)).
    ///
    /// Z x = f, Z = K + j H + j omega C - omega^2 M.
    ///
    /// Parameters
    /// ----------
    /// frequency : (frequency,)
    ///     Hz, ascending, from zero up.
    /// wrench : Wrench
    ///     Force and moment, peak values.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Response
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For bad frequencies, or one that meets an undamped resonance.
    #[pyo3(signature = (frequency, wrench, case=None))]
    fn response(
        &self,
        py: Python<'_>,
        frequency: &Bound<'_, PyAny>,
        wrench: PyRef<'_, PyWrench>,
        case: Option<&str>,
    ) -> PyResult<PyResponse> {
        let frequency = convert::list(frequency, "frequency", Dimension::FREQUENCY)?;
        let wrench = wrench.0.clone();
        detached(py, || {
            let load = wrench.about(self.body_of(case)?.center());
            let load: Vec<_> = load.iter().map(|&f| Complex64::from(f)).collect();
            analysis::response(self.0.linear(case)?.as_ref(), &frequency, &load)
        })
        .map(PyResponse)
    }

    fn __repr__(&self) -> String {
        let inst = &self.0;
        format!(
            "Installation({} kg on {} mounts, {} load cases, {} points)",
            inst.body.mass(),
            inst.mounts.len(),
            inst.cases.len(),
            inst.points.len()
        )
    }
}
stored!(PyInstallation, Held);

impl PyInstallation {
    fn body_of(&self, case: Option<&str>) -> crate::Result<&RigidBody> {
        self.0.case(case).map(|(body, _)| body)
    }

    /// Segments of a pulse, and the unit load that they are the size of. An equivalent pulse acts up, at
    /// its own point.
    pub(super) fn shaking(
        &self,
        pulse: &Bound<'_, PyAny>,
        direction: Option<&Bound<'_, PyAny>>,
        moment: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<(Vec<Segment>, Wrench)> {
        let (segments, own) = segments_of(pulse)?;
        if own.is_some() && direction.is_none() && moment.is_none() && point.is_none() {
            let unit = Wrench::new(Vector3::z(), Vector3::zeros(), own).map_err(to_py)?;
            return Ok((segments, unit));
        }
        Ok((segments, self.unit_load(direction, moment, point)?))
    }

    /// The unit force at a point, or unit moment, of a pulse.
    fn unit_load(
        &self,
        direction: Option<&Bound<'_, PyAny>>,
        moment: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Wrench> {
        let at = point.map(|p| self.place(p, "point")).transpose()?;
        let zero = Vector3::zeros();
        let unit = match (direction, moment) {
            (Some(force), None) => Wrench::new(convert::direction(force, "direction")?, zero, at),
            (None, Some(axis)) if at.is_none() => {
                Wrench::new(zero, convert::direction(axis, "moment")?, None)
            }
            (None, Some(_)) => Err(Error::invalid(
                "point",
                "given",
                "must be left out with a moment, which acts on the whole machine",
                "leave it out",
            )),
            _ => Err(Error::invalid(
                "direction",
                if direction.is_some() { "given with moment" } else { "not given" },
                "either direction (of a force) or moment (its axis) is required",
                "give one of them",
            )),
        };
        unit.map_err(to_py)
    }

    fn place(&self, value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Vector3<f64>> {
        convert::point(value, argument, &self.points_list())
    }

    pub fn points_list(&self) -> Vec<(String, Vector3<f64>)> {
        self.0.points.iter().map(|p| (p.name.clone(), p.at)).collect()
    }
}

/// A rigid body, or the whole machine and what moves inside it.
fn machine(body: &Bound<'_, PyAny>) -> PyResult<(RigidBody, Option<Press>)> {
    if let Ok(press) = body.cast::<PyPress>() {
        let whole = &press.get().0;
        return Ok((whole.body.clone(), Some(whole.press.clone())));
    }
    if let Ok(body) = body.cast::<PyRigidBody>() {
        return Ok((body.get().0.clone(), None));
    }
    Err(to_py(Error::invalid(
        "body",
        body.repr()?,
        "must be a RigidBody or a Press",
        "build it with one of these",
    )))
}

fn named_points(points: Option<&Bound<'_, PyMapping>>) -> PyResult<Vec<Point>> {
    let Some(points) = points else { return Ok(Vec::new()) };
    points
        .items()?
        .iter()
        .map(|item| {
            let (name, at): (String, Bound<'_, PyAny>) = item.extract()?;
            let at = convert::vector3(&at, &format!("points[{name:?}]"), Dimension::LENGTH)?;
            Ok(Point { name, at })
        })
        .collect()
}
