//! What is a rubber pad of a hardness and a shape as a mount? Stiffness at rest and under its load,
//! static and in motion, what it may bear, how it creeps, and how sure all that is.
//!
//! Compression k = Ea A / t ([`compression`], [`friction`], [`finite`]); shear with bending, by the
//! column of Haringx ([`super::column`]), at rest G A / t / (1 + t^2 / 36 r^2) with a bending modulus of
//! 3 G, r^2 = I / A. For bonded pads thinner than wide the bending modulus is greater; the effect on
//! the stiffness is then below a few percent, and the sway load is low by it. A stack of n layers
//! between stiff plates has n t of rubber; its plates turn with it, so it bends as one column with
//! the modulus Ea / 3 (Er = Ec / 3, M. Kumar, isolation bearing property table, seen).
//!
//! In motion: the tangent at the working load times a dynamic factor ([`compound`]).
//! Limits: small S (tall pads) and large S (bulk dominates) carry a warning; a stiffness from hardness
//! alone is good to some 30 % ([`hardness`]).

pub mod compound;
pub mod compression;
pub mod creep;
pub mod finite;
pub mod friction;
pub mod hardness;
mod limits;
mod pad;
pub mod shape;
mod spread;

pub use compound::{Band, Compound};
pub use compression::Bulk;
pub use finite::CompressionLaw;
pub use hardness::{Moduli, Route};
pub use pad::{HARDNESS_TOLERANCE, PadOptions, RubberPad, usual_hardness_ends};
pub use shape::Shape;
pub use spread::Spread;
