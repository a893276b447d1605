//! What does the same load, stroke after stroke, leave the machine in?
//!
//! Over one period T the state goes from u_0 to E(T) u_0 + p, where p is where the loads of one
//! period lead from rest. A blow at the start of each period adds the jump v. The state that comes
//! back to itself, just after the jump, is u_0 = (I - E(T))^-1 (p + v): no stroke has to be waited
//! for. Where a load lasts longer than a period, its later parts act beside the next strokes.
//!
//! Limits: laws of springs and dashpots (a Fourier transform has no state to return to); a mode
//! without damping that meets a harmonic of the stroke has no such state.
//!
//! Source: textbook, e.g. L. Meirovitch, Fundamentals of Vibrations, 2001, section 7.15 (from
//! memory); geometric series of the transition matrix.

use nalgebra::DVector;

use super::super::memory::Memory;
use super::load::{Load, pieces};
use super::motion::{Start, Transient, check_inputs, run};
use super::propagator::Piece;
use crate::error::{Error, Result, positive};
use crate::system::Linear;

impl Transient {
    /// One period (s) of the motion under loads that come back every period, begun long ago;
    /// `jump` is what a blow adds to the velocity at the start of each period, m/s and rad/s.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a period that is not positive, for laws that need a Fourier transform,
    /// and for an undamped mode that meets a harmonic of the period.
    pub fn periodic(
        linear: &Linear,
        loads: &[Load],
        jump: Option<&DVector<f64>>,
        period: f64,
    ) -> Result<Self> {
        positive("period", period, "s")?;
        let rest = Start::rest(linear.size());
        let start = match jump {
            Some(velocity) => Start { velocity: velocity.clone(), ..rest },
            None => rest,
        };
        check_inputs(linear, loads, &start)?;
        has_states(linear)?;
        let folded: Vec<Load> = loads.iter().map(|load| load.folded(period)).collect();
        let mut out = Self::begun(linear, &folded, &start)?;
        let pieces = pieces(&folded, 0, folded.len(), period);
        out.return_to_itself(pieces, period)?;
        Ok(out)
    }

    /// The motion under `loads` after `before` has acted for long, coming back every period (s);
    /// t = 0 is a start of a period and the end of `before`.
    ///
    /// # Errors
    /// As [`Self::periodic`].
    pub fn after(
        linear: &Linear,
        before: &[Load],
        period: f64,
        loads: &[Load],
        duration: Option<f64>,
    ) -> Result<Self> {
        positive("period", period, "s")?;
        let rest = Start::rest(linear.size());
        check_inputs(linear, before, &rest)?;
        check_inputs(linear, loads, &rest)?;
        has_states(linear)?;
        let folded: Vec<Load> = before.iter().map(|load| load.folded(period)).collect();
        let all: Vec<Load> = folded.iter().chain(loads).cloned().collect();
        let mut out = Self::begun(linear, &all, &rest)?;
        out.return_to_itself(pieces(&folded, 0, all.len(), period), period)?;
        out.basis.start.clone_from(&out.pieces[0].state);
        let duration = out.lasting(Load::end(loads), duration)?;
        out.play(pieces(loads, folded.len(), all.len(), duration), duration);
        Ok(out)
    }

    /// Sum over the modes of their part in g'x, at the end over that at the start: what is left of a
    /// free vibration. Where modes are no basis their states stand in their place.
    pub fn envelope_left(&self, g: &DVector<f64>) -> f64 {
        let row: Vec<f64> = self.basis.displacement.tr_mul(g).iter().copied().collect();
        let size = |u: &[f64]| self.basis.propagator.envelope(&row, u);
        let at_end = self.pieces.last().map(|p| self.state(p, p.length()).0);
        let (start, end) = (size(&self.basis.start), at_end.map_or(0.0, |u| size(&u)));
        if start > 0.0 && end.is_finite() { end / start } else { 0.0 }
    }

    /// Play one period from the state that comes back to itself.
    fn return_to_itself(&mut self, pieces: Vec<Piece>, period: f64) -> Result<()> {
        let still = vec![0.0; self.size()];
        let jump = std::mem::replace(&mut self.basis.start, still);
        let mut from_rest = pieces.clone();
        let mut forced = run(&self.basis, &mut from_rest);
        forced.iter_mut().zip(&jump).for_each(|(p, v)| *p += v);
        let state = self.basis.propagator.returning(period, &forced).ok_or_else(|| {
            Error::invalid(
                "period",
                format!("{period} s"),
                "must not bring a mode without damping in step with the strokes",
                "give the mounts damping or a loss factor, or another stroke rate",
            )
        })?;
        self.basis.start = state;
        self.play(pieces, period);
        Ok(())
    }
}

pub(super) fn has_states(linear: &Linear) -> Result<()> {
    if linear.is_frequency_dependent() && Memory::new(linear)?.is_none() {
        return Err(Error::invalid(
            "law",
            linear.dynamic.first().map_or("", |d| d.law.kind()),
            "must be made of springs and dashpots for a motion that repeats",
            "give a zener or maxwell law, which can be fitted to the others",
        ));
    }
    Ok(())
}
