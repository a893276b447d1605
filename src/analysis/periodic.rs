//! What are the greatest and the least value of a periodic quantity that is given by its harmonics?
//!
//! y(theta) = mean + sum over n of Re(Y_n e^{j n theta}),  n = 1, 2, ...
//!
//! Extremes are solved for, not sampled: y is taken at eight points per period of the highest
//! harmonic; where one is no less than its neighbors there is a maximum between them, found by
//! Newton's method on y' = 0 inside its bracket. Points that cannot win by the bound
//! max|y''| h^2/8 <= sum n^2 |Y_n| h^2/8 are passed over.
//!
//! The square of a vector's length is again such a sum, of twice the order:
//! y^2 has the mean sum |Y_n|^2/2 and the harmonics P_m = sum Y_k Y_{m-k}/2 + sum Y_{k+m} conj(Y_k).
//! So the greatest resultant is found in the same way.
//!
//! Limits: two extremes closer than an eighth of the shortest period count as one.

use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

/// Points per period of the highest harmonic.
const FINE: usize = 8;

/// A value and the angle of the fundamental at which it occurs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// Value, in the unit of the quantity.
    pub value: f64,
    /// Angle, rad in 0..2 pi.
    pub angle: f64,
}

/// Greatest and least value over a period.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Range {
    /// Greatest value.
    pub max: Turn,
    /// Least value.
    pub min: Turn,
}

impl Range {
    /// Greatest absolute value.
    pub fn peak(&self) -> f64 {
        self.max.value.abs().max(self.min.value.abs())
    }

    /// Greatest minus least value.
    pub fn peak_to_peak(&self) -> f64 {
        self.max.value - self.min.value
    }
}

/// A periodic quantity: mean and peak phasors of harmonics 1, 2, ... under e^{+j n theta}.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wave {
    /// Mean.
    pub mean: f64,
    /// Harmonics from the first.
    pub harmonics: Vec<Complex64>,
}

impl Wave {
    /// Without mean.
    pub fn new(harmonics: Vec<Complex64>) -> Self {
        Self { mean: 0.0, harmonics }
    }

    /// y, y' and y'' at an angle (rad).
    pub fn value(&self, theta: f64) -> [f64; 3] {
        let turn = Complex64::from_polar(1.0, theta);
        // Horner's scheme from the highest harmonic; a derivative multiplies by j n.
        let mut sums = [Complex64::ZERO; 3];
        for (i, &y) in self.harmonics.iter().enumerate().rev() {
            let n = (i + 1) as f64;
            let jy = Complex64::new(-n * y.im, n * y.re);
            let terms = [y, jy, -y * (n * n)];
            for (sum, term) in sums.iter_mut().zip(terms) {
                *sum = (*sum + term) * turn;
            }
        }
        [self.mean + sums[0].re, sums[1].re, sums[2].re]
    }

    /// No less than |y''| anywhere: sum n^2 |Y_n|.
    pub fn bend(&self) -> f64 {
        let terms = self.harmonics.iter().enumerate();
        terms.map(|(i, y)| (i + 1).pow(2) as f64 * y.norm()).sum()
    }

    /// Greatest and least value over a period.
    pub fn range(&self) -> Range {
        self.range_on(&Grid::new(self.harmonics.len()))
    }

    /// The same with the sines and cosines of a grid of this many harmonics or more.
    pub fn range_on(&self, grid: &Grid) -> Range {
        let samples = grid.samples(self);
        let step = grid.step();
        let room = self.bend() * step * step / 8.0;
        Range {
            max: self.greatest(&samples, step, room, 1.0),
            min: self.greatest(&samples, step, room, -1.0),
        }
    }

    /// Greatest value of sign y.
    fn greatest(&self, samples: &[f64], step: f64, room: f64, sign: f64) -> Turn {
        let points = samples.len();
        let mut best = Turn { value: f64::NEG_INFINITY, angle: 0.0 };
        for (i, y) in samples.iter().enumerate() {
            if sign * y > best.value {
                best = Turn { value: sign * y, angle: i as f64 * step };
            }
        }
        let bar = best.value;
        for (i, y) in samples.iter().enumerate() {
            let y = sign * y;
            let (before, after) = (samples[(i + points - 1) % points], samples[(i + 1) % points]);
            if y + room > bar && y >= sign * before && y >= sign * after {
                let angle = self.turn(sign, (i as f64 - 1.0) * step, 2.0 * step);
                let value = sign * self.value(angle)[0];
                if value > best.value {
                    best = Turn { value, angle };
                }
            }
        }
        Turn { value: sign * best.value, angle: best.angle.rem_euclid(TAU) }
    }

    /// Root of y' between `from` and `from + step`, where sign y' falls through zero.
    fn turn(&self, sign: f64, from: f64, step: f64) -> f64 {
        let (mut low, mut high) = (from, from + step);
        let mut x = from + step / 2.0;
        for _ in 0..60 {
            let [_, d, dd] = self.value(x);
            *(if sign * d > 0.0 { &mut low } else { &mut high }) = x;
            let newton = x - d / dd;
            let next = if newton > low && newton < high { newton } else { (low + high) / 2.0 };
            if (next - x).abs() <= 1e-15 * TAU {
                return next;
            }
            x = next;
        }
        x
    }

    /// Values at `count` equal steps of a period, from angle zero.
    pub fn samples(&self, count: usize) -> Vec<f64> {
        (0..count).map(|i| self.value(i as f64 / count as f64 * TAU)[0]).collect()
    }
}

