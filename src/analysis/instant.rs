//! At which instant do several quantities together ask the most?
//!
//! max over t of q(y(t)),  y(t) several quantities of one motion, q quasi-convex
//!
//! (friction needed: the size of a horizontal force over a vertical one; the length of a vector).
//! The greatest of each quantity alone says nothing about it: they do not peak together.
//!
//! Branch and bound, no grid: on a block of time of length h every y_i lies within
//! e_i = max|y_i''| h^2 / 8 of its chord, and a quasi-convex q on a chord is no greater than at
//! its ends. So q on the block is no greater than the greatest q within e of either end; blocks
//! that cannot beat the best by more than [`TOLERANCE`] are dropped, the others are halved.
//!
//! Limits: the bound is that of exact arithmetic; the value is good to [`TOLERANCE`], the time to
//! its square root.

use ndarray::Axis as Along;
use num_complex::Complex64;
use std::f64::consts::TAU;

use super::Response;
use super::periodic::Wave;
use crate::error::{Error, Result};

/// A block that could raise the best by less than this part of it is dropped.
pub const TOLERANCE: f64 = 1e-10;
/// Blocks after which the rest of the motion is asked whether it can still win.
const ROUND: usize = 8;
/// Halvings of a block; its length is then that of rounding.
const DEEPEST: usize = 48;
/// Blocks looked at before the search is given up.
const MOST_BLOCKS: usize = 4_000_000;

/// Several quantities of one motion over time.
pub trait History {
    /// Times (s) between which the search starts, ascending; at each the motion is looked at from
    /// both sides, for loads that jump.
    fn cuts(&self) -> Vec<f64>;
    /// The quantities at time t, which lies in the block of `cuts` of that index.
    fn values(&self, block: usize, t: f64) -> Vec<f64>;
    /// No quantity is greater in size than this from the start of that block on; `None` if that is
    /// not known.
    fn rest(&self, _block: usize) -> Option<Vec<f64>> {
        None
    }
    /// How far each quantity can lie from its chord between two times of that block.
    fn slack(&self, block: usize, from: f64, to: f64) -> Vec<f64>;
}

/// A quasi-convex function of several quantities.
pub trait Demand {
    /// q(y); infinite where it has no bound.
    fn at(&self, y: &[f64]) -> f64;
    /// Something that is no less than q(y) and quicker to have.
    fn quick(&self, y: &[f64]) -> f64 {
        self.at(y)
    }
    /// No y' with |y'_i - y_i| <= slack_i has a greater q; `q` is no less than q(y).
    fn within(&self, y: &[f64], q: f64, slack: &[f64]) -> f64;
}

/// The greatest demand, when, and the quantities then.
#[derive(Debug, Clone, PartialEq)]
pub struct Instant {
    /// q.
    pub value: f64,
    /// Time, s.
    pub time: f64,
    /// y.
    pub quantities: Vec<f64>,
}

struct Seen {
    time: f64,
    y: Vec<f64>,
    /// No less than q(y).
    q: f64,
}

/// The search: the best so far, which only what may beat it is compared with.
struct Search<'a, H, D> {
    history: &'a H,
    demand: &'a D,
    best: Instant,
}

impl<H: History, D: Demand> Search<'_, H, D> {
    /// Looks at an instant; the demand itself is had only if it may beat the best.
    fn see(&mut self, y: Vec<f64>, time: f64) -> Seen {
        let mut q = self.demand.quick(&y);
        if q > self.best.value {
            q = self.demand.at(&y);
        }
        if q > self.best.value {
            self.best = Instant { value: q, time, quantities: y.clone() };
        }
        Seen { time, y, q }
    }

    /// Nothing can beat the best whose quantities are no greater in size than these.
    fn is_over(&self, most: &[f64]) -> bool {
        let rest = vec![0.0; most.len()];
        let bar = self.best.value + TOLERANCE * self.best.value.abs();
        self.demand.within(&rest, self.demand.at(&rest), most) <= bar
    }

    /// No instant of the block can beat the best.
    fn is_lost(&self, block: usize, a: &Seen, b: &Seen) -> bool {
        let slack = self.history.slack(block, a.time, b.time);
        let bar = self.best.value + TOLERANCE * self.best.value.abs();
        [a, b].iter().all(|end| self.demand.within(&end.y, end.q, &slack) <= bar)
    }
}

