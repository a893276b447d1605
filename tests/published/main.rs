//! Numbers this project did not compute itself: one file per source.

mod bodies;
mod cases;
mod close;
mod closed_forms_general;
mod closed_forms_single;
mod closed_forms_symmetry;
mod das_foundation;
mod edwards_penney;
mod every_reference_is_read;
mod irvine_isolated_box;
mod lanes_of_designs;
mod load_sharing;
mod rao_machine_tool;
mod reference;
mod rocking;
mod shock_dynamic_load_factor;
mod shock_isolation_steps;
mod shock_response_spectrum;
mod shock_single_transients;
mod shock_systems;
mod shock_three_mass_chain;
mod sixdof_synthetic;
mod thomson_block;
mod thomson_car;
mod two_body_chains;
mod vigran_insertion_loss;
