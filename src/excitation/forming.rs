//! How much force does the work need, and over which way?
//!
//! Blanking:  F = S t L, with the shear strength S, thickness t and length of cut L. Where only the
//! tensile strength is known, S = 0.7 UTS (M. P. Groover, Fundamentals of Modern Manufacturing, read
//! in a lecture after it). A tool with a shear of height I cuts over a longer way with less force,
//! F K t / (K t + I), K the part of the thickness that is penetrated at fracture (press-tool texts,
//! from memory): the work F K t stays. Staggered punches add up, each at its own depth.
//!
//! Drawing:   F = pi d t UTS (D / d - 0.7), punch d, blank D (Groover, from memory).
//! Coining:   F = p A at the bottom, (s / travel)^n before it: the metal closes in at the end.
//!
//! Any of these is a polygon of force over way; its area is the work. Assumptions: no speed of
//! deformation, no friction but what the numbers hold. Valid for sheet and the usual clearances.

use serde::{Deserialize, Serialize};

use super::Segment;
use super::slide::SlideDrive;
use crate::error::{Error, Result, finite, not_negative, positive};

/// Shear strength over tensile strength where only the latter is known.
pub const SHEAR_OVER_TENSILE: f64 = 0.7;
/// Part of the remaining thickness over which the force falls when the sheet breaks (common practice: fits
/// release times of some milliseconds; 0.02 to 0.3).
pub const TEAR: f64 = 0.1;
/// Part of the penetration at fracture where the force is greatest (common practice, 0.3 to 0.7).
pub const PEAK_AT: f64 = 0.5;

/// A force over the way of the slide from first contact: a polygon.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ForceCurve {
    /// Way (m) and force (N), way ascending from zero.
    pub knots: Vec<[f64; 2]>,
}

impl ForceCurve {
    /// Force (N) over way (m).
    ///
    /// # Errors
    /// [`Error::Invalid`] for fewer than two knots, a way that does not ascend from zero, or a force
    /// that is negative.
    pub fn new(knots: Vec<[f64; 2]>) -> Result<Self> {
        check_knots("knots", &knots, "m")?;
        Ok(Self { knots })
    }

    /// Work, the area under the curve, J.
    pub fn forming_energy(&self) -> f64 {
        let area = |p: &[[f64; 2]]| 0.5 * (p[1][0] - p[0][0]) * (p[0][1] + p[1][1]);
        self.knots.windows(2).map(area).sum()
    }

    /// Greatest force, N.
    pub fn peak(&self) -> f64 {
        self.knots.iter().map(|k| k[1]).fold(0.0, f64::max)
    }

    /// Force at a way, N; nothing outside.
    pub fn at(&self, way: f64) -> f64 {
        let inside = |p: &&[[f64; 2]]| p[0][0] <= way && way <= p[1][0];
        self.knots.windows(2).find(inside).map_or(0.0, |p| {
            let part = (way - p[0][0]) / (p[1][0] - p[0][0]);
            p[0][1] + part * (p[1][1] - p[0][1])
        })
    }

    /// Over time at a constant speed of the slide, m/s.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a speed that is not positive.
    pub fn at_speed(&self, speed: f64) -> Result<TimeCurve> {
        positive("speed", speed, "m/s")?;
        TimeCurve::new(self.knots.iter().map(|&[way, f]| [way / speed, f]).collect())
    }

    /// Over time under a slide that meets the work at a height above bottom dead center (m): each
    /// knot at the instant the slide is there.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a curve that reaches below bottom dead center.
    pub fn under(
        &self,
        drive: &SlideDrive,
        stroke_rate_spm: f64,
        height: f64,
    ) -> Result<TimeCurve> {
        let omega = SlideDrive::crank_speed(stroke_rate_spm)?;
        let last = self.knots.last().map_or(0.0, |k| k[0]);
        if last > height {
            return Err(Error::invalid(
                "height",
                format!("{height} m"),
                format!("must be at least the way of the force, {last} m"),
                "the slide turns at bottom dead center: meet the work higher up",
            ));
        }
        let first = drive.angle_above_bottom(height)?;
        let knots = self.knots.iter().map(|&[way, force]| {
            let angle = drive.angle_above_bottom((height - way).max(0.0))?;
            Ok([(angle - first) / omega, force])
        });
        TimeCurve::new(knots.collect::<Result<_>>()?)
    }
}

