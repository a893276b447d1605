//! What happens: modes, frequency response and transmissibility of a
//! [`Linear`](crate::system::Linear) system.

pub mod response;
pub mod transmissibility;

pub use response::{Response, response};
pub use transmissibility::{Transmissibility, transmissibility, vertical_transmissibility};