/// Greatest demand over a whole motion.
///
/// # Errors
/// [`Error::NotConverged`] if the search does not end.
pub fn greatest(history: &impl History, demand: &impl Demand) -> Result<Instant> {
    let cuts = history.cuts();
    let none = Instant { value: f64::NEG_INFINITY, time: 0.0, quantities: Vec::new() };
    let mut search = Search { history, demand, best: none };
    let mut ends: Vec<(usize, f64, Vec<f64>)> = Vec::new();
    let mut likeliest: Option<(f64, usize)> = None;
    for (block, pair) in cuts.windows(2).enumerate() {
        if block % ROUND == 0 && block > 0 {
            // The likeliest instant raises the bar for the others, and for all that comes.
            if let Some((_, i)) = likeliest {
                search.see(ends[i].2.clone(), ends[i].1);
            }
            if history.rest(block).is_some_and(|most| search.is_over(&most)) {
                break;
            }
        }
        for time in [pair[0], pair[1]] {
            let y = history.values(block, time);
            let quick = demand.quick(&y);
            if likeliest.is_none_or(|(most, _)| quick > most) {
                likeliest = Some((quick, ends.len()));
            }
            ends.push((block, time, y));
        }
    }
    if let Some((_, i)) = likeliest {
        search.see(ends[i].2.clone(), ends[i].1);
    }
    let mut blocks = Vec::new();
    let mut ends = ends.into_iter();
    while let (Some((block, from, y)), Some((_, to, z))) = (ends.next(), ends.next()) {
        blocks.push((block, 0, search.see(y, from), search.see(z, to)));
    }
    // The likeliest block last: it is taken first.
    blocks.sort_by(|x, y| x.2.q.max(x.3.q).total_cmp(&y.2.q.max(y.3.q)));
    let mut looked = 0;
    while let Some((block, depth, a, b)) = blocks.pop() {
        if search.best.value == f64::INFINITY {
            break;
        }
        if depth == DEEPEST || search.is_lost(block, &a, &b) {
            continue;
        }
        looked += 1;
        if looked > MOST_BLOCKS {
            return Err(Error::NotConverged {
                what: "the search for the worst instant".into(),
                detail: format!("{MOST_BLOCKS} blocks of time looked at"),
                remedy: "shorten the motion, or give the mounts damping".into(),
            });
        }
        let time = 0.5 * (a.time + b.time);
        let middle = search.see(history.values(block, time), time);
        let again = Seen { time, y: middle.y.clone(), q: middle.q };
        let first_is_likelier = a.q > b.q;
        let (first, second) = ((block, depth + 1, a, middle), (block, depth + 1, again, b));
        blocks.extend(if first_is_likelier { [second, first] } else { [first, second] });
    }
    Ok(search.best)
}

/// A steady vibration: y(t) = Re(phasor e^{j omega t}) over one period.
#[derive(Debug, Clone, PartialEq)]
pub struct Steady {
    /// Angular frequency, rad/s; zero for a load that stays.
    pub omega: f64,
    /// Peak phasors.
    pub phasors: Vec<Complex64>,
}

impl Steady {
    /// Force of each mount on the ground (x y z each), then the wrench on the ground, at one
    /// frequency of a response; each row of `weights` makes one quantity of them.
    ///
    /// # Errors
    /// [`Error::Shape`] if there is no such frequency, or weights of another number of mounts.
    pub fn ground(response: &Response, index: usize, weights: &[Vec<f64>]) -> Result<Self> {
        let Some(&frequency) = response.frequency.get(index) else {
            return Err(Error::Shape {
                argument: "frequency".into(),
                found: format!("({},)", response.frequency.len()),
                expected: format!("more than {index} frequencies"),
            });
        };
        let all = response.ground_at(index)?;
        if let Some(row) = weights.iter().find(|row| row.len() != all.len()) {
            return Err(Error::Shape {
                argument: "response".into(),
                found: format!("({},) components", all.len()),
                expected: format!("({},) components, those of the feet,", row.len()),
            });
        }
        let one = |row: &Vec<f64>| row.iter().zip(&all).map(|(w, p)| p * *w).sum();
        Ok(Self { omega: TAU * frequency, phasors: weights.iter().map(one).collect() })
    }

    /// Period, s; any time for a load that stays.
    fn period(&self) -> f64 {
        if self.omega > 0.0 { TAU / self.omega } else { 1.0 }
    }
}

impl History for Steady {
    fn cuts(&self) -> Vec<f64> {
        let period = self.period();
        (0..=16).map(|i| period * f64::from(i) / 16.0).collect()
    }

