//! Which screw, which way, by how much, in which order?
//!
//! From the machine as it stands now (settlement, readings, or screws never set) to one that is
//! level and carries its loads: a convex program over the adjustments a (module `solve`), whole
//! steps of the screws (`quantize`), an order of work (`sequence`), and what level and load then
//! are at every station and in every load case.
//!
//! Stations that are read keep the tolerance too, own twist and bow included, where any plan can;
//! where none can, their plane is set level and they are told.
//!
//! Target loads are by default those of the level machine on true feet. The tilt of a load case
//! other than the one in which the machine is leveled is that of its statics, amplified by
//! 1 / (1 - m g h / k_theta) as gravity does to any change of tilt after leveling.
//!
//! Limits: small motions; every mount stays in contact (a load band or load range keeps it so).

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::super::statics::stability;
use super::best::Best;
use super::conditions::Conditions;
use super::infeasible::{Conflict, explain};
use super::influence::{Influence, equilibrium};
use super::limits::Limits;
use super::one_turn::{OneTurn, one_turn};
use super::quantize::Quantized;
use super::readings::Quantity;
use super::request::Request;
use super::sequence::{OnTheWay, Sequence, sequence};
use super::settlement::{Drift, State};
use super::standing::{carried, now, sunk};
use super::tolerance::StationLevel;
use crate::error::{Error, Result};
use crate::installation::{AS_IT_RUNS, Installation};
use crate::support::{Mount, Screw};

/// Level in a load case after the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CaseLevel {
    /// Name of the load case.
    pub case: String,
    /// Tilt about x and about y without the effect of gravity on it, rad.
    pub tilt: [f64; 2],
    /// 1 / (1 - m g h / k_theta) about x and about y.
    pub amplification: [f64; 2],
    /// The tilt with it, rad: what a level reads.
    pub tilt_with_gravity: [f64; 2],
}

/// Level at a later check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Later {
    /// When ("week 1").
    pub when: String,
    /// Time after leveling, s.
    pub after: f64,
    /// Tilt that creep has led to, rad.
    pub tilt: [f64; 2],
}

/// A leveling plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LevelingPlan {
    /// What was asked.
    pub request: Request,
    /// What raising each mount does.
    pub influence: Influence,
    /// Settlement of each foot, surveyed or from load and subgrade, m, down positive.
    pub settlement: Option<Vec<f64>>,
    /// The screw or the shims of each mount, `None` where neither is stated.
    pub screws: Vec<Option<Screw>>,
    /// The exact optimum, m, up positive.
    pub optimum: Vec<f64>,
    /// What is to be set, m, up positive: whole steps where the screws have steps.
    pub adjustment: Vec<f64>,
    /// Turns of each screw, up positive; `None` without a pitch, and for shims.
    pub turns: Vec<Option<f64>>,
    /// Value of the objective at `adjustment`: m^2 or m.
    pub objective: f64,
    /// Optimality conditions of `optimum`.
    pub conditions: Conditions,
    /// The whole steps, where the screws have them.
    pub quantized: Option<Quantized>,
    /// Target loads, N.
    pub target: Vec<f64>,
    /// The machine now.
    pub before: State,
    /// The machine after the plan.
    pub after: State,
    /// The order of work.
    pub sequence: Sequence,
    /// Level at every station.
    pub stations: Vec<StationLevel>,
    /// Level in every load case.
    pub cases: Vec<CaseLevel>,
    /// Drift by creep for a decade of time.
    pub drift: Drift,
    /// Time after leveling at which creep takes the level out of its tolerance, s; `None`: never.
    pub lost_after: Option<f64>,
    /// Level at the checks to come.
    pub later: Vec<Later>,
    /// What to know before turning a screw.
    pub warnings: Vec<String>,
}

impl LevelingPlan {
    /// The influence table: what one turn of each screw does, in the order of the mounts.
    pub fn one_turn(&self) -> Vec<OneTurn> {
        one_turn(&self.influence, &self.screws, &self.stations)
    }
}

/// What is said where no plan keeps every station.
const NOT_EVERY_STATION: &str = "no plan keeps every station within its tolerance, its own twist \
and bow included: the plan sets their plane level; look for a soft foot, a twisted bed or a \
misread station";

/// A plan, or why there is none.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Outcome {
    /// It can be done.
    Plan(Box<LevelingPlan>),
    /// It cannot.
    Conflict(Conflict),
}

impl Outcome {
    /// The plan.
    ///
    /// # Errors
    /// [`Error::Invalid`] with the limits that conflict and by how much they must give.
    pub fn plan(self) -> Result<LevelingPlan> {
        match self {
            Self::Plan(plan) => Ok(*plan),
            Self::Conflict(conflict) => Err(conflict.error()),
        }
    }
}

