//! Checks in Python: one, a table of them, and the questions that an installation answers.

mod asked;
mod single;
mod table;

pub use single::{
    fatigue_check, lift_off_checks, py_friction_needed, py_snubber_speed, seismic_acceleration,
};
pub use table::{PyCheck, PyChecks, PyInterface};
