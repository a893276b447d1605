//! What are the peaks of many systems, each struck by a load?
//!
//! As [`super::Transient`], for systems given by their matrices alone, eight at a time: the roots and
//! inputs of [`crate::lanes::damped`], the search of [`crate::lanes::peaks`]. A system that these
//! leave (a mode that creeps, something free to move, a search that does not settle) is solved by
//! itself. Both agree to rounding, about 1e-11 of the peak.
//!
//! Limits: sixteen degrees of freedom in lanes; loads of all designs in the same pieces as that of the
//! first, else they are solved by themselves; no laws that depend on frequency.

use nalgebra::{DMatrix, DVector, Vector3};
use ndarray::{Array2, ArrayView1, ArrayView2, ArrayView3, Axis as Along};
use num_complex::Complex64;
use std::f64::consts::TAU;

use super::load::{Load, check_history, pieces};
use super::motion::{Start, Transient};
use super::output::Output;
use super::peak::Extrema;
use super::propagator;
use crate::error::{Error, Result, finite, positive};
use crate::excitation::Segment;
use crate::lanes::{Complex, Isa, Lane, WIDTH, damped, instruction_set, peaks};
use crate::system::{Axis, Dof, Linear};

/// Many systems of n degrees of freedom and their loads. The first length of each array is the number
/// of designs, or one for all.
#[derive(Debug, Clone)]
pub struct ManyShocks<'a> {
    /// M (design, n, n), kg, kg m, kg m^2; lower triangles are read.
    pub mass: ArrayView3<'a, f64>,
    /// K (design, n, n), N/m, N, N m.
    pub stiffness: ArrayView3<'a, f64>,
    /// H = loss factor times stiffness (design, n, n).
    pub loss: Option<ArrayView3<'a, f64>>,
    /// C (design, n, n), N s/m, N s, N m s.
    pub damping: Option<ArrayView3<'a, f64>>,
    /// g (design, n): generalized force of a unit load.
    pub direction: ArrayView2<'a, f64>,
    /// f of each design, or of all.
    pub loads: &'a [Vec<Segment>],
    /// What is asked.
    pub rows: ManyRows<'a>,
    /// End of the motion, s; by default see [`super::default_duration`].
    pub duration: Option<f64>,
}

/// Outputs as rows (design, output, n); each output is the sum of what its rows give.
#[derive(Debug, Clone, Default)]
pub struct ManyRows<'a> {
    /// On x.
    pub displacement: Option<ArrayView3<'a, f64>>,
    /// On x'.
    pub velocity: Option<ArrayView3<'a, f64>>,
    /// On x''.
    pub acceleration: Option<ArrayView3<'a, f64>>,
    /// On the generalized force of all springs and dashpots, K x + (lossy part) + C x' = g f - M x''.
    pub force: Option<ArrayView3<'a, f64>>,
}

/// Extreme values (design, output) and their times, s.
#[derive(Debug, Clone, PartialEq)]
pub struct ManyExtrema {
    /// Greatest values.
    pub max: Array2<f64>,
    /// When.
    pub max_time: Array2<f64>,
    /// Least values.
    pub min: Array2<f64>,
    /// When.
    pub min_time: Array2<f64>,
    /// Designs that were solved by themselves.
    pub again: usize,
}

impl ManyExtrema {
    /// Of the greatest and the least value the one farther from zero, and its time.
    pub fn peaks(&self) -> (Array2<f64>, Array2<f64>) {
        let is_up = |at: (usize, usize)| self.max[at].abs() >= self.min[at].abs();
        let of = |max: &Array2<f64>, min: &Array2<f64>| {
            Array2::from_shape_fn(max.dim(), |at| if is_up(at) { max[at] } else { min[at] })
        };
        (of(&self.max, &self.min), of(&self.max_time, &self.min_time))
    }
}

/// Extreme values of every output of every design, from rest.
///
/// # Errors
/// Shapes that do not fit; what [`Transient::new`] refuses, with the index of the design.
pub fn many_shocks(asked: &ManyShocks) -> Result<ManyExtrema> {
    many_shocks_on(instruction_set()?, asked)
}

