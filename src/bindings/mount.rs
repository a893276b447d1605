//! Mounts and their load ranges.

use pyo3::prelude::*;

use super::allowed::{PyAllowed, listed};
use super::body::{axes_or_floor, matrix, vector};
use super::convert::{one_or_three, scalar, vector3};
use super::curve::PyCurve;
use super::error::to_py;
use super::law::{one_or_three_laws, to_python};
use super::stored::stored;
use crate::error::Error;
use crate::law::Dynamic;
use crate::support::screw::steps;
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

/// The leveling screw of a mount; `Screw.shims` where it is set by shims.
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
        steps_per_turn: i64,
        down: &Bound<'_, PyAny>,
        up: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let length = |value: &Bound<'_, PyAny>, name| scalar(value, name, Dimension::LENGTH);
        let (pitch, down, up) = (length(pitch, "pitch")?, length(down, "down")?, length(up, "up")?);
        let screw = steps(steps_per_turn).and_then(|steps| Screw::new(pitch, steps, down, up));
        screw.map(Self).map_err(to_py)
    }

    /// Shims of one thickness instead of a screw: one step is one shim, and there are no turns.
    ///
    /// Parameters
    /// ----------
    /// thickness : float, str or quantity
    ///     Of one shim, m.
    /// down, up : float, str or quantity
    ///     Height of the shims that can be taken out, and that can be put in, m.
    ///
    /// Returns
    /// -------
    /// Screw
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[staticmethod]
    fn shims(
        thickness: &Bound<'_, PyAny>,
        down: &Bound<'_, PyAny>,
        up: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let length = |value: &Bound<'_, PyAny>, name| scalar(value, name, Dimension::LENGTH);
        let thickness = length(thickness, "thickness")?;
        Screw::shims(thickness, length(down, "down")?, length(up, "up")?).map(Self).map_err(to_py)
    }

    /// Lift in one turn, or thickness of one shim, m.
    #[getter]
    fn pitch(&self) -> f64 {
        self.0.pitch
    }

    /// Steps of one turn that can be set; 1 for shims.
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

    /// True where the foot is set by shims.
    #[getter]
    fn is_shims(&self) -> bool {
        self.0.is_shims
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        if s.is_shims {
            return format!("Screw.shims({} m, down={} m, up={} m)", s.pitch, s.down, s.up);
        }
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
///     Dynamic stiffness along the principal axes, N/m; zero is allowed in a direction, and
///     required (or the whole left out) where an axis has a law.
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
/// law : law or three of them, optional
///     Law of motion of all axes, or of each (None where it has none): `Zener`, `Maxwell`,
///     `FractionalZener`, `TabulatedStiffness` and others. It takes the place of stiffness, damping
///     and loss factor of its axis; its static limit is the static stiffness unless given.
/// rotational_stiffness : one or (3,)
///     About the principal axes, N m/rad.
/// allowed : sequence of Allowed, optional
///     Limits of the part itself.
/// creep_per_decade : float, optional
///     Growth of the static deflection in one decade of time, as a part of it; none by default.
/// curve : Curve, optional
///     Static load over compression along the third axis; the third entries of the stiffnesses are
///     then those of the unloaded curve.
/// dynamic_ratio : float, optional
///     Dynamic stiffness over the tangent of the curve; by default the ratio of the stiffnesses
///     along the third axis.
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
    #[pyo3(signature = (position, stiffness=None, damping=None, loss_factor=None, axes=None,
                        static_stiffness=None, load_range=None, name="", *,
                        rotational_stiffness=None, law=None, allowed=None, creep_per_decade=None,
                        curve=None, dynamic_ratio=None, screw=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        position: &Bound<'_, PyAny>,
        stiffness: Option<&Bound<'_, PyAny>>,
        damping: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
        axes: Option<&Bound<'_, PyAny>>,
        static_stiffness: Option<&Bound<'_, PyAny>>,
        load_range: Option<PyRef<'_, PyLoadRange>>,
        name: &str,
        rotational_stiffness: Option<&Bound<'_, PyAny>>,
        law: Option<&Bound<'_, PyAny>>,
        allowed: Option<Vec<PyRef<'_, PyAllowed>>>,
        creep_per_decade: Option<&Bound<'_, PyAny>>,
        curve: Option<PyRef<'_, PyCurve>>,
        dynamic_ratio: Option<&Bound<'_, PyAny>>,
        screw: Option<PyRef<'_, PyScrew>>,
    ) -> PyResult<Self> {
        let three = |value: &Bound<'_, PyAny>, argument, dimension| {
            vector3(value, argument, dimension).map(<[f64; 3]>::from)
        };
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let laws = law.map_or(Ok([None, None, None]), one_or_three_laws)?;
        let stiffness = match stiffness {
            Some(value) => three(value, "stiffness", Dimension::STIFFNESS)?,
            None if laws.iter().all(Option::is_some) => [0.0; 3],
            None => return Err(to_py(missing_stiffness())),
        };
        for (i, (k, law)) in stiffness.iter().zip(&laws).enumerate() {
            if law.is_some() && *k != 0.0 {
                return Err(to_py(doubled_stiffness(i, *k)));
            }
        }
        let mut mount = Mount::new(position, stiffness)
            .and_then(|mount| mount.with_dynamic(laws))
            .map_err(to_py)?;
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
        if let Some(limits) = allowed {
            mount = mount.with_allowed(limits.iter().map(|limit| limit.0.clone()).collect());
        }
        if let Some(value) = creep_per_decade {
            let creep = scalar(value, "creep_per_decade", Dimension::RATIO)?;
            mount = mount.with_creep_per_decade(creep).map_err(to_py)?;
        }
        let ratio = dynamic_ratio
            .map(|value| scalar(value, "dynamic_ratio", Dimension::RATIO))
            .transpose()?;
        match curve {
            Some(curve) => mount = mount.with_curve(curve.0.clone(), ratio).map_err(to_py)?,
            None if ratio.is_some() => {
                return Err(to_py(Error::invalid(
                    "dynamic_ratio",
                    "given without a curve",
                    "is the ratio of dynamic stiffness to the tangent of a curve",
                    "give curve, or stiffness and static_stiffness",
                )));
            }
            None => {}
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

    /// Law of motion of each axis, None where it has none.
    #[getter]
    fn law(&self, py: Python<'_>) -> PyResult<Vec<Option<Py<PyAny>>>> {
        let one = |law: &Option<Dynamic>| law.as_ref().map(|l| to_python(py, l)).transpose();
        self.0.dynamic.iter().map(one).collect()
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

    /// Static load over compression along the third axis.
    #[getter]
    fn curve(&self) -> Option<PyCurve> {
        self.0.curve.clone().map(PyCurve)
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

    /// Limits of the part itself.
    #[getter]
    fn allowed(&self) -> Vec<PyAllowed> {
        listed(&self.0.allowed)
    }

    /// Growth of the static deflection in one decade of time, as a part of it.
    #[getter]
    fn creep_per_decade(&self) -> f64 {
        self.0.creep_per_decade
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

fn missing_stiffness() -> Error {
    Error::invalid(
        "stiffness",
        "None",
        "must be given where an axis has no law of its own",
        "give (kx, ky, kz) in N/m, or a law for all three axes",
    )
}

fn doubled_stiffness(i: usize, k: f64) -> Error {
    Error::invalid(
        format!("stiffness[{i}]"),
        format!("{k} N/m"),
        "must be zero where the axis has a law of its own",
        "put the stiffness into the law, or leave stiffness out",
    )
}
