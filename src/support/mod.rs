//! What it stands on: mounts with their positions, directions, stiffness and load ranges.

pub mod mount;

pub use mount::{LoadRange, Mount};
