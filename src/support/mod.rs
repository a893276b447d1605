//! What it stands on: mounts with their positions, directions, stiffness and load ranges.

pub mod allowed;
pub mod catalog;
pub mod mount;
pub mod screw;

pub use allowed::{Allowed, AllowedQuantity};
pub use catalog::Catalog;
pub use mount::{LoadRange, Mount};
pub use screw::Screw;