/// Sines and cosines of every harmonic at equal steps of a period, for many waves of one order.
#[derive(Debug, Clone)]
pub struct Grid {
    order: usize,
    points: usize,
    /// cos n theta at every point, harmonic after harmonic.
    cos: Vec<f64>,
    /// sin n theta likewise.
    sin: Vec<f64>,
}

impl Grid {
    /// For waves of so many harmonics.
    pub fn new(order: usize) -> Self {
        let points = FINE * order.max(1);
        let turn = |k: usize| (k % points) as f64 / points as f64 * TAU;
        let one: Vec<(f64, f64)> = (0..points).map(|i| turn(i).sin_cos()).collect();
        let at = |n: usize, i: usize| one[(n * i) % points];
        let pairs = (1..=order).flat_map(|n| (0..points).map(move |i| (n, i)));
        let (sin, cos) = pairs.map(|(n, i)| at(n, i)).unzip();
        Self { order, points, cos, sin }
    }

    fn step(&self) -> f64 {
        TAU / self.points as f64
    }

    /// y at every point; harmonics beyond the grid's order are not seen.
    fn samples(&self, wave: &Wave) -> Vec<f64> {
        let mut out = vec![wave.mean; self.points];
        for (n, y) in wave.harmonics.iter().take(self.order).enumerate() {
            if *y == Complex64::ZERO {
                continue;
            }
            let row = n * self.points..(n + 1) * self.points;
            let (cos, sin) = (&self.cos[row.clone()], &self.sin[row]);
            for ((value, c), s) in out.iter_mut().zip(cos).zip(sin) {
                *value += y.re * c - y.im * s;
            }
        }
        out
    }
}

/// Square of the length of a vector whose components have these harmonics.
pub fn squared_length(components: &[&[Complex64]]) -> Wave {
    let order = components.iter().map(|y| y.len()).max().unwrap_or(0);
    let mut out = Wave { mean: 0.0, harmonics: vec![Complex64::ZERO; 2 * order] };
    for y in components {
        out.mean += y.iter().map(|c| c.norm_sqr() / 2.0).sum::<f64>();
        for (i, a) in y.iter().enumerate() {
            for (k, b) in y.iter().enumerate() {
                // Orders i + 1 and k + 1: their sum, and their difference if positive.
                out.harmonics[i + k + 1] += a * b / 2.0;
                if i > k {
                    out.harmonics[i - k - 1] += a * b.conj();
                }
            }
        }
    }
    out
}

/// Greatest length of a vector over a period, and the angle at which it occurs.
pub fn greatest_length(components: &[&[Complex64]]) -> Turn {
    let square = squared_length(components).range().max;
    Turn { value: square.value.max(0.0).sqrt(), angle: square.angle }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn extremes_of_two_harmonics_are_those_of_calculus() {
        // y = cos t + a cos 2t: minimum at cos t = -1/(4a) for a > 1/4, -a - 1/(8a).
        let a = 0.7;
        let wave = Wave::new(vec![Complex64::from(1.0), Complex64::from(a)]);
        let range = wave.range();
        assert!((range.max.value - 1.0 - a).abs() < 1e-15 && range.max.angle.sin().abs() < 1e-7);
        assert!((range.min.value + a + 1.0 / (8.0 * a)).abs() < 1e-15);
        assert!((range.min.angle.cos() + 1.0 / (4.0 * a)).abs() < 1e-14);
    }

    #[test]
    fn extremes_do_not_depend_on_the_zero_of_the_angle() {
        let harmonics: Vec<_> =
            (1..20).map(|n| Complex64::from_polar(1.0 / (n * n) as f64, (n * n) as f64)).collect();
        let first = Wave::new(harmonics.clone()).range();
        let dense = Wave::new(harmonics.clone()).samples(100_000);
        let sampled = dense.iter().copied().fold(f64::MIN, f64::max);
        assert!(first.max.value >= sampled && first.max.value < sampled + 1e-7);
        for shift in [0.1, 1.0, 2.345] {
            let turned = harmonics.iter().enumerate();
            let turned =
                turned.map(|(i, y)| y * Complex64::from_polar(1.0, (i + 1) as f64 * shift));
            let range = Wave::new(turned.collect()).range();
            assert!((range.max.value - first.max.value).abs() < 1e-14);
            assert!((range.min.value - first.min.value).abs() < 1e-14);
        }
    }

    #[test]
    fn a_circle_has_the_same_length_everywhere() {
        let [x, y] = [vec![Complex64::from(2.0)], vec![Complex64::new(0.0, 2.0)]];
        let square = squared_length(&[&x, &y]);
        assert!((square.mean - 4.0).abs() < 1e-15 && square.harmonics[1].norm() < 1e-15);
        assert!((greatest_length(&[&x, &y]).value - 2.0).abs() < 1e-15);
    }

    #[test]
    fn squared_length_is_the_sum_of_squares() {
        let wave = |seed: f64| -> Vec<Complex64> {
            (1..6).map(|n| Complex64::from_polar(1.0 / n as f64, seed * (n * n) as f64)).collect()
        };
        let (x, y) = (wave(0.7), wave(1.9));
        let square = squared_length(&[&x, &y]);
        for theta in [0.0, 0.4, 2.2, 5.0] {
            let [a, b] = [&x, &y].map(|y| Wave::new(y.clone()).value(theta)[0]);
            assert!((square.value(theta)[0] - a * a - b * b).abs() < 1e-14);
        }
    }
}
