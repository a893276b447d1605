//! How far does a mount go down under a load, and how stiff is it there?
//!
//! A [`Curve`] is the static load F(u) of one axis over its compression u, with F(0) = 0 and
//! rising everywhere. F' is the stiffness for small motions about a working point, and the energy
//! is the integral of F from zero. Two kinds:
//!
//! - **Table**: measured points, joined by the monotone piecewise cubic of F. N. Fritsch and
//!   R. E. Carlson, SIAM J. Numer. Anal. 17 (1980) 238, with the slopes of F. N. Fritsch and
//!   J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300 (both from memory): in the inside the
//!   weighted harmonic mean of the neighboring secants, at the ends the three-point formula, here
//!   never below a quarter of the end's secant, since no mount has zero stiffness.
//! - **Compression** of rubber at finite strain: F = sum a (lam^p - lam^q), lam = 1 - u / thickness.
//!   F = (A E/3)(1 + 2 phi S^2)(lam^-2 - lam) is one term (P. K. Freakley and A. R. Payne, Theory
//!   and Practice of Engineering with Rubber, 1978, from memory).
//!
//! Limits: no creep, no hysteresis, one axis alone. Outside its range a curve is an error and is
//! never extrapolated.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, each, finite, positive};

/// Largest strain, in compression and in tension, of [`Compression`]: formulas of rubber are used
/// to some 30 % (common practice).
const MOST_STRAIN: f64 = 0.5;
/// Least end slope of a table as a part of the end's secant.
const LEAST_END_SLOPE: f64 = 0.25;
/// Steps in which a formula is searched for a falling load, for its whole range.
const SEARCHED: usize = 1000;
/// Newton steps and bisections of the inverse.
const INVERSE_STEPS: usize = 200;

/// Static load over compression of one axis.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Curve {
    /// Measured points.
    Table(Table),
    /// A formula of rubber.
    Compression(Compression),
}

/// Points of a load-deflection curve and the slopes between them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Table {
    /// Compression, m, rising.
    deflection: Vec<f64>,
    /// Load, N, rising.
    load: Vec<f64>,
    /// Stiffness at each point, N/m.
    slope: Vec<f64>,
}

/// F = sum a (lam^p - lam^q), lam = 1 - u / thickness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Compression {
    /// Thickness of the rubber, m.
    thickness: f64,
    /// (a in N, p, q) of each term.
    terms: Vec<(f64, f64, f64)>,
}

impl Curve {
    /// Curve through measured points (compression m, load N), in order of compression. A mount
    /// without compression carries no load: (0, 0) is put before a first point that is squeezed,
    /// and must stand in a table that begins in tension (negative compression and load).
    ///
    /// # Errors
    /// [`Error::Invalid`] for no point besides (0, 0), a number that is not finite, no (0, 0) where
    /// the table passes zero, or a compression or load that does not rise: the first such row is
    /// named, from 0.
    pub fn table(points: &[(f64, f64)]) -> Result<Self> {
        for (i, &(u, f)) in points.iter().enumerate() {
            finite(&format!("curve[{i}][0]"), u, "m")?;
            finite(&format!("curve[{i}][1]"), f, "N")?;
        }
        let mut before = points.first().filter(|first| first.0 > 0.0).map(|_| (0.0, 0.0));
        let (mut deflection, mut load): (Vec<f64>, Vec<f64>) = before.iter().copied().unzip();
        for (i, &(u, f)) in points.iter().enumerate() {
            if let Some((u_before, f_before)) = before {
                rises(i, 0, "compression", "m", u_before, u)?;
                rises(i, 1, "load", "N", f_before, f)?;
            }
            before = Some((u, f));
            deflection.push(u);
            load.push(f);
        }
        if deflection.len() < 2 {
            return Err(Error::invalid(
                "curve",
                format!("{} points", points.len()),
                "at least one point besides [0, 0] is required",
                "give the rows [compression, load]",
            ));
        }
        let at_zero =
            deflection.iter().position(|&u| u >= 0.0).map(|i| (i, deflection[i], load[i]));
        if at_zero.is_none_or(|(_, u, f)| (u, f) != (0.0, 0.0)) {
            let row = at_zero.map_or(points.len() - 1, |(i, ..)| i);
            return Err(Error::invalid(
                format!("curve[{row}]"),
                format!("{} m at {} N", points[row].0, points[row].1),
                "a mount without compression carries no load: the row [0, 0] is required",
                "count compression from the unloaded height and add the row [0, 0]",
            ));
        }
        let slope = slopes(&deflection, &load);
        each(positive, "stiffness between the points of the curve", &slope, "N/m")?;
        Ok(Self::Table(Table { deflection, load, slope }))
    }

