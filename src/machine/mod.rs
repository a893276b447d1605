//! What stands there: the machine as a rigid body, built from its parts.

pub mod body;
pub mod part;

pub use body::RigidBody;
pub use part::{Cuboid, Cylinder, Part, PointMass};
