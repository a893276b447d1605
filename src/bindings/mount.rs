//! Mounts and their load ranges.

use pyo3::prelude::*;

use super::body::{axes_or_floor, matrix, vector};
use super::convert::{one_or_three, scalar, vector3};
use super::error::to_py;
use super::stored::stored;
use crate::support::{LoadRange, Mount, Screw};
use crate::units::Dimension;

/// The vertical load that a mount may carry.
///
/// Parameters
/// ----------
/// min, max : float, str or quantity, optional
///     Least and greatest static load, N.
/// dynamic_max : float, str or quantity, optional
///     Greatest static plus dynamic load, N.
#[pyclass(frozen, name = "LoadRange", module = "underfoot")]
pub struct PyLoadRange(pub LoadRange);

#[pymethods]
impl PyLoadRange {
    #[new]
    #[pyo3(signature = (min=None, max=None, dynamic_max=None))]
    fn new(
        min: Option<&Bound<'_, PyAny>>,
        max: Option<&Bound<'_, PyAny>>,
        dynamic_max: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let force = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map(|v| scalar(v, name, Dimension::FORCE)).transpose()
        };
        LoadRange::new(force(min, "min")?, force(max, "max")?, force(dynamic_max, "dynamic_max")?)
            .map(Self)
            .map_err(to_py)
    }

    /// Least static load, N.
    #[getter]
    fn min(&self) -> Option<f64> {
        self.0.min
    }

    /// Greatest static load, N.
    #[getter]
    fn max(&self) -> Option<f64> {
        self.0.max
    }

    /// Greatest static plus dynamic load, N.
    #[getter]
    fn dynamic_max(&self) -> Option<f64> {
        self.0.dynamic_max
    }

    fn __repr__(&self) -> String {
        let show = |x: Option<f64>| x.map_or("None".to_owned(), |x| format!("{x} N"));
        format!(
            "LoadRange(min={}, max={}, dynamic_max={})",
            show(self.0.min),
            show(self.0.max),
            show(self.0.dynamic_max)
        )
    }
}
stored!(PyLoadRange, LoadRange);

/// The leveling screw of a mount.
///
/// Parameters
/// ----------
/// pitch : float, str or quantity
///     Lift in one turn, m.
/// steps_per_turn : int
///     Steps of one turn that can be set: 8 for eighth turns, 6 for the flats of a hexagon.
/// down, up : float, str or quantity
///     Travel left each way from where it stands, m, positive.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "Screw", module = "underfoot")]
pub struct PyScrew(pub Screw);

#[pymethods]
impl PyScrew {
    #[new]
    fn new(
        pitch: &Bound<'_, PyAny>,
        steps_per_turn: u32,
        down: &Bound<'_, PyAny>,
        up: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let length = |value: &Bound<'_, PyAny>, name| scalar(value, name, Dimension::LENGTH);
        let (pitch, down, up) = (length(pitch, "pitch")?, length(down, "down")?, length(up, "up")?);
        Screw::new(pitch, steps_per_turn, down, up).map(Self).map_err(to_py)
    }

    /// Lift in one turn, m.
    #[getter]
    fn pitch(&self) -> f64 {
        self.0.pitch
    }

    /// Steps of one turn that can be set.
    #[getter]
    fn steps_per_turn(&self) -> u32 {
        self.0.steps_per_turn
    }

    /// Travel left downward, m.
    #[getter]
    fn down(&self) -> f64 {
        self.0.down
    }

    /// Travel left upward, m.
    #[getter]
    fn up(&self) -> f64 {
        self.0.up
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        format!(
            "Screw(pitch={} m, steps_per_turn={}, down={} m, up={} m)",
            s.pitch, s.steps_per_turn, s.down, s.up
        )
    }
}
stored!(PyScrew, Screw);

