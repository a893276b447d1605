//! PyO3 only: convert, call, convert. File names repeat the core's.

#![deny(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing)]

mod air_spring;
mod allowed;
mod beside_tool;
mod body;
mod bridge;
mod catalog;
mod checks;
mod combine;
mod convert;
mod curve;
mod damper;
mod die;
mod error;
mod estimate;
mod events;
mod excitation;
mod force_curve;
mod forming;
mod handling;
mod held;
mod installation;
mod job;
mod labeled;
mod lanes;
mod law;
mod leveling;
mod mount;
mod press;
mod pulse;
mod rank;
mod results;
mod rubber;
mod rubber_load;
mod shape;
mod slide;
mod snap_through;
mod spectrum;
mod spring;
mod standing;
mod steady;
mod stop;
mod stored;
mod study;
mod sweep;
mod units;
mod wrench;

use pyo3::prelude::*;

/// The compiled core of underfoot.
#[pymodule]
mod _core {
    #[pymodule_export]
    use super::air_spring::PyAirSpring;
    #[pymodule_export]
    use super::allowed::PyAllowed;
    #[pymodule_export]
    use super::beside_tool::{PyCushion, PyEquivalentPulse, PySlideStop};
    #[pymodule_export]
    use super::body::{PyBox, PyCylinder, PyPointMass, PyRigidBody, turned};
    #[pymodule_export]
    use super::bridge::PyBridge;
    #[pymodule_export]
    use super::catalog::{PyCatalog, PyMountModel};
    #[pymodule_export]
    use super::checks::{
        PyCheck, PyChecks, PyInterface, fatigue_check, lift_off_checks, py_friction_needed,
        py_snubber_speed, seismic_acceleration,
    };
    #[pymodule_export]
    use super::combine::{parallel, series};
    #[pymodule_export]
    use super::curve::PyCurve;
    #[pymodule_export]
    use super::damper::PyViscousDamper;
    #[pymodule_export]
    use super::die::{PyDie, PyDieSet, PyRollingBolster};
    #[pymodule_export]
    use super::estimate::{PyAssumption, PyFirstAnswer, first_answer};
    #[pymodule_export]
    use super::events::PyStruck;
    #[pymodule_export]
    use super::excitation::{
        PyBlow, PyDriveTrain, PyExcitation, PyHydraulic, PyRecord, PyRotatingUnbalance, PyRotor,
        PyScrewBlow, PyUnbalancePlane,
    };
    #[pymodule_export]
    use super::force_curve::{PyForceCurve, PyTimeCurve, coining_force, drawing_force};
    #[pymodule_export]
    use super::forming::{PyBlanking, PyBreakThrough};
    #[pymodule_export]
    use super::handling::{PyCart, PyEmergencyStop, PySetDown};
    #[pymodule_export]
    use super::installation::PyInstallation;
    #[pymodule_export]
    use super::job::{PyInput, PyJob, job_template, job_template_of_facts};
    #[pymodule_export]
    use super::lanes::{instruction_set, many_modes, many_shock_peaks};
    #[pymodule_export]
    use super::law::{
        PyAmplitudeReduction, PyComplexStiffness, PyFractionalZener, PyMaxwell, PyMaxwellFit,
        PyParallel, PySeries, PyTabulatedStiffness, PyTemperatureShift, PyViscous, PyWlf, PyZener,
        maxwell_fit,
    };
    #[pymodule_export]
    use super::leveling::{PyHeightReading, PyLevelReading, level_readings};
    #[pymodule_export]
    use super::mount::{PyLoadRange, PyMount, PyScrew};
    #[pymodule_export]
    use super::press::PyPress;
    #[pymodule_export]
    use super::pulse::{
        PyExponentialDecay, PyHalfSine, PyHaversine, PyInitialPeakSawtooth, PyRampStep,
        PyRectangular, PyTerminalPeakSawtooth, PyTriangular,
    };
    #[pymodule_export]
    use super::rank::{PyChoice, PyRanking};
    #[pymodule_export]
    use super::results::{
        PyBaseTransmissibility, PyCalibration, PyContactShock, PyEnvelope, PyLevelPlane,
        PyLevelState, PyLevelingInfluence, PyLevelingPlan, PyModes, PyPeak, PyPointHistory,
        PyRailStep, PyResponse, PyShock, PySnapThrough, PyStability, PyStatics, PySteady,
        PySteadyMotion, PyStrokeRateMap, PyTransmissibility, PyUnevenness, PyWhatIfBridged,
    };
    #[pymodule_export]
    use super::rubber::PyRubberPad;
    #[pymodule_export]
    use super::shape::{PyDisc, PyRectangle, PyRing};
    #[pymodule_export]
    use super::slide::{PyLinkDrive, PyMotionProfile, PySlideDrive, PySliderCrank};
    #[pymodule_export]
    use super::spectrum::{PyShockSpectrum, shock_response_spectrum};
    #[pymodule_export]
    use super::spring::PyCoilSpring;
    #[pymodule_export]
    use super::stop::{PyRebound, PyStop, snubber_rebound};
    #[pymodule_export]
    use super::study::{PyAsk, PyFigure, PyStudy};
    #[pymodule_export]
    use super::sweep::{PySweepPlan, draw, quantile, run_chunk, sweep_axes, sweep_outputs};
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
