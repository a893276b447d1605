//! What must be told of a snap-through before its numbers are used?
//!
//! A force above the rating (an error unless asked for), one that ends at a height it drops from at
//! once, a press without damping, dashpots that carry more than half of the floor force's peak.

use crate::analysis::motion::Motion;
use crate::analysis::transient::Extrema;
use crate::error::{Error, Result};
use crate::machine::Press;
use crate::machine::press::Link;

use super::WorkForce;

/// Part of the floor force's peak that dashpots may carry before the result warns.
pub(super) const DASHPOTS: f64 = 0.5;

/// A curve that ends at a force drops it in no time, which throws back the most there can be.
pub(super) fn ends_at_once(work: &WorkForce, warnings: &mut Vec<String>) {
    let last = work.segments.iter().max_by(|a, b| a.end.total_cmp(&b.end));
    let Some(left) = last.map(|s| s.value(s.end)) else { return };
    if left.abs() > 0.01 * work.peak {
        warnings.push(format!(
            "the work force ends at {left:.4e} N and drops to nothing at once: a break takes time, and a \
             press that turns lets go as slowly as it came; end the curve at zero"
        ));
    }
}

/// Without damping in frame and drive the first swing never dies away.
pub(super) fn rings_on(press: &Press, warnings: &mut Vec<String>) {
    let silent = |spring: &Link| spring.damping == 0.0 && spring.loss_factor == 0.0;
    if silent(&press.frame) && silent(&press.drive) {
        warnings.push(
            "frame and drive have no damping: they ring on, and peaks that come late are overstated; give \
             frame or drive a damping or a loss factor"
                .into(),
        );
    }
}

pub(super) fn within_rating(
    press: &Press,
    force: f64,
    overload: bool,
    warnings: &mut Vec<String>,
) -> Result<()> {
    let Some(rated) = press.rated_force.filter(|&rated| force > rated) else { return Ok(()) };
    if overload {
        warnings.push(format!(
            "the force of {force:.4e} N is above the rated force of {rated:.4e} N ({:.0} %): do not \
             run a press above its rating",
            100.0 * force / rated
        ));
        return Ok(());
    }
    Err(Error::invalid(
        "force",
        format!("{force} N"),
        format!("must not exceed the rated force, {rated} N"),
        "give overload=True to compute it all the same",
    ))
}

/// Peak of what dashpots put on the floor over the peak of all, vertical.
pub(super) fn dashpots(motion: &Motion, all: &Extrema) -> Result<f64> {
    let [_, _, c] = motion.linear().ground_wrench();
    let weights: Vec<f64> = c.row(2).iter().copied().collect();
    let most = |e: &Extrema| e.max.value.abs().max(e.min.value.abs());
    let whole = most(all);
    if whole == 0.0 || weights.iter().all(|&w| w == 0.0) {
        return Ok(0.0);
    }
    let part = motion.velocity().combined("dashpots", &weights)?;
    Ok(motion.extrema(&part).first().map_or(0.0, most) / whole)
}
