//! At which stroke rates does the machine shake itself, and how much is each worth?
//!
//! Over a range of stroke rates the steady response of every harmonic is computed in one batch. Where
//! harmonic n meets mode m, at 60 f_m/n strokes per minute, the lines cross; at 40 strokes per minute
//! they stand 0.67 Hz apart, so crossing alone is no trouble. Meetings are ranked by the amplitude
//! the harmonic reaches there at the point asked for.
//!
//! Carry-over: the free vibration of one stroke has fallen to q = e^{-2 pi zeta f T} when the next
//! comes, T = 60/rate. If all strokes met in phase the amplitude would grow to 1/(1 - q); with the
//! phase of the damped mode it is the gain 1/|1 - q e^{j omega_d T}|, which may be below one. This is
//! the gain of a free vibration, started once in each stroke (a break-through, a contact); the
//! harmonics hold it already.
//!
//! Source: geometric series of free vibrations, textbook; ranking by amplitude: common practice.

use nalgebra::{DMatrix, Vector3, Vector6};
use ndarray::{Array2, Array3, Axis};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;
use std::ops::Range;

use super::by_poles::ByPoles;
use super::modes::{Modes, with_real_modes};
use super::periodic::{self, Grid, Wave};
use super::response::{ground_rows_seen, on_resonance, shaped, solve_with, sum_blocks};
use super::steady::{RESONANT, Spread, checked_order, left_out, looked_at, nothing};
use crate::error::{Error, Result, each, positive};
use crate::excitation::SlideDrive;
use crate::lanes::poles::Seen;
use crate::lanes::{Coefficients, Complex};
use crate::system::{Linear, wrench_transfer};

/// Damping ratio that is no damping but rounding.
const UNDAMPED: f64 = 1e-9;

/// Meetings that are kept.
pub const RANKED: usize = 20;

/// Response over a range of stroke rates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StrokeRateMap {
    /// Strokes per minute.
    pub stroke_rate_spm: Vec<f64>,
    /// Orders of the harmonics, 1, 2, ...
    pub harmonic: Vec<usize>,
    /// Point whose motion is given, m.
    pub point: Vector3<f64>,
    /// Motion of the point (rate, harmonic, 3), m, peak phasors.
    pub motion: Array3<Complex64>,
    /// Force on the floor (rate, harmonic, 3), N, peak phasors.
    pub floor_force: Array3<Complex64>,
    /// Inertia force of the drive over the square of the crank's angular velocity (harmonic, 3),
    /// kg m, peak phasors.
    pub unit_force: Array2<Complex64>,
    /// Natural frequencies, Hz.
    pub frequency: Vec<f64>,
    /// Damping ratios.
    pub damping_ratio: Vec<f64>,
    /// Where harmonics meet modes, the greatest amplitude first: the [`RANKED`] worst of them. Modes
    /// without damping are left out: their amplitude has no end.
    pub meetings: Vec<Meeting>,
    /// Number of all meetings in the range.
    pub meetings_found: usize,
    /// What the reader should know.
    pub warnings: Vec<String>,
}

/// A harmonic that meets a mode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Meeting {
    /// Stroke rate, strokes per minute.
    pub stroke_rate_spm: f64,
    /// Order of the harmonic.
    pub harmonic: usize,
    /// Number of the mode, from 1.
    pub mode: usize,
    /// Its frequency, Hz.
    pub frequency: f64,
    /// Its damping ratio.
    pub damping_ratio: f64,
    /// Amplitude of this harmonic's motion at the point: root of the sum of squares along x, y, z, m.
    pub amplitude: f64,
    /// Amplitude of its force on the floor, N.
    pub floor_force: f64,
    /// Floor force of this harmonic over its inertia force.
    pub amplification: f64,
    /// Motion of the point by all harmonics at this rate (harmonic, 3), m, peak phasors.
    pub motion: Array2<Complex64>,
    /// Force on the floor by all harmonics (harmonic, 3), N, peak phasors.
    pub floor: Array2<Complex64>,
    /// Share q of the mode's free vibration left after a stroke.
    pub carry_over: f64,
    /// Greatest gain 1/(1 - q) that carry-over can give.
    pub worst_gain: f64,
    /// Gain with the phase as it is.
    pub gain: f64,
}

