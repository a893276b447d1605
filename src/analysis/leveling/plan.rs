//! Which screw, which way, by how much, in which order?
//!
//! From the machine as it stands now (settlement, readings, or screws never set) to one that is
//! level and carries its loads: a convex program over the adjustments a (module `solve`), whole
//! steps of the screws (`quantize`), an order of work (`sequence`), and what level and load then
//! are at every station and in every load case.
//!
//! Target loads are by default those of the level machine on true feet. The tilt of a load case
//! other than the one in which the machine is leveled is that of its statics, amplified by
//! 1 / (1 - m g h / k_theta) as gravity does to any change of tilt after leveling.
//!
//! Limits: small motions; every mount stays in contact (a load band or load range keeps it so).

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::super::statics::stability;
use super::conditions::{Conditions, conditions};
use super::infeasible::{Conflict, explain};
use super::influence::{Influence, equilibrium};
use super::limits::{LimitKind, Limits};
use super::quantize::{Quantized, quantize};
use super::request::{Request, Start};
use super::sequence::{OnTheWay, Sequence, sequence};
use super::settlement::{Drift, State};
use super::solve::{Answer, solve};
use super::tolerance::{COMMON_PRACTICE, StationLevel};
use crate::error::{Error, Result};
use crate::installation::{AS_IT_RUNS, Installation};
use crate::support::Mount;

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
    /// The exact optimum, m, up positive.
    pub optimum: Vec<f64>,
    /// What is to be set, m, up positive: whole steps where the screws have steps.
    pub adjustment: Vec<f64>,
    /// Turns of each screw, up positive; `None` without a pitch.
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
    let mut warnings = even.warnings.clone();
    let before = now(request, &influence, own, even.tilt, &mut warnings)?;
    let travel = travel(inst, request, &mut warnings);
    let limits = limits(request, &influence, &before, &target, &travel);
    refuse_overflow(&limits)?;
    let names = &influence.mount_names;
    if !limits.hopeless.is_empty() {
        return explain(&limits, names, &before).map(Outcome::Conflict);
    }
    let optimum = match solve(&limits, request.objective, n)? {
        Answer::Found(a) => a,
        Answer::Infeasible => return explain(&limits, names, &before).map(Outcome::Conflict),
    };
    let conditions = conditions(&limits, request.objective, &optimum);
    if !conditions.hold() {
        return Err(Error::NotConverged {
            what: "the leveling plan".into(),
            detail: format!(
                "its optimality conditions are off by {:.1e} (limits) and {:.1e} (gradient)",
                conditions.excess / conditions.length,
                conditions.stationarity
            ),
            remedy: "widen the tolerance or the load band a little".into(),
        });
    }
    let screws = screws(inst, request);
    let step: Vec<f64> = screws.iter().map(|s| s.map_or(0.0, |(p, k)| p / f64::from(k))).collect();
    let quantized = step
        .iter()
        .any(|s| *s > 0.0)
        .then(|| quantize(&limits, request.objective, &optimum, &step));
    let adjustment =
        quantized.as_ref().map_or_else(|| optimum.as_slice().to_vec(), |q| q.adjustment.clone());
    let after = before.moved(&influence, &DVector::from_column_slice(&adjustment));
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
    warnings.extend(carried(inst, &before.load, "as it stands"));
    warnings.extend(carried(inst, &after.load, "after the plan"));
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
        turns: screws
            .iter()
            .zip(&adjustment)
            .map(|(screw, a)| screw.map(|(pitch, _)| a / pitch))
            .collect(),
        objective: request.objective.of(&adjustment),
        stations: stations(request, &influence, &before, &adjustment),
        cases: levels(inst, request, &after)?,
        later: later(&drift, after.tilt, request.age)?,
        lost_after: lost.map(|age| age - request.age),
        request: request.clone(),
        optimum: optimum.as_slice().to_vec(),
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

