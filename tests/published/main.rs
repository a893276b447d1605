//! Numbers this project did not compute itself: one file per source.

mod reference;
mod shock_single_transients;
mod shock_systems;
mod shock_three_mass_chain;
mod sixdof_synthetic;
