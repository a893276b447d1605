//! A motion on a uniform grid of time.
//!
//! Within a piece of time every sample follows from the one before by the same exact step, and
//! each block of 64 starts afresh from the start of the piece, so that rounding cannot pile up.
//! Where a piece begins between two samples the step starts again there.

use ndarray::Array2;

use super::motion::Transient;
use super::output::Output;
use super::propagator::{Piece, Transition};
use crate::error::{Error, Result, positive};
use crate::lanes::{Isa, instruction_set, versions};

/// Samples in a block.
const BLOCK: usize = 64;
/// Outputs side by side.
const LANES: usize = 8;
/// Samples side by side.
const ROWS: usize = 4;
/// More numbers than this in one answer is an input error.
const MOST_VALUES: f64 = 2e8;

/// A step that asks for no histories: peaks are solved for and need none.
pub const NO_HISTORIES: f64 = f64::MAX;

/// A step of histories (s) that is positive and no longer than the motion (s).
///
/// # Errors
/// [`Error::Invalid`]; a longer one would leave one sample.
pub fn step(dt: f64, duration: f64) -> Result<f64> {
    positive("dt", dt, "s")?;
    if dt > duration && dt != NO_HISTORIES {
        return Err(Error::invalid(
            "dt",
            format!("{dt} s"),
            format!("must not be longer than the motion, {duration} s"),
            "give a shorter step, or leave it out for the usual one",
        ));
    }
    Ok(dt)
}

impl Transient {
    /// Number of samples 0, dt, 2 dt ... up to the duration, and whether that is sane for so many
    /// components.
    pub(super) fn count(&self, dt: f64, components: usize) -> Result<usize> {
        positive("dt", dt, "s")?;
        let steps = (self.duration / dt * (1.0 + 1e-12)).floor();
        if (steps + 1.0) * components as f64 > MOST_VALUES {
            return Err(Error::invalid(
                "dt",
                format!("{dt} s"),
                format!("must leave at most {MOST_VALUES:.0e} values"),
                "give a greater dt or a shorter duration; peaks do not depend on dt",
            ));
        }
        Ok(steps as usize + 1)
    }

    /// The output at t = 0, dt, 2 dt ... up to the duration: (time, component), in the units of
    /// its components. At a jump of the load the value just after it.
    pub fn sample(&self, output: &Output, dt: f64) -> Result<Array2<f64>> {
        let mut all = self.sample_all(&[output], dt)?;
        Ok(all.pop().unwrap_or_default())
    }

    /// Several outputs in one pass.
    pub(super) fn sample_all(&self, outputs: &[&Output], dt: f64) -> Result<Vec<Array2<f64>>> {
        outputs.iter().try_for_each(|output| self.check_own(output))?;
        let components: usize = outputs.iter().map(|o| o.len()).sum();
        let isa = instruction_set()?;
        let samples = self.count(dt, components.max(1))?;
        let size = self.basis.propagator.size();
        let mut tables: Vec<Table> = outputs.iter().map(|o| Table::new(o, size, samples)).collect();
        let mut work = Work::new(size + self.basis.propagator.loads());
        let mut first = 0;
        for (i, piece) in self.pieces.iter().enumerate() {
            let past = match self.pieces.get(i + 1) {
                // A sample within rounding of the next piece belongs to it.
                Some(next) => ((next.start / dt - 1e-9).ceil().max(0.0) as usize).min(samples),
                None => samples,
            };
            while first < past {
                let count = (past - first).min(BLOCK);
                self.block(piece, first, count, dt, &mut work);
                for table in &mut tables {
                    table.apply(isa, &work.states, first, count);
                }
                first += count;
            }
            work.stale = true;
        }
        let finished = tables.into_iter().map(|table| table.finish(samples));
        let mut arrays = finished.collect::<Result<Vec<_>>>()?;
        self.add_signals(outputs, &mut arrays, dt);
        Ok(arrays)
    }

    /// What a Fourier transform adds to the samples of a reference.
    fn add_signals(&self, outputs: &[&Output], arrays: &mut [Array2<f64>], dt: f64) {
        let Some(fourier) = &self.fourier else { return };
        let samples = arrays.first().map_or(0, Array2::nrows);
        for i in 0..samples {
            let signals = fourier.at(i as f64 * dt);
            for (output, array) in outputs.iter().zip(&mut *arrays) {
                let more = &output.correction * &signals;
                array.row_mut(i).iter_mut().zip(&more).for_each(|(y, d)| *y += d);
            }
        }
    }

