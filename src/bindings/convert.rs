//! Arguments from Python: numbers, sequences, NumPy arrays, text with a unit and pint quantities
//! become SI numbers, with the argument's name in every message.

use nalgebra::{Matrix3, Vector3};
use numpy::{
    AllowTypeChange, PyArray1, PyArrayLike1, PyArrayLike2, PyArrayMethods, PyUntypedArray,
};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyInt, PyList, PyString, PyTuple};

use super::error::to_py;
use crate::error::{Error, by_name, each, finite};
use crate::installation::NAMED_POINTS;
use crate::units::{self, Dimension};

/// A number, a text with a unit or a pint quantity, in SI.
pub fn scalar(value: &Bound<'_, PyAny>, argument: &str, dimension: Dimension) -> PyResult<f64> {
    if let Ok(text) = value.cast::<PyString>() {
        return units::parse(argument, &text.to_cow()?, dimension).map_err(to_py);
    }
    if (value.is_instance_of::<PyFloat>() || value.is_instance_of::<PyInt>())
        && !value.is_instance_of::<PyBool>()
    {
        // An integer that no float holds is as good as infinite.
        let number = value.extract().unwrap_or(f64::INFINITY);
        return finite(argument, number, dimension.si).map_err(to_py);
    }
    let number = plain(value, argument, dimension)?
        .extract()
        .map_err(|_| shape(value, argument, "one number"))?;
    finite(argument, number, dimension.si).map_err(to_py)
}

/// Three components, in SI.
pub fn vector3(
    value: &Bound<'_, PyAny>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Vector3<f64>> {
    let list = list(value, argument, dimension)?;
    let three: [f64; 3] = list.try_into().map_err(|_| shape(value, argument, "(3,): x, y, z"))?;
    Ok(Vector3::from(three))
}

/// One number for all three components, or three components, in SI.
pub fn one_or_three(
    value: &Bound<'_, PyAny>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<[f64; 3]> {
    match list(value, argument, dimension)?[..] {
        [all] => Ok([all; 3]),
        [x, y, z] => Ok([x, y, z]),
        _ => Err(shape(value, argument, "one number or (3,): x, y, z")),
    }
}

/// "x", "y", "z" (with a minus sign if wanted) or a unit vector, never normalized in silence.
pub fn direction(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Vector3<f64>> {
    if let Ok(text) = value.cast::<PyString>() {
        return crate::installation::direction(argument, &text.to_cow()?).map_err(to_py);
    }
    let vector = vector3(value, argument, Dimension::RATIO)?;
    crate::installation::unit_vector(argument, vector).map_err(to_py)
}

/// Any number of values, in SI; a single one makes a list of one.
pub fn list(value: &Bound<'_, PyAny>, argument: &str, dimension: Dimension) -> PyResult<Vec<f64>> {
    // A plain array of numbers carries no unit: the way of most calls, and the shortest.
    if let Ok(array) = value.cast_exact::<PyUntypedArray>()
        && let Ok(array) = array.cast::<PyArray1<f64>>()
        && let Ok(array) = array.try_readonly()
    {
        let values = array.as_array().to_vec();
        each(finite, argument, &values, dimension.si).map_err(to_py)?;
        return Ok(values);
    }
    if let Some(values) = plain_numbers(value) {
        each(finite, argument, &values, dimension.si).map_err(to_py)?;
        return Ok(values);
    }
    let value = plain(value, argument, dimension)?;
    if let Ok(one) = value.extract::<f64>() {
        return Ok(vec![finite(argument, one, dimension.si).map_err(to_py)?]);
    }
    let array: PyArrayLike1<'_, f64, AllowTypeChange> =
        value.extract().map_err(|_| shape(&value, argument, "one-dimensional"))?;
    let values = array.as_array().to_vec();
    each(finite, argument, &values, dimension.si).map_err(to_py)?;
    Ok(values)
}

/// The numbers of a short tuple or list that holds nothing else; the shortest way of a call with
/// literals.
fn plain_numbers(value: &Bound<'_, PyAny>) -> Option<Vec<f64>> {
    const SHORT: usize = 8;
    let items: Vec<Bound<'_, PyAny>> = if let Ok(tuple) = value.cast_exact::<PyTuple>() {
        (tuple.len() <= SHORT).then(|| tuple.iter().collect())?
    } else {
        let list = value.cast_exact::<PyList>().ok()?;
        (list.len() <= SHORT).then(|| list.iter().collect())?
    };
    let number = |item: &Bound<'_, PyAny>| {
        let is_number =
            item.is_exact_instance_of::<PyFloat>() || item.is_exact_instance_of::<PyInt>();
        is_number.then(|| item.extract().ok())?
    };
    items.iter().map(number).collect()
}

