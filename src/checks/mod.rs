//! Does it hold? Demand against capacity, with the margin, the governing case and the source of
//! each limit. A verdict is OK, OK IF (on a stated condition) or NO.
//!
//! Safety: these checks compare computed numbers with stated limits. Anchoring, guarding and
//! structural safety follow local codes and licensed practice.

mod feet;
mod friction;
mod mounts;
mod verdict;
mod walking;

pub use feet::{Feet, Foot};
pub use friction::{Pressed, center_of_pressure, friction_needed};
pub use mounts::{
    AMPLIFICATION_LIMIT, dynamic_contact, dynamic_load, load_range, rocking, stays_loaded, tilt,
};
pub use verdict::{Check, Overall, Sense, Verdict, overall};
pub use walking::{Friction, Sliding, lateral, sliding, walking};
