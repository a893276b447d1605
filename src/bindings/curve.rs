//! Load-deflection curves.

use ndarray::Array1;
use pyo3::prelude::*;

use super::convert::{list, scalar, shape};
use super::error::to_py;
use super::labeled::array;
use super::stored::stored;
use crate::law::{Curve, point_of};
use crate::units::Dimension;

/// Static load of a mount over its compression, along one axis.
///
/// Points are joined by the monotone cubic of Fritsch and Carlson with the slopes of Fritsch and
/// Butland; outside its range a curve is an error and is never extrapolated.
///
/// Parameters
/// ----------
/// deflection : (row,)
///     Compression, m, rising; negative is tension. (0, 0) is put before a first row that is
///     squeezed.
/// load : (row,)
///     Load, N, rising.
///
/// Raises
/// ------
/// InvalidError
///     For a row where compression or load does not rise; it is named, counted from 0.
#[pyclass(frozen, name = "Curve", module = "underfoot")]
pub struct PyCurve(pub Curve);

#[pymethods]
impl PyCurve {
    #[new]
    fn new(deflection: &Bound<'_, PyAny>, load: &Bound<'_, PyAny>) -> PyResult<Self> {
        let u = list(deflection, "deflection", Dimension::LENGTH)?;
        let f = list(load, "load", Dimension::FORCE)?;
        if u.len() != f.len() {
            return Err(shape(load, "load", &format!("({},), one for each deflection", u.len())));
        }
        let rows: Vec<(f64, f64)> = u.into_iter().zip(f).collect();
        let own = |argument: &str| {
            let (i, column) = point_of(argument)?;
            Some(format!("{}[{i}]", if column == 0 { "deflection" } else { "load" }))
        };
        Curve::table(&rows).map(Self).map_err(|e| to_py(e.called(own)))
    }

    /// Rubber at finite strain: F = sum a (lam^p - lam^q), lam = 1 - deflection / thickness.
    ///
    /// Valid to a strain of 50 % either way. One term with a = A E (1 + 2 phi S^2) / 3, p = -2,
    /// q = 1 is the form of Freakley and Payne.
    ///
    /// Parameters
    /// ----------
    /// thickness : float, str or quantity
    ///     m.
    /// terms : sequence of (a, p, q)
    ///     a in N.
    ///
    /// Returns
    /// -------
    /// Curve
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If the load does not rise everywhere.
    #[staticmethod]
    fn compression(
        thickness: &Bound<'_, PyAny>,
        terms: Vec<(Bound<'_, PyAny>, f64, f64)>,
    ) -> PyResult<Self> {
        let thickness = scalar(thickness, "thickness", Dimension::LENGTH)?;
        let terms = terms.iter().enumerate().map(|(i, (a, p, q))| {
            Ok((scalar(a, &format!("terms[{i}][0]"), Dimension::FORCE)?, *p, *q))
        });
        let terms = terms.collect::<PyResult<Vec<_>>>()?;
        Curve::compression(thickness, terms).map(Self).map_err(to_py)
    }

    /// Least and greatest compression, m.
    #[getter]
    fn range(&self) -> (f64, f64) {
        self.0.range().into()
    }

    /// Load, N, at each compression.
    ///
    /// Parameters
    /// ----------
    /// deflection : (point,)
    ///     Compression, m, inside the range of the curve.
    ///
    /// Returns
    /// -------
    /// array (point,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn force<'py>(&self, deflection: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        each(deflection, "deflection", Dimension::LENGTH, |u| self.0.force(u))
    }

    /// Stiffness dF/du, N/m, at each compression.
    ///
    /// Parameters
    /// ----------
    /// deflection : (point,)
    ///     Compression, m, inside the range of the curve.
    ///
    /// Returns
    /// -------
    /// array (point,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn tangent<'py>(&self, deflection: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        each(deflection, "deflection", Dimension::LENGTH, |u| self.0.tangent(u))
    }

    /// Energy stored, N m, at each compression.
    ///
    /// Parameters
    /// ----------
    /// deflection : (point,)
    ///     Compression, m, inside the range of the curve.
    ///
    /// Returns
    /// -------
    /// array (point,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn energy<'py>(&self, deflection: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        each(deflection, "deflection", Dimension::LENGTH, |u| self.0.energy(u))
    }

    /// Compression, m, under each load.
    ///
    /// Parameters
    /// ----------
    /// load : (point,)
    ///     Load, N, inside the range of the curve.
    ///
    /// Returns
    /// -------
    /// array (point,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn deflection<'py>(&self, load: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        each(load, "load", Dimension::FORCE, |f| self.0.deflection(f))
    }

    fn __repr__(&self) -> String {
        let [start, end] = self.0.range();
        match &self.0 {
            Curve::Table(t) => {
                let count = t.points().len();
                format!("Curve({count} points, compression {start} ... {end} m)")
            }
            Curve::Compression(c) => format!(
                "Curve.compression(thickness={} m, terms={:?}), compression {start} ... {end} m",
                c.thickness(),
                c.terms()
            ),
        }
    }
}
stored!(PyCurve, Curve);

/// A read-only array of what each entry becomes.
fn each<'py>(
    values: &Bound<'py, PyAny>,
    argument: &str,
    dimension: Dimension,
    of: impl Fn(f64) -> crate::Result<f64>,
) -> PyResult<Bound<'py, PyAny>> {
    let py = values.py();
    let values = list(values, argument, dimension)?;
    let found: Vec<f64> =
        values.into_iter().map(of).collect::<crate::Result<_>>().map_err(to_py)?;
    array(py, Array1::from(found))
}
