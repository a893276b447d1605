//! Which whole steps of the screws (eighth turns, flats, shims) serve best?
//!
//! min objective(a), a_i = n_i step_i, under the same limits: a search over the neighbors of the
//! exact plan by branch and bound. A branch ends where no choice of the remaining screws can keep
//! a row, or none can cost less than the best found. First within one step beyond the steps around
//! the exact plan, then wider if nothing there keeps the limits. Once a plan of cost J is found,
//! no better one lies farther away than
//!
//! |a - a*|^2 <= 2 (J - J*)   (least motion: the objective is strongly convex),
//! |a_i| <= J                 (least travel),
//!
//! so searching that far proves it the best of all step plans. Where no step plan keeps the limits
//! (exactly level asked of eighth turns), the one next to the exact plan that breaks them least is
//! taken, and the excess is stated.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::limits::Limits;
use super::solve::{HOLDS, Objective, length};

/// Steps beyond those around the exact plan that are searched for one that keeps the limits.
const WIDEST: i64 = 4;
/// Branches after which a search gives up proving.
const BRANCHES: usize = 400_000;

/// A plan in whole steps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Quantized {
    /// Steps of each screw, up positive.
    pub steps: Vec<i64>,
    /// The adjustments, m.
    pub adjustment: Vec<f64>,
    /// True if it keeps every limit.
    pub keeps_limits: bool,
    /// Greatest excess over the limits, m of screw; zero where it keeps them.
    pub excess: f64,
    /// True if the search proved it the best of all step plans (of the neighbors, where none keeps
    /// the limits).
    pub proved: bool,
}

/// The best plan in whole steps; a step of zero leaves a screw as the exact plan has it.
pub(super) fn quantize(
    limits: &Limits,
    objective: Objective,
    exact: &DVector<f64>,
    step: &[f64],
) -> Quantized {
    let holds = HOLDS * length(limits) + 1e-15;
    let mut found: Option<(Vec<f64>, f64)> = None;
    let mut proved = true;
    for reach in 1..=WIDEST {
        let values = around(exact, step, reach);
        let mut search = Search::new(limits, objective, values, holds);
        search.go();
        proved &= !search.spent();
        if let Some(best) = search.best {
            found = Some(best);
            break;
        }
    }
    if let Some((best, cost)) = found {
        let values = everything(exact, step, objective, cost);
        let mut search = Search::new(limits, objective, values, holds);
        search.best = Some((best.clone(), cost));
        search.go();
        let proved = !search.spent();
        let best = search.best.map_or(best, |(better, _)| better);
        return finish(limits, step, best, true, proved);
    }
    let values = around(exact, step, 1);
    let mut search = Search::new(limits, objective, values, holds);
    search.least_excess();
    proved &= !search.spent();
    let best = search.best.map_or_else(|| exact.as_slice().to_vec(), |(a, _)| a);
    finish(limits, step, best, false, proved)
}

fn finish(limits: &Limits, step: &[f64], a: Vec<f64>, keeps: bool, proved: bool) -> Quantized {
    let whole = |(a, step): (&f64, &f64)| if *step > 0.0 { (a / step).round() as i64 } else { 0 };
    let excess = limits.worst(&DVector::from_column_slice(&a)).max(0.0);
    Quantized {
        steps: a.iter().zip(step).map(whole).collect(),
        adjustment: a,
        keeps_limits: keeps,
        excess: if keeps { 0.0 } else { excess },
        proved,
    }
}

/// Lattice values from so many steps below the one under the exact value to as many above the one
/// over it.
fn around(exact: &DVector<f64>, step: &[f64], beyond: i64) -> Vec<Vec<f64>> {
    (0..step.len())
        .map(|i| {
            if step[i] <= 0.0 {
                return vec![exact[i]];
            }
            // A value on the lattice but for rounding has one step there, not two around it.
            let place = exact[i] / step[i];
            let near = place.round();
            let on = (place - near).abs() < 1e-9;
            let (low, high) = if on { (near, near) } else { (place.floor(), place.ceil()) };
            lattice(exact[i], step[i], low as i64 - beyond, high as i64 + beyond)
        })
        .collect()
}

