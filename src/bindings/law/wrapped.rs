//! Laws made of laws: at another temperature, at an amplitude, side by side, in line.

use pyo3::prelude::*;

use super::super::convert::scalar;
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::stored::stored;
use super::{law_class, parts as parts_of, text, to_python, wlf_text};
use crate::law::{AmplitudeReduction, Dynamic, TemperatureShift, Wlf};
use crate::units::Dimension;

/// Shift of a compound with temperature: log10 aT = -c1 (T - T0) / (c2 + T - T0).
///
/// Parameters
/// ----------
/// c1 : float
///     Dimensionless, positive.
/// c2 : float
///     K.
/// reference_celsius : float
///     Temperature T0 at which laws hold as they stand, degrees Celsius.
#[pyclass(frozen, name = "Wlf", module = "underfoot")]
pub struct PyWlf(pub Wlf);

#[pymethods]
impl PyWlf {
    #[new]
    #[pyo3(signature = (c1, c2, reference_celsius))]
    fn new(
        c1: &Bound<'_, PyAny>,
        c2: &Bound<'_, PyAny>,
        reference_celsius: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let c1 = scalar(c1, "c1", Dimension::RATIO)?;
        let c2 = scalar(c2, "c2", Dimension::RATIO)?;
        let at = scalar(reference_celsius, "reference_celsius", Dimension::RATIO)?;
        Wlf::new(c1, c2, at).map(Self).map_err(to_py)
    }

    /// c1, dimensionless.
    #[getter]
    fn c1(&self) -> f64 {
        self.0.c1
    }

    /// c2, K.
    #[getter]
    fn c2(&self) -> f64 {
        self.0.c2
    }

    /// Reference temperature, degrees Celsius.
    #[getter]
    fn reference_celsius(&self) -> f64 {
        self.0.reference_celsius
    }

    /// Shift factor aT at a temperature, above 1 when colder.
    ///
    /// Parameters
    /// ----------
    /// temperature_celsius : float
    ///     Degrees Celsius.
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     At or below T0 - c2, where the formula ends.
    fn shift(&self, temperature_celsius: &Bound<'_, PyAny>) -> PyResult<f64> {
        let t = scalar(temperature_celsius, "temperature_celsius", Dimension::RATIO)?;
        self.0.shift(t).map_err(to_py)
    }

    /// The same compound with constants for another reference temperature.
    ///
    /// Parameters
    /// ----------
    /// reference_celsius : float
    ///     Degrees Celsius.
    fn with_reference(&self, reference_celsius: &Bound<'_, PyAny>) -> PyResult<Self> {
        let t = scalar(reference_celsius, "reference_celsius", Dimension::RATIO)?;
        self.0.with_reference(t).map(Self).map_err(to_py)
    }

    fn __repr__(&self) -> String {
        wlf_text(&self.0)
    }
}
stored!(PyWlf, Wlf);

/// A law at another temperature: D(aT omega).
///
/// Parameters
/// ----------
/// law : law
///     At the reference temperature.
/// wlf : Wlf
///     How the compound shifts.
/// temperature_celsius : float
///     Of the mount, degrees Celsius.
#[pyclass(frozen, name = "TemperatureShift", module = "underfoot")]
pub struct PyTemperatureShift(pub TemperatureShift);

#[pymethods]
impl PyTemperatureShift {
    #[new]
    #[pyo3(signature = (law, wlf, temperature_celsius))]
    fn new(
        law: &Bound<'_, PyAny>,
        wlf: PyRef<'_, PyWlf>,
        temperature_celsius: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let t = scalar(temperature_celsius, "temperature_celsius", Dimension::RATIO)?;
        TemperatureShift::new(super::law(law, "law")?, wlf.0, t).map(Self).map_err(to_py)
    }

    /// The law at the reference temperature.
    #[getter]
    fn law(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        to_python(py, &self.0.law)
    }

    /// How the compound shifts.
    #[getter]
    fn wlf(&self) -> PyWlf {
        PyWlf(self.0.wlf)
    }

    /// Shift factor aT.
    #[getter]
    fn factor(&self) -> f64 {
        self.0.factor()
    }
}
law_class!(PyTemperatureShift, TemperatureShift, Shifted {
    /// Of the mount, degrees Celsius.
    temperature_celsius: f64;
});

