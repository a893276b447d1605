//! The greatest and least value of a quantity over the whole motion, solved for.
//!
//! A scan of about eight points per period of the fastest part that still matters finds values to
//! beat. On a block of length h between two points, y lies above the chord by no more than
//! max|y''| h^2 / 8; blocks that cannot win by that bound are dropped. What is left is halved
//! until y is monotone (its ends decide) or concave (Newton on y' = 0, kept in its bracket by
//! bisection). Derivatives are those of the exact solution; bounds follow from w = u'' which obeys
//! w' = N w + beta f'' and so sees no load that is constant or linear. The last, free piece is
//! left as soon as its decaying envelope can change neither extreme. Where the load jumps, the
//! values on both sides count.

use serde::{Deserialize, Serialize};

use super::motion::Transient;
use super::output::Output;
use super::propagator::{Loads, Piece, Propagator, Transition};

/// Blocks in a chunk of the scan.
const CHUNK: usize = 32;
/// Halvings of a block; its length is then that of rounding.
const DEEPEST: usize = 40;
/// A block that could raise the best by less than this part is dropped.
const TOLERANCE: f64 = 1e-13;

/// A value of one component and when it occurs.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Extreme {
    /// Value with its sign, in the unit of the component.
    pub value: f64,
    /// Time, s; the first if it is reached more than once.
    pub time: f64,
}

/// Greatest and least value of one component.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Extrema {
    /// Name of the component.
    pub name: String,
    /// Unit of the component.
    pub unit: String,
    /// Greatest value.
    pub max: Extreme,
    /// Least value.
    pub min: Extreme,
}

/// Greatest absolute value of a component, or of the component in which it is greatest.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Peak {
    /// Greatest absolute value.
    pub value: f64,
    /// The same with its sign.
    pub signed_value: f64,
    /// Time, s.
    pub time: f64,
    /// Index of the component.
    pub component: usize,
    /// Name of the component.
    pub name: String,
    /// Unit of value.
    pub unit: String,
}

impl Extrema {
    /// The greater of the two in size, as component of that index.
    pub fn peak(&self, component: usize) -> Peak {
        let (above, below) = (self.max.value.abs(), self.min.value.abs());
        // Of two that differ by rounding alone the first counts, as in undamped vibration.
        let equal = (above - below).abs() <= TOLERANCE * above.max(below);
        let up = if equal { self.max.time <= self.min.time } else { above > below };
        let winner = if up { self.max } else { self.min };
        Peak {
            value: winner.value.abs(),
            signed_value: winner.value,
            time: winner.time,
            component,
            name: self.name.clone(),
            unit: self.unit.clone(),
        }
    }
}

impl Transient {
    /// Greatest and least value of each component over the whole motion; independent of any grid,
    /// but for a motion by Fourier transform, where they are those of the interpolated samples.
    /// Empty for an output that another transient made and whose states do not fit.
    pub fn extrema(&self, output: &Output) -> Vec<Extrema> {
        if self.check_own(output).is_err() {
            return Vec::new();
        }
        if let Some(note) = self.fourier() {
            // An output that fits can be sampled at the interval of the transform.
            return self.sampled_extrema(output, note.interval).unwrap_or_default();
        }
        let mut search = Search::new(self, output);
        for piece in 0..self.pieces.len() {
            search.scan(piece);
        }
        let named = output.names.iter().zip(&output.units).zip(search.best);
        let extrema = named.map(|((name, unit), [max, min])| Extrema {
            name: name.clone(),
            unit: unit.clone(),
            max,
            min: Extreme { value: -min.value, time: min.time },
        });
        extrema.collect()
    }

    /// The same of several outputs in one search: the motion is followed once for all of them.
    /// Empty where an output is another transient's.
    pub fn extrema_of(&self, outputs: &[&Output]) -> Vec<Vec<Extrema>> {
        let Some((first, rest)) = outputs.split_first() else {
            return Vec::new();
        };
        let all = rest.iter().try_fold((*first).clone(), |all, output| all.joined(output));
        let mut found = all.map_or_else(|_| Vec::new(), |all| self.extrema(&all)).into_iter();
        outputs.iter().map(|output| found.by_ref().take(output.len()).collect()).collect()
    }

    /// Greatest absolute value of each component.
    pub fn peaks(&self, output: &Output) -> Vec<Peak> {
        self.extrema(output).iter().enumerate().map(|(i, e)| e.peak(i)).collect()
    }