/// The same with the instructions of that set, see [`crate::lanes::Isa`].
///
/// # Errors
/// As [`many_shocks`].
pub fn many_shocks_on(isa: Isa, asked: &ManyShocks) -> Result<ManyExtrema> {
    let [designs, n, outputs] = asked.checked()?;
    let zeros = || Array2::zeros((designs, outputs));
    let mut out =
        ManyExtrema { max: zeros(), max_time: zeros(), min: zeros(), min_time: zeros(), again: 0 };
    let in_lanes = n <= 16;
    let mut system = damped::Block::new(n, outputs);
    let mut motion = peaks::Block::new(n.min(16), outputs);
    system.is_hysteretic = asked.loss.is_some();
    system.is_viscous = asked.damping.is_some();
    let shape = Shape::of(&asked.loads[0], asked.duration);
    for first in (0..designs).step_by(WIDTH) {
        let count = WIDTH.min(designs - first);
        let mut sound = [false; WIDTH];
        if in_lanes {
            // The last design fills the lanes left over.
            let lanes = std::array::from_fn(|lane| first + lane.min(count - 1));
            asked.gather(&mut system, &lanes, first == 0);
            sound = system.solve(isa, &mut motion);
            let loads = lanes.map(|d| asked.load(d));
            shape.lay(&loads, asked.duration, &mut motion, &mut sound);
            sound = motion.solve(isa, sound);
        }
        for lane in 0..count {
            let design = first + lane;
            if sound[lane] {
                for o in 0..outputs {
                    let (max, min) = (motion.max(o), motion.min(o));
                    out.max[[design, o]] = max.value.0[lane];
                    out.max_time[[design, o]] = max.time.0[lane];
                    out.min[[design, o]] = min.value.0[lane];
                    out.min_time[[design, o]] = min.time.0[lane];
                }
                continue;
            }
            out.again += 1;
            let found = asked.alone(design).map_err(|e| e.within(&format!("design[{design}]")))?;
            for (o, extrema) in found.iter().enumerate() {
                out.max[[design, o]] = extrema.max.value;
                out.max_time[[design, o]] = extrema.max.time;
                out.min[[design, o]] = extrema.min.value;
                out.min_time[[design, o]] = extrema.min.time;
            }
        }
    }
    Ok(out)
}

