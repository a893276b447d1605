//! Numbers this project did not compute itself: one file per source.

mod load_sharing;
mod reference;
mod rocking;
mod shock_dynamic_load_factor;
mod shock_isolation_steps;
mod shock_response_spectrum;
mod shock_single_transients;
mod shock_systems;
mod shock_three_mass_chain;
mod sixdof_synthetic;
