//! Do the mounts carry the machine: load range, lift-off, rocking, tilt, static plus dynamic load?

use super::verdict::Check;
use crate::analysis::statics::{Envelope, Stability};
use crate::error::{Error, Result, each, not_negative, positive};
use crate::support::LoadRange;
use crate::system::Axis;

/// Tilt amplification above which a rocking check is no longer plainly OK (common practice).
pub const AMPLIFICATION_LIMIT: f64 = 1.1;

const MAKER: &str = "load range of the mount";
const EQUILIBRIUM: &str = "equilibrium: a mount that only stands cannot pull";
const TEXTBOOK: &str = "textbook: m g h < k_theta with static stiffness";

/// Static load of each mount within its range: one check for each limit that is stated.
///
/// # Errors
/// [`Error::Shape`] unless there is one range for each mount.
pub fn load_range(envelope: &Envelope, ranges: &[LoadRange]) -> Result<Vec<Check>> {
    one_each("ranges", ranges.len(), envelope)?;
    let mut checks = Vec::new();
    for (i, range) in ranges.iter().enumerate() {
        let name = &envelope.mount_names[i];
        if let Some(min) = range.min {
            let least = &envelope.load_min[i];
            let question = format!("least static load of {}", mount(name));
            let check = Check::at_least(question, least.value, min, "N")?;
            checks.push(check.in_case(&least.case).from_source(MAKER));
        }
        if let Some(max) = range.max {
            let most = &envelope.load_max[i];
            let question = format!("greatest static load of {}", mount(name));
            let check = Check::at_most(question, most.value, max, "N")?;
            checks.push(check.in_case(&most.case).from_source(MAKER));
        }
    }
    Ok(checks)
}

/// No mount in tension in any case: least load of each at least zero. Give it the envelope of
/// statics WITHOUT lift-off; once lifted, a mount's load is zero.
///
/// # Errors
/// None beyond those of [`Check::at_least`].
pub fn stays_loaded(envelope: &Envelope) -> Result<Vec<Check>> {
    let loads = envelope.mount_names.iter().zip(&envelope.load_min);
    loads
        .map(|(name, least)| {
            let question = format!("least static load of {} (lift-off)", mount(name));
            let check = Check::at_least(question, least.value, 0.0, "N")?;
            Ok(check.in_case(&least.case).from_source(EQUILIBRIUM))
        })
        .collect()
}

/// Rocking under its own weight about x and y: the larger of the two ratios below 1, and OK only
/// on a condition where the tilt amplification passes `amplification_limit`
/// ([`AMPLIFICATION_LIMIT`] is common practice).
///
/// # Errors
/// [`Error::Invalid`] for a limit that is not above 1.
pub fn rocking(
    stability: &[Stability],
    amplification_limit: f64,
    case: &str,
) -> Result<Vec<Check>> {
    if !(amplification_limit.is_finite() && amplification_limit > 1.0) {
        return Err(Error::invalid(
            "amplification_limit",
            amplification_limit,
            "must be above 1",
            "1.1 is common practice",
        ));
    }
    stability
        .iter()
        .map(|s| {
            let question = format!("rocking about {}: weight moment over stiffness", axis(s.axis));
            let ratio = s.ratio.max(s.load_ratio);
            let check = Check::at_most(question, ratio, 1.0, "")?;
            let mut check = check.in_case(case).from_source(TEXTBOOK);
            // A ratio of exactly 1 has no stiffness left.
            if ratio == 1.0 {
                check.verdict = super::Verdict::No;
            }
            let amplification = 1.0 / (1.0 - ratio);
            if ratio < 1.0 && amplification > amplification_limit {
                check = check.only_if(format!(
                    "tilts {:.0} % larger about {} are accepted (over {:.0} %, common practice)",
                    100.0 * (amplification - 1.0),
                    axis(s.axis),
                    100.0 * (amplification_limit - 1.0)
                ));
            }
            Ok(check)
        })
        .collect()
}

