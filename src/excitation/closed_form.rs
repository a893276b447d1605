//! How is a smooth function of time brought into closed form, and how close is that?
//!
//! On each piece, from -1 to 1 in x, the function is fitted at Chebyshev points, by least squares, with
//!
//! 1, x, cos(k d x), sin(k d x), k = 1 .. 5, d = 0.45                        ([`smooth`])
//! e^{j phi(t_c)} e^{j phi'(t_c) tau} times the sum of c_k e^{j k d x}, k = -6 .. 6   ([`turning`])
//!
//! which are segments of a load. A piece whose fit misses the function anywhere between the points
//! by more than the tolerance is halved. Over a short piece a smooth function is near a polynomial,
//! and twelve such waves reach any polynomial of degree eleven to rounding; sums are solved through
//! the singular values, so that nearly dependent waves cost no digits of the fit.
//!
//! The error stated is the greatest difference on a grid of [`CHECKS`] points of every piece, over
//! the greatest size of the function: an observed bound, not a proved one.
//!
//! Source: Fourier extension, e.g. D. Huybrechs, SIAM J. Numer. Anal. 47 (2010), p. 4326 (from
//! memory); derived and measured here.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

use super::Segment;
use crate::error::{Error, Result};

/// Relative error that is aimed at.
pub const TOLERANCE: f64 = 1e-12;
/// Points of a piece at which its fit is checked.
pub const CHECKS: usize = 41;
const WAVES: usize = 5;
const TURNING_WAVES: i32 = 6;
const STEP: f64 = 0.45;
const POINTS: usize = 30;
const MOST_PIECES: usize = 200_000;
/// Halvings of a piece between two knots.
const DEEPEST: u32 = 24;

/// A function in closed form.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ClosedForm {
    /// Its pieces.
    pub segments: Vec<Segment>,
    /// Greatest difference from the function, over the function's greatest size.
    pub error: f64,
}

/// A real function between knots (s, ascending) at which it may jump or bend; on each side of a knot
/// it is smooth. `f(piece, t)` is the function of the stretch from knot `piece` to the next.
///
/// # Errors
/// [`Error::NotConverged`] where the function is not smooth between the knots.
pub fn smooth(f: impl Fn(usize, f64) -> f64, knots: &[f64], tolerance: f64) -> Result<ClosedForm> {
    let basis = Basis::new(2 + 2 * WAVES, real_row)?;
    let scale = greatest(knots, |piece, t| f(piece, t).abs());
    if scale == 0.0 {
        return Ok(ClosedForm { segments: Vec::new(), error: 0.0 });
    }
    let (segments, error) = basis.cut(knots, tolerance, |piece, [from, to]| {
        let (center, half) = (0.5 * (from + to), 0.5 * (to - from));
        let at = |x: f64| f(piece, center + half * x);
        let (c, error) = basis.fit(|x| Complex64::from(at(x)), scale);
        let wave = |k: usize| {
            let amplitude = Complex64::new(c[2 * k].re, -c[2 * k + 1].re);
            let turn = k as f64 * STEP;
            // cos(k d x) and sin(k d x) with x = tau / half - 1.
            (amplitude * Complex64::cis(-turn), Complex64::I * (turn / half))
        };
        let segment = Segment {
            start: from,
            end: to,
            constant: c[0].re - c[1].re,
            slope: c[1].re / half,
            exponentials: (1..=WAVES).map(wave).collect(),
        };
        (vec![segment], error)
    })?;
    Ok(ClosedForm { segments: segments.into_iter().flatten().collect(), error })
}

