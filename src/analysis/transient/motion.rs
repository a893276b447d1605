//! The solved motion: which pieces of time, which state at the start of each, and what any
//! quantity is at any instant.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::super::memory::Memory;
use super::super::roots::TimeModel;
use super::fourier::{self, Fourier, FourierNote, Task};
use super::load::{Load, check_vector, pieces};
use super::model::{Basis, solve};
use super::output::Output;
use super::propagator::{Piece, Transition};
use crate::error::{Error, Result, finite, positive};
use crate::excitation::Segment;
use crate::system::Linear;

/// The exact motion of a linear system under loads, from t = 0 to its duration.
///
/// Quantities are asked for as an [`Output`] (mount forces, motion of a point ...), which can be
/// had at an instant ([`Transient::at`]), on a grid ([`Transient::sample`]), or by their greatest
/// values ([`Transient::extrema`], [`Transient::peak`]), which are solved for and do not depend on
/// any grid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Transient {
    /// The system.
    pub(super) linear: Linear,
    pub(super) basis: Basis,
    pub(super) pieces: Vec<Piece>,
    /// What a Fourier transform adds.
    pub(super) fourier: Option<Fourier>,
    /// Acceleration of the degrees of freedom by unit value of each load, besides that of the
    /// relative motion: that of a floor that moves, n x loads.
    pub(super) carried: Option<DMatrix<f64>>,
    /// What stands for the damping in time.
    pub time_model: TimeModel,
    /// Greatest relative difference between the dynamic stiffness of the time model and that of
    /// the system, see the documentation of [`super`]; 0 if the two are the same.
    pub time_model_error: f64,
    /// Band of frequencies over which that error is stated, Hz: lowest to highest mode.
    pub time_model_band: [f64; 2],
    /// End of the motion, s.
    pub duration: f64,
}

/// Displacement and velocity at t = 0, n entries each, m and rad, m/s and rad/s.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Start {
    /// Displacement, m and rad.
    pub displacement: DVector<f64>,
    /// Velocity, m/s and rad/s.
    pub velocity: DVector<f64>,
}

impl Start {
    /// At rest; n degrees of freedom.
    pub fn rest(n: usize) -> Self {
        Self { displacement: DVector::zeros(n), velocity: DVector::zeros(n) }
    }
}

impl Transient {
    /// Solve the system for the generalized force f(t) g: `load` is f (the sum of its segments,
    /// zero outside them), `direction` is g, n entries, N and N m for unit f; see [`Self::under`].
    pub fn new(
        linear: &Linear,
        load: &[Segment],
        direction: &DVector<f64>,
        start: &Start,
        duration: Option<f64>,
    ) -> Result<Self> {
        Self::under(linear, &[Load::new(direction.clone(), load.to_vec())], start, duration)
    }

    /// Solve the system for several loads together. Without a duration (s) the motion ends as told
    /// at [`default_duration`]. Laws that are not made of springs and dashpots go through a Fourier
    /// transform, see [`Self::by_fourier`].
    pub fn under(
        linear: &Linear,
        loads: &[Load],
        start: &Start,
        duration: Option<f64>,
    ) -> Result<Self> {
        check_inputs(linear, loads, start)?;
        if linear.is_frequency_dependent() && Memory::new(linear)?.is_none() {
            return Self::transformed(linear, loads, start, duration);
        }
        Self::exact(linear, loads, start, duration)
    }

    /// The same by Fourier transform, whatever the laws: sampled and limited to a band, with loss
    /// factors and laws as they are. After a start with a velocity, forces and accelerations are
    /// good to some five digits, else to eight. A start from a displacement has no history that such laws could
    /// know, and is refused.
    pub fn by_fourier(
        linear: &Linear,
        load: &[Segment],
        direction: &DVector<f64>,
        start: &Start,
        duration: Option<f64>,
    ) -> Result<Self> {
        let loads = [Load::new(direction.clone(), load.to_vec())];
        check_inputs(linear, &loads, start)?;
        Self::transformed(linear, &loads, start, duration)
    }