/// Plans the leveling of an installation.
///
/// # Errors
/// [`Error::Invalid`] and [`Error::Shape`] for what the request asks wrongly, those of the
/// statics, [`Error::NotConverged`] if no optimum within 1e-9 was found.
pub fn leveling_plan(inst: &Installation, request: &Request) -> Result<Outcome> {
    let n = inst.mounts.len();
    request.check(n)?;
    let case = request.case.as_deref();
    let influence =
        Influence::of(inst, case, request.gravity_stiffness, request.frame_twist_stiffness)?;
    let (even, _) = equilibrium(inst, case, request.gravity_stiffness, None)?;
    let own: Vec<f64> = even.load.column(2).to_vec();
    let target = request.target.clone().unwrap_or_else(|| own.clone());
    carries_all(request, &target, &own)?;
    let settlement = sunk(request, &own)?;
    let mut warnings = even.warnings.clone();
    let before = now(request, &influence, own, even.tilt, settlement.as_deref(), &mut warnings)?;
    let travel = travel(inst, request, &mut warnings);
    let screws = screws(inst, request);
    let step: Vec<f64> = screws.iter().map(|s| s.map_or(0.0, |s| s.step())).collect();
    let limits = Limits::of(request, &influence, &before, &target, &travel);
    refuse_overflow(&limits)?;
    let names = &influence.mount_names;
    if !limits.hopeless.is_empty() {
        return explain(&limits, names, &before).map(Outcome::Conflict);
    }
    let stations = stations(request, &before);
    let with_stations = limits.with_stations(request, &influence, &stations);
    let found = match with_stations.map(|l| Best::of(&l, request.objective, &step)).transpose()? {
        Some(Some(best)) if best.keeps_limits() => Some(best),
        // No plane takes the twist of the stations away: it is told, and the plane is set level.
        Some(_) => {
            warnings.push(NOT_EVERY_STATION.into());
            Best::of(&limits, request.objective, &step)?
        }
        None => Best::of(&limits, request.objective, &step)?,
    };
    let Some(Best { optimum, conditions, quantized }) = found else {
        return explain(&limits, names, &before).map(Outcome::Conflict);
    };
    let adjustment = quantized.as_ref().map_or_else(|| optimum.clone(), |q| q.adjustment.clone());
    let moved = DVector::from_column_slice(&adjustment);
    let after = before.moved(&influence, &moved);
    if let Some(q) = quantized.as_ref().filter(|q| !q.keeps_limits) {
        warnings.push(format!(
            "no whole steps of the screws keep every limit: the plan leaves {:.4} mm/m of tilt \
             against {:.4} mm/m allowed, and comes within {:.4} mm of screw of every limit; use \
             finer steps or shims, or widen the limits",
            1e3 * after.worst_tilt(),
            1e3 * request.level_tolerance,
            1e3 * q.excess
        ));
    }
    warnings.extend(carried(&inst.mounts, &before.load, "as it stands"));
    warnings.extend(carried(&inst.mounts, &after.load, "after the plan"));
    let way = OnTheWay {
        load_min: inst.mounts.iter().map(|m| m.load_range.min.unwrap_or(0.0)).collect(),
        load_max: inst.mounts.iter().map(|m| m.load_range.max.unwrap_or(f64::INFINITY)).collect(),
        tilt: request.tilt_on_the_way.unwrap_or(f64::INFINITY),
    };
    let sequence = sequence(&influence, &before, &target, &adjustment, &step, &way);
    if !sequence.keeps_limits {
        warnings.push(
            "every order of turns overloads or unloads a mount, or tilts the machine beyond its \
             limit, on the way: relieve the machine with jacks at its stated points, or widen the \
             limits"
                .into(),
        );
    }
    let drift = Drift::of(inst, case, &influence)?;
    let lost = drift.lost(after.tilt, request.age, request.level_tolerance)?;
    Ok(Outcome::Plan(Box::new(LevelingPlan {
        turns: screws.iter().zip(&adjustment).map(|(s, a)| s.and_then(|s| s.turns(*a))).collect(),
        objective: request.objective.of(&adjustment),
        stations: stations.into_iter().map(|s| s.moved(&influence, &moved)).collect(),
        cases: levels(inst, request, &after)?,
        later: later(&drift, after.tilt, request.age)?,
        lost_after: lost.map(|age| age - request.age),
        request: request.clone(),
        settlement,
        screws,
        optimum,
        adjustment,
        conditions,
        quantized,
        target,
        before,
        after,
        sequence,
        drift,
        warnings,
        influence,
    })))
}

/// Loads that a machine is to have sum to its weight.
fn carries_all(request: &Request, target: &[f64], own: &[f64]) -> Result<()> {
    let (wanted, weight): (f64, f64) = (target.iter().sum(), own.iter().sum());
    if request.target.is_none() || (wanted - weight).abs() <= 0.02 * weight.abs() {
        return Ok(());
    }
    Err(Error::invalid(
        "target",
        format!("{wanted:.6e} N in all"),
        format!("must sum to the {weight:.6e} N that the mounts carry, within 2 %"),
        "scale the target loads, or correct the weight of the machine",
    ))
}

