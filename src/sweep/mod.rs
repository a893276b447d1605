//! What do many designs do? A sweep moves inputs of a job or an installation along axes, by lists, in
//! pairs or drawn from distributions, and computes the outputs asked for at every design.
//!
//! A [`Spec`] says what is swept, as plain data; a [`Plan`] is the same made ready; [`run()`] does it in
//! memory with threads of its own, and [`run_chunk`] does one chunk anywhere: a pure function of the
//! spec's bytes and the chunk's number. Results are the same bits for any number of threads, workers
//! and restarts on one instruction set.
//!
//! A design that breaks a rule or fails an analysis is marked with its reason, its numbers are NaN,
//! and the sweep goes on.
//!
//! Reading order: `axes`, `spec`, `plan`, `chunk`, `rebuild`, `lanewise`, `fast`, `run`.

mod axes;
mod chunk;
mod fast;
mod inside;
mod kernel;
mod lanewise;
pub mod listing;
mod nearest;
mod numbers;
pub mod outputs;
mod plan;
mod random;
mod rebuild;
mod run;
mod sample;
mod shocks;
mod sobol;
mod spec;

pub use chunk::{Chunk, Failures, VERSION, from_bytes, run_chunk, to_bytes};
pub use numbers::{BodyNumbers, MountNumbers, Numbers};
pub use plan::{Plan, draw};
pub use run::{Swept, run};
pub use sample::{Distribution, Method};
pub use spec::{Base, Blocks, Column, Dim, Loads, Spec};