    fn transformed(
        linear: &Linear,
        loads: &[Load],
        start: &Start,
        duration: Option<f64>,
    ) -> Result<Self> {
        if let Some(x) = start.displacement.iter().find(|x| **x != 0.0) {
            return Err(Error::invalid(
                "displacement",
                x,
                "must be zero at the start where laws need a Fourier transform",
                "start at rest or with a velocity, or give a zener or maxwell law",
            ));
        }
        let reference = fourier::reference(linear)?;
        let mut out = Self::exact(&reference, loads, start, duration)?;
        let vibrating = out.basis.roots.iter().filter(|s| s.im > 0.0);
        let decay = vibrating.map(|s| -s.re).fold(f64::INFINITY, f64::min);
        let task = Task {
            loads,
            velocity: &start.velocity,
            duration: out.duration,
            fastest: fastest(&out.basis.roots),
            decay: if decay.is_finite() { decay } else { 0.0 },
        };
        out.fourier = Some(Fourier::new(linear, reference, &task)?);
        out.linear = linear.clone();
        out.time_model = TimeModel::Fourier;
        (out.time_model_error, out.duration) = (0.0, task.duration);
        let energy = out.kinetic_energy()?;
        if let Some(fourier) = &mut out.fourier {
            fourier.note.precursor = if energy > 0.0 { fourier.before / energy } else { 0.0 };
        }
        Ok(out)
    }

    fn exact(
        linear: &Linear,
        loads: &[Load],
        start: &Start,
        duration: Option<f64>,
    ) -> Result<Self> {
        let mut out = Self::begun(linear, loads, start)?;
        let duration = out.lasting(Load::end(loads), duration)?;
        out.play(pieces(loads, 0, loads.len(), duration), duration);
        Ok(out)
    }

    /// Solved, with the state at the start, and no time in it yet.
    pub(super) fn begun(linear: &Linear, loads: &[Load], start: &Start) -> Result<Self> {
        let g = Load::directions(loads, linear.size());
        let solved = solve(linear, &g, &start.displacement, &start.velocity)?;
        Ok(Self {
            linear: linear.clone(),
            basis: solved.basis,
            pieces: Vec::new(),
            fourier: None,
            carried: None,
            time_model: solved.model,
            time_model_error: solved.error,
            time_model_band: solved.band,
            duration: 0.0,
        })
    }

    /// The duration asked for, or that by default after the end of the loads, s.
    pub(super) fn lasting(&self, end: f64, duration: Option<f64>) -> Result<f64> {
        match duration {
            Some(duration) => positive("duration", duration, "s"),
            None => default_duration(&self.basis.roots, end),
        }
    }

    /// Go through the pieces from the state at the start.
    pub(super) fn play(&mut self, pieces: Vec<Piece>, duration: f64) {
        self.pieces = pieces;
        self.duration = duration;
        run(&self.basis, &mut self.pieces);
    }

    /// What is to be known of a motion by Fourier transform.
    pub fn fourier(&self) -> Option<&FourierNote> {
        self.fourier.as_ref().map(|f| &f.note)
    }

    /// Kinetic energy integrated over the motion, J s.
    fn kinetic_energy(&self) -> Result<f64> {
        let dt = self.duration / 2000.0;
        let v = self.sample(&self.velocity(), dt)?;
        let energy = |row: ndarray::ArrayView1<f64>| {
            let v = DVector::from_iterator(row.len(), row.iter().copied());
            0.5 * v.dot(&(&self.linear.m * &v)) * dt
        };
        Ok(v.rows().into_iter().map(energy).sum())
    }

    /// Roots s of the free vibration, 1/s; of each complex pair the one above the real axis. Of a
    /// motion by Fourier transform those of its reference.
    pub fn roots(&self) -> &[Complex64] {
        &self.basis.roots
    }

    /// The system that was solved.
    pub fn linear(&self) -> &Linear {
        &self.linear
    }

    /// Period of the fastest vibration, s; infinite if nothing vibrates.
    pub fn shortest_period(&self) -> f64 {
        TAU / fastest(&self.basis.roots)
    }

    /// Components of the output at time t (s, from 0 to the duration); just after a jump.
    pub fn at(&self, output: &Output, t: f64) -> Result<DVector<f64>> {
        if !(0.0..=self.duration).contains(&t) {
            return Err(Error::invalid(
                "time",
                format!("{t} s"),
                format!("must lie between 0 and the duration, {} s", self.duration),
                "ask for a time inside the motion or give a longer duration",
            ));
        }
        self.check_own(output)?;
        let piece = &self.pieces[self.piece_at(t)];
        let (u, drive) = self.state(piece, t - piece.start);
        let mut f = vec![0.0; piece.lines.len()];
        piece.values(&drive, &mut f);
        Ok(self.value(output, &u, &f, t))
    }

