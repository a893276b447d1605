//! What happens: modes, frequency response and transmissibility of a
//! [`Linear`](crate::system::Linear) system.

pub mod free_motion;
pub mod modes;
pub mod response;
pub mod roots;
pub mod statics;
pub mod transmissibility;

pub use modes::{Modes, modes};
pub use response::{Response, response};
pub use statics::{Statics, StaticsOptions, statics};
pub use transmissibility::{Transmissibility, transmissibility, vertical_transmissibility};
