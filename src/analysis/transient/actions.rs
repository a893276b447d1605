//! Motion under what machines do (`excitation::Action`), and which source the floor force is from.

use super::load::Load;
use super::motion::{Start, Transient};
use super::peak::Extrema;
use super::periodic::has_states;
use super::{Shock, ShockOptions};
use crate::error::Result;
use crate::excitation::{Action, Before, Rotating, Source, SpeedRamp};
use crate::system::Linear;

/// Response to actions on the first body, after what went on before them.
///
/// Laws that need a Fourier transform have no state that goes on: the motion then starts from rest,
/// and a warning says so.
///
/// # Errors
/// Those of [`Load::of`] and [`Transient::after`].
pub fn shock_by(
    linear: &Linear,
    before: Option<&Before>,
    actions: &[Action],
    options: &ShockOptions,
) -> Result<Shock> {
    let (motion, warning) = motion(linear, before, actions, options)?;
    let mut shock = Shock::of(motion, &Load::all(linear, actions)?, options.dt)?;
    shock.warnings.extend(warning);
    Ok(shock)
}

/// Response while a rotor's speed changes, after long running at the first speed where the ramp says
/// so; and the greatest relative error of the load in closed form. Without a duration the motion ends
/// with the ramp and what it holds.
///
/// # Errors
/// Those of [`Rotating::ramp`] and [`shock_by`].
pub fn run_up(
    linear: &Linear,
    rotor: &Rotating,
    ramp: &SpeedRamp,
    options: &ShockOptions,
) -> Result<(Shock, f64)> {
    let (actions, error) = rotor.ramp(ramp)?;
    let steady = ramp.from_steady && ramp.from > 0.0;
    let before = steady.then(|| rotor.steady(ramp.from)).transpose()?;
    let duration = options.duration.or(Some(ramp.end()));
    let options = ShockOptions { duration, ..options.clone() };
    Ok((shock_by(linear, before.as_ref(), &actions, &options)?, error))
}

fn motion(
    linear: &Linear,
    before: Option<&Before>,
    actions: &[Action],
    options: &ShockOptions,
) -> Result<(Transient, Option<String>)> {
    let loads = Load::all(linear, actions)?;
    let rest = Start::rest(linear.size());
    let start = options.start.as_ref().unwrap_or(&rest);
    let Some(before) = before else {
        return Ok((Transient::under(linear, &loads, start, options.duration)?, None));
    };
    if let Err(refused) = has_states(linear) {
        let warning = format!("the running before it is left out, it starts from rest: {refused}");
        let motion = Transient::under(linear, &loads, &rest, options.duration)?;
        return Ok((motion, Some(warning)));
    }
    let earlier = Load::all(linear, &before.actions)?;
    let motion = Transient::after(linear, &earlier, before.period, &loads, options.duration)?;
    Ok((motion, None))
}

/// Least and greatest wrench on the ground (N and N m) by source of what acts, in the order of
/// [`Source`]: each as if the other sources were silent. They peak at different times and do not add
/// up to the peak of all.
///
/// # Errors
/// Those of [`shock_by`].
pub fn floor_by_source(
    linear: &Linear,
    before: Option<&Before>,
    actions: &[Action],
    options: &ShockOptions,
) -> Result<Vec<(Source, Vec<Extrema>)>> {
    let earlier = before.map_or(&[][..], |b| &b.actions);
    let mut sources: Vec<Source> = actions.iter().chain(earlier).map(|a| a.source).collect();
    sources.sort();
    sources.dedup();
    let end = actions.iter().map(Action::end).fold(0.0, f64::max);
    let of = |source: Source, all: &[Action]| -> Vec<Action> {
        all.iter().filter(|a| a.source == source).cloned().collect()
    };
    let one = |source: Source| {
        let now = of(source, actions);
        let earlier = before.map(|b| Before { actions: of(source, &b.actions), period: b.period });
        let earlier = earlier.filter(|b| !b.actions.is_empty());
        let mut options = options.clone();
        if options.duration.is_none() {
            // All sources over the same time.
            let (motion, _) = motion(linear, None, &[], &ShockOptions::default())?;
            options.duration = Some(end + motion.duration);
        }
        let (motion, _) = motion(linear, earlier.as_ref(), &now, &options)?;
        Ok((source, motion.extrema(&motion.ground_wrench())))
    };
    sources.into_iter().map(one).collect()
}
