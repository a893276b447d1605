//! Checks that need no installation: friction, lift-off of one mass, fatigue.

use nalgebra::Vector2;
use pyo3::prelude::*;

use super::super::convert;
use super::super::error::to_py;
use super::table::{PyCheck, PyChecks};
use crate::checks::{Duty, friction_needed, kick_impulse, kick_velocity, steady_contact};
use crate::error::Error;
use crate::installation::STANDARD_GRAVITY;
use crate::units::Dimension;

/// Least coefficient of friction at which feet hold a horizontal force and a yaw moment together.
///
/// max over sliding motions (v, w) of (H . v + M w) / sum of N_i |v + w e_z x r_i|: the limit
/// surface of feet that share by slipping.
///
/// Parameters
/// ----------
/// position : (foot, 2)
///     x and y of each foot, m.
/// load : (foot,)
///     What each presses with, N; not negative.
/// force : (2,)
///     Horizontal force, N.
/// yaw : float, str or quantity
///     Yaw moment about the origin, N m.
///
/// Returns
/// -------
/// float
///     Infinite where no friction holds it.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyfunction(name = "friction_needed")]
pub fn py_friction_needed(
    position: Vec<Bound<'_, PyAny>>,
    load: &Bound<'_, PyAny>,
    force: &Bound<'_, PyAny>,
    yaw: &Bound<'_, PyAny>,
) -> PyResult<f64> {
    let two = |value: &Bound<'_, PyAny>, name: &str, dimension| -> PyResult<Vector2<f64>> {
        let list = convert::list(value, name, dimension)?;
        let two: [f64; 2] =
            list.try_into().map_err(|_| convert::shape(value, name, "(2,): x, y"))?;
        Ok(Vector2::from(two))
    };
    let loads = convert::list(load, "load", Dimension::FORCE)?;
    crate::error::each(crate::error::not_negative, "load", &loads, "N").map_err(to_py)?;
    if loads.len() != position.len() {
        return Err(convert::shape(load, "load", &format!("({},)", position.len())));
    }
    let mut feet = Vec::new();
    for (i, (at, load)) in position.iter().zip(loads).enumerate() {
        feet.push((two(at, &format!("position[{i}]"), Dimension::LENGTH)?, load));
    }
    let force = two(force, "force", Dimension::FORCE)?;
    Ok(friction_needed(&feet, force, convert::scalar(yaw, "yaw", Dimension::MOMENT)?))
}

/// First look at lift-off, one undamped degree of freedom on its static deflection: a kick by a
/// velocity, v0 <= g / omega; a short impulse on a mass, I <= m g / omega; a steady force,
/// F0 / |1 - (f / f_n)^2| <= m g.
///
/// Parameters
/// ----------
/// natural_frequency : float, str or quantity
///     Hz.
/// velocity, impulse, force, frequency, mass : float, str or quantity, optional
///     m/s, N s, N, Hz, kg. An impulse needs the mass; a force needs mass and frequency.
/// gravity : float, str or quantity, optional
///     m/s^2.
///
/// Returns
/// -------
/// Checks
///     One for each of velocity, impulse and force that is given.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (natural_frequency, *, velocity=None, impulse=None, force=None, frequency=None, mass=None, gravity=None))]
#[allow(clippy::too_many_arguments)] // one keyword each, as users write them
pub fn lift_off_checks(
    natural_frequency: &Bound<'_, PyAny>,
    velocity: Option<&Bound<'_, PyAny>>,
    impulse: Option<&Bound<'_, PyAny>>,
    force: Option<&Bound<'_, PyAny>>,
    frequency: Option<&Bound<'_, PyAny>>,
    mass: Option<&Bound<'_, PyAny>>,
    gravity: Option<&Bound<'_, PyAny>>,
) -> PyResult<PyChecks> {
    let read = |value: Option<&Bound<'_, PyAny>>, name: &str, dimension| {
        value.map(|v| convert::scalar(v, name, dimension)).transpose()
    };
    let needed = |value: Option<f64>, name: &str| {
        value.ok_or_else(|| {
            to_py(Error::invalid(name, "not given", "is needed for this check", "give it"))
        })
    };
    let natural = convert::scalar(natural_frequency, "natural_frequency", Dimension::FREQUENCY)?;
    let gravity = read(gravity, "gravity", Dimension::ACCELERATION)?.unwrap_or(STANDARD_GRAVITY);
    let mass = read(mass, "mass", Dimension::MASS)?;
    let frequency = read(frequency, "frequency", Dimension::FREQUENCY)?;
    let mut all = Vec::new();
    if let Some(v0) = read(velocity, "velocity", Dimension::VELOCITY)? {
        all.push(kick_velocity(v0, natural, gravity).map_err(to_py)?);
    }
    if let Some(impulse) = read(impulse, "impulse", Dimension::IMPULSE)? {
        let mass = needed(mass, "mass")?;
        all.push(kick_impulse(impulse, mass, natural, gravity).map_err(to_py)?);
    }
    if let Some(force) = read(force, "force", Dimension::FORCE)? {
        let weight = needed(mass, "mass")? * gravity;
        let f = needed(frequency, "frequency")?;
        all.push(steady_contact(force, f, natural, weight).map_err(to_py)?);
    }
    Ok(PyChecks(all))
}

/// Strokes in service against the strokes that mounts, anchors or welds bear.
///
/// Parameters
/// ----------
/// stroke_rate_spm : float
///     Strokes a minute while it runs.
/// years : float
///     Years of service.
/// endurance : float
///     Strokes that the parts bear.
/// hours_per_day, utilization, days_per_year : float
///     24 h, 0.7 and 365 by default: 40 spm make 14.7 million strokes a year.
///
/// Returns
/// -------
/// Check
///
/// Raises
/// ------
/// InvalidError
#[pyfunction]
#[pyo3(signature = (stroke_rate_spm, years, endurance, *, hours_per_day=24.0, utilization=0.7, days_per_year=365.0))]
pub fn fatigue_check(
    stroke_rate_spm: f64,
    years: f64,
    endurance: f64,
    hours_per_day: f64,
    utilization: f64,
    days_per_year: f64,
) -> PyResult<PyCheck> {
    let duty = Duty { stroke_rate_spm, hours_per_day, utilization, days_per_year };
    duty.fatigue(years, endurance).map(PyCheck).map_err(to_py)
}