/// Re and Im of E(t) e^{j phi(t)} between knots, E and phi' slow: the two parts as lists of segments.
///
/// # Errors
/// [`Error::NotConverged`] where E or phi' are not smooth between the knots.
pub fn turning(
    envelope: impl Fn(f64) -> Complex64,
    phase: impl Fn(f64) -> [f64; 2],
    knots: &[f64],
    tolerance: f64,
) -> Result<[ClosedForm; 2]> {
    let basis = Basis::new(2 * TURNING_WAVES as usize + 1, turning_row)?;
    let scale = greatest(knots, |_, t| envelope(t).norm());
    let empty = ClosedForm { segments: Vec::new(), error: 0.0 };
    if scale == 0.0 {
        return Ok([empty.clone(), empty]);
    }
    let (pairs, error) = basis.cut(knots, tolerance, |_, [from, to]| {
        let (center, half) = (0.5 * (from + to), 0.5 * (to - from));
        let [turn, rate] = phase(center);
        let at = |x: f64| {
            let t = center + half * x;
            envelope(t) * Complex64::cis(phase(t)[0] - turn - rate * half * x)
        };
        let (c, error) = basis.fit(at, scale);
        let waves: Vec<(Complex64, Complex64)> = (0..c.len())
            .map(|i| {
                let k = f64::from(i as i32 - TURNING_WAVES) * STEP;
                let exponent = Complex64::I * (rate + k / half);
                (c[i] * Complex64::cis(turn) * (-exponent * half).exp(), exponent)
            })
            .collect();
        let part = |turned: Complex64| {
            let exponentials = waves.iter().map(|&(a, s)| (a * turned, s)).collect();
            Segment { exponentials, ..Segment::line(from, to, 0.0, 0.0) }
        };
        (vec![part(Complex64::ONE), part(-Complex64::I)], error)
    })?;
    let (mut real, mut imaginary) = (Vec::new(), Vec::new());
    for pair in pairs {
        let mut pair = pair.into_iter();
        real.extend(pair.next());
        imaginary.extend(pair.next());
    }
    Ok([ClosedForm { segments: real, error }, ClosedForm { segments: imaginary, error }])
}

/// Greatest size on a grid between the knots.
pub(super) fn greatest(knots: &[f64], size: impl Fn(usize, f64) -> f64) -> f64 {
    let mut greatest = 0.0_f64;
    for (piece, pair) in knots.windows(2).enumerate() {
        for i in 0..=400 {
            let t = pair[0] + (pair[1] - pair[0]) * f64::from(i) / 400.0;
            greatest = greatest.max(size(piece, t));
        }
    }
    greatest
}

type Row = fn(f64, usize) -> Complex64;

fn real_row(x: f64, i: usize) -> Complex64 {
    let turn = (i / 2) as f64 * STEP * x;
    let value = match i {
        0 => 1.0,
        1 => x,
        _ if i.is_multiple_of(2) => turn.cos(),
        _ => turn.sin(),
    };
    value.into()
}

fn turning_row(x: f64, i: usize) -> Complex64 {
    Complex64::cis(f64::from(i as i32 - TURNING_WAVES) * STEP * x)
}

/// Waves on -1 to 1, by their singular values at the points of the fit.
struct Basis {
    points: Vec<f64>,
    left: DMatrix<Complex64>,
    inverse: Vec<f64>,
    right: DMatrix<Complex64>,
    row: Row,
}

impl Basis {
    fn new(count: usize, row: Row) -> Result<Self> {
        let point = |i: usize| (PI * (i as f64 + 0.5) / POINTS as f64).cos();
        let points: Vec<f64> = (0..POINTS).map(point).collect();
        let a = DMatrix::from_fn(POINTS, count, |i, k| row(points[i], k));
        let svd = a.svd(true, true);
        let (Some(left), Some(right)) = (svd.u, svd.v_t) else { return Err(rough()) };
        let least = 3e-15 * svd.singular_values.max();
        let invert = |s: &f64| if *s > least { 1.0 / s } else { 0.0 };
        let inverse = svd.singular_values.iter().map(invert).collect();
        Ok(Self { points, left, inverse, right, row })
    }

    /// Coefficients, and the greatest difference over the scale.
    fn fit(&self, f: impl Fn(f64) -> Complex64, scale: f64) -> (Vec<Complex64>, f64) {
        let values = DVector::from_iterator(POINTS, self.points.iter().map(|&x| f(x)));
        let mut parts = self.left.ad_mul(&values);
        parts.iter_mut().zip(&self.inverse).for_each(|(p, s)| *p *= s);
        let c = self.right.ad_mul(&parts);
        let mut worst = 0.0_f64;
        for i in 0..CHECKS {
            let x = -1.0 + 2.0 * i as f64 / (CHECKS - 1) as f64;
            let fitted: Complex64 = c.iter().enumerate().map(|(k, c)| c * (self.row)(x, k)).sum();
            worst = worst.max((fitted - f(x)).norm());
        }
        (c.iter().copied().collect(), worst / scale)
    }

