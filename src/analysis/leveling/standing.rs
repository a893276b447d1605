//! How does the machine stand before a screw is turned?
//!
//! Loads and level of the machine that was level, or set down on equal screws, moved by the
//! settlement of its feet (surveyed, or from load and subgrade):
//!
//! load = F - R s,   tilt = t - T s.
//!
//! Readings say how it is tilted now, whatever the settlement says; of loads they say nothing.
//! Limits: small motions; a foot whose load comes out negative is off the floor, and what is said
//! of the others then does not hold: it is warned of.

use serde::{Deserialize, Serialize};

use super::influence::{Influence, equilibrium};
use super::request::{Request, Start};
use super::settlement::{Drift, State};
use super::tolerance::COMMON_PRACTICE;
use crate::error::{Error, Result};
use crate::installation::Installation;
use crate::support::Mount;

/// A machine before and after settlement, and how creep drifts it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Settled {
    /// Names of the mounts.
    pub mount_names: Vec<String>,
    /// Settlement of each foot, m, down positive.
    pub settlement: Vec<f64>,
    /// The machine when it was level.
    pub before: State,
    /// The machine now.
    pub after: State,
    /// Drift by creep for a decade of time.
    pub drift: Drift,
    /// Feet that would have to pull, or leave their load range.
    pub warnings: Vec<String>,
}

/// Load and level of a machine that was level before its foundation settled.
///
/// # Errors
/// [`Error::Invalid`] if the request states no settlement; those of [`Request::check`] and of the
/// statics.
pub fn settled(inst: &Installation, request: &Request) -> Result<Settled> {
    request.check(inst.mounts.len())?;
    let case = request.case.as_deref();
    let influence =
        Influence::of(inst, case, request.gravity_stiffness, request.frame_twist_stiffness)?;
    let (level, _) = equilibrium(inst, case, request.gravity_stiffness, None)?;
    let before = State { load: level.load.column(2).to_vec(), tilt: [0.0; 2], twist: 0.0 };
    let settlement = sunk(request, &before.load)?.ok_or_else(|| {
        Error::invalid(
            "settlement",
            "not told",
            "needs either settlement, or subgrade_modulus and plate_area",
            "give one of the two",
        )
    })?;
    let after = before.settled(&influence, &settlement)?;
    let drift = Drift::of(inst, case, &influence)?;
    let warnings = carried(&inst.mounts, &after.load, "after settlement");
    let mount_names = influence.mount_names;
    Ok(Settled { mount_names, settlement, before, after, drift, warnings })
}

/// Settlement of each foot, as surveyed or from its load (N) on the subgrade, m.
pub(super) fn sunk(request: &Request, load: &[f64]) -> Result<Option<Vec<f64>>> {
    match (&request.settlement, &request.subgrade) {
        (Some(surveyed), _) => Ok(Some(surveyed.clone())),
        (None, Some(subgrade)) => subgrade.settlement(load).map(Some),
        (None, None) => Ok(None),
    }
}

/// The machine as it stands now, from its loads (N) and tilt (rad) on equal screws.
pub(super) fn now(
    request: &Request,
    influence: &Influence,
    load: Vec<f64>,
    even_tilt: [f64; 2],
    settlement: Option<&[f64]>,
    warnings: &mut Vec<String>,
) -> Result<State> {
    let tilt = if request.start == Start::Even { even_tilt } else { [0.0; 2] };
    let mut state = State { load, tilt, twist: 0.0 };
    if let Some(settlement) = settlement {
        state = state.settled(influence, settlement)?;
    }
    if let Some(plane) = &request.plane {
        let read = plane.tilt();
        if settlement.is_some() {
            let off = (0..2).map(|i| (read[i] - state.tilt[i]).abs()).fold(0.0, f64::max);
            if off > request.level_tolerance.max(COMMON_PRACTICE) {
                warnings.push(format!(
                    "readings and settlement disagree by {:.4} mm/m of tilt: the plan takes the \
                     level from the readings and the loads from the settlement; check both",
                    1e3 * off
                ));
            }
        } else {
            warnings.push(
                "loads are those of the level machine: readings of level say nothing about them; \
                 survey the settlement, or weigh the feet, to plan for loads too"
                    .into(),
            );
        }
        state.tilt = read;
        warnings.extend(plane.warnings.iter().cloned());
    }
    Ok(state)
}

/// What loads (N) mean that no foot can carry, or is not made to carry.
pub(super) fn carried(mounts: &[Mount], load: &[f64], when: &str) -> Vec<String> {
    let which = |bad: &dyn Fn(&Mount, f64) -> bool| -> Vec<String> {
        let found = mounts.iter().zip(load).filter(|(m, f)| bad(m, **f));
        found.map(|(m, f)| format!("{} ({:.1} kN)", m.name, 1e-3 * f)).collect()
    };
    let off = which(&|_, f| f < 0.0);
    let out = which(&|m, f| {
        let range = m.load_range;
        f >= 0.0 && (range.min.is_some_and(|min| f < min) || range.max.is_some_and(|max| f > max))
    });
    let mut said = Vec::new();
    if !off.is_empty() {
        said.push(format!(
            "{when} a foot would have to pull: {}; it is off the floor and the others carry its load: \
             the plan does not hold. Bring every foot into contact first, read again, and ask for a \
             load_band",
            off.join(", ")
        ));
    }
    if !out.is_empty() {
        said.push(format!(
            "{when} out of the load range of the mount: {}; ask for a load_band, or take other mounts",
            out.join(", ")
        ));
    }
    said
}
