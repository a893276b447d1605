//! Dies and the rolling bolster.

use nalgebra::Vector3;
use pyo3::prelude::*;

use super::body::{PyRigidBody, vector};
use super::convert::{direction, scalar, vector3};
use super::error::to_py;
use super::stored::stored;
use super::wrench::PyCase;
use crate::installation::Case;
use crate::machine::{Die, DieSet, RigidBody, RollingBolster};
use crate::units::Dimension;

/// A die, or a set of tools that is changed as one.
///
/// Parameters
/// ----------
/// name : str
///     "progressive die"; also the name of its load case.
/// mass : float, str or quantity
///     kg.
/// center : (3,)
///     Center of mass where it runs, m.
/// size : (3,), optional
///     Sides along x, y, z, m; a point without it.
/// off_center : (3,), optional
///     How far off its center it may stand, m: one more load case.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "Die", module = "underfoot")]
pub struct PyDie(pub Die);

#[pymethods]
impl PyDie {
    #[new]
    #[pyo3(signature = (name, mass, center, size=None, off_center=None))]
    fn new(
        name: &str,
        mass: &Bound<'_, PyAny>,
        center: &Bound<'_, PyAny>,
        size: Option<&Bound<'_, PyAny>>,
        off_center: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mass = scalar(mass, "mass", Dimension::MASS)?;
        let center = vector3(center, "center", Dimension::LENGTH)?;
        let die = Die::new(name, mass, center, sides(size)?).map_err(to_py)?;
        let Some(off) = off_center else { return Ok(Self(die)) };
        let off = vector3(off, "off_center", Dimension::LENGTH)?;
        die.with_off_center(off).map(Self).map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Mass, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// Center of mass where it runs (3,), m.
    #[getter]
    fn center<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.center)
    }

    /// Sides along x, y, z (3,), m; None for a point.
    #[getter]
    fn size<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.size.map(|size| vector(py, &size.into())).transpose()
    }

    /// How far off its center it may stand (3,), m; None where it stands there.
    #[getter]
    fn off_center<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        self.0.off_center.as_ref().map(|off| vector(py, off)).transpose()
    }

    fn __repr__(&self) -> String {
        let (d, c) = (&self.0, &self.0.center);
        format!("Die({:?}, mass={} kg, center=({}, {}, {}) m)", d.name, d.mass, c.x, c.y, c.z)
    }
}
stored!(PyDie, Die);

/// Dies of which one is in at a time.
///
/// Parameters
/// ----------
/// dies : sequence of Die
///     Each under its own name.
/// mounted : str, optional
///     Name of the die that the machine as it runs holds already.
///
/// Raises
/// ------
/// InvalidError, UnknownNameError
#[pyclass(frozen, name = "DieSet", module = "underfoot")]
pub struct PyDieSet(pub DieSet);

#[pymethods]
impl PyDieSet {
    #[new]
    #[pyo3(signature = (dies, mounted=None))]
    fn new(dies: Vec<PyRef<'_, PyDie>>, mounted: Option<&str>) -> PyResult<Self> {
        let dies = dies.iter().map(|d| d.0.clone()).collect();
        DieSet::new(dies, mounted).map(Self).map_err(to_py)
    }

    /// The dies.
    #[getter]
    fn dies(&self) -> Vec<PyDie> {
        self.0.dies.iter().cloned().map(PyDie).collect()
    }

    /// Name of the die that the machine as it runs holds; None for none.
    #[getter]
    fn mounted(&self) -> Option<&str> {
        self.0.mounted.as_deref()
    }

    /// The heaviest die; None without dies.
    #[getter]
    fn heaviest(&self) -> Option<PyDie> {
        self.0.heaviest().cloned().map(PyDie)
    }

    /// The lightest die; None without dies.
    #[getter]
    fn lightest(&self) -> Option<PyDie> {
        self.0.lightest().cloned().map(PyDie)
    }

    /// Load cases: without die, with each die, with each off center where it may be.
    ///
    /// Dies are lifted into place: nobody under a load, slide blocked and drive locked out, lifting
    /// by trained people under local codes.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine as it runs; its own case is not repeated.
    ///
    /// Returns
    /// -------
    /// list of Case
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If the machine does not contain the die that it is said to hold.
    fn cases(&self, body: PyRef<'_, PyRigidBody>) -> PyResult<Vec<PyCase>> {
        let variants = self.0.variants(&body.0).map_err(to_py)?;
        Ok(variants.into_iter().map(case).collect())
    }

    /// The machine without any die.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine as it runs.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn without_die(&self, body: PyRef<'_, PyRigidBody>) -> PyResult<PyRigidBody> {
        self.0.without_die(&body.0).map(PyRigidBody).map_err(to_py)
    }

    /// The machine with one die in place of any other.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine as it runs.
    /// name : str
    ///     Name of the die.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    fn with_die(&self, body: PyRef<'_, PyRigidBody>, name: &str) -> PyResult<PyRigidBody> {
        self.0.with_die(&body.0, name).map(PyRigidBody).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let total: Vec<_> =
            self.0.dies.iter().map(|d| format!("{:?} {} kg", d.name, d.mass)).collect();
        format!("DieSet({})", total.join(", "))
    }
}
stored!(PyDieSet, DieSet);

