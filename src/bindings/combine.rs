//! Supports put together.

use pyo3::prelude::*;

use super::convert::scalar;
use super::error::to_py;
use super::mount::PyMount;
use crate::support::{self, Mount};
use crate::units::Dimension;

fn cores(parts: &[PyRef<'_, PyMount>]) -> Vec<Mount> {
    parts.iter().map(|part| part.0.clone()).collect()
}

fn renamed(mount: Mount, name: Option<&str>) -> PyMount {
    PyMount(match name {
        Some(name) => mount.with_name(name),
        None => mount,
    })
}

/// Supports side by side at one place, as one mount: their stiffnesses add.
///
/// Of mounts; laws of one direction are put together by `Parallel`.
/// Limits become those of the whole by how the parts share the load.
///
/// Parameters
/// ----------
/// parts : sequence of Mount
///     At one position, with one set of axes.
/// name : str, optional
///     Tag; by default the names of the parts.
///
/// Returns
/// -------
/// Mount
///
/// Raises
/// ------
/// InvalidError
#[pyfunction]
#[pyo3(signature = (parts, name=None))]
pub fn parallel(parts: Vec<PyRef<'_, PyMount>>, name: Option<&str>) -> PyResult<PyMount> {
    support::parallel(&cores(&parts)).map(|m| renamed(m, name)).map_err(to_py)
}

/// Supports one on the other, as one mount: their compliances add.
///
/// Of mounts; laws of one direction are put together by `Series`.
/// Limits become those of the whole by how the parts share the deflection.
///
/// Parameters
/// ----------
/// parts : sequence of Mount
///     At one position, with one set of axes.
/// frequency : float, str or quantity, optional
///     Hz; where a part has a dashpot or a law of its own, the whole is frozen at it. Without it the
///     whole then has a law of its own.
/// name : str, optional
///     Tag; by default the names of the parts.
///
/// Returns
/// -------
/// Mount
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyfunction]
#[pyo3(signature = (parts, frequency=None, name=None))]
pub fn series(
    parts: Vec<PyRef<'_, PyMount>>,
    frequency: Option<&Bound<'_, PyAny>>,
    name: Option<&str>,
) -> PyResult<PyMount> {
    let frequency = frequency.map(|v| scalar(v, "frequency", Dimension::FREQUENCY)).transpose()?;
    support::series(&cores(&parts), frequency).map(|m| renamed(m, name)).map_err(to_py)
}
