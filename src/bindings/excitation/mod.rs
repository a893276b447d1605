//! What machines do to their frame: events, blows, rotors, hydraulic and screw presses, records.

mod blow;
mod machines;
mod record;
mod train;

pub use blow::PyBlow;
pub use machines::{PyHydraulic, PyRotatingUnbalance, PyScrewBlow, PyUnbalancePlane};
pub use record::PyRecord;
pub use train::{PyDriveTrain, PyRotor};

use nalgebra::Vector3;
use ndarray::Array2;
use pyo3::prelude::*;

use super::convert::{list, scalar, vector3};
use super::labeled::array;
use super::stored::stored;
use crate::excitation::Excitation;
use crate::units::Dimension;

/// What acts on the machine in an event, and what went on before it.
///
/// Made by `DriveTrain.start`, `RotatingUnbalance.run_up`, `Hydraulic.decompression` and the like; its
/// motion is `Installation.shock(excitation)`.
#[pyclass(frozen, name = "Excitation", module = "underfoot")]
pub struct PyExcitation(pub Excitation);

#[pymethods]
impl PyExcitation {
    /// Where floor forces that follow come from ("start and stop", "slide inertia", ...).
    #[getter]
    fn sources(&self) -> Vec<&'static str> {
        let before = self.0.before.iter().flat_map(|b| &b.actions);
        let mut all: Vec<_> = self.0.actions.iter().chain(before).map(|a| a.source).collect();
        all.sort();
        all.dedup();
        all.into_iter().map(|source| source.name()).collect()
    }

    /// End of what acts, s.
    #[getter]
    fn end(&self) -> f64 {
        self.0.actions.iter().map(|a| a.end()).fold(0.0, f64::max)
    }

    /// Time after which it comes back, having done so for long, s; None: it acts once.
    #[getter]
    fn every(&self) -> Option<f64> {
        self.0.every
    }

    /// True if the machine has been running for long before it.
    #[getter]
    fn after_running(&self) -> bool {
        self.0.before.is_some()
    }

    /// Force and moment on the machine about a point at each time, just after jumps.
    ///
    /// Parameters
    /// ----------
    /// time : (time,)
    ///     s.
    /// about : (3,)
    ///     m. What acts at the center of mass is taken to act there.
    ///
    /// Returns
    /// -------
    /// (time, 6) array
    ///     N and N m.
    ///
    /// Raises
    /// ------
    /// ShapeError, UnitError
    #[pyo3(signature = (time, about=None))]
    fn wrench<'py>(
        &self,
        py: Python<'py>,
        time: &Bound<'py, PyAny>,
        about: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let time = list(time, "time", Dimension::TIME)?;
        let about = about.map(|a| vector3(a, "about", Dimension::LENGTH)).transpose()?;
        let about = about.unwrap_or_else(Vector3::zeros);
        let mut out: Array2<f64> = Array2::zeros((time.len(), 6));
        for action in &self.0.actions {
            let unit = action.about(&about);
            for (t, mut row) in time.iter().zip(out.rows_mut()) {
                let f = action.value(*t);
                row.iter_mut().zip(unit).for_each(|(sum, part)| *sum += f * part);
            }
        }
        array(py, out)
    }

    fn __repr__(&self) -> String {
        format!("Excitation({}, until {} s)", self.sources().join(" and "), self.end())
    }
}
stored!(PyExcitation, Excitation);

/// An optional point, m.
fn place(value: Option<&Bound<'_, PyAny>>) -> PyResult<Option<Vector3<f64>>> {
    value.map(|at| vector3(at, "at", Dimension::LENGTH)).transpose()
}

fn or(
    value: Option<&Bound<'_, PyAny>>,
    argument: &str,
    dimension: Dimension,
    usual: f64,
) -> PyResult<f64> {
    value.map_or(Ok(usual), |v| scalar(v, argument, dimension))
}
