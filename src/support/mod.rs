//! What it stands on: mounts with their positions, directions, stiffness and load ranges, and the
//! parts they are made of: rubber, coils, air springs, dampers, side by side or in series.

pub mod air_spring;
pub mod allowed;
pub mod bridge;
pub mod catalog;
pub mod column;
pub mod combine;
pub mod damper;
pub mod mount;
pub mod rubber;
pub mod screw;
pub mod spring;
pub mod stop;

pub use air_spring::AirSpring;
pub use allowed::{Allowed, AllowedQuantity};
pub use bridge::Bridge;
pub use catalog::Catalog;
pub use combine::{parallel, series};
pub use damper::ViscousDamper;
pub use mount::{LoadRange, Mount};
pub use rubber::{PadOptions, RubberPad, Shape};
pub use screw::Screw;
pub use spring::{CoilOptions, CoilSpring, EndFixing};
pub use stop::{Rebound, Stop, rebound};