    /// Rubber of a thickness (m): F = sum a (lam^p - lam^q), terms (a in N, p, q), valid to a
    /// strain of 50 % in compression and in tension.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a thickness that is not positive, no term, a number that is not
    /// finite, or a load that falls somewhere in that range: the strain is named.
    pub fn compression(thickness: f64, terms: Vec<(f64, f64, f64)>) -> Result<Self> {
        positive("thickness", thickness, "m")?;
        for (i, &(a, p, q)) in terms.iter().enumerate() {
            each(finite, &format!("terms[{i}]"), &[a, p, q], "")?;
        }
        let curve = Self::Compression(Compression { thickness, terms });
        let [start, end] = curve.range();
        for i in 0..=SEARCHED {
            let u = start + (end - start) * i as f64 / SEARCHED as f64;
            let k = curve.slope(u);
            if !(k > 0.0 && k.is_finite()) {
                return Err(Error::invalid(
                    "terms",
                    format!("stiffness {k} N/m at a strain of {:.1} %", 100.0 * u / thickness),
                    "the load must rise with the compression everywhere",
                    "check the signs of the terms (a > 0 with p < q)",
                ));
            }
        }
        Ok(curve)
    }

    /// The curve with every load times a factor: rubber that is colder, warmer or aged.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a factor that is not greater than zero.
    pub fn scaled(&self, factor: f64) -> Result<Self> {
        let factor = positive("factor", factor, "")?;
        let by = |values: &[f64]| values.iter().map(|v| v * factor).collect();
        Ok(match self {
            Self::Table(t) => Self::Table(Table {
                deflection: t.deflection.clone(),
                load: by(&t.load),
                slope: by(&t.slope),
            }),
            Self::Compression(c) => Self::Compression(Compression {
                thickness: c.thickness,
                terms: c.terms.iter().map(|&(a, p, q)| (a * factor, p, q)).collect(),
            }),
        })
    }

    /// Least and greatest compression, m.
    pub fn range(&self) -> [f64; 2] {
        match self {
            Self::Table(t) => [t.deflection[0], t.deflection[t.deflection.len() - 1]],
            Self::Compression(c) => [-MOST_STRAIN * c.thickness, MOST_STRAIN * c.thickness],
        }
    }

    /// Load F at compression u (m), N.
    ///
    /// # Errors
    /// [`Error::Invalid`] outside the range of the curve.
    pub fn force(&self, u: f64) -> Result<f64> {
        self.inside(u).map(|u| self.load(u))
    }

    /// Stiffness dF/du at compression u (m), N/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] outside the range of the curve.
    pub fn tangent(&self, u: f64) -> Result<f64> {
        self.inside(u).map(|u| self.slope(u))
    }

    /// Energy stored at compression u (m): the integral of F from zero, N m.
    ///
    /// # Errors
    /// [`Error::Invalid`] outside the range of the curve.
    pub fn energy(&self, u: f64) -> Result<f64> {
        self.inside(u).map(|u| self.work(u))
    }

    /// Compression (m) under a load F (N).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load outside the range of the curve.
    pub fn deflection(&self, load: f64) -> Result<f64> {
        let [mut low, mut high] = self.range();
        let (least, most) = (self.load(low), self.load(high));
        if !(least..=most).contains(&load) {
            return Err(Error::invalid(
                "load",
                format!("{load} N"),
                format!("the curve reaches from {least:.6e} N to {most:.6e} N"),
                "use a curve that reaches further; it is not extrapolated",
            ));
        }
        let mut u = low + (high - low) * (load - least) / (most - least);
        for _ in 0..INVERSE_STEPS {
            let miss = self.load(u) - load;
            if miss == 0.0 {
                break;
            }
            if miss > 0.0 {
                high = u
            } else {
                low = u
            }
            let newton = u - miss / self.slope(u);
            let next =
                if newton > low && newton < high { newton } else { low + 0.5 * (high - low) };
            if next == u || next == low || next == high {
                break;
            }
            u = next;
        }
        Ok(u)
    }

    /// F and F' with the end tangents beyond the range, so that Newton's method can pass there;
    /// who uses it must refuse a result outside.
    pub(super) fn extended(&self, u: f64) -> (f64, f64) {
        let inside = self.clamp(u);
        let k = self.slope(inside);
        (self.load(inside) + k * (u - inside), k)
    }

    fn clamp(&self, u: f64) -> f64 {
        let [start, end] = self.range();
        u.clamp(start, end)
    }

    fn inside(&self, u: f64) -> Result<f64> {
        let [start, end] = self.range();
        if (start..=end).contains(&u) {
            return Ok(u);
        }
        Err(Error::invalid(
            "compression",
            format!("{u} m"),
            format!("the curve reaches from {start:.6e} m to {end:.6e} m"),
            "use a curve that reaches further; it is not extrapolated",
        ))
    }

    fn load(&self, u: f64) -> f64 {
        match self {
            Self::Table(t) => {
                let (i, s) = t.place(u);
                let [c0, c1, c2, c3] = t.cubic(i);
                c0 + s * (c1 + s * (c2 + s * c3))
            }
            Self::Compression(c) => {
                let lam = c.stretch(u);
                c.terms.iter().map(|&(a, p, q)| a * (lam.powf(p) - lam.powf(q))).sum()
            }
        }
    }

