//! Events of an installation: blows, a floor that moves, and the sources of floor forces.

use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::convert::{direction, list, scalar};
use super::detached;
use super::error::to_py;
use super::excitation::{PyBlow, PyExcitation, PyRecord};
use super::installation::PyInstallation;
use super::labeled::array;
use super::pulse::pulse as pulse_of;
use super::results::{PyBaseTransmissibility, PyShock};
use super::stored::stored;
use crate::analysis::transient::{Extrema, FloorMotion, Shock, ShockOptions, floor_by_source};
use crate::analysis::{self, Struck};
use crate::error::Error;
use crate::excitation::Source;
use crate::units::Dimension;

/// What follows a blow; see `Installation.blow`.
#[pyclass(frozen, name = "Struck", module = "underfoot")]
pub struct PyStruck(pub Struck);

#[pymethods]
impl PyStruck {
    /// Mass that the struck point shows along the blow, kg.
    #[getter]
    fn struck_mass(&self) -> f64 {
        self.0.struck_mass
    }

    /// N s.
    #[getter]
    fn impulse(&self) -> f64 {
        self.0.impulse
    }

    /// Of the struck point along the blow just after it, m/s.
    #[getter]
    fn velocity(&self) -> f64 {
        self.0.velocity
    }

    /// Part of the envelope of the struck point's motion that is left when the next blow falls; None
    /// without an interval.
    #[getter]
    fn left(&self) -> Option<f64> {
        self.0.left
    }

    /// Frequencies (mode,) of the undamped modes, Hz.
    #[getter]
    fn mode_frequency<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, ndarray::Array1::from_vec(self.0.mode_frequency.clone()))
    }

    /// (dof, mode): amplitude that each undamped mode alone would reach, m and rad. Books often give that
    /// of the lowest mode alone; the true peak is `shock.peak("displacement")`.
    #[getter]
    fn mode_amplitude<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let m = &self.0.mode_amplitude;
        array(py, ndarray::Array2::from_shape_fn(m.shape(), |at| m[at]))
    }

    /// The motion.
    #[getter]
    fn shock(&self) -> PyShock {
        PyShock(self.0.shock.clone())
    }

    fn __repr__(&self) -> String {
        format!("Struck({} N s, {} m/s)", self.0.impulse, self.0.velocity)
    }
}
stored!(PyStruck, Struck);

/// Duration and step of the histories.
pub(super) fn options(
    duration: Option<&Bound<'_, PyAny>>,
    dt: Option<&Bound<'_, PyAny>>,
) -> PyResult<ShockOptions> {
    let seconds = |value: Option<&Bound<'_, PyAny>>, name| {
        value.map(|v| scalar(v, name, Dimension::TIME)).transpose()
    };
    Ok(ShockOptions {
        duration: seconds(duration, "duration")?,
        dt: seconds(dt, "dt")?,
        ..ShockOptions::default()
    })
}

