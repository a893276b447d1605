//! The system as equations of the first order: the linear part at rest, what each contact adds to
//! it in each of its states, and the loads piece by piece of time.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::contact::{Condition, State};
use super::series::ORDER;
use super::{HybridOptions, Load};
use crate::analysis::transient::{Start, States, Transient};
use crate::error::{Error, Result};
use crate::excitation::Segment;
use crate::system::Hybrid;

/// The force on the port of a part in one state: constant + rows u, N.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Force {
    pub constant: DVector<f64>,
    pub rows: DMatrix<f64>,
}

impl Force {
    fn along(&self, direction: &DVector<f64>) -> (f64, Vec<f64>) {
        let row = self.rows.tr_mul(direction);
        (self.constant.dot(direction), row.iter().copied().collect())
    }
}

/// A part that opens and closes, in terms of the states.
#[derive(Debug, Clone)]
pub(super) struct Part {
    pub name: String,
    pub ahead: Option<f64>,
    pub behind: Option<f64>,
    /// Coordinate e = constant + row u, and its rate.
    pub coordinate: (f64, Vec<f64>),
    pub rate: Vec<f64>,
    /// Force of the linear system at rest, of the side ahead, of the side behind.
    pub base: Force,
    forces: [Option<Force>; 2],
    pushes: [Option<(f64, Vec<f64>)>; 2],
    /// size x r: rate of the state for a unit of force on the port beyond that at rest.
    pub input: DMatrix<f64>,
    /// n x r: acceleration for the same.
    pub acceleration: DMatrix<f64>,
    pub at_rest: State,
}

/// Everything but the time.
#[derive(Debug, Clone)]
pub(super) struct Model {
    pub rate: DMatrix<f64>,
    /// Of each load.
    pub inputs: Vec<Vec<f64>>,
    /// Of each load: M^-1 g.
    pub feeds: Vec<DVector<f64>>,
    pub parts: Vec<Part>,
    pub start: Vec<f64>,
}

/// One pattern of contacts.
#[derive(Debug, Clone)]
pub(super) struct Pattern {
    pub states: Vec<State>,
    /// A_p by rows.
    matrix: Vec<f64>,
    pub constant: Vec<f64>,
    /// Fastest root, 1/s.
    pub fastest: f64,
    /// Force beyond that of the linear system, of each part that is not as at rest.
    pub excess: Vec<Option<Force>>,
}

impl Pattern {
    /// A u.
    pub fn rate(&self, u: &[f64], out: &mut [f64]) {
        for (o, row) in out.iter_mut().zip(self.matrix.chunks_exact(u.len())) {
            *o = row.iter().zip(u).map(|(a, x)| a * x).sum();
        }
    }
}

