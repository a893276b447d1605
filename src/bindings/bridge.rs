//! Short circuits of the mounts, and what they do to an installation.

use pyo3::prelude::*;

use super::body::{axes_or_floor, matrix, vector};
use super::convert::{self, one_or_three, vector3};
use super::detached;
use super::error::to_py;
use super::held::working;
use super::installation::PyInstallation;
use super::results::PyWhatIfBridged;
use super::stop::PyStop;
use super::stored::stored;
use crate::analysis;
use crate::support::Bridge;
use crate::units::Dimension;

/// A pipe, conduit, grout or debris that reaches the floor past the mounts.
///
/// Force on the floor along each principal axis: k (1 + j eta) u + j omega c u.
///
/// Parameters
/// ----------
/// position : (3,)
///     Where it touches the machine, m.
/// stiffness : (3,)
///     Dynamic stiffness along the principal axes, N/m.
/// damping : one or (3,)
///     Viscous damping, N s/m.
/// loss_factor : one or (3,)
///     Loss factor eta of the stiffness.
/// axes : (3, 3), optional
///     Principal axes as columns, in the axes of the floor. See `turned`.
/// static_stiffness : (3,), optional
///     Stiffness against the weight, N/m; by default the dynamic one, as of grout or debris. Zeros
///     for a pipe connected after leveling.
/// name, kind : str
///     Name, and a word for what it is.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Bridge", module = "underfoot")]
pub struct PyBridge(pub Bridge);

#[pymethods]
impl PyBridge {
    #[new]
    #[pyo3(signature = (position, stiffness, damping=None, loss_factor=None, axes=None,
                        static_stiffness=None, name="", kind=""))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        position: &Bound<'_, PyAny>,
        stiffness: &Bound<'_, PyAny>,
        damping: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
        axes: Option<&Bound<'_, PyAny>>,
        static_stiffness: Option<&Bound<'_, PyAny>>,
        name: &str,
        kind: &str,
    ) -> PyResult<Self> {
        let three = |value: &Bound<'_, PyAny>, argument| {
            vector3(value, argument, Dimension::STIFFNESS).map(<[f64; 3]>::from)
        };
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let mut bridge = Bridge::new(position, three(stiffness, "stiffness")?).map_err(to_py)?;
        if let Some(value) = axes {
            bridge = bridge.with_axes(axes_or_floor(Some(value))?).map_err(to_py)?;
        }
        if let Some(value) = damping {
            let c = one_or_three(value, "damping", Dimension::DAMPING)?;
            bridge = bridge.with_damping(c).map_err(to_py)?;
        }
        if let Some(value) = loss_factor {
            let eta = one_or_three(value, "loss_factor", Dimension::RATIO)?;
            bridge = bridge.with_loss_factor(eta).map_err(to_py)?;
        }
        if let Some(value) = static_stiffness {
            let k = three(value, "static_stiffness")?;
            bridge = bridge.with_static_stiffness(k).map_err(to_py)?;
        }
        Ok(Self(bridge.with_name(name, kind)))
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// What it is.
    #[getter]
    fn kind(&self) -> &str {
        &self.0.kind
    }

    /// Where it touches the machine (3,), m.
    #[getter]
    fn position<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.position)
    }

    /// Principal axes (3, 3) as columns.
    #[getter]
    fn axes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, &self.0.axes)
    }

    /// Dynamic stiffness (3,), N/m.
    #[getter]
    fn stiffness<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.stiffness.into())
    }

    /// Stiffness against the weight (3,), N/m.
    #[getter]
    fn static_stiffness<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.static_stiffness.into())
    }

    /// Viscous damping (3,), N s/m.
    #[getter]
    fn damping<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.damping.into())
    }

    /// Loss factor (3,).
    #[getter]
    fn loss_factor<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.loss_factor.into())
    }

    fn __repr__(&self) -> String {
        let b = &self.0;
        format!(
            "Bridge({:?}, {:?}, position=({}, {}, {}) m, stiffness={:?} N/m)",
            b.name, b.kind, b.position.x, b.position.y, b.position.z, b.stiffness
        )
    }
}
stored!(PyBridge, Bridge);

#[pymethods]
impl PyInstallation {
    /// Snubbers and limit stops.
    #[getter]
    fn stops(&self) -> Vec<PyStop> {
        self.0.stops.iter().cloned().map(PyStop).collect()
    }

    /// Short circuits of the mounts that are there.
    #[getter]
    fn bridges(&self) -> Vec<PyBridge> {
        self.0.bridges.iter().cloned().map(PyBridge).collect()
    }

    /// What a short circuit left in does: modes, and vertical force on the floor per unit vertical
    /// force at the center of mass, without and with it.
    ///
    /// Parameters
    /// ----------
    /// bridge : Bridge
    ///     The pipe, conduit, grout or debris.
    /// frequency : (frequency,)
    ///     Hz, ascending, from zero up.
    /// damping_ratio : float, str or quantity, optional
    ///     Of every mode, without and with the bridge; by default the damping of the parts.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// WhatIfBridged
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnknownNameError
    #[pyo3(signature = (bridge, frequency, *, damping_ratio=None, case=None))]
    fn what_if_bridged(
        &self,
        py: Python<'_>,
        bridge: PyRef<'_, PyBridge>,
        frequency: &Bound<'_, PyAny>,
        damping_ratio: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyWhatIfBridged> {
        let frequency = convert::list(frequency, "frequency", Dimension::FREQUENCY)?;
        let zeta = damping_ratio
            .map(|value| convert::scalar(value, "damping_ratio", Dimension::RATIO))
            .transpose()?;
        let bridge = bridge.0.clone();
        detached(py, || {
            let after = working(&self.0.bridged(&bridge)?, case)?.linear();
            let before = self.0.linear(case)?;
            let pair = [before.as_ref(), &after];
            analysis::what_if_bridged(&bridge.name, pair, &frequency, zeta)
        })
        .map(PyWhatIfBridged)
    }
}
