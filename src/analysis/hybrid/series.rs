//! One step: the power series of the state, on 0 <= s <= 1 with t = start + h s.

use super::model::{Model, Pattern, Stretch};

/// Order of the series: 2^26 / 26! is 2e-19.
pub(super) const ORDER: usize = 26;
/// Steps are no longer than this over the fastest root.
pub(super) const REACH: f64 = 2.0;
/// What the last terms may be of the greatest.
const TAIL: f64 = 1e-17;
/// Halvings of a step whose series has not come to its end.
const MOST_HALVINGS: usize = 40;

/// Coefficients of the state and of the loads, by power of s.
#[derive(Debug, Clone)]
pub(super) struct Series {
    /// (ORDER + 1) x size.
    pub state: Vec<f64>,
    /// Of each load, ORDER + 1.
    pub loads: Vec<[f64; ORDER + 1]>,
    pub size: usize,
    /// Length of the step, s.
    pub length: f64,
}

impl Series {
    /// From a state at the time t (s) for at most the time h (s).
    pub fn new(
        model: &Model,
        pattern: &Pattern,
        stretch: &Stretch,
        (t, h): (f64, f64),
        start: &[f64],
    ) -> Self {
        let size = start.len();
        let loads: Vec<_> = (0..model.inputs.len()).map(|l| stretch.series(l, t, h)).collect();
        let mut state = vec![0.0; (ORDER + 1) * size];
        state[..size].copy_from_slice(start);
        for k in 0..ORDER {
            let (before, after) = state.split_at_mut((k + 1) * size);
            let x = &before[k * size..];
            let next = &mut after[..size];
            pattern.rate(x, next);
            if k == 0 {
                next.iter_mut().zip(&pattern.constant).for_each(|(n, a)| *n += a);
            }
            for (input, load) in model.inputs.iter().zip(&loads) {
                let f = load[k];
                if f != 0.0 {
                    next.iter_mut().zip(input).for_each(|(n, b)| *n += b * f);
                }
            }
            let scale = h / (k + 1) as f64;
            next.iter_mut().for_each(|n| *n *= scale);
        }
        let mut series = Self { state, loads, size, length: h };
        for _ in 0..MOST_HALVINGS {
            if series.has_ended() {
                break;
            }
            series.halve();
        }
        series
    }

    fn row(&self, k: usize) -> &[f64] {
        &self.state[k * self.size..(k + 1) * self.size]
    }

    fn has_ended(&self) -> bool {
        let greatest = |k: usize| self.row(k).iter().fold(0.0_f64, |a, x| a.max(x.abs()));
        let most = (0..=4).map(greatest).fold(0.0, f64::max);
        greatest(ORDER).max(greatest(ORDER - 1)) <= TAIL * most
    }

    fn halve(&mut self) {
        let mut factor = 1.0;
        for k in 0..=ORDER {
            let row = k * self.size..(k + 1) * self.size;
            self.state[row].iter_mut().for_each(|x| *x *= factor);
            self.loads.iter_mut().for_each(|load| load[k] *= factor);
            factor *= 0.5;
        }
        self.length *= 0.5;
    }

    /// State at s.
    pub fn at(&self, s: f64) -> Vec<f64> {
        let mut out = self.row(ORDER).to_vec();
        for k in (0..ORDER).rev() {
            out.iter_mut().zip(self.row(k)).for_each(|(o, x)| *o = *o * s + x);
        }
        out
    }

    /// Coefficients of constant + row . state + feed . loads.
    pub fn through(&self, constant: f64, row: &[f64], feed: &[f64]) -> Vec<f64> {
        let of = |k: usize| -> f64 {
            let state: f64 = self.row(k).iter().zip(row).map(|(x, r)| x * r).sum();
            let loads: f64 = feed.iter().zip(&self.loads).map(|(g, f)| g * f[k]).sum();
            state + loads
        };
        let mut c: Vec<f64> = (0..=ORDER).map(of).collect();
        c[0] += constant;
        c
    }
}
