//! Rigid body and its parts.

use nalgebra::{Matrix3, Vector3};
use pyo3::prelude::*;

use super::convert::{matrix3, scalar, tensor, vector3};
use super::error::to_py;
use super::labeled::array;
use super::stored::stored;
use crate::machine::{Cuboid, Cylinder, Part, PointMass, RigidBody, body};
use crate::units::Dimension;

/// Rotation matrix (3, 3) that turns by angles about x, then y, then z of the floor.
///
/// R = R_z R_y R_x. Its columns are where the axes of the turned part point; use it as `axes` of a
/// part or mount.
///
/// Parameters
/// ----------
/// about_x, about_y, about_z : float, str or quantity
///     Angles, rad.
#[pyfunction]
#[pyo3(signature = (about_x=None, about_y=None, about_z=None))]
pub fn turned<'py>(
    py: Python<'py>,
    about_x: Option<&Bound<'py, PyAny>>,
    about_y: Option<&Bound<'py, PyAny>>,
    about_z: Option<&Bound<'py, PyAny>>,
) -> PyResult<Bound<'py, PyAny>> {
    let angle = |value: Option<&Bound<'py, PyAny>>, name| {
        value.map_or(Ok(0.0), |v| scalar(v, name, Dimension::ANGLE))
    };
    let r = body::turned(
        angle(about_x, "about_x")?,
        angle(about_y, "about_y")?,
        angle(about_z, "about_z")?,
    );
    matrix(py, &r)
}

/// A rigid body: mass, center of mass and inertia.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg; greater than zero.
/// center : (3,)
///     Center of mass, m.
/// inertia : (3,) or (3, 3)
///     Moments, or tensor, about the center of mass, kg m^2. Off-diagonals are MINUS the products
///     of inertia. Must be positive definite, and no principal moment may exceed the sum of the
///     other two.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError
#[pyclass(frozen, name = "RigidBody", module = "underfoot")]
pub struct PyRigidBody(pub RigidBody);

#[pymethods]
impl PyRigidBody {
    #[new]
    fn new(
        mass: &Bound<'_, PyAny>,
        center: &Bound<'_, PyAny>,
        inertia: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        RigidBody::new(
            scalar(mass, "mass", Dimension::MASS)?,
            vector3(center, "center", Dimension::LENGTH)?,
            tensor(inertia, "inertia", Dimension::INERTIA)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// The body made of parts, joined rigidly.
    ///
    /// Masses add; inertias are moved to the common center of mass (Huygens-Steiner).
    ///
    /// Parameters
    /// ----------
    /// parts : sequence of Box, Cylinder, PointMass or RigidBody
    ///     At least one.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError
    #[staticmethod]
    fn from_parts(parts: Vec<Bound<'_, PyAny>>) -> PyResult<Self> {
        RigidBody::from_parts(&list(&parts)?).map(Self).map_err(to_py)
    }

    /// This body with parts added (a die, a bolster with its load).
    ///
    /// Parameters
    /// ----------
    /// parts : sequence of Box, Cylinder, PointMass or RigidBody
    ///     What is added.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn with_parts(&self, parts: Vec<Bound<'_, PyAny>>) -> PyResult<Self> {
        self.0.with_parts(&list(&parts)?).map(Self).map_err(to_py)
    }

    /// This body with parts taken away (the die out, the bolster rolled out).
    ///
    /// Parameters
    /// ----------
    /// parts : sequence of Box, Cylinder, PointMass or RigidBody
    ///     What is taken away; what remains must be a body that can exist.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn without_parts(&self, parts: Vec<Bound<'_, PyAny>>) -> PyResult<Self> {
        self.0.without_parts(&list(&parts)?).map(Self).map_err(to_py)
    }

    /// The same body turned about the origin, then moved.
    ///
    /// Parameters
    /// ----------
    /// offset : (3,)
    ///     How far it is moved, m.
    /// axes : (3, 3), optional
    ///     Where its x, y, z point, as columns; by default not turned. See `turned`.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    #[pyo3(signature = (offset, axes=None))]
    fn placed(&self, offset: &Bound<'_, PyAny>, axes: Option<&Bound<'_, PyAny>>) -> PyResult<Self> {
        let offset = vector3(offset, "offset", Dimension::LENGTH)?;
        self.0.placed(&offset, &axes_or_floor(axes)?).map(Self).map_err(to_py)
    }