/// A law at a stated amplitude of motion (Kraus): stiffness falls, loss peaks at the critical
/// amplitude.
///
/// Parameters
/// ----------
/// law : law
///     At vanishing amplitude.
/// amplitude, critical_amplitude : float
///     Strain, or motion in m, both alike.
/// residual : float
///     Part of the storage stiffness that remains at large amplitude.
/// exponent : float
///     m, about 0.5 to 0.6.
/// loss_peak : float, optional
///     Greatest loss over that at small amplitude; by default the loss falls with the storage.
#[pyclass(frozen, name = "AmplitudeReduction", module = "underfoot")]
pub struct PyAmplitudeReduction(pub AmplitudeReduction);

#[pymethods]
impl PyAmplitudeReduction {
    #[new]
    #[pyo3(signature = (law, amplitude, critical_amplitude, residual, exponent, loss_peak=None))]
    fn new(
        law: &Bound<'_, PyAny>,
        amplitude: &Bound<'_, PyAny>,
        critical_amplitude: &Bound<'_, PyAny>,
        residual: &Bound<'_, PyAny>,
        exponent: &Bound<'_, PyAny>,
        loss_peak: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let number = |value: &Bound<'_, PyAny>, name| scalar(value, name, Dimension::RATIO);
        AmplitudeReduction::new(
            super::law(law, "law")?,
            number(amplitude, "amplitude")?,
            number(critical_amplitude, "critical_amplitude")?,
            number(residual, "residual")?,
            number(exponent, "exponent")?,
            loss_peak.map(|p| number(p, "loss_peak")).transpose()?,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// The law at vanishing amplitude.
    #[getter]
    fn law(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        to_python(py, &self.0.law)
    }

    /// What multiplies storage and loss.
    #[getter]
    fn factors(&self) -> (f64, f64) {
        self.0.factors().into()
    }
}
law_class!(PyAmplitudeReduction, AmplitudeReduction, Reduced {
    /// Strain, or motion in m.
    amplitude: f64;
    /// Amplitude at which half of the fall is reached.
    critical_amplitude: f64;
    /// Part of the storage stiffness that remains at large amplitude.
    residual: f64;
    /// m.
    exponent: f64;
    /// Greatest loss over that at small amplitude, or None.
    loss_peak: Option<f64>;
});

/// Laws side by side: D = sum of D_i. Of one direction; whole mounts are put together by
/// `parallel`, which also combines their limits.
///
/// Parameters
/// ----------
/// parts : list of laws
#[pyclass(frozen, name = "Parallel", module = "underfoot")]
pub struct PyParallel(pub Vec<Dynamic>);

#[pymethods]
impl PyParallel {
    #[new]
    fn new(parts: &Bound<'_, PyAny>) -> PyResult<Self> {
        let parts = parts_of(parts)?;
        Dynamic::parallel(parts.clone()).map(|_| Self(parts)).map_err(to_py)
    }

    /// The laws.
    #[getter]
    fn parts(&self, py: Python<'_>) -> PyResult<Vec<Py<PyAny>>> {
        self.0.iter().map(|law| to_python(py, law)).collect()
    }
}
law_class!(PyParallel, Vec<Dynamic>, Parallel {});

/// Laws in line: 1/D = sum of 1/D_i. Of one direction; whole mounts are put together by `series`,
/// which also combines their limits.
///
/// Parameters
/// ----------
/// parts : list of laws
#[pyclass(frozen, name = "Series", module = "underfoot")]
pub struct PySeries(pub Vec<Dynamic>);

#[pymethods]
impl PySeries {
    #[new]
    fn new(parts: &Bound<'_, PyAny>) -> PyResult<Self> {
        let parts = parts_of(parts)?;
        Dynamic::series(parts.clone()).map(|_| Self(parts)).map_err(to_py)
    }

    /// The laws.
    #[getter]
    fn parts(&self, py: Python<'_>) -> PyResult<Vec<Py<PyAny>>> {
        self.0.iter().map(|law| to_python(py, law)).collect()
    }
}
law_class!(PySeries, Vec<Dynamic>, Series {});
