//! What must a plan keep? Each limit is a row g with g'a <= b on the adjustments a, of unit length:
//! then b - g'a is how many meters of screw are left to it, the same yardstick for tilt and load.
//!
//! - level: |t_now + T a| <= tolerance about x and about y; zero asks for exactly level.
//! - load: (1 - band) F_target <= F_now + R a <= (1 + band) F_target.
//! - travel: -down <= a <= up; raise only: a >= 0.
//!
//! Rows that no adjustment can move (a load in a frame where nothing warps) are kept apart: they
//! hold or they do not, whatever is turned.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};
use std::fmt;

/// Which limit a row is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum LimitKind {
    /// Tilt about x (0) or y (1), and the side: 1 or -1; 0 where it must be exactly zero.
    Level(usize, i8),
    /// Least load of a mount.
    LoadLow(usize),
    /// Greatest load of a mount.
    LoadHigh(usize),
    /// Downward travel of a screw, or none where it may only be raised.
    Down(usize),
    /// Upward travel of a screw.
    Up(usize),
}

impl LimitKind {
    /// Group whose limits give together: level, load or travel.
    pub fn group(&self) -> Group {
        match self {
            Self::Level(..) => Group::Level,
            Self::LoadLow(_) | Self::LoadHigh(_) => Group::Load,
            Self::Down(_) | Self::Up(_) => Group::Travel,
        }
    }

    /// In words, with the tags of the mounts.
    pub fn words(&self, names: &[String]) -> String {
        let name = |i: &usize| names.get(*i).map_or("?", String::as_str);
        match self {
            Self::Level(axis, _) => format!("level about {}", if *axis == 0 { "x" } else { "y" }),
            Self::LoadLow(i) => format!("least load of {}", name(i)),
            Self::LoadHigh(i) => format!("greatest load of {}", name(i)),
            Self::Down(i) => format!("downward travel of {}", name(i)),
            Self::Up(i) => format!("upward travel of {}", name(i)),
        }
    }
}

/// Limits that give together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Group {
    /// The level tolerance.
    Level,
    /// The load band.
    Load,
    /// The travel of the screws.
    Travel,
}

impl fmt::Display for Group {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Level => "level tolerance",
            Self::Load => "load band",
            Self::Travel => "travel",
        })
    }
}

/// g'a <= b with |g| = 1, or g'a = b.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// Which one it is.
    pub kind: LimitKind,
    /// g, unit length.
    pub row: DVector<f64>,
    /// b, m.
    pub bound: f64,
    /// True for g'a = b.
    pub exact: bool,
    /// How much b grows when the group gives by one of its units (1 rad, 1 of the band, 1 m).
    pub gives: f64,
}

impl Limit {
    /// g'a - b: positive where it is broken (for an exact one, of either sign: the size counts), m.
    pub fn excess(&self, a: &DVector<f64>) -> f64 {
        let over = self.row.dot(a) - self.bound;
        if self.exact { over.abs() } else { over }
    }
}

/// The limits of a plan; those that no adjustment moves stand apart.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Limits {
    /// Limits that adjustments move.
    pub rows: Vec<Limit>,
    /// Limits that nothing moves and that are broken.
    pub hopeless: Vec<LimitKind>,
}

/// A row shorter than this part of the longest of its group moves nothing.
const STILL: f64 = 1e-9;

impl Limits {
    /// Adds g'a <= b (before scaling to unit length); `full` is the length of a row of this group
    /// that counts as moving.
    pub fn add(&mut self, kind: LimitKind, row: DVector<f64>, bound: f64, gives: f64, full: f64) {
        self.push(kind, row, bound, gives, full, false);
    }

    /// Adds g'a = b.
    pub fn add_exact(&mut self, kind: LimitKind, row: DVector<f64>, bound: f64, full: f64) {
        self.push(kind, row, bound, 1.0, full, true);
    }

    fn push(
        &mut self,
        kind: LimitKind,
        row: DVector<f64>,
        bound: f64,
        gives: f64,
        full: f64,
        exact: bool,
    ) {
        let length = row.norm();
        if length > STILL * full {
            self.rows.push(Limit {
                kind,
                row: row / length,
                bound: bound / length,
                exact,
                gives: gives / length,
            });
        } else {
            // In meters of a screw that would move it at full length.
            let over = if exact { -bound.abs() } else { bound };
            if over < -1e-12 * full {
                self.hopeless.push(kind);
            }
        }
    }

    /// Greatest excess over all rows, m; not positive where all hold.
    pub fn worst(&self, a: &DVector<f64>) -> f64 {
        self.rows.iter().map(|limit| limit.excess(a)).fold(f64::NEG_INFINITY, f64::max)
    }
}
