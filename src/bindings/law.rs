//! Laws of motion of a mount axis, and their Maxwell fit.

use num_complex::Complex64;
use pyo3::prelude::*;
use std::f64::consts::TAU;

use super::convert::{list, scalar, shape};
use super::error::to_py;
use super::labeled::array;
use super::stored::stored;
use crate::error::Error;
use crate::law::{
    AmplitudeReduction, ComplexStiffness, Dynamic, FractionalZener, Maxwell, MaxwellFit,
    MaxwellTerm, TableVariable, TabulatedStiffness, TemperatureShift, Viscous, Wlf, Zener,
    maxwell_fit as fit,
};
use crate::units::Dimension;

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

/// A law class: what all have in common, and `fields` read from the core value.
macro_rules! law_class {
    ($class:ident, $core:ty, $variant:ident { $($(#[doc = $doc:literal])+ $field:ident: $type:ty;)* }) => {
        impl $class {
            fn dynamic(&self) -> Dynamic {
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
                let hertz = list(frequency, "frequency", Dimension::FREQUENCY)?;
                let values = hertz.iter().map(|f| law.at(f * TAU)).collect::<crate::Result<_>>();
                let values: Vec<Complex64> = values.map_err(to_py)?;
                array(py, ndarray::Array1::from_vec(values))
            }

            /// The law of a part that is stiffer by a factor at every frequency.
            ///
            /// Parameters
            /// ----------
            /// factor : float
            ///     Greater than zero.
            fn scaled(&self, factor: &Bound<'_, PyAny>) -> PyResult<Self> {
                let factor = scalar(factor, "factor", Dimension::RATIO)?;
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

/// Stiffness with a loss factor that does not depend on frequency: k (1 + j eta).
///
/// Parameters
/// ----------
/// stiffness : float, str or quantity
///     k, N/m.
/// loss_factor : float
///     eta.
#[pyclass(frozen, name = "ComplexStiffness", module = "underfoot")]
pub struct PyComplexStiffness(pub ComplexStiffness);

#[pymethods]
impl PyComplexStiffness {
    #[new]
    #[pyo3(signature = (stiffness, loss_factor))]
    fn new(stiffness: &Bound<'_, PyAny>, loss_factor: &Bound<'_, PyAny>) -> PyResult<Self> {
        let k = scalar(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let eta = scalar(loss_factor, "loss_factor", Dimension::RATIO)?;
        ComplexStiffness::new(k, eta).map(Self).map_err(to_py)
    }
}
law_class!(PyComplexStiffness, ComplexStiffness, Complex {
    /// k, N/m.
    stiffness: f64;
    /// eta.
    loss_factor: f64;
});

/// Spring and dashpot side by side (Kelvin-Voigt): k + c s.
///
/// Parameters
/// ----------
/// stiffness : float, str or quantity
///     k, N/m.
/// damping : float, str or quantity
///     c, N s/m.
#[pyclass(frozen, name = "Viscous", module = "underfoot")]
pub struct PyViscous(pub Viscous);

#[pymethods]
impl PyViscous {
    #[new]
    #[pyo3(signature = (stiffness, damping))]
    fn new(stiffness: &Bound<'_, PyAny>, damping: &Bound<'_, PyAny>) -> PyResult<Self> {
        let k = scalar(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let c = scalar(damping, "damping", Dimension::DAMPING)?;
        Viscous::new(k, c).map(Self).map_err(to_py)
    }
}
law_class!(PyViscous, Viscous, Viscous {
    /// k, N/m.
    stiffness: f64;
    /// c, N s/m.
    damping: f64;
});

/// Standard linear solid: k0 + k1 tau s / (1 + tau s), tau = c1 / k1.
///
/// Exact in time by one internal variable.
///
/// Parameters
/// ----------
/// static_stiffness : float, str or quantity
///     k0, N/m.
/// branch_stiffness : float, str or quantity
///     k1, the spring in line with the dashpot, N/m.
/// branch_damping : float, str or quantity
///     c1, the dashpot, N s/m.
#[pyclass(frozen, name = "Zener", module = "underfoot")]
pub struct PyZener(pub Zener);

#[pymethods]
impl PyZener {
    #[new]
    #[pyo3(signature = (static_stiffness, branch_stiffness, branch_damping))]
    fn new(
        static_stiffness: &Bound<'_, PyAny>,
        branch_stiffness: &Bound<'_, PyAny>,
        branch_damping: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let k0 = stiffness(static_stiffness, "static_stiffness")?;
        let k1 = stiffness(branch_stiffness, "branch_stiffness")?;
        let c1 = scalar(branch_damping, "branch_damping", Dimension::DAMPING)?;
        Zener::new(k0, k1, c1).map(Self).map_err(to_py)
    }

    /// Relaxation time tau = c1 / k1, s.
    #[getter]
    fn relaxation_time(&self) -> f64 {
        self.0.relaxation_time()
    }
}
law_class!(PyZener, Zener, Zener {
    /// k1, N/m.
    branch_stiffness: f64;
    /// c1, N s/m.
    branch_damping: f64;
});

/// Generalized Maxwell solid: k0 + sum of k_i tau_i s / (1 + tau_i s).
///
/// Exact in time by one internal variable for each branch.
///
/// Parameters
/// ----------
/// static_stiffness : float, str or quantity
///     k0, N/m.
/// stiffness : (branch,)
///     k_i, N/m.
/// relaxation_time : (branch,)
///     tau_i, s.
#[pyclass(frozen, name = "Maxwell", module = "underfoot")]
pub struct PyMaxwell(pub Maxwell);

#[pymethods]
impl PyMaxwell {
    #[new]
    #[pyo3(signature = (static_stiffness, stiffness, relaxation_time))]
    fn new(
        static_stiffness: &Bound<'_, PyAny>,
        stiffness: &Bound<'_, PyAny>,
        relaxation_time: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let k0 = scalar(static_stiffness, "static_stiffness", Dimension::STIFFNESS)?;
        let k = list(stiffness, "stiffness", Dimension::STIFFNESS)?;
        let times = list(relaxation_time, "relaxation_time", Dimension::TIME)?;
        if k.len() != times.len() {
            let expected = format!("({},), one for each stiffness,", k.len());
            return Err(shape(relaxation_time, "relaxation_time", &expected));
        }
        let term = |(stiffness, relaxation_time)| MaxwellTerm { stiffness, relaxation_time };
        let terms = k.into_iter().zip(times).map(term).collect();
        Maxwell::new(k0, terms).map(Self).map_err(to_py)
    }

    /// k_i of each branch, N/m.
    #[getter]
    fn stiffness<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.terms.iter().map(|t| t.stiffness).collect::<ndarray::Array1<f64>>())
    }

    /// tau_i of each branch, s.
    #[getter]
    fn relaxation_time<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.terms.iter().map(|t| t.relaxation_time).collect::<ndarray::Array1<f64>>())
    }
}
law_class!(PyMaxwell, Maxwell, Maxwell {});

/// Fractional standard linear solid: k0 + (kinf - k0) (s tau)^a / (1 + (s tau)^a).
///
/// In time it goes through a Fourier transform, sampled and limited to a band; `maxwell_fit` gives
/// a law that is exact in time.
///
/// Parameters
/// ----------
/// static_stiffness : float, str or quantity
///     k0, N/m.
/// high_frequency_stiffness : float, str or quantity
///     kinf, N/m.
/// relaxation_time : float, str or quantity
///     tau, s.
/// order : float
///     a, above 0 up to 1.
#[pyclass(frozen, name = "FractionalZener", module = "underfoot")]
pub struct PyFractionalZener(pub FractionalZener);

#[pymethods]
impl PyFractionalZener {
    #[new]
    #[pyo3(signature = (static_stiffness, high_frequency_stiffness, relaxation_time, order))]
    fn new(
        static_stiffness: &Bound<'_, PyAny>,
        high_frequency_stiffness: &Bound<'_, PyAny>,
        relaxation_time: &Bound<'_, PyAny>,
        order: &Bound<'_, PyAny>,
    ) -> PyResult<Self> {
        let k0 = stiffness(static_stiffness, "static_stiffness")?;
        let kinf = stiffness(high_frequency_stiffness, "high_frequency_stiffness")?;
        let tau = scalar(relaxation_time, "relaxation_time", Dimension::TIME)?;
        let a = scalar(order, "order", Dimension::RATIO)?;
        FractionalZener::new(k0, kinf, tau, a).map(Self).map_err(to_py)
    }
}
law_class!(PyFractionalZener, FractionalZener, FractionalZener {
    /// tau, s.
    relaxation_time: f64;
    /// a.
    order: f64;
});

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

    /// Shift factor aT at a temperature (degrees Celsius), above 1 when colder.
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     At or below T0 - c2, where the formula ends.
    fn shift(&self, temperature_celsius: &Bound<'_, PyAny>) -> PyResult<f64> {
        let t = scalar(temperature_celsius, "temperature_celsius", Dimension::RATIO)?;
        self.0.shift(t).map_err(to_py)
    }

    /// The same compound with constants for another reference temperature (degrees Celsius).
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
        TemperatureShift::new(self::law(law, "law")?, wlf.0, t).map(Self).map_err(to_py)
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
            self::law(law, "law")?,
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

/// Laws side by side: D = sum of D_i.
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
        let parts = self::parts(parts)?;
        Dynamic::parallel(parts.clone()).map(|_| Self(parts)).map_err(to_py)
    }

    /// The laws.
    #[getter]
    fn parts(&self, py: Python<'_>) -> PyResult<Vec<Py<PyAny>>> {
        self.0.iter().map(|law| to_python(py, law)).collect()
    }
}
law_class!(PyParallel, Vec<Dynamic>, Parallel {});

/// Laws in line: 1/D = sum of 1/D_i.
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
        let parts = self::parts(parts)?;
        Dynamic::series(parts.clone()).map(|_| Self(parts)).map_err(to_py)
    }

    /// The laws.
    #[getter]
    fn parts(&self, py: Python<'_>) -> PyResult<Vec<Py<PyAny>>> {
        self.0.iter().map(|law| to_python(py, law)).collect()
    }
}
law_class!(PySeries, Vec<Dynamic>, Series {});

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