/// A mount: three principal stiffnesses at a position.
///
/// Force on the floor along each principal axis: k (1 + j eta) u + j omega c u.
///
/// Parameters
/// ----------
/// position : (3,)
///     Where the machine sits on it, m.
/// stiffness : (3,)
///     Dynamic stiffness along the principal axes, N/m; zero is allowed in a direction.
/// damping : one or (3,)
///     Viscous damping, N s/m.
/// loss_factor : one or (3,)
///     Loss factor eta of the stiffness.
/// axes : (3, 3), optional
///     Principal axes as columns, in the axes of the floor. See `turned`.
/// static_stiffness : (3,), optional
///     Stiffness under a load that stays, N/m; by default the dynamic one.
/// load_range : LoadRange, optional
///     Vertical load it may carry.
/// name : str
///     Tag; by default its number.
/// rotational_stiffness : one or (3,)
///     About the principal axes, N m/rad.
/// screw : Screw, optional
///     Its leveling screw.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Mount", module = "underfoot")]
pub struct PyMount(pub Mount);

#[pymethods]
impl PyMount {
    #[new]
    #[pyo3(signature = (position, stiffness, damping=None, loss_factor=None, axes=None,
                        static_stiffness=None, load_range=None, name="", *,
                        rotational_stiffness=None, screw=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        position: &Bound<'_, PyAny>,
        stiffness: &Bound<'_, PyAny>,
        damping: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
        axes: Option<&Bound<'_, PyAny>>,
        static_stiffness: Option<&Bound<'_, PyAny>>,
        load_range: Option<PyRef<'_, PyLoadRange>>,
        name: &str,
        rotational_stiffness: Option<&Bound<'_, PyAny>>,
        screw: Option<PyRef<'_, PyScrew>>,
    ) -> PyResult<Self> {
        let three = |value: &Bound<'_, PyAny>, argument, dimension| {
            vector3(value, argument, dimension).map(<[f64; 3]>::from)
        };
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let stiffness = three(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let mut mount = Mount::new(position, stiffness).map_err(to_py)?;
        if let Some(value) = axes {
            mount = mount.with_axes(axes_or_floor(Some(value))?).map_err(to_py)?;
        }
        if let Some(value) = damping {
            let c = one_or_three(value, "damping", Dimension::DAMPING)?;
            mount = mount.with_damping(c).map_err(to_py)?;
        }
        if let Some(value) = loss_factor {
            let eta = one_or_three(value, "loss_factor", Dimension::RATIO)?;
            mount = mount.with_loss_factor(eta).map_err(to_py)?;
        }
        if let Some(value) = static_stiffness {
            let k = three(value, "static_stiffness", Dimension::STIFFNESS)?;
            mount = mount.with_static_stiffness(k).map_err(to_py)?;
        }
        if let Some(value) = rotational_stiffness {
            let k = one_or_three(value, "rotational_stiffness", Dimension::ROTATIONAL_STIFFNESS)?;
            mount = mount.with_rotational_stiffness(k).map_err(to_py)?;
        }
        if let Some(range) = load_range {
            mount = mount.with_load_range(range.0);
        }
        if let Some(screw) = screw {
            mount = mount.with_screw(screw.0);
        }
        Ok(Self(mount.with_name(name)))
    }

    /// Tag.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Where the machine sits on it (3,), m.
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

    /// Static stiffness (3,), N/m.
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

    /// Rotational stiffness (3,), N m/rad.
    #[getter]
    fn rotational_stiffness<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.rotational_stiffness.into())
    }

    /// Vertical load it may carry.
    #[getter]
    fn load_range(&self) -> PyLoadRange {
        PyLoadRange(self.0.load_range)
    }

    /// Its leveling screw, if it has one.
    #[getter]
    fn screw(&self) -> Option<PyScrew> {
        self.0.screw.map(PyScrew)
    }

    fn __repr__(&self) -> String {
        let m = &self.0;
        format!(
            "Mount({:?}, position=({}, {}, {}) m, stiffness={:?} N/m, damping={:?} N s/m, \
             loss_factor={:?})",
            m.name, m.position.x, m.position.y, m.position.z, m.stiffness, m.damping, m.loss_factor
        )
    }
}
stored!(PyMount, Mount);
