//! What are the greatest and the least value of many quantities of many motions?
//!
//! q_k' = s_k q_k + b_k f(t),   y_o = Re sum over k of r_ok q_k + a_o f(t),
//!
//! for eight designs at a time, the load f in closed form piece by piece, each design with its own
//! numbers (a complex pair is one k, its residue taken twice).
//!
//! 1. Scan: steps of an eighth of the shortest period (|s| h <= pi/4), y at each, by the exact
//!    recurrence of q. In the last, free piece an output ends as soon as its envelope sum |r_ok q_k|
//!    lies below its greatest and above its least value so far.
//! 2. Bound: between two samples y rises above both by no more than h^2 max|y''| / 8. Where that could
//!    pass the greatest sample, Hermite's cubic bounds it closer: it is off by no more than
//!    h^4 max|y''''| / 384, and lies below its Bernstein points.
//! 3. Climb: the step with the greatest bound is solved, until no other bound passes the value found.
//!    There y is its own Taylor polynomial, of degree 14 to rounding; where its second and fourth
//!    derivatives prove it concave, Newton on y' = 0 finds the one summit, else it is cut in eight.
//!
//! A design for which that does not settle (a step that resists, thousands of steps, numbers that
//! are not finite) is reported and left to the caller. A design's numbers do not depend on those
//! beside it.
//!
//! Source: bounds of Hermite's and Bernstein's forms, e.g. P. J. Davis, Interpolation and
//! Approximation, 1975, sections 3.1 and 6.3 (from memory).

mod bound;
mod climb;
mod scan;
mod slack;

use super::isa::Isa;
use super::lane::{Complex, Lane, WIDTH};

/// Steps of all pieces together; a design that needs more is left to the caller.
const MOST: f64 = 2000.0;

/// Modes of a block, at most.
const MODES: usize = 16;

/// A stretch of the load with one closed form in each design: f = constant + slope tau + sum of
/// Re(amplitude e^{exponent tau}), tau from its start on.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Start, s.
    pub start: Lane,
    /// Length, s; may be zero.
    pub length: Lane,
    /// Value at the start without the waves.
    pub constant: Lane,
    /// Rate of change, 1/s.
    pub slope: Lane,
    /// Amplitude at the start and exponent (1/s).
    pub waves: Vec<(Complex, Complex)>,
}

impl Piece {
    /// Without a load, the same time in each design, s.
    pub fn free(start: f64, length: f64) -> Self {
        Self {
            start: Lane::splat(start),
            length: Lane::splat(length),
            constant: Lane::ZERO,
            slope: Lane::ZERO,
            waves: Vec::new(),
        }
    }

    /// No load at all in any design.
    fn is_free(&self) -> bool {
        self.constant == Lane::ZERO && self.slope == Lane::ZERO && self.waves.is_empty()
    }
}

/// An extreme value of each design and its time, s.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Extreme {
    /// With its sign.
    pub value: Lane,
    /// s.
    pub time: Lane,
}

const NONE: Extreme = Extreme { value: Lane([f64::NEG_INFINITY; WIDTH]), time: Lane::ZERO };

/// Eight motions, with room for their search.
#[derive(Debug, Clone)]
pub struct Block {
    modes: usize,
    outputs: usize,
    /// s_k, 1/s; not growing.
    pub roots: Vec<Complex>,
    /// b_k.
    pub inputs: Vec<Complex>,
    /// q_k at the start.
    pub start: Vec<Complex>,
    /// r_ok, (output, mode).
    pub rows: Vec<Complex>,
    /// a_o.
    pub feed: Vec<Lane>,
    /// Pieces of time, one after the other.
    pub pieces: Vec<Piece>,
    /// Greatest value, and greatest of the values with the other sign, of each output.
    best: Vec<[Extreme; 2]>,
    room: Room,
}

