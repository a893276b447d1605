//! What does one turn of each screw do to every load, and to the level at every station?
//!
//! For a lift h of mount j (one turn of its screw, one shim, one millimeter where neither is known)
//!
//! dF = R e_j h,   d(tilt) = T e_j h,   d(level at a station along d) = g(at, d)_j h,
//!
//! with R, T and g of module `influence`. Limits: those of the influence; the loads of a rigid
//! machine on three feet do not change at all.

use serde::{Deserialize, Serialize};

use super::influence::Influence;
use super::tolerance::StationLevel;
use crate::support::Screw;

/// What is taken where a mount has neither screw nor shims, m.
const MILLIMETER: f64 = 1e-3;

/// What one turn at one mount does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OneTurn {
    /// Lift, m: one turn of the screw, one shim, or one millimeter.
    pub lift: f64,
    /// Change of each vertical load, N.
    pub load: Vec<f64>,
    /// Change of the tilt about x and about y, rad.
    pub tilt: [f64; 2],
    /// Change of the level at each station along its direction, rad.
    pub level: Vec<f64>,
}

/// Lift of one turn, one shim or one millimeter, m.
pub fn one_turn_lift(screw: Option<&Screw>) -> f64 {
    screw.map_or(MILLIMETER, |s| s.pitch)
}

/// "1 turn", "1 shim" or "1 mm".
pub fn one_turn_words(screw: Option<&Screw>) -> &'static str {
    match screw {
        Some(screw) if screw.is_shims => "1 shim",
        Some(_) => "1 turn",
        None => "1 mm",
    }
}

/// The influence table: one turn of each screw, in the order of the mounts.
pub fn one_turn(
    influence: &Influence,
    screws: &[Option<Screw>],
    stations: &[StationLevel],
) -> Vec<OneTurn> {
    let levels: Vec<_> =
        stations.iter().map(|s| influence.station([s.at[0], s.at[1]], s.along)).collect();
    let one = |(j, screw): (usize, &Option<Screw>)| {
        let lift = one_turn_lift(screw.as_ref());
        OneTurn {
            lift,
            load: influence.load.column(j).iter().map(|f| f * lift).collect(),
            tilt: [0, 1].map(|axis| influence.tilt[(axis, j)] * lift),
            level: levels.iter().map(|g| g[j] * lift).collect(),
        }
    };
    screws.iter().enumerate().map(one).collect()
}