/// A force over time: a polygon that begins at t = 0.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TimeCurve {
    /// Time (s) and force (N), time ascending from zero.
    pub knots: Vec<[f64; 2]>,
}

impl TimeCurve {
    /// Force (N) over time (s).
    ///
    /// # Errors
    /// As [`ForceCurve::new`].
    pub fn new(knots: Vec<[f64; 2]>) -> Result<Self> {
        check_knots("knots", &knots, "s")?;
        Ok(Self { knots })
    }

    /// Greatest force, N.
    pub fn peak(&self) -> f64 {
        self.knots.iter().map(|k| k[1]).fold(0.0, f64::max)
    }

    /// In closed form, for the analyses.
    pub fn segments(&self) -> Vec<Segment> {
        polygon(&self.knots)
    }
}

/// A punch of a staggered tool.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Punch {
    /// Its part of the length of cut.
    pub share: f64,
    /// How much later it meets the sheet, m.
    pub later: f64,
}

/// Cutting a sheet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Blanking {
    /// Length of cut L, m.
    pub perimeter: f64,
    /// Thickness t, m.
    pub thickness: f64,
    /// Shear strength S, Pa.
    pub shear_strength: f64,
    /// Part of the thickness that is penetrated when it breaks.
    pub penetration: f64,
    /// Height of the shear on the tool, m.
    pub shear_height: f64,
    /// Punches that cut one after the other; empty: all at once.
    pub punches: Vec<Punch>,
    /// Part of the force that is left when it breaks.
    pub softened_to: f64,
    /// Part of the remaining thickness over which it breaks.
    pub tear: f64,
}

impl Blanking {
    /// A cut of length (m) through thickness (m) and shear strength (Pa), penetrated by a part of the
    /// thickness when it breaks. Published penetration: soft aluminum 0.60, low-carbon steel 0.38,
    /// 0.5 % carbon annealed 0.24 (press-tool text, table 2.2, read in an extract).
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn new(
        perimeter: f64,
        thickness: f64,
        shear_strength: f64,
        penetration: f64,
    ) -> Result<Self> {
        let blank = Self {
            perimeter,
            thickness,
            shear_strength,
            penetration,
            shear_height: 0.0,
            punches: Vec::new(),
            softened_to: 1.0,
            tear: TEAR,
        };
        blank.checked()
    }

    /// The value itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field.
    pub fn checked(self) -> Result<Self> {
        positive("perimeter", self.perimeter, "m")?;
        positive("thickness", self.thickness, "m")?;
        positive("shear_strength", self.shear_strength, "Pa")?;
        not_negative("shear_height", self.shear_height, "m")?;
        let parts = [
            ("penetration", self.penetration),
            ("softened_to", self.softened_to),
            ("tear", self.tear),
        ];
        for (name, value) in parts {
            if !(value > 0.0 && value <= 1.0) {
                return Err(Error::invalid(
                    name,
                    value,
                    "must lie between 0 and 1, above 0",
                    "give a part, as 0.38 or \"38 %\"",
                ));
            }
        }
        if self.penetration == 1.0 {
            return Err(Error::invalid(
                "penetration",
                1.0,
                "must be below 1: a sheet that is cut through to the end does not break",
                "give the part at which it breaks, 0.2 to 0.6 for most steels",
            ));
        }
        let mut whole = 0.0;
        for (i, punch) in self.punches.iter().enumerate() {
            whole += positive(&format!("punches[{i}].share"), punch.share, "")?;
            not_negative(&format!("punches[{i}].later"), punch.later, "m")?;
        }
        if !self.punches.is_empty() && (whole - 1.0).abs() > 1e-9 {
            return Err(Error::invalid(
                "punches",
                format!("{whole} in all"),
                "shares must add up to 1",
                "give the part of the whole length of cut that each punch has",
            ));
        }
        Ok(self)
    }

    /// Greatest force with shear and stagger, N.
    pub fn force(&self) -> f64 {
        self.curve().peak()
    }

    /// Force if all is cut at once by a flat tool, S t L, N.
    pub fn flat_force(&self) -> f64 {
        self.shear_strength * self.thickness * self.perimeter
    }

    /// Ways (m) from contact to the greatest force, on to fracture, and over which it then falls.
    pub fn ways(&self) -> [f64; 3] {
        let entered = self.penetration * self.thickness + self.shear_height;
        let left = (1.0 - self.penetration) * self.thickness;
        [PEAK_AT * entered, (1.0 - PEAK_AT) * entered, self.tear * left]
    }

