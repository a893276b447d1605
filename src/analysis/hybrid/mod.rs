//! What happens when contacts open and close: drive clearance, mounts that lift off, stops?
//!
//! u' = A_p u + a_p + sum of beta_l f_l(t),   p = pattern of contacts
//!
//! Between two changes of contact the system is linear. Each pattern has its matrix A_p, kept once
//! found; within it the motion is its power series in time, summed to rounding (order 26 on steps
//! of twice the reciprocal of the fastest root), so a step is exact and is a polynomial.
//! Changes of contact and peaks are roots of polynomials, isolated without sampling (the module
//! `polynomial`). Just after a change the new condition starts at exactly zero; that root is
//! divided out, not stepped over by a tolerance.
//!
//! A part's coordinate is e; it touches ahead for e > a and behind for e < b. Two rules:
//! *geometric*: it carries k (e - a) + c e' as long as it touches, which may pull just before it
//! leaves; *force-clipped* (default): it carries nothing while that would pull. A part off contact
//! carries nothing in any direction of its port; its sideways springs come back where they were.
//!
//! Loss factors act by the causal equivalent of the linear system at rest ([`super::transient`]).
//! Laws that need a Fourier transform are refused. Assumptions: small motions; gravity is in the
//! state of rest; no friction in a contact.
//!
//! Source: textbook (piecewise linear systems); the reference numbers it is checked against come
//! from Taylor series of 50 digits and from a Runge-Kutta method with events.

mod contact;
mod model;
mod motion;
mod output;
mod polynomial;
mod search;
mod series;

pub use contact::{Event, State};
pub use motion::HybridMotion;
pub use output::HybridOutput;

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::transient::Start;
use crate::error::Result;
use crate::excitation::Segment;
use crate::system::Hybrid;

/// Changes of contact that are let pass within one thousandth of the shortest period.
pub const CHATTER: usize = 64;

/// How long, how many changes of contact, from where.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HybridOptions {
    /// End of the motion, s; by default as in [`super::transient::default_duration`].
    pub duration: Option<f64>,
    /// Displacement and velocity at t = 0; by default at rest.
    pub start: Option<Start>,
    /// Changes of contact in the whole motion, at most.
    pub most_events: usize,
}

impl Default for HybridOptions {
    fn default() -> Self {
        Self { duration: None, start: None, most_events: 100_000 }
    }
}

/// A force f(t) g on the degrees of freedom.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// f, the sum of its segments.
    pub segments: Vec<Segment>,
    /// g, one entry for each degree of freedom.
    pub direction: DVector<f64>,
}

/// Motion of a system with contacts under several loads.
///
/// # Errors
/// Those of [`super::transient::Transient::new`] for the system at rest; [`crate::Error::Invalid`]
/// for laws that are not made of springs and dashpots; [`crate::Error::NotConverged`] for chatter.
pub fn hybrid(system: &Hybrid, loads: &[Load], options: &HybridOptions) -> Result<HybridMotion> {
    HybridMotion::new(system, loads, options)
}
