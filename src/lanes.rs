//! Eight designs or eight frequencies side by side: the lane type and the kernels that solve for all
//! of them at once.
//!
//! Arithmetic runs on plain arrays of eight numbers, which the compiler turns into the widest
//! instructions of each version of a kernel; the version is chosen at run time
//! ([`instruction_set`]). Every kernel checks its own lanes and has those solved again by a slower
//! method that fail.
//!
//! - `frequency`: one system at many frequencies; `rigid` is its short way for one rigid body on
//!   mounts with parallel axes
//! - `filter`: many oscillators that follow one record
//! - `damped`: roots and inputs of many damped systems
//! - `designs`: transmissibility of many systems
//! - `modes`: natural frequencies and shapes of many systems
//! - `newton`: one damped root with its vector
//! - `peaks`: greatest and least values of many motions
//! - `poles`: one system at thousands of frequencies

mod coefficients;
pub mod damped;
pub mod designs;
#[cfg(test)]
mod draws;
pub mod filter;
mod frequency;
mod isa;
mod lane;
pub mod modes;
mod newton;
pub mod peaks;
pub mod poles;
mod rigid;

pub use coefficients::Coefficients;
pub use frequency::{see, solve, solve_pivoted};
pub(crate) use isa::versions;
pub use isa::{Isa, VARIABLE as ISA_VARIABLE, instruction_set};
pub use lane::{Complex, Lane, WIDTH, and, choose, one_if};
pub use rigid::{is_aligned, transfer};
