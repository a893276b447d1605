//! Does it tip or lift a row of mounts under a horizontal acceleration, and what must hold it down?
//!
//! The force m a at the center of mass, quasi-static, along +x, -x, +y and -y. With s_i the static
//! load of mount i and d_i what the same force for a = 1 g does to it by linear statics,
//!
//! N_i = s_i + (a / g) d_i / (1 - m g h / k_theta):
//!
//! the tilt, and with it every change of load, is larger by the weight's own moment. A mount
//! unloads at a/g = s_i (1 - m g h / k_theta) / (-d_i); for two rows at +-b this is
//! a/g = (b / h) (1 - m g h / k_theta). What pulls beyond that is the hold-down force.
//!
//! Assumptions: mounts take tension where held down; the acceleration is entered by the user.
//! Amplification by the soft mounts themselves, vertical shaking and the choice of the
//! acceleration are those of the local seismic code, which governs together with licensed
//! practice. Source: textbook (P-delta of one rocking mode).

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::Check;
use crate::analysis::statics::{MOUNT, Stability, Statics, StaticsOptions, statics};
use crate::error::{Error, Result, not_negative, positive};
use crate::system::System;

const CODE: &str = "acceleration as entered; local seismic code and licensed practice govern";

/// What a horizontal acceleration of one g along one direction does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sideways {
    /// "+x", "-x", "+y" or "-y".
    pub direction: String,
    /// Static load of each mount, N.
    pub at_rest: Vec<f64>,
    /// Change of the vertical load of each mount for 1 g, N.
    pub change: Vec<f64>,
    /// Horizontal force of each mount for 1 g, N.
    pub lateral: Vec<f64>,
    /// Names of the mounts.
    pub mounts: Vec<String>,
    /// Tilt for 1 g, rad.
    pub tilt: f64,
}

impl Sideways {
    /// Acceleration over g at which the first mount unloads, and that mount; infinite if none does.
    pub fn first_lift(&self) -> (f64, &str) {
        let at = |i: usize| {
            let (still, change) = (self.at_rest[i], self.change[i]);
            if still <= 0.0 {
                0.0
            } else if change < 0.0 {
                still / -change
            } else {
                f64::INFINITY
            }
        };
        let first = (0..self.mounts.len()).min_by(|&a, &b| at(a).total_cmp(&at(b)));
        first.map_or((f64::INFINITY, ""), |i| (at(i), &self.mounts[i]))
    }

    /// Load of each mount at an acceleration (part of g), N.
    pub fn load(&self, acceleration: f64) -> Vec<f64> {
        self.at_rest.iter().zip(&self.change).map(|(s, d)| s + acceleration * d).collect()
    }

    /// Greatest force (N) with which a mount must be held down at an acceleration (part of g),
    /// zero if none pulls, and that mount.
    pub fn greatest_pull(&self, acceleration: f64) -> (f64, &str) {
        let loads = self.load(acceleration);
        let worst = (0..loads.len()).min_by(|&a, &b| loads[a].total_cmp(&loads[b]));
        worst.map_or((0.0, ""), |i| ((-loads[i]).max(0.0), &self.mounts[i]))
    }

    /// Part of the whole horizontal force that each mount takes.
    pub fn share(&self) -> Vec<f64> {
        let total: f64 = self.lateral.iter().sum();
        self.lateral.iter().map(|f| f / total).collect()
    }
}

