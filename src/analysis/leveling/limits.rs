//! What must a plan keep? Each limit is a row g with g'a <= b on the adjustments a, of unit length:
//! then b - g'a is how many meters of screw are left to it, the same yardstick for tilt and load.
//!
//! - level: |t_now + T a| <= tolerance about x and about y; zero asks for exactly level.
//! - stations: |level there now + g a| <= its tolerance, own twist and bow included; not where it
//!   must be exactly level, since no plane takes twist away.
//! - load: |F_now + R a - F_target| <= band |F_target|.
//! - travel: -down <= a <= up; raise only: a >= 0.
//!
//! Rows that no adjustment can move (a load in a frame where nothing warps) are kept apart: they
//! hold or they do not, whatever is turned.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};
use std::fmt;

use super::influence::Influence;
use super::request::Request;
use super::settlement::State;
use super::tolerance::StationLevel;

/// Which limit a row is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum LimitKind {
    /// Tilt about x (0) or y (1), and the side: 1 or -1; 0 where it must be exactly zero.
    Level(usize, i8),
    /// Level at a station of that name, and the side: 1 or -1.
    Station(String, i8),
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
            Self::Level(..) | Self::Station(..) => Group::Level,
            Self::LoadLow(_) | Self::LoadHigh(_) => Group::Load,
            Self::Down(_) | Self::Up(_) => Group::Travel,
        }
    }

    /// In words, with the tags of the mounts.
    pub fn words(&self, names: &[String]) -> String {
        let name = |i: &usize| names.get(*i).map_or("?", String::as_str);
        match self {
            Self::Level(axis, _) => format!("level about {}", if *axis == 0 { "x" } else { "y" }),
            Self::Station(station, _) => format!("level at station {station}"),
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

impl Limits {
    /// The limits of a request on a machine that stands as `before`; target loads in N, least and
    /// greatest adjustment of each screw in m.
    pub(super) fn of(
        request: &Request,
        influence: &Influence,
        before: &State,
        target: &[f64],
        travel: &[[f64; 2]],
    ) -> Self {
        let mut limits = Self::default();
        limits.level(request, influence, before);
        if let Some(band) = request.load_band {
            limits.loads(band, influence, before, target);
        }
        limits.travel(travel);
        limits
    }

    fn level(&mut self, request: &Request, influence: &Influence, before: &State) {
        let full = steepest(influence);
        for axis in 0..2 {
            let row = influence.tilt.row(axis).transpose();
            let (now, tolerance) = (before.tilt[axis], request.level_tolerance);
            if tolerance == 0.0 {
                self.add_exact(LimitKind::Level(axis, 0), row, -now, full);
            } else {
                self.add(LimitKind::Level(axis, 1), row.clone(), tolerance - now, 1.0, full);
                self.add(LimitKind::Level(axis, -1), -row, tolerance + now, 1.0, full);
            }
        }
    }

    fn loads(&mut self, band: f64, influence: &Influence, before: &State, target: &[f64]) {
        let mean = target.iter().map(|f| f.abs()).sum::<f64>() / target.len() as f64;
        // A load that a whole meter of screw changes by less than its mean does not move at all.
        let full = influence.load.diagonal().amax().max(mean);
        for (i, &aim) in target.iter().enumerate() {
            let row = influence.load.row(i).transpose();
            let (off, gives) = (before.load[i] - aim, aim.abs());
            self.add(LimitKind::LoadLow(i), -row.clone(), band * gives + off, gives, full);
            self.add(LimitKind::LoadHigh(i), row, band * gives - off, gives, full);
        }
    }

    fn travel(&mut self, travel: &[[f64; 2]]) {
        let n = travel.len();
        for (i, [low, high]) in travel.iter().enumerate() {
            let unit = |sign: f64| DVector::from_fn(n, |j, _| if i == j { sign } else { 0.0 });
            if low.is_finite() {
                self.add(LimitKind::Down(i), unit(-1.0), -low, 1.0, 1.0);
            }
            if high.is_finite() {
                self.add(LimitKind::Up(i), unit(1.0), *high, 1.0, 1.0);
            }
        }
    }

    /// The same with the level at every station, each with its tolerance; `None` where there is
    /// none to keep: no readings, or a machine that must be exactly level.
    pub(super) fn with_stations(
        &self,
        request: &Request,
        influence: &Influence,
        stations: &[StationLevel],
    ) -> Option<Self> {
        if stations.is_empty() || request.level_tolerance == 0.0 {
            return None;
        }
        let mut limits = self.clone();
        let full = steepest(influence);
        for s in stations {
            let row = influence.station([s.at[0], s.at[1]], s.along);
            let tolerance = request.surfaces.tolerance_at(&s.name, request.level_tolerance);
            let kind = |side| LimitKind::Station(s.name.clone(), side);
            limits.add(kind(1), row.clone(), tolerance - s.before, 1.0, full);
            limits.add(kind(-1), -row, tolerance + s.before, 1.0, full);
        }
        Some(limits)
    }
}

/// Length of the row of a tilt that counts as moving, rad/m.
fn steepest(influence: &Influence) -> f64 {
    influence.tilt.row_iter().map(|r| r.norm()).fold(0.0, f64::max)
}
