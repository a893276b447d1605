//! Where is the slide of a press whose motion is a table, as a servo's profile with a dwell or a
//! pendulum stroke?
//!
//! Heights z_k of the slide at angles theta_k of one cycle are joined by the periodic cubic spline:
//! z, z' and z'' are continuous all round, so the inertia force has no jumps. On an interval of
//! length h_k, with x = theta - theta_k and the second derivatives M_k,
//!
//! z = z_k + x ((z_{k+1} - z_k)/h - h (2 M_k + M_{k+1})/6) + x^2 M_k/2 + x^3 (M_{k+1} - M_k)/(6 h);
//!
//! M solves h_{k-1} M_{k-1} + 2 (h_{k-1} + h_k) M_k + h_k M_{k+1} = 6 (slope_k - slope_{k-1}), cyclic.
//!
//! A table with a corner (a jump in speed, an infinite force) would be smoothed over in silence by
//! any spline, so corners are looked for first: at each row the speeds of the cubics through the four
//! points on either side are compared; they differ by O(h^3) on a smooth motion, and by the jump at a
//! corner.
//!
//! A table in time is one cycle: time 0 to T is angle 0 to 2 pi, and the stroke rate sets T.
//!
//! Source: textbook spline, e.g. C. de Boor, A Practical Guide to Splines, rev. ed. 2001, chapter IV
//! (from memory); limits: between rows the motion is the spline's, and rows too far apart are
//! reported as corners.

use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::jet::Jet;
use crate::error::{Error, Result, each, finite, positive};

/// Fewest rows of one cycle.
const FEWEST: usize = 12;
/// Corner: jump of the speed at a row over the greatest speed.
const CORNER: f64 = 0.1;
/// A jump of the speed from here to [`CORNER`] is rounded by the spline, and told.
const TOLD: f64 = 0.02;
/// Longest step over the closing gap to the first row, in steps of the table.
const GAP: f64 = 2.0;
/// How far the closing row may stand from the first, over the stroke.
const CLOSED: f64 = 1e-6;

/// A tabulated motion law; make one by [`Profile::from_angle`] or [`Profile::from_time`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Profile {
    /// Angles of the rows within one turn, rad, ascending.
    pub angle: Vec<f64>,
    /// Height of the slide at the rows over any level, m.
    pub height: Vec<f64>,
    /// Second derivative of the height by the angle at the rows, m/rad^2.
    pub second: Vec<f64>,
    /// What to know of the table: speeds that jump a little, rounded by the spline.
    pub notes: Vec<String>,
}

impl Profile {
    /// Height of the slide (m, over any level, up positive) against crank angle (rad, ascending,
    /// within one turn; a closing row one turn after the first repeats its height).
    ///
    /// # Errors
    /// Too few rows, angles out of order, a cycle that does not close, a jump in speed.
    pub fn from_angle(angle: &[f64], height: &[f64]) -> Result<Self> {
        Self::spline("angle", "rad", angle, height, TAU)
    }

    /// Height of the slide (m, over any level, up positive) against time (s) over exactly one cycle:
    /// the last row closes it.
    ///
    /// # Errors
    /// As [`Profile::from_angle`].
    pub fn from_time(time: &[f64], height: &[f64]) -> Result<Self> {
        let ends = time.first().zip(time.last());
        let cycle = ends.map_or(0.0, |(first, last)| last - first);
        positive("time[last] - time[first]", cycle, "s")?;
        Self::spline("time", "s", time, height, cycle)
    }

    fn spline(name: &str, unit: &str, at: &[f64], height: &[f64], cycle: f64) -> Result<Self> {
        if at.len() != height.len() {
            return Err(Error::Shape {
                argument: "height".into(),
                found: format!("({})", height.len()),
                expected: format!("({}), one for each {name},", at.len()),
            });
        }
        each(finite, name, at, unit)?;
        each(finite, "height", height, "m")?;
        for (i, pair) in at.windows(2).enumerate() {
            if pair[1] <= pair[0] {
                return Err(Error::invalid(
                    format!("{name}[{}]", i + 1),
                    format!("{} {unit}", pair[1]),
                    format!("must be greater than the one before ({} {unit})", pair[0]),
                    "sort the rows and drop repeated ones",
                ));
            }
        }
        let rows = open_cycle(name, unit, at, height, cycle)?;
        if rows < FEWEST {
            return Err(Error::invalid(
                name,
                format!("{rows} rows"),
                format!("must have at least {FEWEST} rows in one cycle"),
                "give more rows; 72 or more draw a stroke well",
            ));
        }
        let angle: Vec<f64> = at[..rows].iter().map(|a| a / cycle * TAU).collect();
        let height_rows = height[..rows].to_vec();
        let mut out = Self { angle, height: height_rows, second: Vec::new(), notes: Vec::new() };
        out.no_gap(name, unit, at)?;
        if out.stroke_of_rows() <= 0.0 {
            return Err(Error::invalid(
                "height",
                format!("{} m in every row", height[0]),
                "must vary: a slide that stands still has no stroke",
                "check the column of the table",
            ));
        }
        out.no_corners(name, unit, at)?;
        out.second = out.second_derivatives()?;
        Ok(out)
    }