/// All lattice values that a plan of no higher cost can have.
fn everything(
    exact: &DVector<f64>,
    step: &[f64],
    objective: Objective,
    cost: f64,
) -> Vec<Vec<f64>> {
    let least = objective.of(exact.as_slice());
    (0..step.len())
        .map(|i| {
            if step[i] <= 0.0 {
                return vec![exact[i]];
            }
            let (low, high) = match objective {
                Objective::LeastMotion => {
                    let radius = (2.0 * (cost - least).max(0.0)).sqrt() * (1.0 + 1e-9);
                    (exact[i] - radius, exact[i] + radius)
                }
                Objective::LeastTravel => (-cost, cost),
            };
            let slack = 1e-9;
            let first = (low / step[i] - slack).ceil() as i64;
            let last = (high / step[i] + slack).floor() as i64;
            lattice(exact[i], step[i], first, last)
        })
        .collect()
}

/// Values of the steps from first to last, the nearest to the exact one first.
fn lattice(exact: f64, step: f64, first: i64, last: i64) -> Vec<f64> {
    let mut values: Vec<f64> = (first..=last).map(|n| n as f64 * step).collect();
    values.sort_by(|a, b| (a - exact).abs().total_cmp(&(b - exact).abs()));
    values
}

struct Search<'a> {
    limits: &'a Limits,
    objective: Objective,
    values: Vec<Vec<f64>>,
    holds: f64,
    /// For each depth and row: least and greatest that the screws from that depth on can add.
    rest: Vec<Vec<(f64, f64)>>,
    /// For each depth: least cost of the screws from that depth on.
    rest_cost: Vec<f64>,
    best: Option<(Vec<f64>, f64)>,
    branches: usize,
}

impl<'a> Search<'a> {
    fn new(limits: &'a Limits, objective: Objective, values: Vec<Vec<f64>>, holds: f64) -> Self {
        let n = values.len();
        let mut rest = vec![vec![(0.0, 0.0); limits.rows.len()]; n + 1];
        let mut rest_cost = vec![0.0; n + 1];
        for depth in (0..n).rev() {
            for (r, limit) in limits.rows.iter().enumerate() {
                let parts = values[depth].iter().map(|v| limit.row[depth] * v);
                let low = parts.clone().fold(f64::INFINITY, f64::min);
                let high = parts.fold(f64::NEG_INFINITY, f64::max);
                let next = rest[depth + 1][r];
                rest[depth][r] = (next.0 + low, next.1 + high);
            }
            let least = values[depth].iter().map(|v| objective.of(&[*v]));
            rest_cost[depth] = rest_cost[depth + 1] + least.fold(f64::INFINITY, f64::min);
        }
        Self { limits, objective, values, holds, rest, rest_cost, best: None, branches: 0 }
    }

    fn spent(&self) -> bool {
        self.branches > BRANCHES
    }

    fn go(&mut self) {
        let mut a = vec![0.0; self.values.len()];
        let sums = vec![0.0; self.limits.rows.len()];
        self.descend(0, &mut a, &sums, 0.0, false);
    }

    /// Instead of the cost, the greatest excess over the rows.
    fn least_excess(&mut self) {
        let mut a = vec![0.0; self.values.len()];
        let sums = vec![0.0; self.limits.rows.len()];
        self.descend(0, &mut a, &sums, 0.0, true);
    }

    /// Least possible of the greatest excess from here on.
    fn excess_from(&self, depth: usize, sums: &[f64]) -> f64 {
        let mut worst = f64::NEG_INFINITY;
        for (r, limit) in self.limits.rows.iter().enumerate() {
            let (low, high) = self.rest[depth][r];
            let (low, high) = (sums[r] + low - limit.bound, sums[r] + high - limit.bound);
            let least = if limit.exact { low.max(-high).max(0.0) } else { low };
            worst = worst.max(least);
        }
        worst
    }

    fn descend(&mut self, depth: usize, a: &mut [f64], sums: &[f64], cost: f64, by_excess: bool) {
        self.branches += 1;
        if self.spent() {
            return;
        }
        let excess = self.excess_from(depth, sums);
        let score = if by_excess { excess } else { cost + self.rest_cost[depth] };
        if !by_excess && excess > self.holds {
            return;
        }
        // What costs the same but for rounding is not better.
        let margin = 1e-12 * score.abs();
        if self.best.as_ref().is_some_and(|(_, best)| score >= *best - margin) {
            return;
        }
        if depth == a.len() {
            self.best = Some((a.to_vec(), score));
            return;
        }
        for k in 0..self.values[depth].len() {
            let value = self.values[depth][k];
            a[depth] = value;
            let next: Vec<f64> = sums
                .iter()
                .zip(&self.limits.rows)
                .map(|(sum, limit)| sum + limit.row[depth] * value)
                .collect();
            self.descend(depth + 1, a, &next, cost + self.objective.of(&[value]), by_excess);
        }
    }
}