impl Model {
    pub fn new(
        system: &Hybrid,
        loads: &[Load],
        options: &HybridOptions,
    ) -> Result<(Self, Transient)> {
        let linear = &system.base;
        let n = linear.size();
        let rest = Start::rest(n);
        let start = options.start.as_ref().unwrap_or(&rest);
        let solved =
            |g: &DVector<f64>, start: &Start| Transient::new(linear, &[], g, start, Some(1.0));
        let zero = DVector::zeros(n);
        let base = solved(&zero, start)?;
        if base.fourier().is_some() {
            return Err(Error::invalid(
                "law",
                linear.dynamic.first().map_or("", |d| d.law.kind()),
                "must be made of springs and dashpots where contacts open and close",
                "give a zener or maxwell law, a dashpot or a loss factor",
            ));
        }
        let states = base.states();
        let inverse = inverse_states(&states);
        let mass = linear.m.clone().cholesky();
        // A unit impulse starts the velocity M^-1 g: where displacement and velocity are all there is
        // to a state, that gives its input, and the modes are solved once.
        let driven = |g: &DVector<f64>| -> Result<(DVector<f64>, DVector<f64>)> {
            if let (Some(inverse), Some(mass)) = (&inverse, &mass) {
                let feed = mass.solve(g);
                return Ok((inverse * &feed, feed));
            }
            let found = solved(g, &rest)?.states();
            Ok((found.input, found.feed))
        };
        let of_load = |load: &Load| {
            let (input, feed) = driven(&load.direction)?;
            Ok((input.iter().copied().collect::<Vec<f64>>(), feed))
        };
        let loaded = loads.iter().map(of_load).collect::<Result<Vec<_>>>()?;
        let (inputs, feeds) = loaded.into_iter().unzip();
        let mut parts = Vec::with_capacity(system.gaps.len());
        for gap in &system.gaps {
            let element = &linear.elements[gap.element];
            let force = base.element_force(gap.element);
            let rows = force.as_ref().map(|f| f.parts().0.clone()).unwrap_or_default();
            let r = element.b.ncols();
            let mut input = DMatrix::zeros(states.rate.nrows(), r);
            let mut acceleration = DMatrix::zeros(n, r);
            for j in 0..r {
                let (own, feed) = driven(&(-element.b.column(j)))?;
                input.set_column(j, &own);
                acceleration.set_column(j, &feed);
            }
            let (e, v) = along(&states, &element.b, &gap.along);
            let at_rest = match (gap.ahead, gap.behind) {
                (Some(a), _) if gap.rest >= a => State::Ahead,
                (_, Some(b)) if gap.rest <= b => State::Behind,
                _ => State::Open,
            };
            let side = |at: f64| Force {
                constant: &gap.along * (gap.stiffness * (gap.rest - at)),
                rows: match at_rest {
                    State::Open => &gap.along * (&e * gap.stiffness + &v * gap.damping).transpose(),
                    _ => rows.clone(),
                },
            };
            let base_force = Force { constant: gap.force.clone(), rows: rows.clone() };
            let on = |state: State, at: Option<f64>| {
                at.map(|at| if at_rest == state { base_force.clone() } else { side(at) })
            };
            let forces = [on(State::Ahead, gap.ahead), on(State::Behind, gap.behind)];
            let pushes = [0, 1].map(|i| forces[i].as_ref().map(|f| f.along(&gap.along)));
            parts.push(Part {
                name: element.label.name.clone(),
                ahead: gap.ahead,
                behind: gap.behind,
                coordinate: (gap.rest, e.iter().copied().collect()),
                rate: v.iter().copied().collect(),
                base: base_force,
                forces,
                pushes,
                input,
                acceleration,
                at_rest,
            });
        }
        let start = states.start.iter().copied().collect();
        Ok((Self { rate: states.rate, inputs, feeds, parts, start }, base))
    }

    pub fn pattern(&self, states: &[State]) -> Pattern {
        let size = self.rate.nrows();
        let mut a = self.rate.clone();
        let mut constant = DVector::zeros(size);
        let mut excess = Vec::with_capacity(states.len());
        for (part, &state) in self.parts.iter().zip(states) {
            let more = part.excess(state);
            if let Some(force) = &more {
                a += &part.input * &force.rows;
                constant += &part.input * &force.constant;
            }
            excess.push(more);
        }
        let roots = a.clone().complex_eigenvalues();
        Pattern {
            states: states.to_vec(),
            matrix: a.transpose().iter().copied().collect(),
            constant: constant.iter().copied().collect(),
            fastest: roots.iter().map(|s| s.norm()).fold(0.0, f64::max),
            excess,
        }
    }
}

impl Part {
    /// Force on the port in a state beyond that of the linear system; none as at rest.
    fn excess(&self, state: State) -> Option<Force> {
        if state == self.at_rest {
            return None;
        }
        let carried = match state {
            State::Ahead => self.forces[0].as_ref(),
            State::Behind => self.forces[1].as_ref(),
            _ => None,
        };
        let (r, size) = self.base.rows.shape();
        let nothing = || Force { constant: DVector::zeros(r), rows: DMatrix::zeros(r, size) };
        let carried = carried.cloned().unwrap_or_else(nothing);
        Some(Force {
            constant: carried.constant - &self.base.constant,
            rows: carried.rows - &self.base.rows,
        })
    }

