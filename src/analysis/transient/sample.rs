//! A motion on a uniform grid of time.
//!
//! Within a piece of time every sample follows from the one before by the same exact step, and
//! each block of 64 starts afresh from the start of the piece, so that rounding cannot pile up.
//! Where a piece begins between two samples the step starts again there.

use multiversion::multiversion;
use ndarray::Array2;

use super::motion::Transient;
use super::output::Output;
use super::propagator::{Piece, Transition};
use crate::error::{Error, Result, positive};

/// Samples in a block.
const BLOCK: usize = 64;
/// Outputs side by side.
const LANES: usize = 8;
/// Samples side by side.
const ROWS: usize = 4;
/// More numbers than this in one answer is an input error.
const MOST_VALUES: f64 = 2e8;

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
        let components: usize = outputs.iter().map(|o| o.len()).sum();
        let samples = self.count(dt, components.max(1))?;
        let table = Table::new(outputs, self.basis.propagator.size());
        let mut arrays: Vec<Vec<f64>> =
            outputs.iter().map(|o| Vec::with_capacity(o.len() * samples)).collect();
        let mut work = Work::new(&table);
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
                table.apply(&work.states, count, &mut work.values);
                table.scatter(&work.values, count, &mut arrays);
                first += count;
            }
            work.stale = true;
        }
        let shaped = arrays.into_iter().zip(outputs).map(|(data, o)| {
            Array2::from_shape_vec((samples, o.len()), data).map_err(|e| Error::Shape {
                argument: "output".to_string(),
                found: e.to_string(),
                expected: format!("({samples}, {})", o.len()),
            })
        });
        shaped.collect()
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
        work.jump.apply(&piece.state, &work.drive, &mut work.u);
        piece.drive(tau, &mut work.drive);
        for sample in 0..count {
            let row = &mut work.states[sample * (size + 1)..(sample + 1) * (size + 1)];
            row[..size].copy_from_slice(&work.u);
            row[size] = piece.load(&work.drive)[0];
            work.step.apply(&row[..size], &work.drive, &mut work.u);
            work.step.apply_drive(&mut work.drive);
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
    u: Vec<f64>,
    states: Vec<f64>,
    values: Vec<f64>,
}

impl Work {
    fn new(table: &Table) -> Self {
        Self {
            step: Transition::default(),
            jump: Transition::default(),
            stale: true,
            drive: Vec::new(),
            u: vec![0.0; table.depth - 1],
            states: vec![0.0; BLOCK * table.depth],
            values: vec![0.0; BLOCK * table.width],
        }
    }
}

/// Coefficients of all outputs, by columns, padded to full lanes.
struct Table {
    coefficients: Vec<f64>,
    /// Padded number of components.
    width: usize,
    /// States and load.
    depth: usize,
    /// Components of each output.
    lengths: Vec<usize>,
}

impl Table {
    fn new(outputs: &[&Output], size: usize) -> Self {
        let lengths: Vec<usize> = outputs.iter().map(|o| o.len()).collect();
        let width = lengths.iter().sum::<usize>().div_ceil(LANES) * LANES;
        let mut coefficients = vec![0.0; (size + 1) * width];
        let mut at = 0;
        for output in outputs {
            for i in 0..output.len() {
                for j in 0..size {
                    coefficients[j * width + at] = output.rows[(i, j)];
                }
                coefficients[size * width + at] = output.feed[i];
                at += 1;
            }
        }
        Self { coefficients, width, depth: size + 1, lengths }
    }

    fn apply(&self, states: &[f64], count: usize, values: &mut [f64]) {
        if self.width > 0 {
            let groups = count.div_ceil(ROWS);
            multiply(&self.coefficients, self.width, states, self.depth, groups, values);
        }
    }

    fn scatter(&self, values: &[f64], count: usize, arrays: &mut [Vec<f64>]) {
        let mut at = 0;
        for (array, &length) in arrays.iter_mut().zip(&self.lengths) {
            for row in values.chunks_exact(self.width.max(1)).take(count) {
                array.extend_from_slice(&row[at..at + length]);
            }
            at += length;
        }
    }
}

/// values[sample][component] = sum over states of states[sample][state] coefficients[state][component].
#[multiversion(targets("x86_64+avx512f+avx512vl+avx2+fma", "x86_64+avx2+fma", "aarch64+neon",))]
fn multiply(
    coefficients: &[f64],
    width: usize,
    states: &[f64],
    depth: usize,
    groups: usize,
    values: &mut [f64],
) {
    for group in 0..groups {
        let rows = &states[group * ROWS * depth..(group + 1) * ROWS * depth];
        let out = &mut values[group * ROWS * width..(group + 1) * ROWS * width];
        for at in (0..width).step_by(LANES) {
            let mut sum = [[0.0; LANES]; ROWS];
            for state in 0..depth {
                let c = &coefficients[state * width + at..][..LANES];
                for sample in 0..ROWS {
                    let x = rows[sample * depth + state];
                    for lane in 0..LANES {
                        sum[sample][lane] += x * c[lane];
                    }
                }
            }
            for sample in 0..ROWS {
                out[sample * width + at..][..LANES].copy_from_slice(&sum[sample]);
            }
        }
    }
}
