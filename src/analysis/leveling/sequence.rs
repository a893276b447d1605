//! In which order are the screws turned, so that on the way no mount is overloaded or unloaded and
//! the machine tilts no more than allowed?
//!
//! After any set of screws is turned the loads are F + R a_set and the tilt t + T a_set, whatever
//! the order: so the best order is the path through the sets, from none to all, whose worst set is
//! least bad, found exactly over all 2^m sets (textbook: bottleneck path by dynamic programming).
//! What is bad: first how far a load leaves its range or the tilt its limit, then the greatest
//! relative distance of a load from its target. If every order breaks a limit, the turns are split
//! into passes, two, three and more. What the machine has already, or must end with, is no fault of
//! the way: limits are never narrower than the first and the last state.
//!
//! Limits: more than 14 screws are ordered greedily.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::influence::Influence;
use super::settlement::State;

/// Most screws whose orders are searched exactly.
const EXACT: usize = 14;
/// Most passes into which turns are split.
const PASSES: usize = 8;
/// Beyond every relative distance: the scale of broken limits.
const BROKEN: f64 = 1e6;

/// What must hold on the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OnTheWay {
    /// Least load of each mount, N.
    pub load_min: Vec<f64>,
    /// Greatest load of each mount, N; infinite where there is none.
    pub load_max: Vec<f64>,
    /// Greatest tilt about either axis, rad; infinite where there is none.
    pub tilt: f64,
}

/// One turn of one screw.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Step {
    /// Mount, by index.
    pub mount: usize,
    /// Pass, from 1.
    pub pass: usize,
    /// Adjustment, m, up positive.
    pub adjustment: f64,
    /// Whole steps of the screw, if it has steps.
    pub steps: Option<i64>,
    /// The machine after it.
    pub state: State,
}

/// The order of work.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sequence {
    /// Turns in order.
    pub steps: Vec<Step>,
    /// Number of passes.
    pub passes: usize,
    /// True if no state on the way breaks a limit.
    pub keeps_limits: bool,
}

/// Orders the adjustments (m); `step` is the smallest step of each screw, zero for none.
pub(super) fn sequence(
    influence: &Influence,
    start: &State,
    target: &[f64],
    adjustment: &[f64],
    step: &[f64],
    limits: &OnTheWay,
) -> Sequence {
    let end = start.moved(influence, &DVector::from_column_slice(adjustment));
    let way = Way { influence, target, step, limits: widened(limits, start, &end) };
    let moved: Vec<usize> = (0..adjustment.len()).filter(|&i| adjustment[i] != 0.0).collect();
    let mut first = None;
    for passes in 1..=PASSES {
        let found = way.passes(start, adjustment, &moved, passes);
        if found.keeps_limits {
            return found;
        }
        first.get_or_insert(found);
    }
    first.unwrap_or(Sequence { steps: Vec::new(), passes: 0, keeps_limits: true })
}

fn widened(limits: &OnTheWay, start: &State, end: &State) -> OnTheWay {
    let at = |i: usize| (start.load[i], end.load[i]);
    let n = limits.load_min.len();
    let tilt = start.tilt.iter().chain(&end.tilt).map(|t| t.abs()).fold(limits.tilt, f64::max);
    OnTheWay {
        load_min: (0..n).map(|i| limits.load_min[i].min(at(i).0).min(at(i).1)).collect(),
        load_max: (0..n).map(|i| limits.load_max[i].max(at(i).0).max(at(i).1)).collect(),
        tilt,
    }
}

struct Way<'a> {
    influence: &'a Influence,
    target: &'a [f64],
    step: &'a [f64],
    limits: OnTheWay,
}

