//! PyO3 only: convert, call, convert. File names repeat the core's.

#![deny(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

mod body;
mod catalog;
mod convert;
mod error;
mod installation;
mod job;
mod labeled;
mod lanes;
mod mount;
mod pulse;
mod rank;
mod results;
mod spectrum;
mod stored;
mod study;
mod units;
mod wrench;

use pyo3::prelude::*;

/// The compiled core of underfoot.
#[pymodule]
mod _core {
    #[pymodule_export]
    use super::body::{PyBox, PyCylinder, PyPointMass, PyRigidBody, turned};
    #[pymodule_export]
    use super::catalog::{PyCatalog, PyMountModel};
    #[pymodule_export]
    use super::installation::PyInstallation;
    #[pymodule_export]
    use super::job::{PyInput, PyJob, job_template};
    #[pymodule_export]
    use super::lanes::{instruction_set, many_modes};
    #[pymodule_export]
    use super::mount::{PyLoadRange, PyMount};
    #[pymodule_export]
    use super::pulse::{
        PyExponentialDecay, PyHalfSine, PyHaversine, PyInitialPeakSawtooth, PyRampStep,
        PyRectangular, PyTerminalPeakSawtooth, PyTriangular,
    };
    #[pymodule_export]
    use super::rank::{PyChoice, PyRanking};
    #[pymodule_export]
    use super::results::{
        PyEnvelope, PyModes, PyPeak, PyPointHistory, PyResponse, PyShock, PyStability, PyStatics,
        PyTransmissibility, PyUnevenness,
    };
    #[pymodule_export]
    use super::spectrum::{PyShockSpectrum, shock_response_spectrum};
    #[pymodule_export]
    use super::study::{PyCheck, PyFigure, PyStudy};
    #[pymodule_export]
    use super::units::{
        dimension_table, format_quantity, parse_quantity, reading_unit, unit_factor, unit_table,
    };
    #[pymodule_export]
    use super::wrench::{PyCase, PyWrench};
}

/// Runs `work` with the interpreter released, then maps its error.
fn detached<T: Send>(
    py: Python<'_>,
    work: impl FnOnce() -> crate::Result<T> + Send,
) -> PyResult<T> {
    py.detach(work).map_err(error::to_py)
}
