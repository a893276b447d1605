//! Several quantities of one motion together, for the search of their worst instant.
//!
//! y'' is bounded on a block as in the search for peaks: by the free motion of w = u'' from the
//! start of the block, and by what the loads' second derivatives add. Of a motion by Fourier
//! transform no such bound is known: there twice the distance of the middle from the chord is taken
//! for it, from blocks as short as the interval of the transform.

use super::motion::Transient;
use super::output::Output;
use super::propagator::{Loads, Transition};
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
    /// Where each block starts: asked for by every search, so followed once.
    starts: Vec<(Vec<f64>, Vec<f64>)>,
}

impl Transient {
    /// The components of an output together, for [`crate::analysis::instant::greatest`].
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for an output that another transient made.
    pub fn joint<'a>(&'a self, output: &'a Output) -> Result<Joint<'a>> {
        self.check_own(output)?;
        let (mut cuts, mut pieces, mut starts) = (Vec::new(), Vec::new(), Vec::new());
        let mut step = Transition::default();
        for (index, piece) in self.pieces.iter().enumerate() {
            let count = match self.fourier() {
                Some(note) => (piece.length() / note.interval).ceil().max(1.0),
                None => (BLOCKS_PER_PERIOD * piece.length() / self.shortest_period())
                    .ceil()
                    .clamp(1.0, MOST_BLOCKS),
            };
            if count > 1.0 {
                self.basis.propagator.fill(piece, piece.length() / count, &mut step);
            }
            let (mut u, mut drive) = self.state(piece, 0.0);
            for i in 0..count as usize {
                if i > 0 {
                    let before = u.clone();
                    step.apply(&before, &drive, &mut u);
                    step.apply_drive(&mut drive);
                }
                starts.push((u.clone(), drive.clone()));
                cuts.push(piece.start + piece.length() * i as f64 / count);
                pieces.push(index);
            }
        }
        cuts.push(self.duration);
        let rows = output.rows.row_iter().map(|row| row.iter().copied().collect()).collect();
        let beta = self.basis.propagator.inputs();
        Ok(Joint { motion: self, output, rows, beta, cuts, pieces, starts })
    }
}

impl Joint<'_> {
    /// State and drive in a block at a time; its ends are known.
    fn state(&self, block: usize, t: f64) -> (Vec<f64>, Vec<f64>) {
        let piece = &self.motion.pieces[self.pieces[block]];
        if t == self.cuts[block] {
            return self.starts[block].clone();
        }
        if t == self.cuts[block + 1]
            && let Some((u, _)) = self.starts.get(block + 1)
        {
            let mut drive = Vec::new();
            piece.drive(t - piece.start, &mut drive);
            return (u.clone(), drive);
        }
        self.motion.state(piece, t - piece.start)
    }
}

impl History for Joint<'_> {
    fn cuts(&self) -> Vec<f64> {
        self.cuts.clone()
    }

    fn values(&self, block: usize, t: f64) -> Vec<f64> {
        let piece = &self.motion.pieces[self.pieces[block]];
        let (u, drive) = self.state(block, t);
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
        let (u, _) = self.state(block, self.cuts[block]);
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
        let (u, drive) = self.state(block, from);
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