    fn values(&self, _block: usize, t: f64) -> Vec<f64> {
        let turn = Complex64::from_polar(1.0, self.omega * t);
        self.phasors.iter().map(|p| (p * turn).re).collect()
    }

    fn slack(&self, _block: usize, from: f64, to: f64) -> Vec<f64> {
        let part = 0.125 * (self.omega * (to - from)).powi(2);
        self.phasors.iter().map(|p| p.norm() * part).collect()
    }
}

/// A periodic motion: y(t) = sum over n of Re(phasor_n e^{j n omega t}) over one period.
#[derive(Debug, Clone, PartialEq)]
pub struct Periodic {
    /// Angular frequency of the first harmonic, rad/s.
    pub omega: f64,
    /// Harmonics from the first, of each quantity.
    pub waves: Vec<Wave>,
}

impl Periodic {
    /// Force of each mount on the ground (x y z each), then the wrench on the ground, of a machine
    /// that runs; each row of `weights` makes one quantity of them.
    ///
    /// # Errors
    /// [`Error::Shape`] for weights of another number of mounts.
    pub fn ground(run: &super::Steady, weights: &[Vec<f64>]) -> Result<Self> {
        let order = run.harmonic.len();
        let all: Vec<Vec<Complex64>> = (0..order)
            .map(|n| {
                let forces = run.mount_force.index_axis(Along(0), n);
                forces.iter().chain(run.ground_wrench.row(n)).copied().collect()
            })
            .collect();
        let width = all.first().map_or(0, Vec::len);
        if let Some(row) = weights.iter().find(|row| row.len() != width) {
            return Err(Error::Shape {
                argument: "steady".into(),
                found: format!("({width},) components"),
                expected: format!("({},) components, those of the feet,", row.len()),
            });
        }
        let sum = |row: &[f64], at: &[Complex64]| row.iter().zip(at).map(|(w, p)| p * *w).sum();
        let wave = |row: &Vec<f64>| Wave::new(all.iter().map(|at| sum(row, at)).collect());
        let omega = TAU * run.stroke_rate_spm / 60.0;
        Ok(Self { omega, waves: weights.iter().map(wave).collect() })
    }
}

impl History for Periodic {
    fn cuts(&self) -> Vec<f64> {
        let order = self.waves.first().map_or(1, |wave| wave.harmonics.len().max(1));
        let (period, count) = (TAU / self.omega, 4 * order.max(4));
        (0..=count).map(|i| period * i as f64 / count as f64).collect()
    }

    fn values(&self, _block: usize, t: f64) -> Vec<f64> {
        self.waves.iter().map(|wave| wave.value(self.omega * t)[0]).collect()
    }

    fn slack(&self, _block: usize, from: f64, to: f64) -> Vec<f64> {
        let part = 0.125 * (self.omega * (to - from)).powi(2);
        self.waves.iter().map(|wave| wave.bend() * part).collect()
    }
}

/// Greatest length of several vectors of quantities (the horizontal force of each foot).
#[derive(Debug, Clone, PartialEq)]
pub struct Length {
    /// What lasts and is added to the quantities.
    pub offset: Vec<f64>,
    /// Indices of the components of each vector.
    pub vectors: Vec<Vec<usize>>,
}

impl Length {
    /// The length of one vector.
    pub fn of(&self, vector: usize, y: &[f64]) -> f64 {
        let square = |&i: &usize| (y[i] + self.offset[i]).powi(2);
        self.vectors[vector].iter().map(square).sum::<f64>().sqrt()
    }

    /// Which vector is the longest.
    pub fn longest(&self, y: &[f64]) -> usize {
        let all = 0..self.vectors.len();
        all.max_by(|&a, &b| self.of(a, y).total_cmp(&self.of(b, y))).unwrap_or(0)
    }
}

impl Demand for Length {
    fn at(&self, y: &[f64]) -> f64 {
        (0..self.vectors.len()).map(|v| self.of(v, y)).fold(0.0, f64::max)
    }

    fn within(&self, y: &[f64], _q: f64, slack: &[f64]) -> f64 {
        let far = |v: usize| {
            let reach = self.vectors[v].iter().map(|&i| slack[i] * slack[i]).sum::<f64>();
            self.of(v, y) + reach.sqrt()
        };
        (0..self.vectors.len()).map(far).fold(0.0, f64::max)
    }
}
