//! Laws that hold for any machine: symmetry, reciprocity, limits, energy, frames, clear refusals.

mod frames;
mod modes;
mod random;
mod receptance;
mod transmissibility;
