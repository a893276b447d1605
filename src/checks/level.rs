//! Does it stay level: under a die off its middle, and when the bolster leaves?
//!
//! Level error: the tilt of a load case less that of the case in which it was leveled, times
//! 1 / (1 - m g h / k_theta) where the statics left the weight's own moment out. Rail step: how
//! far the bolster's rail rises against the rail on the floor when bolster and die leave, and how
//! much it tilts half way.
//!
//! Common practice: rail step 0.5 to 1 mm.

use super::Check;
use crate::error::{Result, finite, positive};
use crate::system::Axis;

/// Tilt of named load cases about one axis (rad, against the leveled case, amplification
/// included) within a limit (rad).
///
/// # Errors
/// [`crate::Error::Invalid`] for a limit that is not positive.
pub fn level_error(about: Axis, tilts: &[(&str, f64)], limit: f64, source: &str) -> Result<Check> {
    positive("limit", limit, "rad")?;
    let worst = tilts.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
    let (case, tilt) = worst.copied().unwrap_or(("", 0.0));
    let name = about.name().trim_start_matches('r');
    let check = Check::at_most(format!("level error about {name}"), tilt.abs(), limit, "rad")?;
    Ok(check.in_case(case).from_source(source))
}

/// Rise (m) and tilt (rad) of a bolster rail between two load cases, against their limits; one
/// check for each limit that is given.
///
/// # Errors
/// [`crate::Error::Invalid`] for a limit that is not positive or a motion that is not finite.
pub fn rail_step(
    rail: &str,
    [rise, tilt]: [f64; 2],
    [rise_limit, tilt_limit]: [Option<f64>; 2],
    cases: &str,
) -> Result<Vec<Check>> {
    finite("rise", rise, "m")?;
    finite("tilt", tilt, "rad")?;
    let source = "limit of the job; 0.5 to 1 mm is common practice";
    let mut checks = Vec::new();
    if let Some(limit) = rise_limit {
        positive("rise_limit", limit, "m")?;
        let check = Check::at_most(format!("rail step of {rail}"), rise.abs(), limit, "m")?;
        checks.push(check.in_case(cases).from_source(source));
    }
    if let Some(limit) = tilt_limit {
        positive("tilt_limit", limit, "rad")?;
        let check =
            Check::at_most(format!("tilt at the step of {rail}"), tilt.abs(), limit, "rad")?;
        checks.push(check.in_case(cases).from_source("limit of the job"));
    }
    Ok(checks)
}