/// Share q of a free vibration left after a stroke: e^{-2 pi zeta f T}, f in Hz.
pub fn carry_over(frequency: f64, damping_ratio: f64, stroke_rate_spm: f64) -> f64 {
    (-TAU * damping_ratio * frequency * 60.0 / stroke_rate_spm).exp()
}

/// Gain 1/|1 - q e^{j omega_d T}| of a free vibration that every stroke starts anew, with the damped
/// frequency f sqrt(1 - zeta^2).
pub fn carry_over_gain(frequency: f64, damping_ratio: f64, stroke_rate_spm: f64) -> f64 {
    let q = carry_over(frequency, damping_ratio, stroke_rate_spm);
    let damped = frequency * (1.0 - damping_ratio * damping_ratio).max(0.0).sqrt();
    let turn = Complex64::from_polar(q, TAU * damped * 60.0 / stroke_rate_spm);
    1.0 / (1.0 - turn).norm()
}

/// Harmonics of a drive by stroke rate: motion of a point and force on the floor.
struct Batch<'a> {
    linear: &'a Linear,
    order: usize,
    /// Wrenches at omega = 1, beyond `order` as well.
    unit: Vec<Vector6<Complex64>>,
    active: Vec<usize>,
    spread: Spread,
    rows: Coefficients,
    poles: Option<Seen>,
}

/// Phasors (rate, harmonic, 3).
struct Phasors {
    motion: Array3<Complex64>,
    floor: Array3<Complex64>,
}

impl<'a> Batch<'a> {
    fn new(
        linear: &'a Linear,
        drive: &SlideDrive,
        order: usize,
        point: &Vector3<f64>,
        poles: Option<ByPoles>,
    ) -> Result<Self> {
        let n = linear.size();
        let unit = drive.unit_harmonics(looked_at(order))?;
        let spread = Spread::new(linear, &drive.at, &unit);
        let active = (1..=order).filter(|&k| !nothing(unit[k].as_slice())).collect();
        let seen = wrench_transfer(point, &linear.reference).transpose();
        let motion = DMatrix::from_fn(3, n, |i, j| if j < 6 { seen[(i, j)] } else { 0.0 });
        let zero = DMatrix::zeros(3, n);
        let rows = Coefficients::new(&motion, &zero, &zero, None);
        let forces = DMatrix::identity(3, 6);
        let rows = rows.stacked(&ground_rows_seen(linear, &forces));
        let poles = poles.and_then(|poles| poles.seen(&rows));
        Ok(Self { linear, order, unit, active, spread, rows, poles })
    }

    /// All rates of one harmonic after the other: each has one column of load, times omega^2.
    fn solve(&self, rates: &[f64]) -> Result<Phasors> {
        let zeros = || vec![Complex64::ZERO; rates.len() * self.order * 3];
        let mut grid = Filling {
            order: self.order,
            square: rates.iter().map(|rate| (rate * TAU / 60.0).powi(2)).collect(),
            motion: zeros(),
            floor: zeros(),
            resonant: None,
        };
        let mut frequency = Vec::with_capacity(rates.len());
        for &k in &self.active {
            let load = self.spread.column(&self.unit[k]);
            // What no damping can leave of the floor force over that of the drive.
            let limit = RESONANT * rough_size(&self.unit[k].as_slice()[..3]);
            frequency.clear();
            frequency.extend(rates.iter().map(|rate| k as f64 * rate / 60.0));
            if let Some(seen) = &self.poles {
                sum_blocks(&seen.under(&load), &frequency, |places, block| {
                    grid.put_block(k, places, block, limit);
                    Ok(())
                })?;
                continue;
            }
            let mut places = 0..rates.len();
            let place = |y: &[Complex64]| {
                if let (Some(i), Some(y)) = (places.next(), y.first_chunk()) {
                    grid.put(k, i, y, limit);
                }
            };
            solve_with(self.linear, None, &frequency, &load, &self.rows, place)
                .map_err(|e| at_rate(e, rates, k))?;
        }
        if let Some((i, k)) = grid.resonant {
            return Err(at_rate(on_resonance(i, k as f64 * rates[i] / 60.0), rates, k));
        }
        let shape = (rates.len(), self.order, 3);
        Ok(Phasors { motion: shaped(shape, grid.motion)?, floor: shaped(shape, grid.floor)? })
    }