    /// The same body described in another frame; the inverse of `placed`.
    ///
    /// Parameters
    /// ----------
    /// origin : (3,)
    ///     Origin of the other frame, m.
    /// axes : (3, 3), optional
    ///     Axes of the other frame as columns; by default those of the floor. See `turned`.
    ///
    /// Returns
    /// -------
    /// RigidBody
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    #[pyo3(signature = (origin, axes=None))]
    fn in_frame(
        &self,
        origin: &Bound<'_, PyAny>,
        axes: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let origin = vector3(origin, "origin", Dimension::LENGTH)?;
        self.0.in_frame(&origin, &axes_or_floor(axes)?).map(Self).map_err(to_py)
    }

    /// Inertia tensor (3, 3) about a point, kg m^2.
    ///
    /// Off-diagonals are minus the products of inertia.
    ///
    /// Parameters
    /// ----------
    /// point : (3,)
    ///     m.
    ///
    /// Returns
    /// -------
    /// array (3, 3)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn inertia_about<'py>(
        &self,
        py: Python<'py>,
        point: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, &self.0.inertia_about(&vector3(point, "point", Dimension::LENGTH)?))
    }

    /// Mass, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass()
    }

    /// Center of mass (3,), m.
    #[getter]
    fn center<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, self.0.center())
    }

    /// Inertia tensor (3, 3) about the center of mass, kg m^2; off-diagonals are minus the products
    /// of inertia.
    #[getter]
    fn inertia<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, self.0.inertia())
    }

    /// Principal moments of inertia (3,), kg m^2, each about the axis nearest x, y, z.
    #[getter]
    fn principal_moments<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.principal().0)
    }

    /// Principal axes of inertia (3, 3) as columns.
    #[getter]
    fn principal_axes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, &self.0.principal().1)
    }

    fn __repr__(&self) -> String {
        let (c, j) = (self.0.center(), self.0.inertia());
        format!(
            "RigidBody(mass={} kg, center=({}, {}, {}) m, Ixx={:.6} Iyy={:.6} Izz={:.6} kg m^2, \
             Ixy={:.6} Ixz={:.6} Iyz={:.6})",
            self.0.mass(),
            c.x,
            c.y,
            c.z,
            j[(0, 0)],
            j[(1, 1)],
            j[(2, 2)],
            j[(0, 1)],
            j[(0, 2)],
            j[(1, 2)],
        )
    }
}
stored!(PyRigidBody, RigidBody);

/// A homogeneous box.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg.
/// size : (3,)
///     Sides along its own x, y, z, m.
/// center : (3,)
///     m.
/// axes : (3, 3), optional
///     Where its own x, y, z point, as columns; by default those of the floor. See `turned`.
#[pyclass(frozen, name = "Box", module = "underfoot")]
pub struct PyBox(pub Cuboid);

#[pymethods]
impl PyBox {
    #[new]
    #[pyo3(signature = (mass, size, center, axes=None))]
    fn new(
        mass: &Bound<'_, PyAny>,
        size: &Bound<'_, PyAny>,
        center: &Bound<'_, PyAny>,
        axes: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        Cuboid::new(
            scalar(mass, "mass", Dimension::MASS)?,
            vector3(size, "size", Dimension::LENGTH)?.into(),
            vector3(center, "center", Dimension::LENGTH)?,
            axes_or_floor(axes)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Mass, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// Sides (3,), m.
    #[getter]
    fn size<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.size.into())
    }

    /// Center (3,), m.
    #[getter]
    fn center<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.center)
    }

    /// Own axes (3, 3) as columns.
    #[getter]
    fn axes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, &self.0.axes)
    }

    fn __repr__(&self) -> String {
        let (p, [a, b, c]) = (&self.0, self.0.size);
        format!(
            "Box(mass={} kg, size=({a}, {b}, {c}) m, center=({}, {}, {}) m)",
            p.mass, p.center.x, p.center.y, p.center.z
        )
    }
}
stored!(PyBox, Cuboid);

/// A homogeneous solid cylinder about its own z axis.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg.
/// diameter, length : float, str or quantity
///     m.
/// center : (3,)
///     m.
/// axes : (3, 3), optional
///     Where its own x, y, z point, as columns; by default those of the floor. See `turned`.
#[pyclass(frozen, name = "Cylinder", module = "underfoot")]
pub struct PyCylinder(pub Cylinder);