    /// Halve the stretches between knots until each is fitted.
    fn cut(
        &self,
        knots: &[f64],
        tolerance: f64,
        fit: impl Fn(usize, [f64; 2]) -> (Vec<Segment>, f64),
    ) -> Result<(Vec<Vec<Segment>>, f64)> {
        let (mut out, mut worst) = (Vec::new(), 0.0_f64);
        for (piece, pair) in knots.windows(2).enumerate() {
            let mut open = vec![([pair[0], pair[1]], 0)];
            while let Some(([from, to], depth)) = open.pop() {
                let (found, error) = fit(piece, [from, to]);
                if error <= tolerance {
                    worst = worst.max(error);
                    out.push(found);
                } else if depth == DEEPEST || out.len() + open.len() >= MOST_PIECES {
                    return Err(rough());
                } else {
                    let middle = 0.5 * (from + to);
                    open.push(([middle, to], depth + 1));
                    open.push(([from, middle], depth + 1));
                }
            }
        }
        Ok((out, worst))
    }
}

fn rough() -> Error {
    Error::NotConverged {
        what: "the closed form of a load".into(),
        detail: "it is not smooth, or turns too often, for pieces of finite length".into(),
        remedy: "check times and speeds, or give a shorter time".into(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn value(segments: &[Segment], t: f64) -> f64 {
        segments.iter().filter(|s| (s.start..s.end).contains(&t)).map(|s| s.value(t)).sum()
    }

    #[test]
    fn a_smooth_function_is_met_to_the_error_that_is_stated() {
        let f = |_: usize, t: f64| (3.0 * t * t).sin() * (-0.4 * t).exp() + 0.2 * t;
        let form = smooth(f, &[0.0, 2.0, 5.0], TOLERANCE).unwrap();
        assert!(form.error <= TOLERANCE && form.error > 0.0);
        for i in 0..5000 {
            let t = f64::from(i) * 1e-3 + 3.7e-4;
            assert!((value(&form.segments, t) - f(0, t)).abs() < 3e-12, "at {t}");
        }
    }

    #[test]
    fn jumps_at_knots_stay_jumps() {
        let f = |piece: usize, t: f64| if piece == 0 { t.cos() } else { -2.0 * t.sin() };
        let form = smooth(f, &[0.0, 1.0, 2.0], TOLERANCE).unwrap();
        assert!((value(&form.segments, 1.0 - 1e-12) - 1.0_f64.cos()).abs() < 1e-11);
        assert!((value(&form.segments, 1.0) + 2.0 * 1.0_f64.sin()).abs() < 1e-11);
    }

    #[test]
    fn a_sweep_is_met_to_the_error_that_is_stated() {
        let phase = |t: f64| [0.3 + 60.0 * t - 1.5 * t * t, 60.0 - 3.0 * t];
        let envelope = |t: f64| Complex64::new((60.0 - 3.0 * t).powi(2), 3.0);
        let [re, im] = turning(envelope, phase, &[0.0, 20.0], TOLERANCE).unwrap();
        assert!(re.error <= TOLERANCE && re.segments.len() < 300, "{}", re.segments.len());
        for i in 0..4000 {
            let t = f64::from(i) * 5e-3 + 1.3e-4;
            let exact = envelope(t) * Complex64::cis(phase(t)[0]);
            let found = Complex64::new(value(&re.segments, t), value(&im.segments, t));
            assert!((found - exact).norm() < 2e-11 * 3600.0, "at {t}");
        }
    }

    #[test]
    fn what_is_not_smooth_is_refused() {
        assert!(smooth(|_, t| (t - 0.3).abs().sqrt(), &[0.0, 1.0], TOLERANCE).is_err());
    }
}