    /// Amplitude of the point by each crossing's own harmonic.
    fn amplitudes(&self, at: &mut [Crossing]) -> Result<()> {
        let frequency: Vec<f64> = at.iter().map(|a| a.harmonic as f64 * a.rate / 60.0).collect();
        let mut places = at.iter_mut();
        let (poles, load) = (self.poles.as_ref(), &self.spread.load);
        solve_with(self.linear, poles, &frequency, load, &self.rows, |y| {
            let Some(crossing) = places.next() else { return };
            let omega = crossing.rate * TAU / 60.0;
            let wrench = &self.unit[crossing.harmonic];
            let moved = (0..3).map(|axis| self.spread.combine(y, axis, wrench).norm_sqr());
            crossing.amplitude = moved.sum::<f64>().sqrt() * omega * omega;
        })
    }
}

/// Phasors (rate, harmonic, 3) while they are filled in.
struct Filling {
    order: usize,
    /// omega^2 of each rate.
    square: Vec<f64>,
    motion: Vec<Complex64>,
    floor: Vec<Complex64>,
    /// First rate, and its harmonic, on an undamped resonance.
    resonant: Option<(usize, usize)>,
}

impl Filling {
    /// Motion and floor force of harmonic k at rate i over omega^2; `limit` is the greatest that is no
    /// resonance.
    fn put(&mut self, k: usize, i: usize, y: &[Complex64; 6], limit: f64) {
        let at = 3 * (i * self.order + k - 1);
        let square = self.square[i];
        for axis in 0..3 {
            self.motion[at + axis] = y[axis] * square;
            self.floor[at + axis] = y[3 + axis] * square;
        }
        let size = rough_size(&y[3..]);
        if limit > 0.0 && (size > limit || size.is_nan()) {
            self.resonant = Some(self.resonant.map_or((i, k), |known| known.min((i, k))));
        }
    }

    /// The same for eight rates.
    fn put_block(&mut self, k: usize, places: Range<usize>, block: &[Complex], limit: f64) {
        let Some(block) = block.first_chunk::<6>() else { return };
        for (lane, i) in places.enumerate() {
            let y = std::array::from_fn(|at| {
                Complex64::new(block[at].re.0[lane], block[at].im.0[lane])
            });
            self.put(k, i, &y, limit);
        }
    }
}

/// Sum of absolute values to a factor of sqrt(2), without a root for each.
fn rough_size(values: &[Complex64]) -> f64 {
    values.iter().map(|v| v.re.abs() + v.im.abs()).sum()
}

/// A frequency of the solver as a stroke rate, of that harmonic.
fn at_rate(error: Error, rates: &[f64], harmonic: usize) -> Error {
    let Error::Invalid { argument, value, requirement, .. } = &error else { return error };
    let index = argument.strip_prefix("frequency[").and_then(|i| i.strip_suffix(']'));
    let Some(rate) = index.and_then(|i| i.parse::<usize>().ok()) else { return error };
    Error::invalid(
        format!("stroke_rates_spm[{rate}]"),
        format!("{} strokes per minute (harmonic {harmonic}: {value})", rates[rate]),
        requirement,
        "give the mounts damping or a loss factor, or move the stroke rate",
    )
}

/// Response over stroke rates (strokes per minute, ascending) at a point (m; the center of mass by
/// default), up to so many harmonics ([`super::steady::HARMONICS`] by default).
///
/// # Errors
/// Bad stroke rates, a harmonic that meets an undamped resonance or lies outside a table.
pub fn stroke_rate_map(
    linear: &Linear,
    drive: &SlideDrive,
    stroke_rates_spm: &[f64],
    harmonics: Option<usize>,
    point: Option<Vector3<f64>>,
) -> Result<StrokeRateMap> {
    check_rates(stroke_rates_spm)?;
    super::steady::lighter_than(linear, drive)?;
    let order = checked_order(harmonics)?;
    let point = point.unwrap_or(linear.reference);
    let (modes, real) = with_real_modes(linear)?;
    let poles = match &real {
        Some(real) => ByPoles::of(linear, real)?,
        None => None,
    };
    let batch = Batch::new(linear, drive, order, &point, poles)?;
    let phasors = batch.solve(stroke_rates_spm)?;
    let (meetings, meetings_found) = meetings(&batch, &modes, stroke_rates_spm)?;
    Ok(StrokeRateMap {
        stroke_rate_spm: stroke_rates_spm.to_vec(),
        harmonic: (1..=order).collect(),
        point,
        meetings,
        meetings_found,
        warnings: warnings(&batch.unit, order, &modes)
            .into_iter()
            .chain(drive.notes().iter().cloned())
            .collect(),
        frequency: modes.frequency,
        damping_ratio: modes.damping_ratio,
        motion: phasors.motion,
        floor_force: phasors.floor,
        unit_force: Array2::from_shape_fn((order, 3), |(k, axis)| batch.unit[k + 1][axis]),
    })
}

