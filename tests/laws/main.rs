//! Laws that hold for any machine: symmetry, reciprocity, limits, energy, frames, clear refusals.

mod checks;
mod frames;
mod modes;
mod random;
mod receptance;
mod shock;
mod shock_damping;
mod shock_systems;
mod statics;
mod statics_cases;
mod transmissibility;
