//! What happens: modes, frequency response, transmissibility and exact transients of a
//! [`Linear`](crate::system::Linear) system, one file per question. Only statics looks into the
//! [`System`](crate::system::System) behind it.

pub mod base_motion;
pub mod bridged;
mod by_poles;
pub mod contact_shock;
mod dependent;
pub mod free_motion;
pub mod hybrid;
pub mod instant;
pub mod leveling;
mod memory;
pub mod modes;
pub mod motion;
pub mod periodic;
pub mod response;
pub(crate) mod roots;
pub mod snap_through;
pub mod spectrum;
pub mod statics;
pub mod steady;
pub mod stroke_rate;
pub mod struck;
mod terms;
pub mod transient;
pub mod transmissibility;

pub use base_motion::{BaseTransmissibility, base_transmissibility};
pub use bridged::{WhatIfBridged, what_if_bridged};
pub use contact_shock::{ContactShock, contact_shock};
pub use modes::{Modes, modes};
pub use response::{Response, response};
pub use snap_through::{SnapThrough, SnapThroughOptions, snap_through};
pub use statics::{Statics, StaticsOptions, statics};
pub use steady::{Steady, steady};
pub use stroke_rate::{StrokeRateMap, stroke_rate_map};
pub use struck::{Struck, struck, struck_again_and_again};
pub use transmissibility::{Transmissibility, transmissibility, vertical_transmissibility};