/// Tilt about x and about y within a limit, rad.
///
/// # Errors
/// [`Error::Invalid`] for a limit that is not positive.
pub fn tilt(envelope: &Envelope, limit: f64, source: &str) -> Result<Vec<Check>> {
    positive("limit", limit, "rad")?;
    let axes = [Axis::Rx, Axis::Ry].into_iter().zip(&envelope.tilt);
    axes.map(|(about, worst)| {
        let check =
            Check::at_most(format!("tilt about {}", axis(about)), worst.value.abs(), limit, "rad")?;
        Ok(check.in_case(&worst.case).from_source(source))
    })
    .collect()
}

/// Greatest static plus dynamic vertical load of each mount within `dynamic_max`, where stated;
/// `dynamic_peak` is the greatest downward dynamic load of each mount, N.
///
/// # Errors
/// [`Error::Shape`] unless there is one range and one peak for each mount; [`Error::Invalid`] for
/// a negative peak.
pub fn dynamic_load(
    envelope: &Envelope,
    dynamic_peak: &[f64],
    ranges: &[LoadRange],
    dynamic_case: &str,
) -> Result<Vec<Check>> {
    one_each("ranges", ranges.len(), envelope)?;
    one_each("dynamic_peak", dynamic_peak.len(), envelope)?;
    each(not_negative, "dynamic_peak", dynamic_peak, "N")?;
    let mut checks = Vec::new();
    for (i, (&peak, range)) in dynamic_peak.iter().zip(ranges).enumerate() {
        if let Some(max) = range.dynamic_max {
            let still = &envelope.load_max[i];
            let question =
                format!("greatest static plus dynamic load of {}", mount(&envelope.mount_names[i]));
            let check = Check::at_most(question, still.value + peak, max, "N")?;
            checks.push(check.in_case(joined(&still.case, dynamic_case)).from_source(MAKER));
        }
    }
    Ok(checks)
}

/// No mount unloaded by motion: least static load less the greatest upward dynamic load,
/// `dynamic_lift` (N, positive), at least zero.
///
/// # Errors
/// As [`dynamic_load`].
pub fn dynamic_contact(
    envelope: &Envelope,
    dynamic_lift: &[f64],
    dynamic_case: &str,
) -> Result<Vec<Check>> {
    one_each("dynamic_lift", dynamic_lift.len(), envelope)?;
    each(not_negative, "dynamic_lift", dynamic_lift, "N")?;
    let mut checks = Vec::new();
    for (i, &lift) in dynamic_lift.iter().enumerate() {
        let least = &envelope.load_min[i];
        let question =
            format!("least static less dynamic load of {}", mount(&envelope.mount_names[i]));
        let check = Check::at_least(question, least.value - lift, 0.0, "N")?;
        checks.push(check.in_case(joined(&least.case, dynamic_case)).from_source(EQUILIBRIUM));
    }
    Ok(checks)
}

fn joined(one: &str, other: &str) -> String {
    let parts: Vec<&str> = [one, other].into_iter().filter(|part| !part.is_empty()).collect();
    parts.join(" + ")
}

/// "mount front left", without doubling the word.
pub fn mount(name: &str) -> String {
    if name.starts_with("mount") { name.to_owned() } else { format!("mount {name}") }
}

fn axis(axis: Axis) -> &'static str {
    match axis {
        Axis::X | Axis::Rx => "x",
        Axis::Y | Axis::Ry => "y",
        Axis::Z | Axis::Rz => "z",
    }
}

fn one_each(argument: &str, found: usize, envelope: &Envelope) -> Result<()> {
    let mounts = envelope.mount_names.len();
    if found == mounts {
        return Ok(());
    }
    Err(Error::Shape {
        argument: argument.into(),
        found: format!("({found},)"),
        expected: format!("({mounts},), one for each mount"),
    })
}
