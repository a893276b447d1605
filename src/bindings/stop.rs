//! Snubbers and limit stops.

use pyo3::prelude::*;

use super::body::vector;
use super::convert::{direction as direction_of, scalar, vector3};
use super::error::to_py;
use super::stored::stored;
use crate::support::{Rebound, Stop, rebound};
use crate::units::Dimension;

/// A snubber or limit stop: a second stiffness behind a gap.
///
/// Static loads find it open or touching; small motions about that state meet no stiffness or all
/// of it. See `snubber_rebound` for a machine thrown against it.
///
/// Parameters
/// ----------
/// position : (3,)
///     Where it touches the machine, m.
/// direction : "x", "y", "z" (with a minus sign if wanted) or a unit vector (3,)
///     Motion of the machine that closes the gap.
/// gap : float, str or quantity
///     Way to go from the unloaded height of the mounts, m.
/// stiffness : float, str or quantity
///     In contact, N/m.
/// gap_behind : float, str or quantity, optional
///     Way to go the other way, m; by default it stops one way only.
/// damping, loss_factor : float, str or quantity
///     In contact, N s/m and 1.
/// name : str
///     Name; by default its number.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Stop", module = "underfoot")]
pub struct PyStop(pub Stop);

#[pymethods]
impl PyStop {
    #[new]
    #[pyo3(signature = (position, direction, gap, stiffness, gap_behind=None, damping=None,
                        loss_factor=None, name=""))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        position: &Bound<'_, PyAny>,
        direction: &Bound<'_, PyAny>,
        gap: &Bound<'_, PyAny>,
        stiffness: &Bound<'_, PyAny>,
        gap_behind: Option<&Bound<'_, PyAny>>,
        damping: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
        name: &str,
    ) -> PyResult<Self> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let direction = direction_of(direction, "direction")?;
        let gap = scalar(gap, "gap", Dimension::LENGTH)?;
        let stiffness = scalar(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let mut stop = Stop::new(position, direction, gap, stiffness).map_err(to_py)?;
        if let Some(value) = gap_behind {
            let gap = scalar(value, "gap_behind", Dimension::LENGTH)?;
            stop = stop.with_gap_behind(gap).map_err(to_py)?;
        }
        if let Some(value) = damping {
            let c = scalar(value, "damping", Dimension::DAMPING)?;
            stop = stop.with_damping(c).map_err(to_py)?;
        }
        if let Some(value) = loss_factor {
            let eta = scalar(value, "loss_factor", Dimension::RATIO)?;
            stop = stop.with_loss_factor(eta).map_err(to_py)?;
        }
        Ok(Self(stop.with_name(name)))
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Where it touches the machine (3,), m.
    #[getter]
    fn position<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.position)
    }

    /// Motion of the machine that closes the gap (3,), a unit vector.
    #[getter]
    fn direction<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.direction)
    }

    /// Way to go, m.
    #[getter]
    fn gap(&self) -> f64 {
        self.0.gap
    }

    /// Way to go the other way, m.
    #[getter]
    fn gap_behind(&self) -> Option<f64> {
        self.0.gap_behind
    }

    /// Stiffness in contact, N/m.
    #[getter]
    fn stiffness(&self) -> f64 {
        self.0.stiffness
    }

    /// Viscous damping in contact, N s/m.
    #[getter]
    fn damping(&self) -> f64 {
        self.0.damping
    }

    /// Loss factor in contact.
    #[getter]
    fn loss_factor(&self) -> f64 {
        self.0.loss_factor
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        let behind = s.gap_behind.map_or(String::new(), |g| format!(", gap_behind={g} m"));
        format!(
            "Stop({:?}, position=({}, {}, {}) m, direction=({}, {}, {}), gap={} m{behind}, \
             stiffness={} N/m)",
            s.name,
            s.position.x,
            s.position.y,
            s.position.z,
            s.direction.x,
            s.direction.y,
            s.direction.z,
            s.gap,
            s.stiffness
        )
    }
}
stored!(PyStop, Stop);

/// How far a moving mass goes against a mount and a stop; see `snubber_rebound`.
#[pyclass(frozen, name = "Rebound", module = "underfoot")]
pub struct PyRebound(pub Rebound);

#[pymethods]
impl PyRebound {
    /// Greatest deflection, m.
    #[getter]
    fn deflection(&self) -> f64 {
        self.0.deflection
    }

    /// Force of mount and stop at it, N.
    #[getter]
    fn force(&self) -> f64 {
        self.0.force
    }

    /// Force of the mount alone without a stop, N.
    #[getter]
    fn force_without_stop(&self) -> f64 {
        self.0.force_without_stop
    }

    /// True if the stop is reached.
    #[getter]
    fn touches(&self) -> bool {
        self.0.touches
    }

    fn __repr__(&self) -> String {
        let r = &self.0;
        format!(
            "Rebound(deflection={} m, force={} N, force_without_stop={} N, touches={})",
            r.deflection,
            r.force,
            r.force_without_stop,
            if r.touches { "True" } else { "False" }
        )
    }
}
stored!(PyRebound, Rebound);

/// Rebound of a moving mass from a mount with a stop behind a gap, undamped.
///
/// k1 x^2 / 2 + k2 (x - g)^2 / 2 = m v^2 / 2, F = k1 x + k2 (x - g); x from the position at rest.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg.
/// stiffness, stop_stiffness : float, str or quantity
///     Of the mount and of the stop, N/m.
/// gap : float, str or quantity
///     m.
/// speed : float, str or quantity
///     m/s.
///
/// Returns
/// -------
/// Rebound
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
pub fn snubber_rebound(
    mass: &Bound<'_, PyAny>,
    stiffness: &Bound<'_, PyAny>,
    stop_stiffness: &Bound<'_, PyAny>,
    gap: &Bound<'_, PyAny>,
    speed: &Bound<'_, PyAny>,
) -> PyResult<PyRebound> {
    rebound(
        scalar(mass, "mass", Dimension::MASS)?,
        scalar(stiffness, "stiffness", Dimension::STIFFNESS)?,
        scalar(stop_stiffness, "stop_stiffness", Dimension::STIFFNESS)?,
        scalar(gap, "gap", Dimension::LENGTH)?,
        scalar(speed, "speed", Dimension::VELOCITY)?,
    )
    .map(PyRebound)
    .map_err(to_py)
}
