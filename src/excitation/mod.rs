//! What shakes it. Every load in time is a list of [`Segment`]s, for which the transient
//! analysis has an exact solution; one file per kind of load.

mod action;
pub mod blow;
pub mod break_through;
pub mod closed_form;
pub mod contact;
mod direction;
pub mod equivalent_pulse;
pub mod forming;
pub mod hydraulic;
pub mod pulse;
pub mod record;
pub mod rotating;
pub mod screw;
pub mod segment;
pub mod slide;
pub mod start_stop;
pub mod work;

pub use action::{Action, Before, Excitation};
pub use blow::Blow;
pub use break_through::BreakThrough;
pub use contact::{Cushion, SlideStop};
pub use direction::{direction, unit_vector};
pub use equivalent_pulse::EquivalentPulse;
pub use forming::{Blanking, ForceCurve, Punch, TimeCurve};
pub use hydraulic::Hydraulic;
pub use pulse::Pulse;
pub use record::Record;
pub use rotating::{Rotating, SpeedRamp, UnbalancePlane};
pub use screw::ScrewBlow;
pub use slide::SlideDrive;
pub use start_stop::{DriveEvent, DriveMotion, DriveTrain, Rotor, Side};
pub use work::Work;

use num_complex::Complex64;
use serde::{Deserialize, Serialize};

/// A stretch of a load in closed form: for start <= t < end, with tau = t - start,
///
/// f(t) = constant + slope tau + sum over i of Re(amplitude_i e^{exponent_i tau}).
///
/// Outside all its segments a load is zero. A polygon, a half-sine, a decaying exponential and a
/// stroke's harmonics are all of this form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Segment {
    /// Start time, s.
    pub start: f64,
    /// End time, s.
    pub end: f64,
    /// Value at the start without the exponentials.
    pub constant: f64,
    /// Rate of change, per second.
    pub slope: f64,
    /// Amplitude and exponent (1/s) of each exponential.
    pub exponentials: Vec<(Complex64, Complex64)>,
}

impl Segment {
    /// f at time t (the segment's formula, whether or not t lies inside it).
    pub fn value(&self, t: f64) -> f64 {
        let tau = t - self.start;
        let waves: f64 = self.exponentials.iter().map(|(a, s)| (a * (s * tau).exp()).re).sum();
        self.constant + self.slope * tau + waves
    }

    /// df/dt at time t.
    pub fn derivative(&self, t: f64) -> f64 {
        let tau = t - self.start;
        let waves: f64 = self.exponentials.iter().map(|(a, s)| (a * s * (s * tau).exp()).re).sum();
        self.slope + waves
    }
}

/// Where a force on the floor comes from: mounts treat each differently, so it is never summed up
/// without being split.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Source {
    /// The slide's inertia, stroke after stroke.
    SlideInertia,
    /// Start, stop and emergency stop.
    StartStop,
    /// The tool meets the work, a cushion or a stop block.
    Contact,
    /// The material breaks.
    BreakThrough,
    /// Anything else: another machine, a blow, the floor.
    Other,
}

impl Source {
    /// Name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::SlideInertia => "slide inertia",
            Self::StartStop => "start and stop",
            Self::Contact => "contact",
            Self::BreakThrough => "break-through",
            Self::Other => "other",
        }
    }
}