    /// Components from state and loads, and from the signals of a Fourier transform at that time.
    pub(super) fn value(&self, output: &Output, u: &[f64], f: &[f64], t: f64) -> DVector<f64> {
        let value = output.value(u, f);
        match &self.fourier {
            Some(fourier) => value + &output.correction * fourier.at(t),
            None => value,
        }
    }

    /// An output of another transient has other states.
    pub(super) fn check_own(&self, output: &Output) -> Result<()> {
        let signals = self.fourier.as_ref().map_or(0, Fourier::size);
        let same = output.rows.ncols() == self.size() && output.feed.ncols() == self.loads();
        if same && output.correction.ncols() == signals {
            return Ok(());
        }
        Err(Error::Shape {
            argument: "output".to_string(),
            found: format!("({},) states", output.rows.ncols()),
            expected: format!("({},) states: an output that this transient made", self.size()),
        })
    }

    pub(super) fn piece_at(&self, t: f64) -> usize {
        self.pieces.partition_point(|p| p.start <= t).saturating_sub(1)
    }

    /// State and drive, tau after the start of the piece.
    pub(super) fn state(&self, piece: &Piece, tau: f64) -> (Vec<f64>, Vec<f64>) {
        let mut drive = Vec::new();
        piece.drive(0.0, &mut drive);
        if tau == 0.0 {
            return (piece.state.clone(), drive);
        }
        let mut transition = Transition::default();
        let mut u = vec![0.0; piece.state.len()];
        self.basis.propagator.fill(piece, tau, &mut transition);
        transition.apply(&piece.state, &drive, &mut u);
        piece.drive(tau, &mut drive);
        (u, drive)
    }
}

/// End of the load, plus the time in which the slowest vibration falls to 1 %, but no more than 20
/// of the longest periods, s.
pub fn default_duration(roots: &[Complex64], load_end: f64) -> Result<f64> {
    let moving = || roots.iter().filter(|s| s.norm() > 0.0);
    let slowest = moving().map(|s| s.norm()).fold(f64::INFINITY, f64::min);
    if !slowest.is_finite() {
        return Err(Error::invalid(
            "duration",
            "not given",
            "must be given where nothing vibrates",
            "give the duration in s",
        ));
    }
    let decay = moving().map(|s| -s.re).fold(f64::INFINITY, f64::min);
    let one_percent = if decay > 0.0 { 100_f64.ln() / decay } else { f64::INFINITY };
    Ok(load_end + one_percent.min(20.0 * TAU / slowest))
}

/// Greatest |s| among the vibrations; among all roots if nothing vibrates.
fn fastest(roots: &[Complex64]) -> f64 {
    let of = |only: bool| {
        let chosen = roots.iter().filter(|s| !only || s.im != 0.0);
        chosen.map(|s| s.norm()).fold(0.0, f64::max)
    };
    let vibrating = of(true);
    if vibrating > 0.0 { vibrating } else { of(false) }
}

pub(super) fn check_inputs(linear: &Linear, loads: &[Load], start: &Start) -> Result<()> {
    let n = linear.size();
    for (i, load) in loads.iter().enumerate() {
        let named = |e: Error| if loads.len() > 1 { e.within(&format!("loads[{i}]")) } else { e };
        load.check(n).map_err(named)?;
    }
    check_vector("displacement", &start.displacement, n)?;
    check_vector("velocity", &start.velocity, n)?;
    for (name, matrix) in [("stiffness", &linear.k), ("loss", &linear.h), ("damping", &linear.c)] {
        for x in matrix.iter() {
            finite(name, *x, "")?;
        }
    }
    Ok(())
}

/// State at the start of each piece from the one before; gives the state at the end.
pub(super) fn run(basis: &Basis, pieces: &mut [Piece]) -> Vec<f64> {
    let mut transition = Transition::default();
    let mut drive = Vec::new();
    let mut u = basis.start.clone();
    for piece in pieces {
        piece.state.clone_from(&u);
        piece.drive(0.0, &mut drive);
        basis.propagator.fill(piece, piece.length(), &mut transition);
        transition.apply(&piece.state, &drive, &mut u);
    }
    u
}
