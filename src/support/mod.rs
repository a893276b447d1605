//! What it stands on: mounts with their positions, directions, stiffness and load ranges.

pub mod allowed;
pub mod bridge;
pub mod catalog;
pub mod mount;
pub mod screw;
pub mod stop;

pub use allowed::{Allowed, AllowedQuantity};
pub use bridge::Bridge;
pub use catalog::Catalog;
pub use mount::{LoadRange, Mount};
pub use screw::Screw;
pub use stop::{Rebound, Stop, rebound};