/// Harmonics left out, and modes that have no damping.
fn warnings(unit: &[Vector6<Complex64>], order: usize, modes: &Modes) -> Vec<String> {
    let mut out = left_out(unit, order);
    let undamped: Vec<String> = (0..modes.frequency.len())
        .filter(|&m| !is_damped(modes, m))
        .map(|m| format!("{:.4} Hz", modes.frequency[m]))
        .collect();
    if !undamped.is_empty() {
        out.push(format!(
            "modes without damping ({}) grow without end where a harmonic meets them, and are not \
             ranked; give the mounts damping or a loss factor",
            undamped.join(", ")
        ));
    }
    out
}

/// True if a meeting with mode m has an end.
fn is_damped(modes: &Modes, m: usize) -> bool {
    modes.damping_ratio[m] > UNDAMPED
}

/// A measure of the range of each wave (rate, 3).
fn each_wave(phasors: &Array3<Complex64>, of: fn(&periodic::Range) -> f64) -> Array2<f64> {
    let (rates, order, axes) = phasors.dim();
    let grid = Grid::new(order);
    let mut out = Array2::zeros((rates, axes));
    let mut wave = Wave::new(vec![Complex64::ZERO; order]);
    for ((rate, axis), value) in out.indexed_iter_mut() {
        for (k, y) in wave.harmonics.iter_mut().enumerate() {
            *y = phasors[(rate, k, axis)];
        }
        if !nothing(&wave.harmonics) {
            *value = of(&wave.range_on(&grid));
        }
    }
    out
}

impl StrokeRateMap {
    /// Inertia force of the drive (rate, harmonic, 3), N, peak phasors.
    pub fn applied_force(&self) -> Array3<Complex64> {
        let (order, axes) = self.unit_force.dim();
        Array3::from_shape_fn((self.stroke_rate_spm.len(), order, axes), |(i, k, axis)| {
            let omega = self.stroke_rate_spm[i] * TAU / 60.0;
            self.unit_force[(k, axis)] * (omega * omega)
        })
    }

    /// Share q of each mode's free vibration left after a stroke (rate, mode).
    pub fn carry_over(&self) -> Array2<f64> {
        self.by_mode(carry_over)
    }

    /// Gain of a free vibration that every stroke starts anew (rate, mode).
    pub fn gain(&self) -> Array2<f64> {
        self.by_mode(carry_over_gain)
    }

    fn by_mode(&self, f: fn(f64, f64, f64) -> f64) -> Array2<f64> {
        let shape = (self.stroke_rate_spm.len(), self.frequency.len());
        Array2::from_shape_fn(shape, |(i, m)| {
            f(self.frequency[m], self.damping_ratio[m], self.stroke_rate_spm[i])
        })
    }

    /// Greatest absolute motion of the point (rate, 3), m; solved for.
    pub fn peak_motion(&self) -> Array2<f64> {
        each_wave(&self.motion, periodic::Range::peak)
    }

    /// Greatest minus least position of the point (rate, 3), m; solved for.
    pub fn peak_to_peak(&self) -> Array2<f64> {
        each_wave(&self.motion, periodic::Range::peak_to_peak)
    }

    /// Greatest absolute force on the floor (rate, 3), N; solved for.
    pub fn peak_floor_force(&self) -> Array2<f64> {
        each_wave(&self.floor_force, periodic::Range::peak)
    }

    /// Greatest absolute inertia force (rate, 3), N, that of a bolted machine; solved for.
    pub fn peak_applied_force(&self) -> Array2<f64> {
        each_wave(&self.applied_force(), periodic::Range::peak)
    }
}

