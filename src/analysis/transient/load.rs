//! What acts on the system: several loads, each a direction and a history, and the pieces of time
//! on which all of them have one closed form.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::propagator::{Piece, Wave};
use crate::error::{Error, Result, each, finite, not_negative};
use crate::excitation::{Action, Segment};
use crate::system::{Axis, Linear};

/// More exponentials, jumps and slopes than this in one load is an input error.
const MOST_SEGMENTS: usize = 1_000_000;
/// Derivatives of a load up to the fourth stay below this: the search for peaks needs finite bounds.
const LARGEST_LOAD: f64 = 1e200;

/// The generalized force f(t) g.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// g: one entry for each degree of freedom, N and N m for unit f.
    pub direction: DVector<f64>,
    /// f: the sum of its segments, zero outside them.
    pub segments: Vec<Segment>,
}

impl Load {
    /// f(t) along g.
    pub fn new(direction: DVector<f64>, segments: Vec<Segment>) -> Self {
        Self { direction, segments }
    }

    /// What an action on the first body does to the degrees of freedom of a system.
    ///
    /// # Errors
    /// [`Error::Invalid`] for an action along a direction in which the body cannot move at all.
    pub fn of(linear: &Linear, action: &Action) -> Result<Self> {
        let direction = generalized(linear, &action.about(&linear.reference))?;
        Ok(Self { direction, segments: action.segments.clone() })
    }

    /// The same for several actions.
    ///
    /// # Errors
    /// As [`Self::of`].
    pub fn all(linear: &Linear, actions: &[Action]) -> Result<Vec<Self>> {
        actions.iter().map(|action| Self::of(linear, action)).collect()
    }

    /// Cut into stretches of one period that all act at once: what a history of that period (s),
    /// begun long ago, looks like from a start of a period on.
    pub fn folded(&self, period: f64) -> Self {
        let mut segments = Vec::new();
        for segment in &self.segments {
            let first = (segment.start / period).floor();
            let last = (segment.end / period).ceil();
            let mut turn = first;
            while turn < last {
                let part = segment.part(turn * period, (turn + 1.0) * period);
                segments.extend(part.map(|part| part.later(-turn * period)));
                turn += 1.0;
            }
        }
        Self { direction: self.direction.clone(), segments }
    }

    pub(super) fn end(loads: &[Self]) -> f64 {
        loads.iter().flat_map(|load| &load.segments).map(|s| s.end).fold(0.0, f64::max)
    }

    /// The directions as columns.
    pub(super) fn directions(loads: &[Self], n: usize) -> DMatrix<f64> {
        let mut g = DMatrix::zeros(n, loads.len());
        for (i, load) in loads.iter().enumerate() {
            g.set_column(i, &load.direction);
        }
        g
    }

    pub(super) fn check(&self, n: usize) -> Result<()> {
        check_vector("direction", &self.direction, n)?;
        check_history(&self.segments)
    }
}

/// A wrench on the first body about the reference, N and N m, as a generalized force.
///
/// # Errors
/// [`Error::Invalid`] for a direction in which the body has no degree of freedom.
pub fn generalized(linear: &Linear, wrench: &[f64; 6]) -> Result<DVector<f64>> {
    let mut g = DVector::zeros(linear.size());
    let Some(first) = linear.dofs.first() else { return Ok(g) };
    for (axis, &size) in Axis::ALL.iter().zip(wrench) {
        let place = linear.dofs.iter().position(|d| d.body == first.body && d.axis == *axis);
        match place {
            Some(i) => g[i] = size,
            None if size == 0.0 => {}
            None => {
                return Err(Error::invalid(
                    "direction",
                    axis.name(),
                    format!("must be one in which {} can move", first.body),
                    "leave that component out",
                ));
            }
        }
    }
    Ok(g)
}

