//! Greatest and least values of a motion with contacts: on each step a quantity is a polynomial, whose
//! extremes are its ends and the roots of its derivative. A step that cannot win by the sum of its
//! coefficients is left out. Both sides of a change of contact or of load count.

use super::motion::HybridMotion;
use super::output::{HybridOutput, Seen};
use super::polynomial::{crossings, derivative, value};
use crate::analysis::transient::{Extrema, Extreme, Peak};

impl HybridMotion {
    /// Greatest and least value of each component over the whole motion, solved for.
    pub fn extrema(&self, output: &HybridOutput) -> Vec<Extrema> {
        self.extrema_within(output, &|_| true)
    }

    /// The same over the steps in which a part (of [`crate::system::Hybrid::gaps`]) is in one of the
    /// states that `only` lets pass; without any such step the values are zero at zero.
    pub fn extrema_while(
        &self,
        output: &HybridOutput,
        gap: usize,
        only: impl Fn(super::State) -> bool,
    ) -> Vec<Extrema> {
        self.extrema_within(output, &|pattern| {
            self.patterns[pattern].states.get(gap).is_some_and(|&s| only(s))
        })
    }

    fn extrema_within(
        &self,
        output: &HybridOutput,
        wanted: &dyn Fn(usize) -> bool,
    ) -> Vec<Extrema> {
        let seen: Vec<Seen> = self.patterns.iter().map(|p| output.in_pattern(p)).collect();
        let none = Extreme { value: f64::NEG_INFINITY, time: 0.0 };
        let mut best = vec![[none, none]; output.len()];
        for step in self.steps.iter().filter(|s| wanted(s.pattern)) {
            let series = self.series(step);
            let seen = &seen[step.pattern];
            for (i, best) in best.iter_mut().enumerate() {
                let c = series.through(seen.constant[i], &seen.rows[i], &seen.feed[i]);
                search(&c, step.start, step.length, best);
            }
        }
        let named = output.names.iter().zip(&output.units).zip(best);
        let settle = |e: Extreme, sign: f64| match e.value.is_finite() {
            true => Extreme { value: sign * e.value, time: e.time },
            false => Extreme { value: 0.0, time: 0.0 },
        };
        named
            .map(|((name, unit), [max, min])| Extrema {
                name: name.clone(),
                unit: unit.clone(),
                max: settle(max, 1.0),
                min: settle(min, -1.0),
            })
            .collect()
    }

    /// Greatest absolute value of each component.
    pub fn peaks(&self, output: &HybridOutput) -> Vec<Peak> {
        self.extrema(output).iter().enumerate().map(|(i, e)| e.peak(i)).collect()
    }
}

/// Raises the greatest of y and of -y by what the step has.
fn search(c: &[f64], start: f64, length: f64, best: &mut [Extreme; 2]) {
    let spread: f64 = c.iter().skip(1).map(|c| c.abs()).sum();
    let can = [c[0] + spread > best[0].value, spread - c[0] > best[1].value];
    if !can[0] && !can[1] {
        return;
    }
    let mut offer = |s: f64, y: f64| {
        for (best, y) in best.iter_mut().zip([y, -y]) {
            if y > best.value {
                *best = Extreme { value: y, time: start + s * length };
            }
        }
    };
    offer(0.0, c[0]);
    offer(1.0, value(c, 1.0));
    for s in crossings(&derivative(c), usize::MAX) {
        offer(s, value(c, s));
    }
}