/// What loads mean that no foot can carry, or is not made to carry.
fn carried(inst: &Installation, load: &[f64], when: &str) -> Vec<String> {
    let which = |bad: &dyn Fn(&Mount, f64) -> bool| -> Vec<String> {
        let found = inst.mounts.iter().zip(load).filter(|(m, f)| bad(m, **f));
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

/// The machine as it stands now.
fn now(
    request: &Request,
    influence: &Influence,
    load: Vec<f64>,
    even_tilt: [f64; 2],
    warnings: &mut Vec<String>,
) -> Result<State> {
    let tilt = if request.start == Start::Even { even_tilt } else { [0.0; 2] };
    let mut state = State { load, tilt, twist: 0.0 };
    if let Some(settlement) = &request.settlement {
        state = state.settled(influence, settlement)?;
    }
    if let Some(plane) = &request.plane {
        let read = plane.tilt();
        if request.settlement.is_some() {
            let off = (0..2).map(|i| (read[i] - state.tilt[i]).abs()).fold(0.0, f64::max);
            if off > request.level_tolerance.max(COMMON_PRACTICE) {
                warnings.push(format!(
                    "readings and surveyed settlement disagree by {:.4} mm/m of tilt: the plan takes \
                     the level from the readings and the loads from the settlement; check both",
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

fn limits(
    request: &Request,
    influence: &Influence,
    before: &State,
    target: &[f64],
    travel: &[[f64; 2]],
) -> Limits {
    let n = target.len();
    let mut limits = Limits::default();
    let full = influence.tilt.row_iter().map(|r| r.norm()).fold(0.0, f64::max);
    for axis in 0..2 {
        let row = influence.tilt.row(axis).transpose();
        let (now, tolerance) = (before.tilt[axis], request.level_tolerance);
        if tolerance == 0.0 {
            limits.add_exact(LimitKind::Level(axis, 0), row, -now, full);
        } else {
            limits.add(LimitKind::Level(axis, 1), row.clone(), tolerance - now, 1.0, full);
            limits.add(LimitKind::Level(axis, -1), -row, tolerance + now, 1.0, full);
        }
    }
    if let Some(band) = request.load_band {
        let mean = target.iter().map(|f| f.abs()).sum::<f64>() / n as f64;
        // A load that a whole meter of screw changes by less than its mean does not move at all.
        let full = influence.load.diagonal().amax().max(mean);
        for i in 0..n {
            let row = influence.load.row(i).transpose();
            let (now, aim) = (before.load[i], target[i]);
            let gives = aim.abs();
            limits.add(LimitKind::LoadLow(i), -row.clone(), now - (1.0 - band) * aim, gives, full);
            limits.add(LimitKind::LoadHigh(i), row, (1.0 + band) * aim - now, gives, full);
        }
    }
    for (i, [low, high]) in travel.iter().enumerate() {
        let unit = |sign: f64| DVector::from_fn(n, |j, _| if i == j { sign } else { 0.0 });
        if low.is_finite() {
            limits.add(LimitKind::Down(i), unit(-1.0), -low, 1.0, 1.0);
        }
        if high.is_finite() {
            limits.add(LimitKind::Up(i), unit(1.0), *high, 1.0, 1.0);
        }
    }
    limits
}

fn screws(inst: &Installation, request: &Request) -> Vec<Option<(f64, u32)>> {
    match request.screw {
        Some(screw) => vec![Some(screw); inst.mounts.len()],
        None => inst.mounts.iter().map(|m| m.screw.map(|s| (s.pitch, s.steps_per_turn))).collect(),
    }
}

fn stations(
    request: &Request,
    influence: &Influence,
    before: &State,
    adjustment: &[f64],
) -> Vec<StationLevel> {
    let Some(plane) = &request.plane else { return Vec::new() };
    let a = DVector::from_column_slice(adjustment);
    let readings = plane.readings.iter().zip(&plane.corrected);
    readings
        .filter_map(|(reading, value)| {
            let super::readings::Quantity::Level { along, .. } = reading.quantity else {
                return None;
            };
            let at = [reading.at[0], reading.at[1]];
            let plane = before.tilt[0] * along[1] - before.tilt[1] * along[0];
            Some(StationLevel {
                name: reading.station.clone(),
                at: reading.at,
                along,
                before: *value,
                after: value + influence.station(at, along).dot(&a),
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
