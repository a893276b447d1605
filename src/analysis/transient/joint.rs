//! Several quantities of one motion together, for the search of their worst instant.
//!
//! y'' is bounded on a block as in the search for peaks: by the free motion of w = u'' from the
//! start of the block, and by what the loads' second derivatives add. Of a motion by Fourier
//! transform no such bound is known: there twice the distance of the middle from the chord is taken
//! for it, from blocks as short as the interval of the transform.

use super::motion::Transient;
use super::output::Output;
use super::propagator::Loads;
use crate::analysis::instant::History;
use crate::error::Result;

/// Blocks in which a period of the fastest vibration is cut at the start.
const BLOCKS_PER_PERIOD: f64 = 4.0;
/// Blocks at the start of the search, at most, in each piece.
const MOST_BLOCKS: f64 = 4096.0;

/// The components of an output over the whole motion.
#[derive(Debug)]
pub struct Joint<'a> {
    motion: &'a Transient,
    output: &'a Output,
    rows: Vec<Vec<f64>>,
    beta: Vec<Vec<f64>>,
    cuts: Vec<f64>,
    /// Piece of each block.
    pieces: Vec<usize>,
}

impl Transient {
    /// The components of an output together, for [`crate::analysis::instant::greatest`].
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for an output that another transient made.
    pub fn joint<'a>(&'a self, output: &'a Output) -> Result<Joint<'a>> {
        self.check_own(output)?;
        let (mut cuts, mut pieces) = (Vec::new(), Vec::new());
        for (index, piece) in self.pieces.iter().enumerate() {
            let count = match self.fourier() {
                Some(note) => (piece.length() / note.interval).ceil().max(1.0),
                None => (BLOCKS_PER_PERIOD * piece.length() / self.shortest_period())
                    .ceil()
                    .clamp(1.0, MOST_BLOCKS),
            };
            for i in 0..count as usize {
                cuts.push(piece.start + piece.length() * i as f64 / count);
                pieces.push(index);
            }
        }
        cuts.push(self.duration);
        let rows = output.rows.row_iter().map(|row| row.iter().copied().collect()).collect();
        Ok(Joint { motion: self, output, rows, beta: self.basis.propagator.inputs(), cuts, pieces })
    }
}

impl History for Joint<'_> {
    fn cuts(&self) -> Vec<f64> {
        self.cuts.clone()
    }

    fn values(&self, block: usize, t: f64) -> Vec<f64> {
        let piece = &self.motion.pieces[self.pieces[block]];
        let (u, drive) = self.motion.state(piece, t - piece.start);
        let mut f = vec![0.0; piece.lines.len()];
        piece.values(&drive, &mut f);
        self.motion.value(self.output, &u, &f, t).as_slice().to_vec()
    }

    fn rest(&self, block: usize) -> Option<Vec<f64>> {
        let index = self.pieces[block];
        let piece = &self.motion.pieces[index];
        let last = index + 1 == self.motion.pieces.len();
        if !last || !piece.is_free() || self.motion.fourier().is_some() {
            return None;
        }
        let (u, _) = self.motion.state(piece, self.cuts[block] - piece.start);
        let propagator = &self.motion.basis.propagator;
        Some(self.rows.iter().map(|row| propagator.envelope(row, &u)).collect())
    }

    fn slack(&self, block: usize, from: f64, to: f64) -> Vec<f64> {
        if self.motion.fourier().is_some() {
            let [a, b] = [from, to].map(|t| self.values(block, t));
            let middle = self.values(block, 0.5 * (from + to));
            let off = |(m, (a, b)): (&f64, (&f64, &f64))| 2.0 * (m - 0.5 * (a + b)).abs();
            return middle.iter().zip(a.iter().zip(&b)).map(off).collect();
        }
        let piece = &self.motion.pieces[self.pieces[block]];
        let propagator = &self.motion.basis.propagator;
        let h = to - from;
        let (u, drive) = self.motion.state(piece, from - piece.start);
        let (mut loads, mut bounds) = (Loads::default(), Vec::new());
        piece.loads(&drive, &mut loads);
        let f = &loads.0;
        let (mut a, mut w) = (vec![0.0; u.len()], vec![0.0; u.len()]);
        propagator.rate_of_change(&u, &f[0], &mut a);
        propagator.rate_of_change(&a, &f[1], &mut w);
        piece.derivative_bounds(&drive, 2, h, &mut bounds);
        let bound = |(i, row): (usize, &Vec<f64>)| {
            let mut sum = propagator.bound(row, &w, h);
            for (j, load) in bounds.iter().enumerate().filter(|(_, load)| **load != 0.0) {
                let forced = h * propagator.bound(row, &self.beta[j], h);
                sum += load * (forced + self.output.feed[(i, j)].abs());
            }
            0.125 * h * h * sum
        };
        self.rows.iter().enumerate().map(bound).collect()
    }
}
