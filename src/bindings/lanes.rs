//! Many systems at once, and the instructions that are used.

use ndarray::{Array2, Array3};
use numpy::{AllowTypeChange, PyArrayLike3};
use pyo3::prelude::*;

use super::convert;
use super::detached;
use super::error::to_py;
use super::labeled::array;
use crate::analysis::modes::many;
use crate::error::Error;

/// Name of the instruction set that the kernels use: "baseline", "avx2", "avx512" or "neon".
///
/// The best that the processor has, or the one that the environment variable UNDERFOOT_ISA names.
///
/// Returns
/// -------
/// str
///
/// Raises
/// ------
/// InvalidError
///     If UNDERFOOT_ISA names none, or one that the processor does not have.
#[pyfunction]
pub fn instruction_set() -> PyResult<&'static str> {
    crate::lanes::instruction_set().map(crate::lanes::Isa::name).map_err(to_py)
}

/// Natural frequencies (design, mode), Hz, and shapes (design, dof, mode) of many small systems.
///
/// K phi = omega^2 M phi, Phi' M Phi = 1, for each design; frequencies ascending, the largest entry
/// of each shape positive. Each solution is checked by its residual.
///
/// Parameters
/// ----------
/// mass : (design, dof, dof)
///     Symmetric and positive definite, kg, kg m, kg m^2; or one for all (1, dof, dof).
/// stiffness : (design, dof, dof)
///     Symmetric, N/m, N, N m.
///
/// Returns
/// -------
/// tuple of arrays: frequency, shape
///
/// Raises
/// ------
/// ShapeError, InvalidError
///     For a mass that is not positive definite or a system with a negative omega^2, with its index.
#[pyfunction]
pub fn many_modes<'py>(
    py: Python<'py>,
    mass: &Bound<'py, PyAny>,
    stiffness: &Bound<'py, PyAny>,
) -> PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
    let (m, k) = (matrices(mass, "mass")?, matrices(stiffness, "stiffness")?);
    let (m, k) = (m.as_array(), k.as_array());
    let (frequency, shape): (Array2<f64>, Array3<f64>) = detached(py, || many(m, k))?;
    Ok((array(py, frequency)?, array(py, shape)?))
}

fn matrices<'py>(
    value: &Bound<'py, PyAny>,
    argument: &str,
) -> PyResult<PyArrayLike3<'py, f64, AllowTypeChange>> {
    let expected = "(design, dof, dof)";
    let array: PyArrayLike3<'_, f64, AllowTypeChange> =
        value.extract().map_err(|_| convert::shape(value, argument, expected))?;
    let (_, rows, columns) = array.as_array().dim();
    if rows == columns && rows > 0 {
        return Ok(array);
    }
    Err(to_py(Error::Shape {
        argument: argument.into(),
        found: format!("{:?}", array.as_array().dim()),
        expected: expected.into(),
    }))
}
