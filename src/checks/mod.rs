//! Does it hold? Demand against capacity, with the margin, the governing case and the source of
//! each limit. A verdict is OK, OK IF (on a stated condition) or NO.
//!
//! Safety: these checks compare computed numbers with stated limits. Anchoring, guarding and
//! structural safety follow local codes and licensed practice.

mod contact;
mod duty;
mod feet;
mod friction;
mod height;
pub mod installed;
mod level;
mod motion;
mod mounts;
mod part;
mod run_up;
mod seismic;
mod sideways;
mod verdict;
mod walking;

pub use contact::{contact_reserve, kick_impulse, kick_velocity, steady_contact};
pub use duty::Duty;
pub use feet::{Feet, Foot};
pub use friction::{Pressed, center_of_pressure, friction_needed};
pub use height::{Budget, creep_decades, pass_line, screw_travel};
pub use level::{level_error, rail_step};
pub use motion::{Interface, PointLimit};
pub(crate) use mounts::mount;
pub use mounts::{
    AMPLIFICATION_LIMIT, dynamic_contact, dynamic_load, load_range, rocking, stays_loaded, tilt,
};
pub use part::{Borne, allowed, allowed_in_motion};
pub use run_up::worst_speed;
pub use seismic::{Seismic, snubber_speed};
pub use sideways::{Sideways, lateral_share, sideways, tipping};
pub use verdict::{Check, Overall, Sense, Verdict, overall};
pub use walking::{Friction, Sliding, lateral, sliding, walking};