impl Way<'_> {
    fn passes(
        &self,
        start: &State,
        adjustment: &[f64],
        moved: &[usize],
        passes: usize,
    ) -> Sequence {
        let mut state = start.clone();
        let mut steps = Vec::new();
        let mut worst = 0.0_f64;
        for pass in 1..=passes {
            let part: Vec<f64> = (0..adjustment.len())
                .map(|i| {
                    self.up_to(adjustment[i], i, pass, passes)
                        - self.up_to(adjustment[i], i, pass - 1, passes)
                })
                .collect();
            let turned: Vec<usize> = moved.iter().copied().filter(|&i| part[i] != 0.0).collect();
            let order = self.order(&state, &part, &turned);
            for mount in order {
                let mut one = DVector::zeros(part.len());
                one[mount] = part[mount];
                state = state.moved(self.influence, &one);
                worst = worst.max(self.badness(&state));
                let whole = (self.step[mount] > 0.0)
                    .then(|| (part[mount] / self.step[mount]).round() as i64);
                steps.push(Step {
                    mount,
                    pass,
                    adjustment: part[mount],
                    steps: whole,
                    state: state.clone(),
                });
            }
        }
        Sequence { steps, passes, keeps_limits: worst < BROKEN }
    }

    /// What is turned of an adjustment after a pass: whole steps where the screw has them.
    fn up_to(&self, adjustment: f64, i: usize, pass: usize, passes: usize) -> f64 {
        let part = adjustment * pass as f64 / passes as f64;
        if pass == passes || self.step[i] <= 0.0 {
            part
        } else {
            (part / self.step[i]).round() * self.step[i]
        }
    }

    /// The order in which the worst state on the way is least bad.
    fn order(&self, start: &State, part: &[f64], turned: &[usize]) -> Vec<usize> {
        if turned.len() > EXACT {
            return self.greedy(start, part, turned);
        }
        let m = turned.len();
        let sets = 1usize << m;
        let badness: Vec<f64> =
            (0..sets).map(|set| self.badness(&self.after(start, part, turned, set))).collect();
        let mut worst = vec![f64::INFINITY; sets];
        let mut last = vec![0; sets];
        worst[0] = 0.0;
        for set in 1..sets {
            for bit in (0..m).filter(|bit| set >> bit & 1 == 1) {
                let before = worst[set & !(1 << bit)].max(badness[set]);
                if before < worst[set] {
                    (worst[set], last[set]) = (before, bit);
                }
            }
        }
        let (mut order, mut set) = (Vec::with_capacity(m), sets - 1);
        while set != 0 {
            order.push(turned[last[set]]);
            set &= !(1 << last[set]);
        }
        order.reverse();
        order
    }

    fn greedy(&self, start: &State, part: &[f64], turned: &[usize]) -> Vec<usize> {
        let (mut left, mut order) = (turned.to_vec(), Vec::new());
        let mut done = DVector::zeros(part.len());
        while !left.is_empty() {
            let after = |i: usize| {
                let mut heights = done.clone();
                heights[i] = part[i];
                self.badness(&start.moved(self.influence, &heights))
            };
            let best = (0..left.len())
                .min_by(|&a, &b| after(left[a]).total_cmp(&after(left[b])))
                .unwrap_or(0);
            let mount = left.remove(best);
            done[mount] = part[mount];
            order.push(mount);
        }
        order
    }

    fn after(&self, start: &State, part: &[f64], turned: &[usize], set: usize) -> State {
        let mut heights = DVector::zeros(part.len());
        for (bit, &i) in turned.iter().enumerate().filter(|(bit, _)| set >> bit & 1 == 1) {
            let _ = bit;
            heights[i] = part[i];
        }
        start.moved(self.influence, &heights)
    }

    /// How bad a state is: from `BROKEN` on it breaks a limit, below it is the greatest relative
    /// distance from the target.
    fn badness(&self, state: &State) -> f64 {
        let mean = self.target.iter().map(|f| f.abs()).sum::<f64>() / self.target.len() as f64;
        let mut broken = 0.0_f64;
        let mut distance = 0.0_f64;
        for (i, &load) in state.load.iter().enumerate() {
            let (low, high) = (self.limits.load_min[i], self.limits.load_max[i]);
            // Rounding is no fault.
            let over = (low - load).max(load - high) / mean - 1e-9;
            broken = broken.max(over);
            let scale = self.target[i].abs().max(0.1 * mean);
            distance = distance.max((load - self.target[i]).abs() / scale);
        }
        let tilt = state.tilt.iter().map(|t| t.abs()).fold(0.0, f64::max);
        if self.limits.tilt.is_finite() && self.limits.tilt > 0.0 {
            broken = broken.max(tilt / self.limits.tilt - 1.0 - 1e-9);
        }
        if broken > 0.0 { BROKEN * (1.0 + broken) } else { distance.min(0.5 * BROKEN) }
    }
}
