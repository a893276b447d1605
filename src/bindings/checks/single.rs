//! Checks that need no installation: friction, lift-off of one mass, fatigue.

use nalgebra::Vector2;
use pyo3::prelude::*;

use super::super::convert;
use super::super::error::to_py;
use super::table::{PyCheck, PyChecks};
use crate::checks::{
    Duty, Seismic, friction_needed, kick_impulse, kick_velocity, snubber_speed, steady_contact,
};
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

/// Horizontal acceleration, part of g, that ASCE/SEI 7-16 section 13.3.1 (from memory) asks of a
/// machine: 0.4 ap SDS / (Rp / Ip) (1 + 2 z / h), within 0.3 and 1.6 SDS Ip.
///
/// Doubled for restraints with a gap above 6.35 mm. For `check_sideways`; the local code and
/// licensed practice govern.
///
/// Parameters
/// ----------
/// sds : float, str or quantity
///     SDS, spectral acceleration for design at short periods, part of g.
/// amplification, response, importance : float
///     ap, Rp and Ip; 2.5 and 2 for a component on vibration isolators, 1.
/// height_ratio : float, str or quantity
///     z / h, 0 at grade, 1 at the roof.
/// gap : float, str or quantity, optional
///     Of the restraints, m; they touch by default.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (sds, *, amplification=2.5, response=2.0, importance=1.0, height_ratio=None, gap=None))]
pub fn seismic_acceleration(
    sds: &Bound<'_, PyAny>,
    amplification: f64,
    response: f64,
    importance: f64,
    height_ratio: Option<&Bound<'_, PyAny>>,
    gap: Option<&Bound<'_, PyAny>>,
) -> PyResult<f64> {
    let read = |value: Option<&Bound<'_, PyAny>>, name, dimension| {
        value.map(|v| convert::scalar(v, name, dimension)).transpose()
    };
    let code = Seismic {
        sds: convert::scalar(sds, "sds", Dimension::RATIO)?,
        amplification,
        response,
        importance,
        height_ratio: read(height_ratio, "height_ratio", Dimension::RATIO)?.unwrap_or(0.0),
        gap: read(gap, "gap", Dimension::LENGTH)?,
    };
    code.acceleration().map_err(to_py)
}

/// Speed, m/s, with which a machine that slides freely meets a snubber: sqrt(2 a gap), a = 0.4 SDS
/// of gravity.
///
/// Parameters
/// ----------
/// gap : float, str or quantity
///     m.
/// sds : float, str or quantity
///     SDS, spectral acceleration for design at short periods, part of g.
/// gravity : float, str or quantity
///     m/s^2; standard gravity by default.
///
/// Returns
/// -------
/// float
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction(name = "snubber_speed")]
#[pyo3(signature = (gap, sds, *, gravity=None))]
pub fn py_snubber_speed(
    gap: &Bound<'_, PyAny>,
    sds: &Bound<'_, PyAny>,
    gravity: Option<&Bound<'_, PyAny>>,
) -> PyResult<f64> {
    let gravity = gravity.map(|g| convert::scalar(g, "gravity", Dimension::ACCELERATION));
    let gravity = gravity.transpose()?.unwrap_or(STANDARD_GRAVITY);
    let gap = convert::scalar(gap, "gap", Dimension::LENGTH)?;
    let sds = convert::scalar(sds, "sds", Dimension::RATIO)?;
    snubber_speed(gap, sds, gravity).map_err(to_py)
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
