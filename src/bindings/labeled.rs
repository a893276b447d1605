//! Results in Python: read-only NumPy attributes with dims, unit and long name, from one list.

use nalgebra::{DMatrix, Scalar};
use ndarray::{Array, ArrayD, Dimension};
use numpy::{Element, PyArray};
use pyo3::prelude::*;

/// A read-only NumPy array of its own.
pub fn array<'py, T: Element, D: Dimension>(
    py: Python<'py>,
    values: Array<T, D>,
) -> PyResult<Bound<'py, PyAny>> {
    let array = PyArray::from_owned_array(py, values).into_any();
    array.call_method1("setflags", (false,))?;
    Ok(array)
}

/// What a field of a result may be, as an n-dimensional array.
pub trait Values {
    /// Type of the entries.
    type Item: Element;
    /// A copy as an array.
    fn values(&self) -> ArrayD<Self::Item>;
}

impl<T: Element + Clone> Values for Vec<T> {
    type Item = T;
    fn values(&self) -> ArrayD<T> {
        Array::from_vec(self.clone()).into_dyn()
    }
}

impl<T: Element + Clone, D: Dimension> Values for Array<T, D> {
    type Item = T;
    fn values(&self) -> ArrayD<T> {
        self.clone().into_dyn()
    }
}

impl<T: Element + Scalar> Values for DMatrix<T> {
    type Item = T;
    fn values(&self) -> ArrayD<T> {
        let (rows, columns) = self.shape();
        Array::from_shape_fn((rows, columns), |(i, j)| self[(i, j)].clone()).into_dyn()
    }
}

impl<T: Element + Scalar> Values for nalgebra::DVector<T> {
    type Item = T;
    fn values(&self) -> ArrayD<T> {
        self.iter().cloned().collect::<Vec<_>>().values()
    }
}

impl<T: Element + Clone, const N: usize> Values for [T; N] {
    type Item = T;
    fn values(&self) -> ArrayD<T> {
        self.to_vec().values()
    }
}

/// A result class: read-only arrays from one list of fields, coordinates, and all that follows
/// from them (xarray, text, HTML, equality, pickling).
///
/// Each field: `name: [dims] "unit" "long name" => |r| expression`.
macro_rules! labeled {
    (
        $(#[doc = $doc:literal])+
        $class:ident $name:literal ($core:ty)
        coords { $($coord:literal => |$c:ident| $coordinate:expr;)* }
        fields { $($field:ident: [$($dim:literal),*] $unit:literal $long:literal => |$r:ident| $value:expr;)+ }
    ) => {
        $(#[doc = $doc])+
        #[pyclass(frozen, name = $name, module = "underfoot")]
        pub struct $class(pub $core);

        #[pymethods]
        impl $class {
            $(
                #[doc = concat!($long, ", ", $unit, ".")]
                #[getter]
                fn $field<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                    let $r = &self.0;
                    $crate::bindings::labeled::array(
                        py,
                        $crate::bindings::labeled::Values::values(&$value),
                    )
                }
            )+

            /// (name, dims, unit, long name) of each array.
            #[classattr]
            fn _fields() -> Vec<(&'static str, Vec<&'static str>, &'static str, &'static str)> {
                vec![$((stringify!($field), vec![$($dim),*], $unit, $long)),+]
            }

            /// Labels along the dims that are no arrays of numbers.
            fn _coords<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, pyo3::types::PyDict>> {
                let labels = pyo3::types::PyDict::new(py);
                $(
                    let $c = &self.0;
                    labels.set_item($coord, $coordinate)?;
                )*
                Ok(labels)
            }

            /// The result as an xarray.Dataset with dims, units and long names.
            fn to_xarray<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
                slf.py().import("underfoot.labeled")?.call_method1("dataset", (slf,))
            }

            fn __repr__<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
                slf.py().import("underfoot.labeled")?.call_method1("text", (slf,))
            }

            fn _repr_html_<'py>(slf: &Bound<'py, Self>) -> PyResult<Bound<'py, PyAny>> {
                slf.py().import("underfoot.labeled")?.call_method1("html", (slf,))
            }
        }

        $crate::bindings::stored::stored!($class, $core);
    };
}
pub(crate) use labeled;

/// x, y, z.
pub const XYZ: [&str; 3] = ["x", "y", "z"];

/// x y z rx ry rz.
pub const SIX: [&str; 6] = ["x", "y", "z", "rx", "ry", "rz"];
