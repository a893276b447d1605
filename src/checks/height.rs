//! Is there height and screw travel enough?
//!
//! Travel asked of each mount's screw = floor unevenness + unequal deflection + creep + settlement
//! + reserve, against the travel it has, down and up together:
//!
//! - unevenness: highest less lowest spot under the feet;
//! - unequal deflection: u_i less the least u_j of the same load case, in the worst case;
//! - creep: a_i decades u_i, the pass line being held (only its differences tilt);
//! - settlement: differential settlement of the foundation to come.
//!
//! Pass line: height of a named point on the mounts as it runs, against what the line needs.

use serde::{Deserialize, Serialize};

use super::Check;
use crate::analysis::statics::Statics;
use crate::error::{Error, Result, not_negative, positive};
use crate::support::Mount;

/// What the screws must make up for, besides the deflection of the mounts.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Budget {
    /// Highest less lowest spot of the floor under the feet, m.
    pub floor: f64,
    /// Differential settlement to come, m.
    pub settlement: f64,
    /// Travel that must be left, m.
    pub reserve: f64,
    /// Decades of time in which the mounts creep (1 minute to 10 years: 6.72).
    pub creep_decades: f64,
}

impl Budget {
    /// The budget if every part of it is finite and not negative.
    ///
    /// # Errors
    /// [`Error::Invalid`] otherwise.
    pub fn checked(self) -> Result<Self> {
        not_negative("floor", self.floor, "m")?;
        not_negative("settlement", self.settlement, "m")?;
        not_negative("reserve", self.reserve, "m")?;
        not_negative("creep_decades", self.creep_decades, "")?;
        Ok(self)
    }

    /// Travel asked of one mount with creep `creep_per_decade`, whose static compression is `own`
    /// where the least of the machine is `least`, m.
    pub fn travel(&self, own: f64, least: f64, creep_per_decade: f64) -> f64 {
        let creep = creep_per_decade * self.creep_decades * own.max(0.0);
        self.floor + (own - least) + creep + self.settlement + self.reserve
    }
}

/// Decades of time from one minute after loading, the reference of creep rates, to `seconds`.
///
/// # Errors
/// [`Error::Invalid`] for a time that is not longer than a minute.
pub fn creep_decades(seconds: f64) -> Result<f64> {
    if positive("creep_time", seconds, "s")? < 60.0 {
        return Err(Error::invalid(
            "creep_time",
            format!("{seconds} s"),
            "must be at least one minute, from which creep is counted",
            "give the time between two levelings, such as \"1 a\"",
        ));
    }
    Ok((seconds / 60.0).log10())
}

/// Travel asked of the screw of each mount that has one, over named load cases.
///
/// # Errors
/// [`Error::Unknown`] if a case does not have a mount.
pub fn screw_travel(
    mounts: &[Mount],
    cases: &[(&str, &Statics)],
    budget: &Budget,
) -> Result<Vec<Check>> {
    let budget = budget.checked()?;
    let mut checks = Vec::new();
    for mount in mounts {
        let Some(screw) = &mount.screw else { continue };
        let mut worst: Option<(f64, &str)> = None;
        for (case, statics) in cases {
            let own = compression(statics, mount)?;
            let mut least = own;
            for other in mounts {
                least = least.min(compression(statics, other)?);
            }
            let asked = budget.travel(own, least, mount.creep_per_decade);
            if worst.is_none_or(|(most, _)| asked > most) {
                worst = Some((asked, case));
            }
        }
        let Some((asked, case)) = worst else { continue };
        let question = format!("screw travel of {}", mount.name);
        let check = Check::at_most(question, asked, screw.down + screw.up, "m")?;
        let source =
            "floor + unequal deflection + creep + settlement + reserve, against the screw's travel";
        checks.push(check.in_case(case).from_source(source));
    }
    Ok(checks)
}

fn compression(statics: &Statics, mount: &Mount) -> Result<f64> {
    let place = statics.mount_names.iter().position(|n| *n == mount.name);
    let row = place.ok_or_else(|| Error::Unknown {
        argument: "mount".into(),
        value: mount.name.clone(),
        allowed: format!("the mounts are {}", statics.mount_names.join(", ")),
    })?;
    Ok(statics.deflection[[row, 2]])
}

/// Height of the pass line as it stands (m) against the height that the line needs, within a
/// tolerance either way (m).
///
/// # Errors
/// [`Error::Invalid`] for a tolerance that is not positive.
pub fn pass_line(found: f64, wanted: f64, tolerance: f64, case: &str) -> Result<Check> {
    positive("tolerance", tolerance, "m")?;
    let check = Check::at_most("error of the pass line", (found - wanted).abs(), tolerance, "m")?;
    Ok(check.in_case(case).from_source("pass line of the job"))
}