    fn stroke_of_rows(&self) -> f64 {
        let span = |f: fn(f64, f64) -> f64, from| self.height.iter().copied().fold(from, f);
        span(f64::max, f64::NEG_INFINITY) - span(f64::min, f64::INFINITY)
    }

    /// Length of the interval after row k, rad.
    pub(super) fn step(&self, k: usize) -> f64 {
        let next = self.angle.get(k + 1).copied().unwrap_or(self.angle[0] + TAU);
        next - self.angle[k]
    }

    /// Slope of the chord after row k, m/rad.
    fn chord(&self, k: usize) -> f64 {
        let next = self.height[(k + 1) % self.height.len()];
        (next - self.height[k]) / self.step(k)
    }

    /// Speeds (m/rad) of the cubics through four points before and after each row.
    fn one_sided_speeds(&self, k: usize) -> (f64, f64) {
        let n = self.angle.len();
        let side = |forward: bool| {
            // Divided differences from row k outward: p'(x0) = c1 + c2 (x0-x1) + c3 (x0-x1)(x0-x2).
            let mut x = [0.0; 4];
            let mut c = [0.0; 4];
            for i in 0..4 {
                let row = if forward { (k + i) % n } else { (k + n - i) % n };
                let turn = self.angle[row] - self.angle[k];
                x[i] = match forward {
                    true if turn < 0.0 => turn + TAU,
                    false if turn > 0.0 => turn - TAU,
                    _ => turn,
                };
                c[i] = self.height[row];
            }
            for order in 1..4 {
                for i in (order..4).rev() {
                    c[i] = (c[i] - c[i - 1]) / (x[i] - x[i - order]);
                }
            }
            c[1] - c[2] * x[1] + c[3] * x[1] * x[2]
        };
        (side(false), side(true))
    }

    /// Refuses a table that ends long before its cycle does: nothing is filled in.
    fn no_gap(&self, name: &str, unit: &str, at: &[f64]) -> Result<()> {
        let n = self.angle.len();
        let longest = (0..n - 1).map(|k| self.step(k)).fold(0.0, f64::max);
        let gap = self.step(n - 1);
        if gap <= GAP * longest {
            return Ok(());
        }
        let half = (gap - std::f64::consts::PI).abs() < GAP * longest;
        Err(Error::invalid(
            format!("{name}[{}]", at.len() - 1),
            format!("{} {unit}", at[at.len() - 1]),
            format!(
                "must be close to the end of the cycle: {:.1} degrees of crank angle have no row, and \
                 the longest step of the table is {:.1}",
                gap.to_degrees(),
                longest.to_degrees()
            ),
            if half {
                "give the whole turn: a half of it is not mirrored, since no drive need be symmetric"
            } else {
                "give rows for the whole turn"
            },
        ))
    }

    fn no_corners(&mut self, name: &str, unit: &str, at: &[f64]) -> Result<()> {
        let fastest = (0..self.angle.len()).map(|k| self.chord(k).abs()).fold(0.0, f64::max);
        let sides: Vec<_> = (0..self.angle.len()).map(|k| self.one_sided_speeds(k)).collect();
        let jump = |k: usize| (sides[k].1 - sides[k].0).abs();
        let corners: Vec<usize> =
            (0..sides.len()).filter(|&k| jump(k) > CORNER * fastest).collect();
        let Some(&worst) = corners.iter().max_by(|&&a, &&b| jump(a).total_cmp(&jump(b))) else {
            let small = (0..sides.len()).max_by(|&a, &b| jump(a).total_cmp(&jump(b)));
            if let Some(k) = small.filter(|&k| jump(k) > TOLD * fastest) {
                self.notes.push(format!(
                    "at crank angle {:.1} degrees the slide's speed jumps by {:.1} % of its greatest: \
                     the spline through the table rounds it; give more rows there",
                    self.angle[k].to_degrees(),
                    100.0 * jump(k) / fastest
                ));
            }
            return Ok(());
        };
        let (before, after) = sides[worst];
        let others = match corners.len() {
            1 => String::new(),
            n => format!(" ({n} rows in all)"),
        };
        Err(Error::invalid(
            format!("height at {name} {} {unit}", at[worst]),
            format!("{} m", self.height[worst]),
            format!(
                "must go on smoothly: at crank angle {:.1} degrees the slide's speed jumps from \
                 {before:.4} to {after:.4} m/rad{others}, which takes an infinite force",
                self.angle[worst].to_degrees()
            ),
            "round the corner as the drive does, or give more rows where the motion turns sharply",
        ))
    }