    /// States and loads of `count` samples that lie in one piece.
    fn block(&self, piece: &Piece, first: usize, count: usize, dt: f64, work: &mut Work) {
        let propagator = &self.basis.propagator;
        if work.stale {
            propagator.fill(piece, dt, &mut work.step);
            work.stale = false;
        }
        let tau = first as f64 * dt - piece.start;
        let size = propagator.size();
        piece.drive(0.0, &mut work.drive);
        propagator.fill(piece, tau, &mut work.jump);
        work.jump.apply(&piece.state, &work.drive, &mut work.states[..size]);
        piece.drive(tau, &mut work.drive);
        let depth = size + propagator.loads();
        let mut rows = work.states[..(count + 1) * depth].chunks_exact_mut(depth);
        let Some(mut row) = rows.next() else {
            return;
        };
        // The last step is one too many; its row is room for it.
        for next in rows {
            piece.values(&work.drive, &mut row[size..]);
            work.step.apply(&row[..size], &work.drive, &mut next[..size]);
            work.step.apply_drive(&mut work.drive);
            row = next;
        }
    }
}

/// Buffers, so that the loops allocate nothing.
struct Work {
    step: Transition,
    jump: Transition,
    /// The step belongs to an earlier piece.
    stale: bool,
    drive: Vec<f64>,
    states: Vec<f64>,
}

impl Work {
    fn new(depth: usize) -> Self {
        Self {
            step: Transition::default(),
            jump: Transition::default(),
            stale: true,
            drive: Vec::new(),
            states: vec![0.0; (BLOCK + 1) * depth],
        }
    }
}

/// Coefficients and values of one output.
struct Table {
    /// By columns of full lanes, one for each state and one for each load.
    coefficients: Vec<f64>,
    /// Padded number of components.
    width: usize,
    /// States and loads.
    depth: usize,
    /// Components.
    length: usize,
    /// (time, component), with room behind for rows that are written in full lanes.
    values: Vec<f64>,
}

impl Table {
    fn new(output: &Output, size: usize, samples: usize) -> Self {
        let length = output.len();
        let width = length.div_ceil(LANES) * LANES;
        let depth = size + output.feed.ncols();
        let mut coefficients = vec![0.0; depth * width];
        for i in 0..length {
            for j in 0..size {
                coefficients[j * width + i] = output.rows[(i, j)];
            }
            for j in size..depth {
                coefficients[j * width + i] = output.feed[(i, j - size)];
            }
        }
        let values = vec![0.0; (samples + ROWS) * length + LANES];
        Self { coefficients, width, depth, length, values }
    }

    fn apply(&mut self, isa: Isa, states: &[f64], first: usize, count: usize) {
        let groups = count.div_ceil(ROWS);
        let shape = Shape { width: self.width, depth: self.depth, length: self.length, groups };
        let out = &mut self.values[first * self.length..];
        multiply(isa, &self.coefficients, states, &shape, out);
    }

    fn finish(mut self, samples: usize) -> Result<Array2<f64>> {
        self.values.truncate(samples * self.length);
        Array2::from_shape_vec((samples, self.length), self.values).map_err(|e| Error::Shape {
            argument: "output".to_string(),
            found: e.to_string(),
            expected: format!("({samples}, {})", self.length),
        })
    }
}

struct Shape {
    width: usize,
    depth: usize,
    length: usize,
    groups: usize,
}

versions! {
    /// out[sample][component] = sum over states of states[sample][state] coefficients[state][component].
    fn multiply(coefficients: &[f64], states: &[f64], shape: &Shape, out: &mut [f64]) = rows
}

/// A row is stored in full lanes, so the last lanes reach into the next row; they are stored
/// first, and the rows from the top down, so that what they spoil is written after them.
#[inline(always)]
fn rows<const FUSED: bool>(coefficients: &[f64], states: &[f64], shape: &Shape, out: &mut [f64]) {
    let &Shape { width, depth, length, groups } = shape;
    for group in 0..groups {
        let rows = &states[group * ROWS * depth..(group + 1) * ROWS * depth];
        let out = &mut out[group * ROWS * length..];
        for at in (0..width).step_by(LANES).rev() {
            let mut sum = [[0.0; LANES]; ROWS];
            for state in 0..depth {
                let c = &coefficients[state * width + at..][..LANES];
                for sample in 0..ROWS {
                    let x = rows[sample * depth + state];
                    for lane in 0..LANES {
                        if FUSED {
                            sum[sample][lane] = c[lane].mul_add(x, sum[sample][lane]);
                        } else {
                            sum[sample][lane] += x * c[lane];
                        }
                    }
                }
            }
            for sample in 0..ROWS {
                out[sample * length + at..][..LANES].copy_from_slice(&sum[sample]);
            }
        }
    }
}
