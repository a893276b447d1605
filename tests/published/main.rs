mod shock_single_transients;
mod shock_systems;
mod shock_three_mass_chain;