#[pymethods]
impl PyCylinder {
    #[new]
    #[pyo3(signature = (mass, diameter, length, center, axes=None))]
    fn new(
        mass: &Bound<'_, PyAny>,
        diameter: &Bound<'_, PyAny>,
        length: &Bound<'_, PyAny>,
        center: &Bound<'_, PyAny>,
        axes: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        Cylinder::new(
            scalar(mass, "mass", Dimension::MASS)?,
            scalar(diameter, "diameter", Dimension::LENGTH)?,
            scalar(length, "length", Dimension::LENGTH)?,
            vector3(center, "center", Dimension::LENGTH)?,
            axes_or_floor(axes)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Mass, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// Diameter, m.
    #[getter]
    fn diameter(&self) -> f64 {
        self.0.diameter
    }

    /// Length along its own z, m.
    #[getter]
    fn length(&self) -> f64 {
        self.0.length
    }

    /// Center (3,), m.
    #[getter]
    fn center<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.center)
    }

    /// Own axes (3, 3) as columns.
    #[getter]
    fn axes<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        matrix(py, &self.0.axes)
    }

    fn __repr__(&self) -> String {
        let p = &self.0;
        format!(
            "Cylinder(mass={} kg, diameter={} m, length={} m, center=({}, {}, {}) m)",
            p.mass, p.diameter, p.length, p.center.x, p.center.y, p.center.z
        )
    }
}
stored!(PyCylinder, Cylinder);

/// A mass at a point.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     kg.
/// center : (3,)
///     m.
#[pyclass(frozen, name = "PointMass", module = "underfoot")]
pub struct PyPointMass(pub PointMass);

#[pymethods]
impl PyPointMass {
    #[new]
    fn new(mass: &Bound<'_, PyAny>, center: &Bound<'_, PyAny>) -> PyResult<Self> {
        PointMass::new(
            scalar(mass, "mass", Dimension::MASS)?,
            vector3(center, "center", Dimension::LENGTH)?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// Mass, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// Where it is (3,), m.
    #[getter]
    fn center<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.center)
    }

    fn __repr__(&self) -> String {
        let p = &self.0;
        format!(
            "PointMass(mass={} kg, center=({}, {}, {}) m)",
            p.mass, p.center.x, p.center.y, p.center.z
        )
    }
}
stored!(PyPointMass, PointMass);

/// Parts of any kind.
fn list(parts: &[Bound<'_, PyAny>]) -> PyResult<Vec<Part>> {
    parts
        .iter()
        .enumerate()
        .map(|(i, part)| {
            if let Ok(p) = part.cast::<PyBox>() {
                Ok(Part::Box(p.get().0.clone()))
            } else if let Ok(p) = part.cast::<PyCylinder>() {
                Ok(Part::Cylinder(p.get().0.clone()))
            } else if let Ok(p) = part.cast::<PyPointMass>() {
                Ok(Part::Point(p.get().0.clone()))
            } else if let Ok(p) = part.cast::<PyRigidBody>() {
                Ok(Part::Body(p.get().0.clone()))
            } else {
                Err(to_py(crate::Error::invalid(
                    format!("parts[{i}]"),
                    part.repr()?,
                    "must be a Box, Cylinder, PointMass or RigidBody",
                    "build it with one of these",
                )))
            }
        })
        .collect()
}

/// Axes as given, or those of the floor.
pub fn axes_or_floor(axes: Option<&Bound<'_, PyAny>>) -> PyResult<Matrix3<f64>> {
    axes.map_or(Ok(Matrix3::identity()), |a| matrix3(a, "axes", Dimension::RATIO))
}

/// Read-only (3,).
pub fn vector<'py>(py: Python<'py>, v: &Vector3<f64>) -> PyResult<Bound<'py, PyAny>> {
    array(py, ndarray::arr1(&[v.x, v.y, v.z]))
}

/// Read-only (3, 3).
pub fn matrix<'py>(py: Python<'py>, m: &Matrix3<f64>) -> PyResult<Bound<'py, PyAny>> {
    array(py, ndarray::Array2::from_shape_fn((3, 3), |(i, j)| m[(i, j)]))
}