    /// The component with the greatest absolute value, among those that have the unit of the first
    /// (a moment is not compared with a force); none if the output has no components.
    pub fn peak(&self, output: &Output) -> Option<Peak> {
        Peak::among(&self.extrema(output))
    }
}

impl Peak {
    /// The greatest absolute value among the components that have the unit of the first.
    pub fn among(extrema: &[Extrema]) -> Option<Self> {
        let unit = &extrema.first()?.unit;
        let comparable = extrema.iter().enumerate().filter(|(_, e)| e.unit == *unit);
        let peaks = comparable.map(|(i, e)| e.peak(i));
        peaks.reduce(|best, p| if p.value > best.value { p } else { best })
    }
}

/// State of the motion at one instant of a piece.
#[derive(Debug, Clone)]
struct Point {
    tau: f64,
    u: Vec<f64>,
    drive: Vec<f64>,
}

/// A point as seen by one component (times a sign): y and its first three derivatives.
struct Seen {
    point: Point,
    y: [f64; 4],
}

struct Search<'a> {
    motion: &'a Transient,
    propagator: &'a Propagator,
    rows: Vec<Vec<f64>>,
    /// By component, then by load.
    feed: Vec<Vec<f64>>,
    weights: Vec<f64>,
    /// beta of each load.
    beta: Vec<Vec<f64>>,
    /// Greatest of y and of -y for each component.
    best: Vec<[Extreme; 2]>,
    /// Greatest sum of the parts of y, the measure of rounding in y.
    noise: Vec<f64>,
    step: Transition,
    work: [Vec<f64>; 4],
    loads: Loads,
    bounds: Vec<f64>,
}

impl<'a> Search<'a> {
    fn new(motion: &'a Transient, output: &Output) -> Self {
        let propagator = &motion.basis.propagator;
        let rows: Vec<Vec<f64>> =
            output.rows.row_iter().map(|row| row.iter().copied().collect()).collect();
        let none = Extreme { value: f64::NEG_INFINITY, time: 0.0 };
        Self {
            weights: propagator.weights(&rows),
            best: vec![[none, none]; rows.len()],
            noise: vec![0.0; rows.len()],
            feed: output.feed.row_iter().map(|row| row.iter().copied().collect()).collect(),
            beta: propagator.inputs(),
            loads: Loads::default(),
            bounds: Vec::new(),
            step: Transition::default(),
            work: std::array::from_fn(|_| vec![0.0; propagator.size()]),
            motion,
            propagator,
            rows,
        }
    }

    fn scan(&mut self, index: usize) {
        let piece = &self.motion.pieces[index];
        let last = index + 1 == self.motion.pieces.len();
        let mut tau = 0.0;
        while tau < piece.length() {
            let (u, drive) = self.motion.state(piece, tau);
            let point = Point { tau, u, drive };
            self.measure_noise(piece, &point);
            if last && piece.is_free() && self.is_settled(&point) {
                return;
            }
            tau = self.chunk(piece, point);
        }
    }

    /// Rounding in y is in proportion to the greatest sum of its parts.
    fn measure_noise(&mut self, piece: &Piece, point: &Point) {
        piece.loads(&point.drive, &mut self.loads);
        let f = &self.loads.0[0];
        let parts = |c: &[f64], x: &[f64]| c.iter().zip(x).map(|(c, x)| (c * x).abs()).sum::<f64>();
        for (i, row) in self.rows.iter().enumerate() {
            let all = parts(row, &point.u) + parts(&self.feed[i], f);
            self.noise[i] = self.noise[i].max(1e-15 * all);
        }
    }

    /// No component can still pass its greatest or its least value.
    fn is_settled(&self, point: &Point) -> bool {
        self.rows.iter().zip(&self.best).all(|(row, best)| {
            let envelope = self.propagator.envelope(row, &point.u);
            envelope <= best[0].value && envelope <= best[1].value
        })
    }