/// A bolster that rolls out of the machine, which contains it as it runs.
///
/// On two axles, `wheel_base` apart. While both stand on the press its load moves with it; once the
/// leading axle is past the end of the rails the trailing one carries its share alone.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg, without dies.
/// center : (3,)
///     Center of mass when it is in, m.
/// direction : "x", "-x", "y", "-y" or a horizontal unit vector (3,)
///     Where it rolls out.
/// travel : float, str or quantity
///     How far it rolls, m.
/// wheel_base : float, str or quantity
///     Distance between its axles, m.
/// rails : sequence of (3,)
///     Ends of the rails on the press, m: where the rails outside begin.
/// size : (3,), optional
///     Sides along x, y, z, m; a point without it.
/// carries : sequence of Die
///     Dies that leave with it; the machine contains them.
/// name : str
///     Start of the names of its load cases.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "RollingBolster", module = "underfoot")]
pub struct PyRollingBolster(pub RollingBolster);

#[pymethods]
impl PyRollingBolster {
    #[new]
    #[pyo3(signature = (mass, center, direction, travel, wheel_base, rails, *, size=None,
                        carries=vec![], name="bolster"))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        mass: &Bound<'_, PyAny>,
        center: &Bound<'_, PyAny>,
        direction: &Bound<'_, PyAny>,
        travel: &Bound<'_, PyAny>,
        wheel_base: &Bound<'_, PyAny>,
        rails: Vec<Bound<'_, PyAny>>,
        size: Option<&Bound<'_, PyAny>>,
        carries: Vec<PyRef<'_, PyDie>>,
        name: &str,
    ) -> PyResult<Self> {
        let rail = |(i, at)| vector3(at, &format!("rails[{i}]"), Dimension::LENGTH);
        RollingBolster {
            name: name.into(),
            mass: scalar(mass, "mass", Dimension::MASS)?,
            center: vector3(center, "center", Dimension::LENGTH)?,
            size: sides(size)?,
            direction: self::direction(direction, "direction")?,
            travel: scalar(travel, "travel", Dimension::LENGTH)?,
            wheel_base: scalar(wheel_base, "wheel_base", Dimension::LENGTH)?,
            rails: rails.iter().enumerate().map(rail).collect::<PyResult<_>>()?,
            carries: carries.iter().map(|d| d.0.clone()).collect(),
        }
        .checked()
        .map(Self)
        .map_err(to_py)
    }

    /// Name.
    #[getter]
    fn name(&self) -> &str {
        &self.0.name
    }

    /// Mass with the dies it carries, kg.
    #[getter]
    fn load(&self) -> f64 {
        self.0.load()
    }

    /// How far it rolls, m.
    #[getter]
    fn travel(&self) -> f64 {
        self.0.travel
    }

    /// Distance from its middle, when it is in, to the end of the rails on the press, m.
    #[getter]
    fn rail_end(&self) -> f64 {
        self.0.rail_end()
    }

    /// Places worth a load case: (name, distance rolled in m).
    #[getter]
    fn places(&self) -> Vec<(String, f64)> {
        self.0.places()
    }

    /// Load cases at `places`: leading axle at the end of the rails, half way, on the last axle, out.
    ///
    /// Rolling loads crush: nobody between bolster and machine, slide blocked and drive locked out,
    /// under local codes.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine with the bolster and the dies it carries.
    ///
    /// Returns
    /// -------
    /// list of Case
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If the machine does not contain them.
    fn cases(&self, body: PyRef<'_, PyRigidBody>) -> PyResult<Vec<PyCase>> {
        let rolled = |(name, distance)| Ok((name, self.0.rolled(&body.0, distance)?));
        let places: crate::Result<Vec<_>> = self.0.places().into_iter().map(rolled).collect();
        Ok(places.map_err(to_py)?.into_iter().map(case).collect())
    }

    /// The machine once the bolster has rolled a distance.
    ///
    /// Parameters
    /// ----------
    /// body : RigidBody
    ///     The machine with the bolster and the dies it carries.
    /// distance : float, str or quantity
    ///     m, from 0 (in) to `travel` (out).
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn rolled(
        &self,
        body: PyRef<'_, PyRigidBody>,
        distance: &Bound<'_, PyAny>,
    ) -> PyResult<PyRigidBody> {
        let distance = scalar(distance, "distance", Dimension::LENGTH)?;
        self.0.rolled(&body.0, distance).map(PyRigidBody).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        let b = &self.0;
        format!("RollingBolster({:?}, load={} kg, travel={} m)", b.name, b.load(), b.travel)
    }
}
stored!(PyRollingBolster, RollingBolster);

fn sides(size: Option<&Bound<'_, PyAny>>) -> PyResult<Option<[f64; 3]>> {
    let sides: Option<Vector3<f64>> =
        size.map(|s| vector3(s, "size", Dimension::LENGTH)).transpose()?;
    Ok(sides.map(Into::into))
}

fn case((name, body): (String, RigidBody)) -> PyCase {
    PyCase(Case { name, body, loads: Vec::new() })
}