impl ManyShocks<'_> {
    /// Designs, degrees of freedom, outputs.
    fn checked(&self) -> Result<[usize; 3]> {
        let rows = [
            ("displacement", &self.rows.displacement),
            ("velocity", &self.rows.velocity),
            ("acceleration", &self.rows.acceleration),
            ("force", &self.rows.force),
        ];
        let given = || rows.iter().filter_map(|(name, a)| a.as_ref().map(|a| (*name, a)));
        let (_, n, columns) = self.stiffness.dim();
        let outputs = given().next().map_or(0, |(_, a)| a.dim().1);
        let mut lengths = vec![
            ("mass", self.mass.dim().0),
            ("stiffness", self.stiffness.dim().0),
            ("direction", self.direction.dim().0),
            ("load", self.loads.len()),
        ];
        let wrong = |argument: &str, found: String, expected: String| {
            Err(Error::Shape { argument: argument.into(), found, expected })
        };
        let square = [
            ("mass", Some(&self.mass)),
            ("stiffness", Some(&self.stiffness)),
            ("loss", self.loss.as_ref()),
            ("damping", self.damping.as_ref()),
        ];
        for (name, a) in square.iter().filter_map(|(name, a)| a.map(|a| (*name, a))) {
            if a.dim().1 != n || a.dim().2 != n || n == 0 || columns != n {
                return wrong(name, format!("{:?}", a.dim()), format!("(design, {n}, {n})"));
            }
            lengths.push((name, a.dim().0));
        }
        if self.direction.dim().1 != n {
            let found = format!("{:?}", self.direction.dim());
            return wrong("direction", found, format!("(design, {n})"));
        }
        for (name, a) in given() {
            if a.dim().1 != outputs || a.dim().2 != n || outputs == 0 {
                let expected = format!("(design, {}, {n})", outputs.max(1));
                return wrong(name, format!("{:?}", a.dim()), expected);
            }
            lengths.push((name, a.dim().0));
        }
        if outputs == 0 {
            return Err(Error::invalid(
                "rows",
                "none",
                "at least one output is needed",
                "give rows on displacement, velocity, acceleration or force",
            ));
        }
        let designs = lengths.iter().map(|(_, l)| *l).max().unwrap_or(0);
        for (name, length) in lengths {
            if length != designs && length != 1 {
                return wrong(name, format!("{length} designs"), format!("1 or {designs} designs"));
            }
        }
        for load in self.loads {
            check_history(load)?;
        }
        if let Some(duration) = self.duration {
            positive("duration", duration, "s")?;
        }
        for (name, a) in square.iter().filter_map(|(name, a)| a.map(|a| (*name, a))).chain(given())
        {
            if a.as_slice().is_some_and(|all| all.iter().all(|x| x.is_finite())) {
                continue;
            }
            for ((design, ..), x) in a.indexed_iter() {
                if !x.is_finite() {
                    finite(&format!("{name}[{design}]"), *x, "")?;
                }
            }
        }
        Ok([designs, n, outputs])
    }

    fn load(&self, design: usize) -> &[Segment] {
        &self.loads[if self.loads.len() == 1 { 0 } else { design }]
    }

    /// The numbers of eight designs; those of all designs only at first.
    fn gather(&self, block: &mut damped::Block, designs: &[usize; WIDTH], at_first: bool) {
        let n = self.stiffness.dim().1;
        let wanted = |a: &ArrayView3<f64>| a.dim().0 > 1 || at_first;
        let triangle = |a: &ArrayView3<f64>, to: &mut [Lane]| {
            if !wanted(a) {
                return;
            }
            let of = designs.map(|design| of(a, design));
            let mut to = to.iter_mut();
            match of.each_ref().map(|a| a.as_slice()) {
                [Some(a), Some(b), Some(c), Some(d), Some(e), Some(f), Some(g), Some(h)] => {
                    let all = [a, b, c, d, e, f, g, h];
                    for i in 0..n {
                        for (j, to) in (0..=i).zip(&mut to) {
                            *to = Lane(all.map(|a| a[i * n + j]));
                        }
                    }
                }
                _ => {
                    for i in 0..n {
                        for (j, to) in (0..=i).zip(&mut to) {
                            *to = Lane(of.each_ref().map(|a| a[[i, j]]));
                        }
                    }
                }
            }
        };
        triangle(&self.mass, &mut block.modes.m);
        triangle(&self.stiffness, &mut block.modes.k);
        if let Some(h) = &self.loss {
            triangle(h, &mut block.h);
        }
        if let Some(c) = &self.damping {
            triangle(c, &mut block.c);
        }
        let full = |a: &ArrayView3<f64>, to: &mut Vec<Lane>| {
            if !wanted(a) {
                return;
            }
            to.clear();
            let mut of = designs.map(|design| of(a, design).into_iter());
            for _ in 0..a.dim().1 * n {
                to.push(Lane(of.each_mut().map(|a| a.next().copied().unwrap_or_default())));
            }
        };
        let rows = &mut block.rows;
        for (a, to) in [
            (&self.rows.displacement, &mut rows.stiffness),
            (&self.rows.velocity, &mut rows.damping),
            (&self.rows.acceleration, &mut rows.inertia),
            (&self.rows.force, &mut rows.force),
        ] {
            if let Some(a) = a {
                full(a, to);
            }
        }
        if self.direction.dim().0 > 1 || at_first {
            for (lane, &design) in designs.iter().enumerate() {
                for (to, x) in block.direction.iter_mut().zip(one(&self.direction, design)) {
                    to.0[lane] = *x;
                }
            }
        }
    }

    /// One design by itself.
    fn alone(&self, design: usize) -> Result<Vec<Extrema>> {
        let n = self.stiffness.dim().1;
        let symmetric = |a: &ArrayView3<f64>| {
            let a = of(a, design);
            DMatrix::from_fn(n, n, |i, j| a[[i.max(j), i.min(j)]])
        };
        let or_zero = |a: &Option<ArrayView3<f64>>| {
            a.as_ref().map_or_else(|| DMatrix::zeros(n, n), symmetric)
        };
        let linear = Linear {
            dofs: (0..n)
                .map(|i| Dof { body: format!("body {}", i / 6 + 1), axis: Axis::ALL[i % 6] })
                .collect(),
            m: symmetric(&self.mass),
            k: symmetric(&self.stiffness),
            h: or_zero(&self.loss),
            c: or_zero(&self.damping),
            dynamic: Vec::new(),
            principal: DMatrix::identity(n, n),
            elements: Vec::new(),
            ports: Vec::new(),
            reference: Vector3::zeros(),
        };
        let g = DVector::from_iterator(n, one(&self.direction, design).iter().copied());
        let motion =
            Transient::new(&linear, self.load(design), &g, &Start::rest(n), self.duration)?;
        Ok(motion.extrema(&self.output(&motion, design)))
    }

    /// The rows of a design on the states of its motion.
    fn output(&self, motion: &Transient, design: usize) -> Output {
        let basis = &motion.basis;
        let rows = &self.rows;
        let of = |a: &Option<ArrayView3<f64>>| {
            a.as_ref().map(|a| {
                let a = of(a, design);
                DMatrix::from_fn(a.nrows(), a.ncols(), |i, j| a[[i, j]])
            })
        };
        let all = [&rows.displacement, &rows.velocity, &rows.acceleration, &rows.force];
        let outputs = all.iter().find_map(|a| a.as_ref().map(|a| a.dim().1)).unwrap_or(0);
        let mut sum = DMatrix::zeros(outputs, basis.propagator.size());
        let mut feed = DMatrix::zeros(outputs, basis.feed.ncols());
        if let Some(w) = of(&rows.displacement) {
            sum += w * &basis.displacement;
        }
        if let Some(w) = of(&rows.velocity) {
            sum += w * &basis.velocity;
        }
        if let Some(w) = of(&rows.acceleration) {
            feed += &w * &basis.feed;
            sum += w * &basis.acceleration;
        }
        if let Some(w) = of(&rows.force) {
            let linear = &motion.linear;
            sum += &w * &linear.k * &basis.displacement + &w * &linear.c * &basis.velocity;
            if let Some(loss) = &basis.loss {
                sum += w * &linear.h * loss;
            }
        }
        Output {
            names: (0..outputs).map(|o| o.to_string()).collect(),
            units: vec![String::new(); outputs],
            rows: sum,
            feed,
            correction: DMatrix::zeros(outputs, 0),
        }
    }
}