    /// Force over way.
    pub fn curve(&self) -> ForceCurve {
        let entered = self.penetration * self.thickness;
        let force = self.flat_force() * entered / (entered + self.shear_height);
        let [rise, soften, fall] = self.ways();
        let one = [
            [0.0, 0.0],
            [rise, 1.0],
            [rise + soften, self.softened_to],
            [rise + soften + fall.max(1e-9 * rise), 0.0],
        ];
        let single = [Punch { share: 1.0, later: 0.0 }];
        let punches = if self.punches.is_empty() { &single[..] } else { &self.punches };
        let first = punches.iter().map(|p| p.later).fold(f64::INFINITY, f64::min);
        let mut ways: Vec<f64> =
            punches.iter().flat_map(|p| one.map(|k| k[0] + p.later - first)).collect();
        ways.sort_by(f64::total_cmp);
        ways.dedup();
        let shape = ForceCurve { knots: one.to_vec() };
        let sum = |way: f64| {
            punches.iter().map(|p| p.share * shape.at(way - p.later + first)).sum::<f64>()
        };
        ForceCurve { knots: ways.into_iter().map(|way| [way, force * sum(way)]).collect() }
    }
}

/// Drawing a cup: rises to its greatest force at a third of the depth and falls to nothing at its end.
///
/// # Errors
/// [`Error::Invalid`] for a number that is not positive, or a blank that is no larger than the punch.
pub fn drawing(
    punch_diameter: f64,
    blank_diameter: f64,
    thickness: f64,
    tensile_strength: f64,
    depth: f64,
) -> Result<ForceCurve> {
    let d = positive("punch_diameter", punch_diameter, "m")?;
    let blank = positive("blank_diameter", blank_diameter, "m")?;
    let t = positive("thickness", thickness, "m")?;
    let strength = positive("tensile_strength", tensile_strength, "Pa")?;
    let depth = positive("depth", depth, "m")?;
    if blank <= d {
        return Err(Error::invalid(
            "blank_diameter",
            format!("{blank} m"),
            format!("must be greater than the punch ({d} m)"),
            "give the diameter of the blank before drawing",
        ));
    }
    let force = std::f64::consts::PI * d * t * strength * (blank / d - 0.7);
    ForceCurve::new(vec![[0.0, 0.0], [depth / 3.0, force], [depth, 0.0]])
}

/// Coining an area (m^2) to a pressure (Pa) within a travel (m): F = p A (s / travel)^n in twenty
/// straight pieces.
///
/// # Errors
/// [`Error::Invalid`] for a number that is not positive, or an exponent below 1.
pub fn coining(area: f64, pressure: f64, travel: f64, exponent: f64) -> Result<ForceCurve> {
    let force = positive("area", area, "m^2")? * positive("pressure", pressure, "Pa")?;
    let travel = positive("travel", travel, "m")?;
    if finite("exponent", exponent, "")? < 1.0 {
        return Err(Error::invalid("exponent", exponent, "must be at least 1", "3 is usual"));
    }
    let knot = |i: i32| {
        let part = f64::from(i) / 20.0;
        [part * travel, force * part.powf(exponent)]
    };
    ForceCurve::new((0..=20).map(knot).collect())
}

/// Straight lines between knots, for the analyses.
pub(super) fn polygon(knots: &[[f64; 2]]) -> Vec<Segment> {
    let line = |pair: &[[f64; 2]]| Segment {
        start: pair[0][0],
        end: pair[1][0],
        constant: pair[0][1],
        slope: (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]),
        exponentials: Vec::new(),
    };
    knots.windows(2).map(line).collect()
}

fn check_knots(name: &str, knots: &[[f64; 2]], unit: &str) -> Result<()> {
    if knots.len() < 2 {
        return Err(Error::invalid(
            name,
            format!("{} knots", knots.len()),
            "must have two at least",
            "give where the force begins and where it ends",
        ));
    }
    for (i, &[x, f]) in knots.iter().enumerate() {
        not_negative(&format!("{name}[{i}][0]"), x, unit)?;
        not_negative(&format!("{name}[{i}][1]"), f, "N")?;
        let before = if i == 0 { -1.0 } else { knots[i - 1][0] };
        if x <= before || (i == 0 && x != 0.0) {
            return Err(Error::invalid(
                format!("{name}[{i}][0]"),
                format!("{x} {unit}"),
                "must ascend from zero",
                "begin at the first contact and drop repeated knots",
            ));
        }
    }
    Ok(())
}
