//! Laws by a few numbers: constant, viscous, Zener, Maxwell, fractional.

use pyo3::prelude::*;

use super::super::convert::{list, scalar, shape};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::stored::stored;
use super::{law_class, stiffness, text};
use crate::law::{
    ComplexStiffness, Dynamic, FractionalZener, Maxwell, MaxwellTerm, Viscous, Zener,
};
use crate::units::Dimension;

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
