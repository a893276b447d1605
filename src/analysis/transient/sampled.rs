//! Greatest and least value of a motion by Fourier transform: those of its interpolant.
//!
//! Every sample is looked at, and both sides of every jump of the load; about the best sample the
//! interpolant is climbed by golden section. Between samples the motion beyond the band of the
//! transform is not seen.

use super::motion::Transient;
use super::output::Output;
use super::peak::{Extrema, Extreme};
use crate::error::Result;

/// Steps of golden section: the bracket shrinks to rounding.
const STEPS: usize = 60;

impl Transient {
    /// Greatest and least value of each component, from samples `dt` apart.
    pub(super) fn sampled_extrema(&self, output: &Output, dt: f64) -> Result<Vec<Extrema>> {
        let samples = self.sample(output, dt)?;
        let mut out = Vec::with_capacity(output.len());
        for (i, (name, unit)) in output.names.iter().zip(&output.units).enumerate() {
            let mut pick = vec![0.0; output.len()];
            pick[i] = 1.0;
            let one = output.combined(name, &pick)?;
            let mut found = [1.0, -1.0].map(|sign| {
                let values = samples.column(i);
                let first = Extreme { value: f64::NEG_INFINITY, time: 0.0 };
                values.iter().enumerate().fold(first, |best, (k, y)| {
                    let value = sign * y;
                    if value > best.value { Extreme { value, time: k as f64 * dt } } else { best }
                })
            });
            for (sign, best) in [1.0, -1.0].into_iter().zip(&mut found) {
                self.offer_jumps(&one, sign, best);
                self.climb_interpolant(&one, sign, dt, best)?;
            }
            let [max, min] = found;
            out.push(Extrema {
                name: name.clone(),
                unit: unit.clone(),
                max,
                min: Extreme { value: -min.value, time: min.time },
            });
        }
        Ok(out)
    }

    /// Values just before each piece ends.
    fn offer_jumps(&self, one: &Output, sign: f64, best: &mut Extreme) {
        for piece in &self.pieces {
            let (u, drive) = self.state(piece, piece.length());
            let mut f = vec![0.0; piece.lines.len()];
            piece.values(&drive, &mut f);
            let value = sign * self.value(one, &u, &f, piece.end)[0];
            if value > best.value {
                *best = Extreme { value, time: piece.end };
            }
        }
    }

    fn climb_interpolant(
        &self,
        one: &Output,
        sign: f64,
        dt: f64,
        best: &mut Extreme,
    ) -> Result<()> {
        let (mut low, mut high) = ((best.time - dt).max(0.0), (best.time + dt).min(self.duration));
        let ratio = 0.5 * (5_f64.sqrt() - 1.0);
        let see = |t: f64| self.at(one, t).map(|y| sign * y[0]);
        let (mut a, mut b) = (high - ratio * (high - low), low + ratio * (high - low));
        let (mut y_a, mut y_b) = (see(a)?, see(b)?);
        for _ in 0..STEPS {
            if y_a >= y_b {
                (high, b, y_b) = (b, a, y_a);
                a = high - ratio * (high - low);
                y_a = see(a)?;
            } else {
                (low, a, y_a) = (a, b, y_b);
                b = low + ratio * (high - low);
                y_b = see(b)?;
            }
        }
        for (time, value) in [(a, y_a), (b, y_b)] {
            if value > best.value {
                *best = Extreme { value, time };
            }
        }
        Ok(())
    }
}
