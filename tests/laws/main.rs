//! Laws that hold for any machine: symmetry, reciprocity, limits, energy, frames, clear refusals.

mod bad_input;
#[path = "../published/bodies.rs"]
mod bodies;
mod catalog;
mod checks;
mod curves;
mod drive_train;
mod estimate;
mod extremes;
mod floor_motion;
mod frames;
mod house;
mod laws_response;
mod laws_time;
mod leveling;
mod load_cases;
mod loads_together;
mod many_bodies;
mod modes;
mod press;
mod random;
mod receptance;
mod records;
mod shock;
mod shock_damping;
mod shock_systems;
mod slide;
mod statics;
mod statics_cases;
mod steady;
mod stops;
mod supports;
mod sweep;
mod transmissibility;
mod walking;