    /// Up to [`CHUNK`] blocks from the point; gives the time reached.
    fn chunk(&mut self, piece: &Piece, first: Point) -> f64 {
        let rest = piece.length() - first.tau;
        self.second_derivative(piece, &first);
        piece.derivative_bounds(&first.drive, 2, 0.0, &mut self.bounds);
        let rate = self.propagator.scan_rate(&self.weights, &self.work[1], &self.bounds);
        let rate = rate.max(piece.rate());
        // An eighth of the period 2 pi / rate.
        let h = (std::f64::consts::FRAC_PI_4 / rate).min(rest);
        let blocks = (rest / h).ceil();
        let h = rest / blocks;
        let count = if blocks > CHUNK as f64 { CHUNK } else { blocks as usize };
        let points = self.points(piece, first, h, count);
        let slack = self.slack(piece, &points[0], h, count);
        let values = self.values(piece, &points);
        for (component, y) in values.iter().enumerate() {
            for (side, sign) in [1.0, -1.0].into_iter().enumerate() {
                for (point, y) in points.iter().zip(y) {
                    self.offer(component, side, sign * y, piece.start + point.tau);
                }
                for block in 0..count {
                    let top = (sign * y[block]).max(sign * y[block + 1]) + slack[component];
                    if top > self.threshold(component, side) {
                        let a = self.see(piece, points[block].clone(), component, sign);
                        let b = self.see(piece, points[block + 1].clone(), component, sign);
                        self.climb(piece, component, side, &a, &b, 0);
                    }
                }
            }
        }
        if count as f64 == blocks { piece.length() } else { points[count].tau }
    }

    fn points(&mut self, piece: &Piece, first: Point, h: f64, count: usize) -> Vec<Point> {
        self.propagator.fill(piece, h, &mut self.step);
        let mut points = Vec::with_capacity(count + 1);
        points.push(first);
        for i in 0..count {
            let before = &points[i];
            let mut next = before.clone();
            self.step.apply(&before.u, &before.drive, &mut next.u);
            next.tau = points[0].tau + (i + 1) as f64 * h;
            self.step.apply_drive(&mut next.drive);
            points.push(next);
        }
        points
    }

    /// y of each component at each point.
    fn values(&self, piece: &Piece, points: &[Point]) -> Vec<Vec<f64>> {
        let count = piece.lines.len();
        let mut loads = vec![0.0; count * points.len()];
        for (point, f) in points.iter().zip(loads.chunks_exact_mut(count.max(1))) {
            piece.values(&point.drive, f);
        }
        let one = |(row, feed): (&Vec<f64>, &Vec<f64>)| {
            let value = |(i, p): (usize, &Point)| {
                dot(row, &p.u) + dot(feed, &loads[i * count..(i + 1) * count])
            };
            points.iter().enumerate().map(value).collect()
        };
        self.rows.iter().zip(&self.feed).map(one).collect()
    }

    /// work[1] = u''.
    fn second_derivative(&mut self, piece: &Piece, point: &Point) {
        piece.loads(&point.drive, &mut self.loads);
        let f = &self.loads.0;
        let [a, b, ..] = &mut self.work;
        self.propagator.rate_of_change(&point.u, &f[0], a);
        self.propagator.rate_of_change(a, &f[1], b);
    }

    /// max|y''| h^2 / 8 of each component over the chunk.
    fn slack(&mut self, piece: &Piece, first: &Point, h: f64, count: usize) -> Vec<f64> {
        self.second_derivative(piece, first);
        let whole = h * count as f64;
        piece.derivative_bounds(&first.drive, 2, whole, &mut self.bounds);
        let one = |i: usize| 0.125 * h * h * self.derivative_bound(i, &self.work[1], whole);
        (0..self.rows.len()).map(one).collect()
    }

    /// |y^(p)| is no greater than this for a time h after u^(p) = w, |f^(p)| of each load being no
    /// greater than `bounds`.
    fn derivative_bound(&self, i: usize, w: &[f64], h: f64) -> f64 {
        let mut bound = self.propagator.bound(&self.rows[i], w, h);
        for (j, load) in self.bounds.iter().enumerate().filter(|(_, load)| **load != 0.0) {
            let forced = h * self.propagator.bound(&self.rows[i], &self.beta[j], h);
            bound += load * (forced + self.feed[i][j].abs());
        }
        bound
    }

    fn threshold(&self, component: usize, side: usize) -> f64 {
        let best = self.best[component][side].value;
        best + TOLERANCE * best.abs() + self.noise[component]
    }

    /// Take a value if it beats the best by more than rounding; the first of equals stays.
    fn offer(&mut self, component: usize, side: usize, value: f64, time: f64) {
        let best = self.best[component][side].value;
        if best == f64::NEG_INFINITY || value > best + 1e-15 * best.abs() + self.noise[component] {
            self.best[component][side] = Extreme { value, time };
        }
    }

    fn see(&mut self, piece: &Piece, point: Point, component: usize, sign: f64) -> Seen {
        piece.loads(&point.drive, &mut self.loads);
        let f = &self.loads.0;
        let [a, b, c, _] = &mut self.work;
        self.propagator.rate_of_change(&point.u, &f[0], a);
        self.propagator.rate_of_change(a, &f[1], b);
        self.propagator.rate_of_change(b, &f[2], c);
        let (row, feed) = (&self.rows[component], &self.feed[component]);
        let parts = [dot(row, &point.u), dot(row, a), dot(row, b), dot(row, c)];
        let y = std::array::from_fn(|i| sign * (parts[i] + dot(feed, &f[i])));
        Seen { point, y }
    }