    /// Second derivatives at the rows: the cyclic tridiagonal system, by Sherman and Morrison.
    fn second_derivatives(&self) -> Result<Vec<f64>> {
        let n = self.angle.len();
        let h: Vec<f64> = (0..n).map(|k| self.step(k)).collect();
        let before = |k: usize| h[(k + n - 1) % n];
        let mut diagonal: Vec<f64> = (0..n).map(|k| 2.0 * (before(k) + h[k])).collect();
        let right: Vec<f64> =
            (0..n).map(|k| 6.0 * (self.chord(k) - self.chord((k + n - 1) % n))).collect();
        // The corner h of the cycle is taken out as a rank-one matrix u v'.
        let (corner, gamma) = (h[n - 1], -diagonal[0]);
        diagonal[0] -= gamma;
        diagonal[n - 1] -= corner * corner / gamma;
        let mut u = vec![0.0; n];
        (u[0], u[n - 1]) = (gamma, corner);
        let x = tridiagonal(&diagonal, &h, right);
        let w = tridiagonal(&diagonal, &h, u);
        let along = |y: &[f64]| y[0] + corner / gamma * y[n - 1];
        let factor = along(&x) / (1.0 + along(&w));
        if !factor.is_finite() {
            return Err(Error::NotConverged {
                what: "the periodic spline of the slide's motion".into(),
                detail: format!("{n} rows with steps down to {:e} rad", minimum(&h)),
                remedy: "give rows that are farther apart".into(),
            });
        }
        Ok(x.iter().zip(&w).map(|(x, w)| x - factor * w).collect())
    }

    /// Height (m) with its derivatives at an angle (rad).
    pub(super) fn jet(&self, theta: f64) -> Jet {
        let theta = self.angle[0] + (theta - self.angle[0]).rem_euclid(TAU);
        let k = self.angle.partition_point(|&a| a <= theta).max(1) - 1;
        let n = self.angle.len();
        let (h, x) = (self.step(k), theta - self.angle[k]);
        let (m0, m1) = (self.second[k], self.second[(k + 1) % n]);
        let b = self.chord(k) - h * (2.0 * m0 + m1) / 6.0;
        let cubic = (m1 - m0) / (6.0 * h);
        Jet {
            f: self.height[k] + x * (b + x * (m0 / 2.0 + x * cubic)),
            d: b + x * (m0 + 3.0 * x * cubic),
            dd: m0 + 6.0 * x * cubic,
        }
    }

    /// Places where the spline's speed is zero, rad: roots of the quadratic on each interval.
    pub(super) fn stationary(&self) -> Vec<f64> {
        let n = self.angle.len();
        let mut out = Vec::new();
        for k in 0..n {
            let h = self.step(k);
            let (m0, m1) = (self.second[k], self.second[(k + 1) % n]);
            let (b, a) = (self.chord(k) - h * (2.0 * m0 + m1) / 6.0, (m1 - m0) / (2.0 * h));
            let root = m0 * m0 - 4.0 * a * b;
            // Citardauq form: no loss of digits where a is small.
            let q = -(m0 + root.max(0.0).sqrt().copysign(m0)) / 2.0;
            for x in [q / a, b / q] {
                if root >= 0.0 && (0.0..=h).contains(&x) {
                    out.push(self.angle[k] + x);
                }
            }
            out.push(self.angle[k]);
        }
        out
    }
}

/// Rows of one cycle without the closing one.
fn open_cycle(name: &str, unit: &str, at: &[f64], height: &[f64], cycle: f64) -> Result<usize> {
    let n = at.len();
    if n == 0 {
        return Ok(0);
    }
    let span = at[n - 1] - at[0];
    let tolerance = 1e-9 * cycle;
    if span > cycle + tolerance {
        return Err(Error::invalid(
            format!("{name}[{}]", n - 1),
            format!("{} {unit}", at[n - 1]),
            format!("must lie within one cycle of {cycle} {unit} after the first row"),
            "give one cycle alone",
        ));
    }
    if span < cycle - tolerance {
        return Ok(n);
    }
    let span = |f: fn(f64, f64) -> f64, from| height.iter().copied().fold(from, f);
    let stroke = span(f64::max, f64::NEG_INFINITY) - span(f64::min, f64::INFINITY);
    let gap = height[n - 1] - height[0];
    if gap.abs() > CLOSED * stroke {
        return Err(Error::invalid(
            format!("height[{}]", n - 1),
            format!("{} m", height[n - 1]),
            format!(
                "must be the height of the first row ({} m): after one cycle the slide is where it \
                 was, here it is {gap:.3e} m off",
                height[0]
            ),
            "close the cycle, or drop the last row if it belongs to the next one",
        ));
    }
    Ok(n - 1)
}

/// Thomas algorithm; `side[k]` stands beside the diagonal between rows k and k + 1.
fn tridiagonal(diagonal: &[f64], side: &[f64], mut right: Vec<f64>) -> Vec<f64> {
    let n = diagonal.len();
    let mut pivot = diagonal.to_vec();
    for k in 1..n {
        let factor = side[k - 1] / pivot[k - 1];
        pivot[k] -= factor * side[k - 1];
        right[k] -= factor * right[k - 1];
    }
    for k in (0..n).rev() {
        let above = if k + 1 < n { side[k] * right[k + 1] } else { 0.0 };
        right[k] = (right[k] - above) / pivot[k];
    }
    right
}

fn minimum(values: &[f64]) -> f64 {
    values.iter().copied().fold(f64::INFINITY, f64::min)
}