/// Decompositions must not see what is no number.
fn refuse_overflow(limits: &Limits) -> Result<()> {
    let numbers = limits.rows.iter().flat_map(|l| l.row.iter().chain([&l.bound, &l.gives]));
    if numbers.clone().all(|x| x.is_finite() && x.abs() < 1e100) {
        return Ok(());
    }
    Err(Error::NotConverged {
        what: "the leveling plan".into(),
        detail: "its limits are too large or too small for numbers".into(),
        remedy: "check the units of settlement, readings, tolerance and stiffness".into(),
    })
}

/// Least and greatest adjustment of each screw, m.
fn travel(inst: &Installation, request: &Request, warnings: &mut Vec<String>) -> Vec<[f64; 2]> {
    let none = [f64::NEG_INFINITY, f64::INFINITY];
    let stated: Vec<[f64; 2]> = match &request.travel {
        Some(travel) => travel.clone(),
        None => {
            let of = |m: &Mount| m.screw.map_or(none, |s| [-s.down, s.up]);
            inst.mounts.iter().map(of).collect()
        }
    };
    let unknown: Vec<&str> = inst
        .mounts
        .iter()
        .zip(&stated)
        .filter(|(_, t)| t[1].is_infinite())
        .map(|(m, _)| m.name.as_str())
        .collect();
    if !unknown.is_empty() {
        warnings.push(format!(
            "travel of the screws is not stated for {}: check that what is left suffices",
            unknown.join(", ")
        ));
    }
    let mut eaten = Vec::new();
    let kept = stated
        .iter()
        .zip(&inst.mounts)
        .map(|([low, high], mount)| {
            if request.reserve > -low || request.reserve > *high {
                eaten.push(mount.name.as_str());
            }
            let low = if request.raise_only { 0.0 } else { (low + request.reserve).min(0.0) };
            [low, (high - request.reserve).max(0.0)]
        })
        .collect();
    if request.reserve > 0.0 && !eaten.is_empty() {
        warnings.push(format!(
            "less travel than the reserve is left at {}: these screws are not moved that way",
            eaten.join(", ")
        ));
    }
    kept
}

/// The screw of each mount, by the request or its own.
fn screws(inst: &Installation, request: &Request) -> Vec<Option<Screw>> {
    let asked = request.screw.map(|(pitch, steps_per_turn)| Screw {
        pitch,
        steps_per_turn,
        down: f64::INFINITY,
        up: f64::INFINITY,
        is_shims: false,
    });
    inst.mounts.iter().map(|m| asked.or(m.screw)).collect()
}

/// Level at every station as it stands.
fn stations(request: &Request, before: &State) -> Vec<StationLevel> {
    let Some(plane) = &request.plane else { return Vec::new() };
    let readings = plane.readings.iter().zip(&plane.corrected);
    readings
        .filter_map(|(reading, &value)| {
            let Quantity::Level { along, .. } = reading.quantity else { return None };
            let plane = before.tilt[0] * along[1] - before.tilt[1] * along[0];
            Some(StationLevel {
                name: reading.station.clone(),
                at: reading.at,
                along,
                before: value,
                after: value,
                own: value - plane,
            })
        })
        .collect()
}

/// Level in every load case: the change of tilt against the case in which it was leveled.
fn levels(inst: &Installation, request: &Request, after: &State) -> Result<Vec<CaseLevel>> {
    let base = equilibrium(inst, request.case.as_deref(), false, None)?.0.tilt;
    let mut levels = Vec::new();
    for (name, body, _) in inst.all_cases() {
        let case = (name != AS_IT_RUNS).then_some(name);
        let (statics, _) = equilibrium(inst, case, false, None)?;
        let amplification = stability(&inst.system_of(body), &statics)?.map(|s| s.amplification);
        let change = [0, 1].map(|i| statics.tilt[i] - base[i]);
        let amplified =
            |i: usize| if change[i] == 0.0 { 0.0 } else { change[i] * amplification[i] };
        levels.push(CaseLevel {
            case: name.to_owned(),
            tilt: [0, 1].map(|i| after.tilt[i] + change[i]),
            amplification,
            tilt_with_gravity: [0, 1].map(|i| after.tilt[i] + amplified(i)),
        });
    }
    Ok(levels)
}

fn later(drift: &Drift, tilt: [f64; 2], age: f64) -> Result<Vec<Later>> {
    let day = 86_400.0;
    [("day 1", day), ("week 1", 7.0 * day), ("month 1", 30.0 * day), ("year 1", 365.0 * day)]
        .into_iter()
        .map(|(when, after)| {
            let tilt = drift.tilt_at(tilt, age, age + after)?;
            Ok(Later { when: when.into(), after, tilt })
        })
        .collect()
}
