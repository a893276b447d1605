//! A blow: which motion follows, mode by mode, what is left when the next one falls, and what many
//! blows in a row add up to.
//!
//! Start velocity M^-1 g J, J from `excitation::Blow` with the mass 1/(g' M^-1 g) that the struck point
//! shows; free vibration from there, exact. The amplitude that each undamped mode alone would reach,
//! phi_i (phi_i' g J) / omega_i, stands beside it: hammer foundations are often rated by the lowest
//! mode alone, which misses what the others add.
//!
//! Limits: the time of the blow is neglected; the ram's weight afterwards is left out; feet stay here
//! (with contacts the same start leads on in [`super::hybrid`]).

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::modes;
use super::transient::{Shock, ShockOptions, Start, Transient, generalized};
use crate::error::{Error, Result, positive};
use crate::excitation::Blow;
use crate::system::Linear;

/// What follows a blow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Struck {
    /// Mass that the struck point shows along the blow, kg.
    pub struck_mass: f64,
    /// Impulse, N s.
    pub impulse: f64,
    /// Velocity of the struck point along the blow just after it, m/s.
    pub velocity: f64,
    /// (dof, mode): amplitude that each undamped mode alone would reach, m and rad, with its sign.
    pub mode_amplitude: DMatrix<f64>,
    /// Frequencies of those modes, Hz.
    pub mode_frequency: Vec<f64>,
    /// Part of the envelope of the struck point's motion that is left when the next blow falls; `None`
    /// if none follows.
    pub left: Option<f64>,
    /// The motion.
    pub shock: Shock,
}

/// The motion after a blow on a machine at rest. With an interval (s) to the next blow, `left` says
/// what remains of this one.
///
/// # Errors
/// [`Error::Invalid`] for an interval that is not positive, or a mass matrix that cannot be inverted.
pub fn struck(
    linear: &Linear,
    blow: &Blow,
    interval: Option<f64>,
    options: &ShockOptions,
) -> Result<Struck> {
    let (g, velocity, struck_mass) = set_off(linear, blow)?;
    let start = Start { velocity: velocity.clone(), ..Start::rest(linear.size()) };
    let motion = Transient::under(linear, &[], &start, options.duration)?;
    let left = interval.map(|t| left_after(linear, &g, &start, t)).transpose()?;
    let modes = modes(linear)?;
    // Shapes are mass-normalized: phi' M v is the modal velocity.
    let rates = modes.shape.tr_mul(&(&linear.m * &velocity));
    let mode_amplitude = DMatrix::from_fn(linear.size(), modes.frequency.len(), |i, k| {
        modes.shape[(i, k)] * rates[k] / (TAU * modes.frequency[k])
    });
    Ok(Struck {
        struck_mass,
        impulse: blow.impulse(struck_mass),
        velocity: g.dot(&velocity),
        mode_amplitude,
        mode_frequency: modes.frequency.clone(),
        left,
        shock: Shock::of(motion, &[], options.dt)?,
    })
}

/// One interval (s) of blows that have fallen for long, each just after the other has had its time:
/// the state comes back to itself.
///
/// # Errors
/// Those of [`Transient::periodic`].
pub fn struck_again_and_again(linear: &Linear, blow: &Blow, interval: f64) -> Result<Transient> {
    let (_, velocity, _) = set_off(linear, blow)?;
    Transient::periodic(linear, &[], Some(&velocity), interval)
}

/// Generalized unit force, velocities just after the blow, and the mass that the struck point shows.
pub(crate) fn set_off(linear: &Linear, blow: &Blow) -> Result<(DVector<f64>, DVector<f64>, f64)> {
    let g = generalized(linear, &blow.about(&linear.reference))?;
    let moved = linear.m.clone().cholesky().map(|m| m.solve(&g)).ok_or_else(|| {
        Error::invalid("mass", "the mass matrix", "must be positive definite", "check the masses")
    })?;
    let struck = 1.0 / g.dot(&moved);
    Ok((g, moved * blow.impulse(struck), struck))
}

/// Envelope of the struck point's motion after a time (s) over that at the start: each mode falls by
/// its own exponential.
fn left_after(linear: &Linear, g: &DVector<f64>, start: &Start, time: f64) -> Result<f64> {
    positive("interval", time, "s")?;
    let motion = Transient::under(linear, &[], start, Some(time))?;
    Ok(motion.envelope_left(g))
}
