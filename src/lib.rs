#![doc = include_str!("../README.md")]
#![cfg_attr(not(feature = "python"), forbid(unsafe_code))]

pub mod analysis;
#[cfg(feature = "python")]
mod bindings;
pub mod checks;
pub mod error;
pub mod excitation;
pub mod installation;
pub mod job;
pub mod lanes;
pub mod law;
pub mod machine;
pub mod study;
pub mod support;
pub mod sweep;
pub mod system;
pub mod units;

pub use error::{Error, Result};
