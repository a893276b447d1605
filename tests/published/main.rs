//! Numbers this project did not compute itself: one file per source.

mod reference;
mod sixdof_synthetic;
