//! Laws that hold for every machine: balance, symmetry, limits, frame independence, a second
//! method.

mod checks;
mod statics;
mod statics_cases;
mod shock;
mod shock_damping;
mod shock_systems;