/// A 3 x 3 matrix, in SI.
pub fn matrix3(
    value: &Bound<'_, PyAny>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Matrix3<f64>> {
    let plain = plain(value, argument, dimension)?;
    let array: PyArrayLike2<'_, f64, AllowTypeChange> =
        plain.extract().map_err(|_| shape(value, argument, "(3, 3)"))?;
    let array = array.as_array();
    if array.dim() != (3, 3) {
        return Err(shape(value, argument, "(3, 3)"));
    }
    for ((i, j), &x) in array.indexed_iter() {
        finite(&format!("{argument}[{i}][{j}]"), x, dimension.si).map_err(to_py)?;
    }
    Ok(Matrix3::from_row_iterator(array.iter().copied()))
}

/// Principal moments (3) or a full tensor (3, 3), in SI.
pub fn tensor(
    value: &Bound<'_, PyAny>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Matrix3<f64>> {
    let value = plain(value, argument, dimension)?;
    if value.len().is_ok_and(|n| n == 3)
        && value.extract::<PyArrayLike1<'_, f64, AllowTypeChange>>().is_ok()
    {
        return Ok(Matrix3::from_diagonal(&vector3(&value, argument, dimension)?));
    }
    if value.extract::<PyArrayLike2<'_, f64, AllowTypeChange>>().is_err() {
        return Err(shape(&value, argument, "(3,) moments or a (3, 3) tensor"));
    }
    matrix3(&value, argument, dimension)
}

/// A named point of the installation, or coordinates (m).
pub fn point(
    value: &Bound<'_, PyAny>,
    argument: &str,
    points: &[(String, Vector3<f64>)],
) -> PyResult<Vector3<f64>> {
    let Ok(name) = value.cast::<PyString>() else {
        return vector3(value, argument, Dimension::LENGTH);
    };
    let name = name.to_cow()?;
    let named = points.iter().map(|(name, at)| (name.as_str(), *at));
    by_name(argument, &name, named, NAMED_POINTS).map_err(to_py)
}

/// One of the named values of an enum.
pub fn choice<T: Copy>(argument: &str, name: &str, all: &[(&'static str, T)]) -> PyResult<T> {
    by_name(argument, name, all.iter().copied(), ["use one of", ""]).map_err(to_py)
}

/// The name of a value of an enum.
pub fn name_of<T: Copy + PartialEq>(value: T, all: &[(&'static str, T)]) -> &'static str {
    all.iter().find(|(_, item)| *item == value).map_or("", |(name, _)| name)
}

/// Plain SI numbers from whatever carries units: text and pint quantities are turned by
/// `underfoot.units.si`; numbers and arrays of numbers come back as they are.
fn plain<'py>(
    value: &Bound<'py, PyAny>,
    argument: &str,
    dimension: Dimension,
) -> PyResult<Bound<'py, PyAny>> {
    let si = value.py().import("underfoot.units")?.getattr("si")?;
    si.call1((value, dimension.name, argument))
}

/// The error for a value of the wrong shape.
pub fn shape(value: &Bound<'_, PyAny>, argument: &str, expected: &str) -> PyErr {
    let found = value
        .py()
        .import("numpy")
        .and_then(|numpy| numpy.call_method1("shape", (value,)))
        .and_then(|s| s.str().map(|s| s.to_string()))
        .or_else(|_| value.repr().map(|r| r.to_string()))
        .unwrap_or_else(|_| "?".into());
    to_py(Error::Shape { argument: argument.into(), found, expected: expected.into() })
}
