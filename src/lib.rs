#![doc = include_str!("../README.md")]
#![cfg_attr(not(feature = "python"), forbid(unsafe_code))]

pub mod analysis;
pub mod error;
pub mod excitation;
pub mod law;
pub mod system;

pub use error::{Error, Result};
