//! Measured laws: tables against frequency.

use num_complex::Complex64;
use pyo3::prelude::*;

use super::super::convert::{list, shape};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::stored::stored;
use super::{law_class, stiffness, text};
use crate::error::Error;
use crate::law::{Dynamic, TableVariable, TabulatedStiffness};
use crate::units::Dimension;

/// Dynamic stiffness measured against frequency; monotone curves between the rows, an error beyond
/// them.
///
/// In time it goes through a Fourier transform, sampled and limited to a band.
///
/// Parameters
/// ----------
/// frequency : (row,)
///     Hz, ascending.
/// storage, loss : (row,)
///     Real and imaginary part of the dynamic stiffness, N/m.
/// variable : "frequency" or "log_frequency"
///     In which the rows are interpolated.
/// static_stiffness : float, str or quantity, optional
///     Stiffness under a load that stays, N/m; by default the storage of the first row.
#[pyclass(frozen, name = "TabulatedStiffness", module = "underfoot")]
pub struct PyTabulatedStiffness(pub TabulatedStiffness);

#[pymethods]
impl PyTabulatedStiffness {
    #[new]
    #[pyo3(signature = (frequency, storage, loss, variable="frequency", static_stiffness=None))]
    fn new(
        frequency: &Bound<'_, PyAny>,
        storage: &Bound<'_, PyAny>,
        loss: &Bound<'_, PyAny>,
        variable: &str,
        static_stiffness: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let hertz = list(frequency, "frequency", Dimension::FREQUENCY)?;
        let re = list(storage, "storage", Dimension::STIFFNESS)?;
        let im = list(loss, "loss", Dimension::STIFFNESS)?;
        let expected = format!("({},), one for each frequency,", hertz.len());
        for (value, length, name) in [(storage, re.len(), "storage"), (loss, im.len(), "loss")] {
            if length != hertz.len() {
                return Err(shape(value, name, &expected));
            }
        }
        let variable = match variable {
            "frequency" => TableVariable::Frequency,
            "log_frequency" => TableVariable::LogFrequency,
            other => {
                return Err(to_py(Error::Unknown {
                    argument: "variable".into(),
                    value: other.into(),
                    allowed: "use frequency or log_frequency".into(),
                }));
            }
        };
        let at_rest = static_stiffness.map(|k| stiffness(k, "static_stiffness")).transpose()?;
        let rows = re.into_iter().zip(im).map(|(re, im)| Complex64::new(re, im)).collect();
        TabulatedStiffness::new(hertz, rows, variable, at_rest).map(Self).map_err(to_py)
    }

    /// Frequency of each row, Hz.
    #[getter]
    fn frequency<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, ndarray::Array1::from_vec(self.0.frequency.clone()))
    }

    /// Real part of each row, N/m.
    #[getter]
    fn storage<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.stiffness.iter().map(|d| d.re).collect::<ndarray::Array1<f64>>())
    }

    /// Imaginary part of each row, N/m.
    #[getter]
    fn loss<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.stiffness.iter().map(|d| d.im).collect::<ndarray::Array1<f64>>())
    }

    /// Variable of the interpolation.
    #[getter]
    fn variable(&self) -> &'static str {
        match self.0.variable {
            TableVariable::Frequency => "frequency",
            TableVariable::LogFrequency => "log_frequency",
        }
    }
}
law_class!(PyTabulatedStiffness, TabulatedStiffness, Table {});