pub(super) fn check_vector(name: &str, v: &DVector<f64>, n: usize) -> Result<()> {
    if v.len() != n {
        return Err(Error::Shape {
            argument: name.to_string(),
            found: format!("({},)", v.len()),
            expected: format!("({n},), one entry for each degree of freedom,"),
        });
    }
    each(finite, name, v, "")
}

pub(super) fn check_history(load: &[Segment]) -> Result<()> {
    if load.len() > MOST_SEGMENTS {
        return Err(Error::invalid(
            "load",
            format!("{} segments", load.len()),
            format!("must have at most {MOST_SEGMENTS}"),
            "thin out the record",
        ));
    }
    for (i, segment) in load.iter().enumerate() {
        let place = format!("load[{i}]");
        let named = |e: Error| e.within(&place);
        finite("constant", segment.constant, "N").map_err(named)?;
        finite("slope", segment.slope, "N/s").map_err(named)?;
        finite("end", segment.end, "s").map_err(named)?;
        not_negative("start", segment.start, "s").map_err(named)?;
        if segment.end <= segment.start {
            return Err(Error::invalid(
                format!("{place}.end"),
                format!("{} s", segment.end),
                format!("must come after its start, {} s", segment.start),
                "give segments in the order of time",
            ));
        }
        let steepest = |(a, s): &(Complex64, Complex64)| a.norm() * s.norm().max(1.0).powi(4);
        let parts = [segment.constant.abs(), segment.slope.abs()];
        let largest = segment.exponentials.iter().map(steepest).chain(parts).fold(0.0, f64::max);
        if largest > LARGEST_LOAD {
            return Err(Error::invalid(
                place,
                format!("{largest:e}, the largest of value, slope and fourth derivative"),
                format!("must be at most {LARGEST_LOAD:e}, or peaks cannot be bounded"),
                "check units and durations",
            ));
        }
        let wild = |(a, s): &(Complex64, Complex64)| !(a.is_finite() && s.is_finite());
        if segment.exponentials.iter().any(wild) {
            return Err(Error::invalid(
                format!("{place}.exponentials"),
                "not a number",
                "must be finite",
                "check the amplitudes and exponents",
            ));
        }
    }
    Ok(())
}

/// Cut time at every start and end of a segment, and add what acts together. The loads are number
/// `first` and following among `count`.
pub(super) fn pieces(loads: &[Load], first: usize, count: usize, duration: f64) -> Vec<Piece> {
    let all = || loads.iter().enumerate().flat_map(|(i, l)| l.segments.iter().map(move |s| (i, s)));
    let mut cuts: Vec<f64> = vec![0.0, duration];
    cuts.extend(all().flat_map(|(_, s)| [s.start, s.end]).filter(|&t| t > 0.0 && t < duration));
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let mut order: Vec<(usize, &Segment)> = all().collect();
    order.sort_by(|a, b| a.1.start.total_cmp(&b.1.start));
    let mut next = 0;
    let mut active: Vec<(usize, &Segment)> = Vec::new();
    let mut out = Vec::with_capacity(cuts.len());
    for pair in cuts.windows(2) {
        let (start, end) = (pair[0], pair[1]);
        active.retain(|(_, s)| s.end > start);
        while let Some(&segment) = order.get(next).filter(|(_, s)| s.start <= start) {
            active.push(segment);
            next += 1;
        }
        let lines = vec![[0.0; 2]; count];
        let mut piece = Piece { start, end, lines, ..Piece::default() };
        for (i, segment) in &active {
            let (load, tau) = (first + i, start - segment.start);
            piece.lines[load][0] += segment.constant + segment.slope * tau;
            piece.lines[load][1] += segment.slope;
            for &(a, exponent) in segment.exponentials.iter().filter(|(a, _)| a.norm() > 0.0) {
                let part = (load, a * (exponent * tau).exp());
                match piece.waves.iter_mut().find(|wave| wave.exponent == exponent) {
                    Some(wave) => wave.parts.push(part),
                    None => piece.waves.push(Wave { exponent, parts: vec![part] }),
                }
            }
        }
        out.push(piece);
    }
    out
}