/// The four directions for one load case: its system, its equilibrium, its rocking stability
/// (about x, about y), and its weight (N).
///
/// # Errors
/// [`Error::Unstable`] if it rocks over by itself; those of [`statics`].
pub fn sideways(
    system: &System,
    still: &Statics,
    stability: &[Stability; 2],
    weight: f64,
) -> Result<Vec<Sideways>> {
    positive("weight", weight, "N")?;
    // A pipe or a bridge can pull and is no foot.
    let feet: Vec<&str> = system
        .elements
        .iter()
        .filter(|e| e.label.kind == MOUNT)
        .map(|e| e.label.name.as_str())
        .collect();
    let rows: Vec<usize> = (0..still.mount_names.len())
        .filter(|&i| feet.contains(&still.mount_names[i].as_str()))
        .collect();
    let directions = [("+x", 0, 1.0), ("-x", 0, -1.0), ("+y", 1, 1.0), ("-y", 1, -1.0)];
    directions
        .into_iter()
        .map(|(name, axis, sign)| {
            // Force along x rocks about y.
            let rocking = &stability[1 - axis];
            if !rocking.stable {
                return Err(Error::Unstable {
                    reason: format!(
                        "m g h / k_theta = {:.3}",
                        rocking.ratio.max(rocking.load_ratio)
                    ),
                    remedy: "place the mounts wider or stiffer, or lower the center of mass".into(),
                });
            }
            let mut load = DVector::zeros(system.dofs.len());
            load[axis] = sign * weight;
            let pushed = statics(system, &load, &StaticsOptions::default())?;
            let amplified = 1.0 / (1.0 - rocking.ratio);
            let lateral = |&i: &usize| pushed.load[[i, 0]].hypot(pushed.load[[i, 1]]);
            Ok(Sideways {
                direction: name.into(),
                at_rest: rows.iter().map(|&i| still.load[[i, 2]]).collect(),
                change: rows.iter().map(|&i| pushed.load[[i, 2]] * amplified).collect(),
                lateral: rows.iter().map(lateral).collect(),
                mounts: rows.iter().map(|&i| still.mount_names[i].clone()).collect(),
                tilt: pushed.tilt[1 - axis] * amplified,
            })
        })
        .collect()
}

/// Checks of named load cases under a horizontal acceleration (part of g): that no mount unloads
/// before it, and that what must be held down is within `hold_down` (N each, zero: not held).
///
/// # Errors
/// [`Error::Invalid`] for a negative acceleration or hold-down, or no case.
pub fn tipping(
    cases: &[(&str, Vec<Sideways>)],
    acceleration: f64,
    hold_down: f64,
) -> Result<[Check; 2]> {
    not_negative("acceleration", acceleration, "g")?;
    not_negative("hold_down", hold_down, "N")?;
    let all = || cases.iter().flat_map(|(case, list)| list.iter().map(move |s| (*case, s)));
    let none = || Error::invalid("cases", "[]", "at least one load case", "give the cases");
    let (case, first) =
        all().min_by(|a, b| a.1.first_lift().0.total_cmp(&b.1.first_lift().0)).ok_or_else(none)?;
    let (lifts_at, mount) = first.first_lift();
    let lift = Check::at_least(
        "sideways acceleration at which a mount unloads, of g",
        lifts_at,
        acceleration,
        "",
    )?;
    let lift = lift.in_case(format!("{case}, {}, {mount}", first.direction)).from_source(CODE);
    let pull = |s: &Sideways| s.greatest_pull(acceleration).0;
    let (case, most) = all().max_by(|a, b| pull(a.1).total_cmp(&pull(b.1))).ok_or_else(none)?;
    let (force, mount) = most.greatest_pull(acceleration);
    let held = Check::at_most("hold-down force of one mount", force, hold_down, "N")?;
    let held = held.in_case(format!("{case}, {}, {mount}", most.direction)).from_source(CODE);
    // What is held down need not rest on its weight.
    let holds = held.verdict == super::Verdict::Ok && hold_down > 0.0;
    let mut lift = lift;
    if lift.verdict == super::Verdict::No && holds {
        lift.verdict = super::Verdict::OkIf("the mounts are held down".into());
    }
    Ok([lift, held])
}

/// The greatest part of a horizontal force that one mount takes, over named load cases, at most
/// `limit` (0 to 1).
///
/// # Errors
/// [`Error::Invalid`] for a limit outside 0 to 1 or no case.
pub fn lateral_share(cases: &[(&str, Vec<Sideways>)], limit: f64) -> Result<Check> {
    if !(limit > 0.0 && limit <= 1.0) {
        return Err(Error::invalid(
            "limit",
            limit,
            "must lie between 0 and 1",
            "give the greatest part of a horizontal force that one mount may take",
        ));
    }
    let mut worst: Option<(f64, String)> = None;
    for (case, list) in cases {
        for s in list {
            for (share, mount) in s.share().into_iter().zip(&s.mounts) {
                if worst.as_ref().is_none_or(|(most, _)| share > *most) {
                    worst = Some((share, format!("{case}, {}, {mount}", s.direction)));
                }
            }
        }
    }
    let (share, place) = worst
        .ok_or_else(|| Error::invalid("cases", "[]", "at least one load case", "give the cases"))?;
    Ok(Check::at_most("share of one mount in a horizontal force", share, limit, "")?.in_case(place))
}