    fn slope(&self, u: f64) -> f64 {
        match self {
            Self::Table(t) => {
                let (i, s) = t.place(u);
                let [_, c1, c2, c3] = t.cubic(i);
                (c1 + s * (2.0 * c2 + s * 3.0 * c3)) / t.width(i)
            }
            Self::Compression(c) => {
                let lam = c.stretch(u);
                let each = |&(a, p, q): &(f64, f64, f64)| {
                    a * (q * lam.powf(q - 1.0) - p * lam.powf(p - 1.0))
                };
                c.terms.iter().map(each).sum::<f64>() / c.thickness
            }
        }
    }

    fn work(&self, u: f64) -> f64 {
        match self {
            Self::Table(t) => t.work(u) - t.work(0.0),
            Self::Compression(c) => {
                let lam = c.stretch(u);
                // Integral of lam^p from lam to 1.
                let power = |p: f64| {
                    if p == -1.0 { -lam.ln() } else { (1.0 - lam.powf(p + 1.0)) / (p + 1.0) }
                };
                c.terms.iter().map(|&(a, p, q)| a * (power(p) - power(q))).sum::<f64>()
                    * c.thickness
            }
        }
    }
}

impl Table {
    /// Compression (m) and load (N) of each point.
    pub fn points(&self) -> Vec<(f64, f64)> {
        self.deflection.iter().copied().zip(self.load.iter().copied()).collect()
    }

    fn width(&self, i: usize) -> f64 {
        self.deflection[i + 1] - self.deflection[i]
    }

    /// Interval of u, and the part of it passed.
    fn place(&self, u: f64) -> (usize, f64) {
        let after = self.deflection.partition_point(|&x| x <= u);
        let i = after.clamp(1, self.deflection.len() - 1) - 1;
        (i, (u - self.deflection[i]) / self.width(i))
    }

    /// F = c0 + c1 s + c2 s^2 + c3 s^3 over the interval, s from 0 to 1.
    fn cubic(&self, i: usize) -> [f64; 4] {
        let h = self.width(i);
        let rise = self.load[i + 1] - self.load[i];
        let (a, b) = (h * self.slope[i], h * self.slope[i + 1]);
        [self.load[i], a, 3.0 * rise - 2.0 * a - b, a + b - 2.0 * rise]
    }

    /// Integral of F from the first point to u.
    fn work(&self, u: f64) -> f64 {
        let part = |i: usize, s: f64| {
            let [c0, c1, c2, c3] = self.cubic(i);
            self.width(i) * s * (c0 + s * (c1 / 2.0 + s * (c2 / 3.0 + s * c3 / 4.0)))
        };
        let (i, s) = self.place(u);
        (0..i).map(|j| part(j, 1.0)).sum::<f64>() + part(i, s)
    }
}

impl Compression {
    /// Thickness of the rubber, m.
    pub fn thickness(&self) -> f64 {
        self.thickness
    }

    /// (a in N, p, q) of each term.
    pub fn terms(&self) -> &[(f64, f64, f64)] {
        &self.terms
    }

    fn stretch(&self, u: f64) -> f64 {
        1.0 - u / self.thickness
    }
}

fn rises(row: usize, column: usize, what: &str, unit: &str, before: f64, here: f64) -> Result<()> {
    if here > before {
        return Ok(());
    }
    Err(Error::invalid(
        format!("curve[{row}][{column}]"),
        format!("{here} {unit}"),
        format!("the {what} must rise from row to row (before it {before} {unit})"),
        "check the row and the order of the rows",
    ))
}

/// Point and column (0 compression, 1 load) that an error of [`Curve::table`] names: `curve[2][1]`
/// is (2, 1).
pub fn point_of(argument: &str) -> Option<(usize, usize)> {
    let inside = argument.strip_prefix("curve[")?.strip_suffix(']')?;
    let (point, column) = inside.split_once("][").unwrap_or((inside, "0"));
    Some((point.parse().ok()?, column.parse().ok()?))
}

/// Fritsch and Butland: weighted harmonic means of rising secants.
fn slopes(u: &[f64], f: &[f64]) -> Vec<f64> {
    let last = u.len() - 1;
    let h: Vec<f64> = u.windows(2).map(|w| w[1] - w[0]).collect();
    let secant: Vec<f64> = f.windows(2).zip(&h).map(|(w, h)| (w[1] - w[0]) / h).collect();
    if last == 1 {
        return vec![secant[0]; 2];
    }
    let end = |i: usize, next: usize| {
        let (h0, h1) = (h[i], h[next]);
        let three_points = ((2.0 * h0 + h1) * secant[i] - h0 * secant[next]) / (h0 + h1);
        three_points.max(LEAST_END_SLOPE * secant[i])
    };
    let inside = |i: usize| {
        let (w1, w2) = (2.0 * h[i] + h[i - 1], h[i] + 2.0 * h[i - 1]);
        (w1 + w2) / (w1 / secant[i - 1] + w2 / secant[i])
    };
    (0..=last)
        .map(|i| match i {
            0 => end(0, 1),
            i if i == last => end(last - 1, last - 2),
            i => inside(i),
        })
        .collect()
}