    /// A condition as constant + row u.
    pub fn condition(&self, what: Condition) -> (f64, Vec<f64>) {
        let (sign, constant, row) = match what {
            Condition::Coordinate { sign, at } => {
                (sign, self.coordinate.0 - at, self.coordinate.1.clone())
            }
            Condition::Force { sign, ahead } => {
                let push = self.pushes[usize::from(!ahead)].clone();
                let (constant, row) = push.unwrap_or_else(|| (0.0, vec![0.0; self.rate.len()]));
                (sign, constant, row)
            }
        };
        (sign * constant, row.into_iter().map(|x| sign * x).collect())
    }
}

/// size x n: the state of a velocity without displacement; none where a state is more than both.
fn inverse_states(states: &States) -> Option<DMatrix<f64>> {
    let (n, size) = states.displacement.shape();
    if size != 2 * n {
        return None;
    }
    let mut rows = DMatrix::zeros(size, size);
    rows.rows_mut(0, n).copy_from(&states.displacement);
    rows.rows_mut(n, n).copy_from(&states.velocity);
    // Rows of a like size, so that elimination keeps its digits.
    let scale: Vec<f64> = rows.row_iter().map(|row| row.norm().recip()).collect();
    for (mut row, s) in rows.row_iter_mut().zip(&scale) {
        row *= *s;
    }
    let mut unit = DMatrix::zeros(size, n);
    for i in 0..n {
        unit[(n + i, i)] = scale[n + i];
    }
    rows.lu().solve(&unit)
}

/// Rows of a port's coordinate and of its rate.
fn along(
    states: &States,
    b: &DMatrix<f64>,
    direction: &DVector<f64>,
) -> (DVector<f64>, DVector<f64>) {
    let v = b * direction;
    (states.displacement.tr_mul(&v), states.velocity.tr_mul(&v))
}

/// A load in one stretch: constant and slope at the start, amplitude and exponent of each
/// exponential.
type Piece = (f64, f64, Vec<(Complex64, Complex64)>);

/// A stretch of time in which every load has one closed form.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Stretch {
    pub start: f64,
    pub end: f64,
    loads: Vec<Piece>,
}

impl Stretch {
    /// All stretches up to the end of the motion.
    pub fn of(loads: &[Load], duration: f64) -> Vec<Self> {
        let mut cuts = vec![0.0, duration];
        let segments = loads.iter().flat_map(|l| &l.segments);
        cuts.extend(segments.flat_map(|s| [s.start, s.end]).filter(|&t| t > 0.0 && t < duration));
        cuts.sort_by(f64::total_cmp);
        cuts.dedup();
        let one = |pair: &[f64]| {
            let loads = loads.iter().map(|load| sum(&load.segments, pair[0], pair[1])).collect();
            Self { start: pair[0], end: pair[1], loads }
        };
        cuts.windows(2).map(one).collect()
    }

    /// Fastest exponential of the loads, 1/s.
    pub fn fastest(&self) -> f64 {
        let waves = self.loads.iter().flat_map(|(_, _, waves)| waves);
        waves.map(|(_, s)| s.norm()).fold(0.0, f64::max)
    }

    /// Coefficients of load l on a step of length h from t.
    pub fn series(&self, l: usize, t: f64, h: f64) -> [f64; ORDER + 1] {
        let mut out = [0.0; ORDER + 1];
        let (constant, slope, waves) = &self.loads[l];
        let tau = t - self.start;
        out[0] = constant + slope * tau;
        out[1] = slope * h;
        for (amplitude, s) in waves {
            let mut term = amplitude * (s * tau).exp();
            for (k, c) in out.iter_mut().enumerate() {
                *c += term.re;
                term *= s * (h / (k + 1) as f64);
            }
        }
        out
    }
}

type Closed = (f64, f64, Vec<(Complex64, Complex64)>);

fn sum(segments: &[Segment], start: f64, end: f64) -> Closed {
    let (mut constant, mut slope, mut waves) = (0.0, 0.0, Vec::new());
    for segment in segments.iter().filter(|s| s.start < end && s.end > start) {
        let tau = start - segment.start;
        constant += segment.constant + segment.slope * tau;
        slope += segment.slope;
        waves.extend(segment.exponentials.iter().map(|&(a, s)| (a * (s * tau).exp(), s)));
    }
    (constant, slope, waves)
}