/// What the search keeps between its steps.
#[derive(Debug, Clone, Default)]
struct Room {
    /// Numbers of a state: q (real parts, imaginary parts), then the drive.
    width: usize,
    /// (row, state): all steps of all pieces, with the end of each piece.
    states: Vec<Lane>,
    /// First row of each piece, and the row after its last.
    first: Vec<usize>,
    /// Length of a step of each piece.
    step: Vec<Lane>,
    /// Number of steps of each piece.
    count: Vec<Lane>,
    /// First block of rows of each piece.
    block: Vec<usize>,
    /// h^2 max|y''| / 8 and h^4 max|y''''| over a block of rows, (block, output, two).
    slack: Vec<Lane>,
    /// y of each output, (row, output).
    seen: Vec<Lane>,
    /// Outputs that can still change, and of each the row after its last.
    alive: Vec<usize>,
    past: Vec<usize>,
    /// Greatest y and -y of each output so far.
    reached: Vec<[Lane; 2]>,
    /// Steps of one output that could hold more, with what y does not pass there, (side, lane).
    open: [[Vec<(f64, usize)>; WIDTH]; 2],
    /// |r_ok|, (output, mode), and |b_k|.
    weight: Vec<Lane>,
    input: Vec<Lane>,
    /// |s h| of each mode.
    rate: Vec<Lane>,
    /// Envelope of each output at the start of a block.
    envelope: Vec<Lane>,
    /// e^{s h}, and what the drive adds in a step, (drive, mode).
    turn: Vec<Complex>,
    gain: Vec<Complex>,
    /// e^{exponent h} of each wave.
    wave: Vec<Complex>,
    /// Sizes of the parts of each output, the measure of rounding.
    size: Vec<Lane>,
}

impl Block {
    /// For that many modes, sixteen at the most, and outputs.
    pub fn new(modes: usize, outputs: usize) -> Self {
        assert!(modes <= MODES, "{modes} modes are more than {MODES}");
        Self {
            modes,
            outputs,
            roots: vec![Complex::ZERO; modes],
            inputs: vec![Complex::ZERO; modes],
            start: vec![Complex::ZERO; modes],
            rows: vec![Complex::ZERO; outputs * modes],
            feed: vec![Lane::ZERO; outputs],
            pieces: Vec::new(),
            best: vec![[NONE; 2]; outputs],
            room: Room {
                reached: vec![[Lane::ZERO; 2]; outputs],
                past: vec![0; outputs],
                weight: vec![Lane::ZERO; outputs * modes],
                input: vec![Lane::ZERO; modes],
                rate: vec![Lane::ZERO; modes],
                envelope: vec![Lane::ZERO; outputs],
                turn: vec![Complex::ZERO; modes],
                size: vec![Lane::ZERO; outputs],
                ..Room::default()
            },
        }
    }

    /// Find the extremes of the designs that are `asked`; true for those that were found.
    pub fn solve(&mut self, isa: Isa, asked: [bool; WIDTH]) -> [bool; WIDTH] {
        let mut sound = asked;
        self.best.fill([NONE; 2]);
        if self.pieces.is_empty() {
            return [false; WIDTH];
        }
        scan::scan(isa, self, &mut sound);
        for output in 0..self.outputs {
            bound::open(isa, self, output, &sound);
            climb::climb(isa, self, output, &mut sound);
        }
        let finite = |e: &Extreme, lane: usize| e.value.0[lane].is_finite();
        for (lane, sound) in sound.iter_mut().enumerate() {
            *sound &= self.best.iter().flatten().all(|e| finite(e, lane));
        }
        sound
    }

    /// Greatest value of an output.
    pub fn max(&self, output: usize) -> Extreme {
        self.best[output][0]
    }

    /// Least value of an output.
    pub fn min(&self, output: usize) -> Extreme {
        let Extreme { value, time } = self.best[output][1];
        Extreme { value: -value, time }
    }
}

#[cfg(test)]
mod tests;