    /// The point `ahead` of another, exactly.
    fn ahead(&mut self, piece: &Piece, from: &Point, ahead: f64) -> Point {
        let mut to = from.clone();
        self.propagator.fill(piece, ahead, &mut self.step);
        self.step.apply(&from.u, &from.drive, &mut to.u);
        self.step.apply_drive(&mut to.drive);
        to.tau = from.tau + ahead;
        to
    }

    /// |y''''| over the block from a.
    fn fourth_bound(&mut self, piece: &Piece, component: usize, a: &Seen, h: f64) -> f64 {
        piece.loads(&a.point.drive, &mut self.loads);
        let f = &self.loads.0;
        let [p, q, ..] = &mut self.work;
        self.propagator.rate_of_change(&a.point.u, &f[0], p);
        self.propagator.rate_of_change(p, &f[1], q);
        self.propagator.rate_of_change(q, &f[2], p);
        self.propagator.rate_of_change(p, &f[3], q);
        piece.derivative_bounds(&a.point.drive, 4, h, &mut self.bounds);
        self.derivative_bound(component, &self.work[1], h)
    }

    /// Greatest y on the block between a and b.
    fn climb(
        &mut self,
        piece: &Piece,
        component: usize,
        side: usize,
        a: &Seen,
        b: &Seen,
        depth: usize,
    ) {
        let h = b.point.tau - a.point.tau;
        let m4 = self.fourth_bound(piece, component, a, h);
        let m3 = a.y[3].abs().max(b.y[3].abs()) + 0.5 * h * m4;
        let bend = 0.125 * h * h * m4;
        let m2 = a.y[2].abs().max(b.y[2].abs()) + bend;
        let top = a.y[0].max(b.y[0]) + 0.125 * h * h * m2;
        if top <= self.threshold(component, side) || depth == DEEPEST {
            return;
        }
        let steep = 0.125 * h * h * m3;
        let falls = a.y[1].max(b.y[1]) + steep <= 0.0;
        let rises = a.y[1].min(b.y[1]) - steep >= 0.0;
        let convex = a.y[2].min(b.y[2]) - bend >= 0.0;
        if falls || rises || convex {
            return;
        }
        let concave = a.y[2].max(b.y[2]) + bend <= 0.0;
        if concave {
            if a.y[1] > 0.0 && b.y[1] < 0.0 {
                let (value, tau) = self.summit(piece, component, side, a, h);
                self.offer(component, side, value, piece.start + tau);
            }
            return;
        }
        let sign = [1.0, -1.0][side];
        let middle = self.ahead(piece, &a.point, 0.5 * h);
        let middle = self.see(piece, middle, component, sign);
        self.offer(component, side, middle.y[0], piece.start + middle.point.tau);
        self.climb(piece, component, side, a, &middle, depth + 1);
        self.climb(piece, component, side, &middle, b, depth + 1);
    }

    /// y and time where y' = 0, y' falling through zero within h after a: Newton, with bisection
    /// whenever it would leave the bracket.
    fn summit(
        &mut self,
        piece: &Piece,
        component: usize,
        side: usize,
        a: &Seen,
        h: f64,
    ) -> (f64, f64) {
        let sign = [1.0, -1.0][side];
        let (mut low, mut high) = (0.0, h);
        let mut x = (-a.y[1] / a.y[2]).clamp(0.0, h);
        let mut y = a.y[0];
        for _ in 0..60 {
            let point = self.ahead(piece, &a.point, x);
            let seen = self.see(piece, point, component, sign);
            y = seen.y[0];
            if seen.y[1] > 0.0 {
                low = x;
            } else {
                high = x;
            }
            let newton = x - seen.y[1] / seen.y[2];
            let inside = newton > low && newton < high;
            let next = if inside { newton } else { 0.5 * (low + high) };
            let moved = (next - x).abs();
            // y is flat here: a step of 1e-9 h changes it by 1e-18 of its curvature.
            if seen.y[1] == 0.0 || moved <= 1e-15 * (a.point.tau + x) || moved <= 1e-12 * h {
                return (y, a.point.tau + if inside { next } else { x });
            }
            x = next;
        }
        (y, a.point.tau + x)
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
