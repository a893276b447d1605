//! Laws of motion of a mount axis, and their Maxwell fit.

mod simple;
mod table;
mod wrapped;

pub use simple::{PyComplexStiffness, PyFractionalZener, PyMaxwell, PyViscous, PyZener};
pub use table::PyTabulatedStiffness;
pub use wrapped::{PyAmplitudeReduction, PyParallel, PySeries, PyTemperatureShift, PyWlf};

use pyo3::prelude::*;

use super::convert::{list, scalar, shape};
use super::error::to_py;
use super::stored::stored;
use crate::law::{Dynamic, MaxwellFit, Wlf, maxwell_fit as fit};
use crate::units::Dimension;

/// A law class: what all have in common, and `fields` read from the core value.
macro_rules! law_class {
    ($class:ident, $core:ty, $variant:ident { $($(#[doc = $doc:literal])+ $field:ident: $type:ty;)* }) => {
        impl $class {
            pub(super) fn dynamic(&self) -> Dynamic {
                Dynamic::$variant(self.0.clone())
            }
        }

        #[pymethods]
        impl $class {
            $(
                $(#[doc = $doc])+
                #[getter]
                fn $field(&self) -> $type {
                    self.0.$field
                }
            )*

            /// Stiffness under a load that stays, the limit at rest, N/m.
            #[getter]
            fn static_stiffness(&self) -> f64 {
                self.dynamic().static_stiffness()
            }

            /// Limit of the storage stiffness at high frequency, N/m; infinite beside a dashpot.
            #[getter]
            fn high_frequency_stiffness(&self) -> f64 {
                self.dynamic().high_frequency_stiffness()
            }

            /// Dynamic stiffness at each frequency (frequency,), N/m: storage + j loss.
            ///
            /// Parameters
            /// ----------
            /// frequency : one or (frequency,)
            ///     Hz.
            ///
            /// Raises
            /// ------
            /// InvalidError
            ///     Outside a table, with its range.
            fn at<'py>(
                &self,
                py: Python<'py>,
                frequency: &Bound<'py, PyAny>,
            ) -> PyResult<Bound<'py, PyAny>> {
                let law = self.dynamic();
                let hertz = $crate::bindings::convert::list(frequency, "frequency", Dimension::FREQUENCY)?;
                let values = hertz.iter().map(|f| law.at(f * std::f64::consts::TAU)).collect::<crate::Result<_>>();
                let values: Vec<num_complex::Complex64> = values.map_err(to_py)?;
                array(py, ndarray::Array1::from_vec(values))
            }

            /// The law of a part that is stiffer by a factor at every frequency.
            ///
            /// Parameters
            /// ----------
            /// factor : float
            ///     Greater than zero.
            fn scaled(&self, factor: &Bound<'_, PyAny>) -> PyResult<Self> {
                let factor = $crate::bindings::convert::scalar(factor, "factor", Dimension::RATIO)?;
                match self.dynamic().scaled(factor).map_err(to_py)? {
                    Dynamic::$variant(law) => Ok(Self(law)),
                    _ => Ok(Self(self.0.clone())),
                }
            }

            fn __repr__(&self) -> String {
                text(&self.dynamic())
            }
        }
        stored!($class, $core);
    };
}
use law_class;

/// Any law from Python.
pub fn law(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Dynamic> {
    known(value).ok_or_else(|| {
        let expected = "a law (ComplexStiffness, Viscous, Zener, Maxwell, FractionalZener, \
                        TabulatedStiffness, TemperatureShift, AmplitudeReduction, Parallel, Series)";
        shape(value, argument, expected)
    })
}

/// One law for all three axes, or three of which some may be None.
pub fn one_or_three_laws(value: &Bound<'_, PyAny>) -> PyResult<[Option<Dynamic>; 3]> {
    if let Some(law) = known(value) {
        return Ok([Some(law.clone()), Some(law.clone()), Some(law)]);
    }
    let expected = "one law or three, None where an axis has none";
    let items: Vec<Bound<'_, PyAny>> =
        value.extract().map_err(|_| shape(value, "law", expected))?;
    let one = |(i, item): (usize, &Bound<'_, PyAny>)| {
        if item.is_none() { Ok(None) } else { law(item, &format!("law[{i}]")).map(Some) }
    };
    let laws = items.iter().enumerate().map(one).collect::<PyResult<Vec<_>>>()?;
    laws.try_into().map_err(|_| shape(value, "law", expected))
}

/// A law as the class of its kind.
pub fn to_python(py: Python<'_>, law: &Dynamic) -> PyResult<Py<PyAny>> {
    match law.clone() {
        Dynamic::Complex(l) => Py::new(py, PyComplexStiffness(l)).map(Py::into_any),
        Dynamic::Viscous(l) => Py::new(py, PyViscous(l)).map(Py::into_any),
        Dynamic::Zener(l) => Py::new(py, PyZener(l)).map(Py::into_any),
        Dynamic::Maxwell(l) => Py::new(py, PyMaxwell(l)).map(Py::into_any),
        Dynamic::FractionalZener(l) => Py::new(py, PyFractionalZener(l)).map(Py::into_any),
        Dynamic::Table(l) => Py::new(py, PyTabulatedStiffness(l)).map(Py::into_any),
        Dynamic::Shifted(l) => Py::new(py, PyTemperatureShift(l)).map(Py::into_any),
        Dynamic::Reduced(l) => Py::new(py, PyAmplitudeReduction(l)).map(Py::into_any),
        Dynamic::Parallel(l) => Py::new(py, PyParallel(l)).map(Py::into_any),
        Dynamic::Series(l) => Py::new(py, PySeries(l)).map(Py::into_any),
    }
}

fn parts(value: &Bound<'_, PyAny>) -> PyResult<Vec<Dynamic>> {
    let items: Vec<Bound<'_, PyAny>> =
        value.extract().map_err(|_| shape(value, "parts", "a list of laws"))?;
    items.iter().enumerate().map(|(i, item)| law(item, &format!("parts[{i}]"))).collect()
}

fn words(parts: &[Dynamic]) -> String {
    parts.iter().map(text).collect::<Vec<_>>().join(", ")
}

/// A law as its constructor is written, with units.
fn text(law: &Dynamic) -> String {
    match law {
        Dynamic::Complex(l) => format!(
            "ComplexStiffness(stiffness={} N/m, loss_factor={})",
            l.stiffness, l.loss_factor
        ),
        Dynamic::Viscous(l) => {
            format!("Viscous(stiffness={} N/m, damping={} N s/m)", l.stiffness, l.damping)
        }
        Dynamic::Zener(l) => format!(
            "Zener(static_stiffness={} N/m, branch_stiffness={} N/m, branch_damping={} N s/m)",
            l.static_stiffness, l.branch_stiffness, l.branch_damping
        ),
        Dynamic::Maxwell(l) => format!(
            "Maxwell(static_stiffness={} N/m, {} branches, up to {} N/m)",
            l.static_stiffness,
            l.terms.len(),
            law.high_frequency_stiffness()
        ),
        Dynamic::FractionalZener(l) => format!(
            "FractionalZener(static_stiffness={} N/m, high_frequency_stiffness={} N/m, \
             relaxation_time={} s, order={})",
            l.static_stiffness, l.high_frequency_stiffness, l.relaxation_time, l.order
        ),
        Dynamic::Table(l) => format!(
            "TabulatedStiffness({} rows, {} to {} Hz, static_stiffness={} N/m)",
            l.frequency.len(),
            l.frequency.first().copied().unwrap_or(f64::NAN),
            l.frequency.last().copied().unwrap_or(f64::NAN),
            law.static_stiffness()
        ),
        Dynamic::Shifted(l) => format!(
            "TemperatureShift({}, {}, temperature_celsius={})",
            text(&l.law),
            wlf_text(&l.wlf),
            l.temperature_celsius
        ),
        Dynamic::Reduced(l) => format!(
            "AmplitudeReduction({}, amplitude={}, critical_amplitude={}, residual={}, \
             exponent={}, loss_peak={})",
            text(&l.law),
            l.amplitude,
            l.critical_amplitude,
            l.residual,
            l.exponent,
            l.loss_peak.map_or("None".into(), |p| p.to_string())
        ),
        Dynamic::Parallel(parts) => format!("Parallel([{}])", words(parts)),
        Dynamic::Series(parts) => format!("Series([{}])", words(parts)),
    }
}

fn wlf_text(wlf: &Wlf) -> String {
    format!("Wlf(c1={}, c2={} K, reference_celsius={})", wlf.c1, wlf.c2, wlf.reference_celsius)
}

fn stiffness(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<f64> {
    scalar(value, argument, Dimension::STIFFNESS)
}

/// A law of any class.
fn known(value: &Bound<'_, PyAny>) -> Option<Dynamic> {
    macro_rules! first {
        ($($class:ident),*) => {
            $(if let Ok(law) = value.cast::<$class>() {
                return Some(law.get().dynamic());
            })*
        };
    }
    first!(
        PyComplexStiffness,
        PyViscous,
        PyZener,
        PyMaxwell,
        PyFractionalZener,
        PyTabulatedStiffness,
        PyTemperatureShift,
        PyAmplitudeReduction,
        PyParallel,
        PySeries
    );
    None
}

/// A Maxwell law that stands for another over a band, and how near it comes; see `maxwell_fit`.
#[pyclass(frozen, name = "MaxwellFit", module = "underfoot")]
pub struct PyMaxwellFit(pub MaxwellFit);

#[pymethods]
impl PyMaxwellFit {
    /// The Maxwell law.
    #[getter]
    fn law(&self) -> PyMaxwell {
        PyMaxwell(self.0.law.clone())
    }

    /// Band of the fit, Hz.
    #[getter]
    fn band(&self) -> (f64, f64) {
        self.0.band.into()
    }

    /// Greatest relative error of the storage stiffness in the band.
    #[getter]
    fn storage_error(&self) -> f64 {
        self.0.storage_error
    }

    /// Greatest relative error of the loss stiffness in the band.
    #[getter]
    fn loss_error(&self) -> f64 {
        self.0.loss_error
    }

    fn __repr__(&self) -> String {
        format!(
            "MaxwellFit({} branches, {} to {} Hz, storage_error={:.2e}, loss_error={:.2e})",
            self.0.law.terms.len(),
            self.0.band[0],
            self.0.band[1],
            self.0.storage_error,
            self.0.loss_error
        )
    }
}
stored!(PyMaxwellFit, MaxwellFit);

/// Maxwell law that stands for another over a band: non-negative least squares of the relative
/// error of storage and loss, relaxation times evenly spaced in their logarithm.
///
/// Parameters
/// ----------
/// law : law
///     What it stands for.
/// band : (2,)
///     Lowest and highest frequency, Hz.
/// per_decade : int
///     Relaxation times per decade, 1 to 10.
///
/// Returns
/// -------
/// MaxwellFit
#[pyfunction]
#[pyo3(signature = (law, band, per_decade=2))]
pub fn maxwell_fit(
    law: &Bound<'_, PyAny>,
    band: &Bound<'_, PyAny>,
    per_decade: usize,
) -> PyResult<PyMaxwellFit> {
    let law = self::law(law, "law")?;
    let ends = list(band, "band", Dimension::FREQUENCY)?;
    let ends: [f64; 2] = ends.try_into().map_err(|_| shape(band, "band", "(2,): low, high"))?;
    fit(&law, ends, per_decade).map(PyMaxwellFit).map_err(to_py)
}