fn of<'a>(a: &'a ArrayView3<f64>, design: usize) -> ArrayView2<'a, f64> {
    a.index_axis(Along(0), if a.dim().0 == 1 { 0 } else { design })
}

fn one<'a>(a: &'a ArrayView2<f64>, design: usize) -> ArrayView1<'a, f64> {
    a.row(if a.dim().0 == 1 { 0 } else { design })
}

/// Into which pieces a load cuts time: for each, whether it is free, and its number of waves.
#[derive(Debug, Clone, PartialEq)]
pub struct Shape(Vec<(bool, usize)>);

impl Shape {
    /// That of a load up to the duration.
    pub fn of(load: &[Segment], duration: Option<f64>) -> Self {
        Self::from(&cut(load, duration))
    }

    fn from(pieces: &[propagator::Piece]) -> Self {
        Self(pieces.iter().map(|p| (p.is_free(), p.waves.len())).collect())
    }

    /// Loads of eight designs onto their motions, whose roots are known; those of another shape are
    /// not sound.
    pub fn lay(
        &self,
        loads: &[&[Segment]; WIDTH],
        duration: Option<f64>,
        motion: &mut peaks::Block,
        sound: &mut [bool; WIDTH],
    ) {
        motion.pieces.resize_with(self.0.len(), || peaks::Piece::free(0.0, 0.0));
        for (piece, (_, waves)) in motion.pieces.iter_mut().zip(&self.0) {
            *piece = peaks::Piece::free(0.0, 0.0);
            piece.waves = vec![(Complex::ZERO, Complex::ZERO); *waves];
        }
        let mut cuts: Vec<propagator::Piece> = Vec::new();
        for lane in 0..WIDTH {
            if lane == 0 || !std::ptr::eq(loads[lane], loads[lane - 1]) {
                cuts = cut(loads[lane], duration);
            }
            if Self::from(&cuts) != *self {
                sound[lane] = false;
                continue;
            }
            if !sound[lane] {
                continue;
            }
            for (to, from) in motion.pieces.iter_mut().zip(&cuts) {
                to.start.0[lane] = from.start;
                to.length.0[lane] = from.length();
                let [constant, slope] = from.lines.first().copied().unwrap_or_default();
                (to.constant.0[lane], to.slope.0[lane]) = (constant, slope);
                for ((amplitude, exponent), wave) in to.waves.iter_mut().zip(&from.waves) {
                    let (a, s) = (wave.parts.iter().map(|p| p.1).sum::<Complex64>(), wave.exponent);
                    (amplitude.re.0[lane], amplitude.im.0[lane]) = (a.re, a.im);
                    (exponent.re.0[lane], exponent.im.0[lane]) = (s.re, s.im);
                }
            }
            if duration.is_none()
                && let Some(last) = motion.pieces.last_mut()
            {
                last.length.0[lane] = rest(&motion.roots, lane);
            }
        }
    }
}

/// Pieces of a load; without a duration the last is what follows the load.
fn cut(load: &[Segment], duration: Option<f64>) -> Vec<propagator::Piece> {
    let end = load.iter().map(|s| s.end).fold(0.0, f64::max);
    let load = [Load::new(DVector::zeros(0), load.to_vec())];
    pieces(&load, 0, 1, duration.unwrap_or(end + 1.0_f64.max(end)))
}

/// Time after the load, as [`super::default_duration`].
fn rest(roots: &[Complex], lane: usize) -> f64 {
    let (mut slowest, mut decay) = (f64::INFINITY, f64::INFINITY);
    for s in roots {
        let s = Complex64::new(s.re.0[lane], s.im.0[lane]);
        slowest = slowest.min(s.norm());
        decay = decay.min(-s.re);
    }
    let one_percent = if decay > 0.0 { 100_f64.ln() / decay } else { f64::INFINITY };
    one_percent.min(20.0 * TAU / slowest)
}
