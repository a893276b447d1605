//! Motion under what machines do (`excitation::Action`), and which source the floor force is from.

use super::load::Load;
use super::motion::{Start, Transient, default_duration};
use super::peak::Extrema;
use super::periodic::has_states;
use super::{Shock, ShockOptions};
use crate::analysis::modes;
use crate::error::{Error, Result};
use crate::excitation::record::too_coarse;
use crate::excitation::{Action, Before, Excitation, Source};
use crate::system::Linear;

/// Response to what acts on the first body in an event. A duration in the options goes before that of
/// the event; actions that repeat give one period.
///
/// Laws that need a Fourier transform have no state that goes on: the motion then starts from rest,
/// and a warning says so.
///
/// # Errors
/// Those of [`Load::of`], [`Transient::after`] and [`Transient::periodic`].
pub fn shock_by(linear: &Linear, event: &Excitation, options: &ShockOptions) -> Result<Shock> {
    let loads = Load::all(linear, &event.actions)?;
    let (motion, warning) = motion(linear, event, &loads, options)?;
    let mut shock = Shock::of(motion, &loads, options.dt)?;
    shock.warnings.extend(warning);
    let intervals = event.actions.iter().filter_map(|action| action.interval);
    if let Some(interval) = intervals.reduce(f64::max) {
        let highest = modes(linear)?.frequency.iter().copied().fold(0.0, f64::max);
        shock.warnings.extend(too_coarse(interval, highest));
    }
    Ok(shock)
}

fn motion(
    linear: &Linear,
    event: &Excitation,
    loads: &[Load],
    options: &ShockOptions,
) -> Result<(Transient, Option<String>)> {
    if let Some(period) = options.period()? {
        if event.every.is_some() || event.before.is_some() {
            return Err(Error::invalid(
                "every",
                format!("{period} s"),
                "is for an event that acts once, from rest; this one says itself what goes on for long",
                "leave it out",
            ));
        }
        return Ok((Transient::periodic(linear, loads, None, period)?, None));
    }
    if let Some(period) = event.every {
        return Ok((Transient::periodic(linear, loads, None, period)?, None));
    }
    let rest = Start::rest(linear.size());
    let start = options.start.as_ref().unwrap_or(&rest);
    let duration = options.duration.or(event.duration);
    let Some(before) = &event.before else {
        return Ok((Transient::under(linear, loads, start, duration)?, None));
    };
    if let Err(refused) = has_states(linear) {
        let warning = format!("the running before it is left out, it starts from rest: {refused}");
        return Ok((Transient::under(linear, loads, &rest, duration)?, Some(warning)));
    }
    let earlier = Load::all(linear, &before.actions)?;
    Ok((Transient::after(linear, &earlier, before.period, loads, duration)?, None))
}

/// Least and greatest wrench on the ground (N and N m) by source of what acts, in the order of
/// [`Source`]: each as if the other sources were silent. They peak at different times and do not add
/// up to the peak of all.
///
/// # Errors
/// Those of [`shock_by`].
pub fn floor_by_source(
    linear: &Linear,
    event: &Excitation,
    options: &ShockOptions,
) -> Result<Vec<(Source, Vec<Extrema>)>> {
    let sources = event.sources();
    let mut options = options.clone();
    let repeats = event.every.or(options.every).is_some();
    if options.duration.is_none() && event.duration.is_none() && !repeats {
        // All sources over the same time.
        let end = event.actions.iter().map(Action::end).fold(0.0, f64::max);
        let roots = Transient::under(linear, &[], &Start::rest(linear.size()), Some(1.0))?;
        options.duration = Some(default_duration(roots.roots(), end)?);
    }
    let one = |source: Source| {
        let of = |all: &[Action]| -> Vec<Action> {
            all.iter().filter(|a| a.source == source).cloned().collect()
        };
        let before = event.before.as_ref().map(|b| Before { actions: of(&b.actions), ..b.clone() });
        let alone = Excitation {
            before: before.filter(|b| !b.actions.is_empty()),
            actions: of(&event.actions),
            ..event.clone()
        };
        let loads = Load::all(linear, &alone.actions)?;
        let (motion, _) = motion(linear, &alone, &loads, &options)?;
        Ok((source, motion.extrema(&motion.ground_wrench())))
    };
    sources.into_iter().map(one).collect()
}