impl Meeting {
    /// Greatest motion of the point at this rate, of all harmonics, along one axis, m; solved for.
    pub fn peak_motion(&self) -> f64 {
        greatest(&self.motion)
    }

    /// Greatest force on the floor at this rate, of all harmonics, along one axis, N; solved for.
    pub fn peak_floor_force(&self) -> f64 {
        greatest(&self.floor)
    }
}

/// Greatest absolute value along an axis of phasors (harmonic, 3).
fn greatest(phasors: &Array2<Complex64>) -> f64 {
    let peak = |axis: usize| Wave::new(phasors.column(axis).to_vec()).range().peak();
    (0..phasors.ncols()).map(peak).fold(0.0, f64::max)
}

/// The worst meetings of a harmonic with a mode inside the range of rates, the greatest amplitude
/// first, and how many there are.
fn meetings(batch: &Batch, modes: &Modes, rates: &[f64]) -> Result<(Vec<Meeting>, usize)> {
    let (first, last) = (rates[0], rates[rates.len() - 1]);
    let mut at: Vec<Crossing> = Vec::new();
    let damped = modes.frequency.iter().enumerate().filter(|(m, _)| is_damped(modes, *m));
    for (mode, &f) in damped {
        for &harmonic in &batch.active {
            let rate = 60.0 * f / harmonic as f64;
            if (first..=last).contains(&rate) {
                at.push(Crossing { rate, harmonic, mode, amplitude: 0.0 });
            }
        }
    }
    if at.is_empty() {
        return Ok((Vec::new(), 0));
    }
    // Each harmonic alone decides the rank; all of them are had for the first only.
    batch.amplitudes(&mut at)?;
    at.sort_by(|a, b| b.amplitude.total_cmp(&a.amplitude));
    let found = at.len();
    at.truncate(RANKED);
    let crossing: Vec<f64> = at.iter().map(|a| a.rate).collect();
    let phasors = batch.solve(&crossing)?;
    let meeting = |(i, a): (usize, &Crossing)| {
        let own = |p: &Array3<Complex64>| {
            (0..3).map(|axis| p[(i, a.harmonic - 1, axis)].norm_sqr()).sum::<f64>().sqrt()
        };
        let all = |p: &Array3<Complex64>| p.index_axis(Axis(0), i).to_owned();
        let made = {
            let omega = a.rate * TAU / 60.0;
            let force = &batch.unit[a.harmonic].as_slice()[..3];
            force.iter().map(|f| f.norm_sqr()).sum::<f64>().sqrt() * omega * omega
        };
        let (frequency, damping_ratio) = (modes.frequency[a.mode], modes.damping_ratio[a.mode]);
        let q = carry_over(frequency, damping_ratio, a.rate);
        Meeting {
            stroke_rate_spm: a.rate,
            harmonic: a.harmonic,
            mode: a.mode + 1,
            frequency,
            damping_ratio,
            amplitude: own(&phasors.motion),
            floor_force: own(&phasors.floor),
            amplification: own(&phasors.floor) / made,
            motion: all(&phasors.motion),
            floor: all(&phasors.floor),
            carry_over: q,
            worst_gain: 1.0 / (1.0 - q),
            gain: carry_over_gain(frequency, damping_ratio, a.rate),
        }
    };
    Ok((at.iter().enumerate().map(meeting).collect(), found))
}

/// A harmonic (order) at the frequency of a mode (index).
struct Crossing {
    rate: f64,
    harmonic: usize,
    mode: usize,
    amplitude: f64,
}

/// Stroke rates must be positive and ascending.
pub fn check_rates(rates: &[f64]) -> Result<()> {
    if rates.is_empty() {
        return Err(Error::invalid(
            "stroke_rates_spm",
            "[]",
            "must not be empty",
            "give stroke rates in strokes per minute",
        ));
    }
    each(positive, "stroke_rates_spm", rates, "strokes per minute")?;
    for (i, pair) in rates.windows(2).enumerate() {
        if pair[1] <= pair[0] {
            return Err(Error::invalid(
                format!("stroke_rates_spm[{}]", i + 1),
                format!("{} strokes per minute", pair[1]),
                format!("must be greater than the one before ({})", pair[0]),
                "sort the stroke rates and drop repeated ones",
            ));
        }
    }
    Ok(())
}
