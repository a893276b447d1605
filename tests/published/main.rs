//! Numbers this project did not compute itself: one file per source.

mod load_sharing;
mod reference;
mod rocking;
mod sixdof_synthetic;
