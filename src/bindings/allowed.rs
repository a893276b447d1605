//! Limits of a part.

use pyo3::prelude::*;

use super::convert::{choice, scalar};
use super::error::to_py;
use super::stored::stored;
use crate::support::{Allowed, AllowedQuantity};
use crate::units::Dimension;

const QUANTITIES: [(&str, AllowedQuantity); 3] = [
    ("compression", AllowedQuantity::Compression),
    ("shear", AllowedQuantity::Shear),
    ("load", AllowedQuantity::Load),
];

/// A limit of the part that a mount is, judged in every load case.
///
/// Parameters
/// ----------
/// question : str
///     What is asked ("compressive strain within 15 %").
/// quantity : {"compression", "shear", "load"}
///     Compression (m), deflection across (m) or vertical load (N).
/// max : float, str or quantity
///     The most it may be, m or N; greater than zero.
/// source : str
///     Who says so.
/// in_motion : bool
///     Whether it holds in motion too, static and dynamic part together; else for loads that stay.
///
/// Raises
/// ------
/// InvalidError, UnitError, UnknownNameError
#[pyclass(frozen, name = "Allowed", module = "underfoot")]
pub struct PyAllowed(pub Allowed);

#[pymethods]
impl PyAllowed {
    #[new]
    #[pyo3(signature = (question, quantity, max, source="", in_motion=false))]
    fn new(
        question: &str,
        quantity: &str,
        max: &Bound<'_, PyAny>,
        source: &str,
        in_motion: bool,
    ) -> PyResult<Self> {
        let quantity = choice("quantity", quantity, &QUANTITIES)?;
        let dimension = match quantity {
            AllowedQuantity::Load => Dimension::FORCE,
            _ => Dimension::LENGTH,
        };
        let max = scalar(max, "max", dimension)?;
        let limit = Allowed::new(question, quantity, max, source).map_err(to_py)?;
        Ok(Self(Allowed { in_motion, ..limit }))
    }

    /// What is asked.
    #[getter]
    fn question(&self) -> &str {
        &self.0.question
    }

    /// "compression", "shear" or "load".
    #[getter]
    fn quantity(&self) -> &'static str {
        let own = |(_, q): &&(_, AllowedQuantity)| *q == self.0.quantity;
        QUANTITIES.iter().find(own).map_or("", |(name, _)| name)
    }

    /// The most it may be, m or N.
    #[getter]
    fn max(&self) -> f64 {
        self.0.max
    }

    /// Who says so.
    #[getter]
    fn source(&self) -> &str {
        &self.0.source
    }

    /// Whether it holds in motion too.
    #[getter]
    fn in_motion(&self) -> bool {
        self.0.in_motion
    }

    fn __repr__(&self) -> String {
        let a = &self.0;
        format!(
            "Allowed({:?}, {:?}, max={} {}, source={:?}{})",
            a.question,
            self.quantity(),
            a.max,
            a.quantity.unit(),
            a.source,
            if a.in_motion { ", in_motion=True" } else { "" }
        )
    }
}
stored!(PyAllowed, Allowed);

/// Limits in Python.
pub fn listed(allowed: &[Allowed]) -> Vec<PyAllowed> {
    allowed.iter().cloned().map(PyAllowed).collect()
}