#[pymethods]
impl PyInstallation {
    /// Motion after a blow on the machine at rest; exact, with peaks solved for.
    ///
    /// Parameters
    /// ----------
    /// blow : Blow
    /// interval : float, str or quantity, optional
    ///     To the next blow, s: `Struck.left` says what remains of this one.
    /// duration, dt : float, str or quantity, optional
    ///     As in `shock`, s.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Struck
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (blow, interval=None, *, duration=None, dt=None, case=None))]
    fn blow(
        &self,
        py: Python<'_>,
        blow: PyRef<'_, PyBlow>,
        interval: Option<&Bound<'_, PyAny>>,
        duration: Option<&Bound<'_, PyAny>>,
        dt: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyStruck> {
        let (blow, options) = (blow.0.clone(), options(duration, dt)?);
        let interval = interval.map(|v| scalar(v, "interval", Dimension::TIME)).transpose()?;
        detached(py, || analysis::struck(&*self.0.linear(case)?, &blow, interval, &options))
            .map(PyStruck)
    }

    /// One interval of blows that have fallen for long: the state that comes back to itself.
    ///
    /// Parameters
    /// ----------
    /// blow : Blow
    /// interval : float, str or quantity
    ///     From one blow to the next, s.
    /// dt : float, str or quantity, optional
    ///     Step of the histories, s.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Shock
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (blow, interval, *, dt=None, case=None))]
    fn repeated_blows(
        &self,
        py: Python<'_>,
        blow: PyRef<'_, PyBlow>,
        interval: &Bound<'_, PyAny>,
        dt: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyShock> {
        let (blow, options) = (blow.0.clone(), options(None, dt)?);
        let interval = scalar(interval, "interval", Dimension::TIME)?;
        detached(py, || {
            let motion = analysis::struck_again_and_again(&*self.0.linear(case)?, &blow, interval)?;
            Shock::of(motion, &[], options.dt)
        })
        .map(PyShock)
    }

    /// Motion on a floor that moves as a whole: a forklift, a neighboring press.
    ///
    /// Displacement and velocity of the result are those against the moving floor, acceleration is the
    /// absolute one.
    ///
    /// Parameters
    /// ----------
    /// motion : a pulse, or Record
    ///     Acceleration of the floor, m/s^2 (the peak of a pulse is read as such).
    /// direction : "x", "y", "z", with a minus sign if wanted, or a unit vector (3,)
    /// displacement : bool
    ///     The Record is displacement of the floor, m: a cubic spline through its samples.
    /// duration, dt : float, str or quantity, optional
    ///     As in `shock`, s.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Shock
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    #[pyo3(signature = (motion, direction, *, displacement=false, duration=None, dt=None, case=None))]
    fn floor_shock(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        direction: &Bound<'_, PyAny>,
        displacement: bool,
        duration: Option<&Bound<'_, PyAny>>,
        dt: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyShock> {
        let record = motion.extract::<PyRef<'_, PyRecord>>().ok().map(|r| r.0.clone());
        let acceleration = match (&record, displacement) {
            (Some(record), true) => record.spline_acceleration(),
            (Some(record), false) => record.segments(),
            (None, false) => pulse_of(motion, "motion")?.segments(),
            (None, true) => {
                return Err(to_py(Error::invalid(
                    "displacement",
                    "True with a pulse",
                    "needs a Record: pulses are of acceleration",
                    "leave it out",
                )));
            }
        };
        let direction = self::direction(direction, "direction")?;
        let (floor, options) = ([FloorMotion { direction, acceleration }], options(duration, dt)?);
        detached(py, || {
            let linear = self.0.linear(case)?;
            let mut shock = Shock::on_floor(&linear, &floor, &options)?;
            if let Some(record) = &record {
                let highest = analysis::modes(&linear)?.frequency.into_iter().fold(0.0, f64::max);
                shock.warnings.extend(record.notes.iter().cloned().chain(record.warning(highest)));
            }
            Ok(shock)
        })
        .map(PyShock)
    }

    /// Motion of a point by unit motion of the floor, steady: the transpose of `transmissibility`.
    ///
    /// Parameters
    /// ----------
    /// frequency : (frequency,)
    ///     Hz, ascending, from zero up.
    /// point : (3,) or name of a point, optional
    ///     m; by default the center of mass.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// BaseTransmissibility
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (frequency, point=None, case=None))]
    fn base_transmissibility(
        &self,
        py: Python<'_>,
        frequency: &Bound<'_, PyAny>,
        point: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyBaseTransmissibility> {
        let frequency = list(frequency, "frequency", Dimension::FREQUENCY)?;
        let points = self.points_list();
        let point = point.map(|p| super::convert::point(p, "point", &points)).transpose()?;
        detached(py, || analysis::base_transmissibility(&*self.0.linear(case)?, &frequency, point))
            .map(PyBaseTransmissibility)
    }

    /// Peak dynamic forces on the floor by source of what acts, each as if the others were silent: they
    /// peak at different times and do not add up.
    ///
    /// Parameters
    /// ----------
    /// excitation : Excitation
    /// duration : float, str or quantity, optional
    ///     s; by default until the motion has died away.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// dict of source -> dict
    ///     "down", "up", "x" and "y", N.
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (excitation, *, duration=None, case=None))]
    fn floor_force_by_source<'py>(
        &self,
        py: Python<'py>,
        excitation: PyRef<'py, PyExcitation>,
        duration: Option<&Bound<'py, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<Bound<'py, PyDict>> {
        let (event, options) = (excitation.0.clone(), options(duration, None)?);
        let found = detached(py, || floor_by_source(&*self.0.linear(case)?, &event, &options))?;
        by_source(py, &found)
    }
}

/// Least and greatest wrenches by source as a dict of dicts: "down", "up", "x" and "y", N.
pub(super) fn by_source<'py>(
    py: Python<'py>,
    found: &[(Source, Vec<Extrema>)],
) -> PyResult<Bound<'py, PyDict>> {
    let out = PyDict::new(py);
    for (source, wrench) in found {
        let each = PyDict::new(py);
        let mut parts = wrench.iter();
        for axis in ["x", "y"] {
            let size = |e: &Extrema| e.max.value.abs().max(e.min.value.abs());
            each.set_item(axis, parts.next().map(size))?;
        }
        let z = parts.next();
        each.set_item("down", z.map(|e| (-e.min.value).max(0.0)))?;
        each.set_item("up", z.map(|e| e.max.value.max(0.0)))?;
        out.set_item(source.name(), each)?;
    }
    Ok(out)
}
