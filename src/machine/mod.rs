//! What stands there: the machine as a rigid body, built from its parts or estimated from a few
//! facts; its dies and its rolling bolster.

pub mod body;
pub mod bolster;
pub mod die;
pub mod estimate;
pub mod part;
pub mod press;

pub use body::RigidBody;
pub use bolster::RollingBolster;
pub use die::{Die, DieSet};
pub use estimate::{Assumption, Facts, FirstAnswer, Practice, PressKind, first_answer};
pub use part::{Cuboid, Cylinder, Part, PointMass};
pub use press::{InnerMass, Link, LinkDamping, Press};
