//! Pickling: a class is stored as a schema number and the bytes of its core value.

use pyo3::exceptions::PyValueError;
use pyo3::prelude::*;
use serde::{Serialize, de::DeserializeOwned};

/// Changes whenever the stored form of any class changes.
pub const SCHEMA: u32 = 7;

/// Bytes of a core value.
pub fn bytes<T: Serialize>(value: &T) -> PyResult<Vec<u8>> {
    postcard::to_stdvec(value).map_err(|e| PyValueError::new_err(format!("cannot pickle: {e}")))
}

/// Core value from its bytes.
pub fn value<T: DeserializeOwned>(schema: u32, state: &[u8]) -> PyResult<T> {
    if schema != SCHEMA {
        return Err(PyValueError::new_err(format!(
            "stored by another version (schema {schema}, this version reads {SCHEMA}); \
             compute it again"
        )));
    }
    let refused = |why: String| PyValueError::new_err(format!("cannot unpickle: {why}"));
    match postcard::take_from_bytes(state).map_err(|e| refused(e.to_string()))? {
        (value, []) => Ok(value),
        (_, rest) => Err(refused(format!("{} bytes too many", rest.len()))),
    }
}

/// Equality, pickling, copying and text of a class that wraps one core value in field 0.
#[macro_export]
macro_rules! stored {
    ($class:ident, $core:ty) => {
        #[pymethods]
        impl $class {
            fn __eq__(&self, other: &Bound<'_, PyAny>) -> bool {
                other.cast::<Self>().is_ok_and(|other| self.0 == other.get().0)
            }

            /// How pickle and deepcopy store it.
            fn __reduce__<'py>(
                slf: &Bound<'py, Self>,
            ) -> PyResult<(Bound<'py, PyAny>, (u32, Bound<'py, pyo3::types::PyBytes>))> {
                let state = $crate::bindings::stored::bytes(&slf.get().0)?;
                let bytes = pyo3::types::PyBytes::new(slf.py(), &state);
                let restore = slf.get_type().getattr("_restore")?;
                Ok((restore, ($crate::bindings::stored::SCHEMA, bytes)))
            }

            /// The value that __reduce__ stored.
            #[staticmethod]
            fn _restore(schema: u32, state: &[u8]) -> PyResult<Self> {
                $crate::bindings::stored::value::<$core>(schema, state).map(Self)
            }
        }
    };
}
pub(crate) use stored;
