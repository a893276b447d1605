//! The same checks for an installation as a whole: statics, stability and feet are computed here.

use nalgebra::Vector3;
use ndarray::{ArrayView1, Axis as Along};
use num_complex::Complex64;

use super::{
    AMPLIFICATION_LIMIT, Budget, Check, Feet, Friction, Interface, Sideways, Sliding, allowed,
    contact_reserve, lateral, lateral_share, level_error, load_range, mount, rocking, screw_travel,
    sideways, sliding, stays_loaded, tipping, walking,
};
use crate::analysis::Response;
use crate::analysis::statics::{Stability, Statics, StaticsOptions, envelope, stability, statics};
use crate::analysis::transient::{Quantity, Shock};
use crate::error::{Error, Result};
use crate::installation::{AS_IT_RUNS, Installation, Point, port};
use crate::support::LoadRange;
use crate::system::{Axis, wrench_transfer};

/// A computed motion of an installation.
#[derive(Debug, Clone, Copy)]
pub enum Motion<'a> {
    /// A shock.
    Shock(&'a Shock),
    /// A steady response, each of its frequencies a load of its own.
    Steady(&'a Response),
}

/// One load case at rest.
struct Resting {
    name: String,
    statics: Statics,
    stability: [Stability; 2],
    center: Vector3<f64>,
}

fn resting(inst: &Installation) -> Result<Vec<Resting>> {
    inst.all_cases()
        .map(|(name, body, loads)| {
            let system = inst.system_of(body);
            let load = inst.static_load(body, loads);
            let statics = statics(&system, &load, &StaticsOptions::default())?;
            let stability = stability(&system, &statics)?;
            Ok(Resting { name: name.into(), statics, stability, center: *body.center() })
        })
        .collect()
}

fn named(cases: &[Resting]) -> Vec<(&str, &Statics)> {
    cases.iter().map(|c| (c.name.as_str(), &c.statics)).collect()
}

/// Load ranges, lift-off, limits of the parts and rocking, over all load cases.
///
/// # Errors
/// Those of the statics.
pub fn at_rest(inst: &Installation) -> Result<Vec<Check>> {
    let cases = resting(inst)?;
    let owned: Vec<_> = cases.iter().map(|c| (c.name.clone(), c.statics.clone())).collect();
    let all = envelope(&owned)?;
    let mut ranges: Vec<_> = inst.mounts.iter().map(|m| m.load_range).collect();
    ranges.resize(all.mount_names.len(), LoadRange::default());
    let mut checks = load_range(&all, &ranges)?;
    checks.extend(stays_loaded(&all)?);
    for mount in &inst.mounts {
        checks.extend(allowed(&mount.name, &mount.allowed, &named(&cases))?);
    }
    for axis in 0..2 {
        let ratio = |c: &Resting| c.stability[axis].ratio.max(c.stability[axis].load_ratio);
        if let Some(worst) = cases.iter().max_by(|a, b| ratio(a).total_cmp(&ratio(b))) {
            let one = &worst.stability[axis..=axis];
            checks.extend(rocking(one, AMPLIFICATION_LIMIT, &worst.name)?);
        }
    }
    Ok(checks)
}

/// Tipping, hold-down (N at each mount) and, if asked, the share of one mount, under a horizontal
/// acceleration (part of g) in every load case.
///
/// # Errors
/// As [`sideways`] and [`tipping`].
pub fn pushed(
    inst: &Installation,
    acceleration: f64,
    hold_down: f64,
    share: Option<f64>,
) -> Result<Vec<Check>> {
    let cases = resting(inst)?;
    let mut found: Vec<(&str, Vec<Sideways>)> = Vec::new();
    for case in &cases {
        let (body, _) = inst.case(Some(&case.name))?;
        let weight = body.mass() * inst.gravity;
        let system = inst.system_of(body);
        found.push((&case.name, sideways(&system, &case.statics, &case.stability, weight)?));
    }
    let mut checks = tipping(&found, acceleration, hold_down)?.to_vec();
    if let Some(limit) = share {
        checks.push(lateral_share(&found, limit)?);
    }
    Ok(checks)
}

/// Level error of every load case against the machine as it runs, the weight's own moment
/// included, about x and about y.
///
/// # Errors
/// Those of the statics; [`Error::Invalid`] for a limit (rad) that is not positive.
pub fn level(inst: &Installation, limit: f64) -> Result<Vec<Check>> {
    let cases = resting(inst)?;
    let Some(first) = cases.first() else { return Ok(Vec::new()) };
    let one = |(i, axis): (usize, Axis)| {
        let tilts: Vec<(&str, f64)> = cases
            .iter()
            .map(|case| {
                let change = case.statics.tilt[i] - first.statics.tilt[i];
                let grows = case.stability[i].amplification;
                (case.name.as_str(), if change == 0.0 { 0.0 } else { change * grows })
            })
            .collect();
        level_error(axis, &tilts, limit, "")
    };
    [(0, Axis::Rx), (1, Axis::Ry)].into_iter().map(one).collect()
}

/// Screw travel of every mount that has a screw.
///
/// # Errors
/// Those of the statics and of [`screw_travel`].
pub fn travel(inst: &Installation, budget: &Budget) -> Result<Vec<Check>> {
    let cases = resting(inst)?;
    screw_travel(&inst.mounts, &named(&cases), budget)
}

/// Shift of an interface over the load cases, and its swing in named motions.
///
/// # Errors
/// Those of the statics; [`Error::Unknown`] for a case that is not there.
pub fn interface(
    inst: &Installation,
    interface: &Interface,
    motions: &[(String, Motion<'_>)],
) -> Result<Vec<Check>> {
    let cases = resting(inst)?;
    let moved = |case: &Resting| -> Vector3<f64> {
        let motion = case.statics.displacement.fixed_rows::<6>(0);
        wrench_transfer(&interface.at, &case.center).tr_mul(&motion).fixed_rows::<3>(0).into()
    };
    let aligned = interface.aligned_in.as_deref().unwrap_or(AS_IT_RUNS);
    inst.case(Some(aligned))?;
    let start = cases.iter().find(|c| c.name == aligned).map(moved).unwrap_or_default();
    let shifts: Vec<(&str, [f64; 3])> =
        cases.iter().map(|c| (c.name.as_str(), (moved(c) - start).into())).collect();
    let mut checks = interface.shift(&shifts)?;
    let mut swings = Vec::new();
    for (name, motion) in motions {
        swings.push((name.as_str(), swing(motion, &interface.at)?));
    }
    checks.extend(interface.swing(&swings)?);
    Ok(checks)
}

/// Peak displacement of a point along x, y, z, m.
fn swing(motion: &Motion<'_>, at: &Vector3<f64>) -> Result<[f64; 3]> {
    let mut most = [0.0_f64; 3];
    match motion {
        Motion::Shock(shock) => {
            let motion = &shock.transient;
            let point = Point { name: String::new(), at: *at };
            let output = motion.point_displacement(&port(&point, &motion.linear().reference))?;
            let peaks = motion.peaks(&output);
            most.iter_mut().zip(&peaks).for_each(|(m, peak)| *m = peak.value);
        }
        Motion::Steady(response) => {
            for row in response.at(at).rows() {
                most.iter_mut().zip(row).for_each(|(m, z)| *m = m.max(z.norm()));
            }
        }
    }
    Ok(most)
}

/// What the feet must hold by friction in a motion of a load case; of a response one for each
/// frequency.
///
/// # Errors
/// [`Error::Invalid`] if the motion is not of that case; those of [`sliding`].
pub fn friction(
    inst: &Installation,
    case: Option<&str>,
    motion: &Motion<'_>,
) -> Result<Vec<Sliding>> {
    on_feet(inst, case, motion, &|feet, history, _| match history {
        Moving::Shock(joint) => sliding(feet, joint),
        Moving::Steady(steady) => sliding(feet, steady),
    })
}

/// Walking in a motion of a load case; of a response the frequency that asks most.
///
/// # Errors
/// As [`friction`].
pub fn walks(
    inst: &Installation,
    case: Option<&str>,
    motion: &Motion<'_>,
    allowed: &Friction,
    name: &str,
) -> Result<Vec<Check>> {
    let found = friction(inst, case, motion)?;
    let mut all = Vec::new();
    for (i, sliding) in found.iter().enumerate() {
        all.push(walking(sliding, allowed, &load_name(motion, i, name))?);
    }
    let most = |which: usize| {
        let checks = all.iter().map(|pair| &pair[which]);
        checks.max_by(|a, b| a.demand.total_cmp(&b.demand)).cloned()
    };
    Ok([most(0), most(1)].into_iter().flatten().collect())
}

/// Greatest horizontal force of one foot in a motion of a load case; of a response at the
/// frequency that asks most.
///
/// # Errors
/// As [`friction`]; [`Error::Invalid`] for a limit (N) that is not positive.
pub fn foot_force(
    inst: &Installation,
    case: Option<&str>,
    motion: &Motion<'_>,
    limit: f64,
    name: &str,
) -> Result<Vec<Check>> {
    let found = on_feet(inst, case, motion, &|feet, history, i| {
        let name = load_name(motion, i, name);
        match history {
            Moving::Shock(joint) => lateral(feet, joint, limit, &name),
            Moving::Steady(steady) => lateral(feet, steady, limit, &name),
        }
    })?;
    Ok(found.into_iter().max_by(|a, b| a.demand.total_cmp(&b.demand)).into_iter().collect())
}

/// The part of its static load that stays in each mount in a motion of a load case.
///
/// # Errors
/// As [`friction`]; [`Error::Invalid`] for a reserve outside 0 to 1.
pub fn contact(
    inst: &Installation,
    case: Option<&str>,
    motion: &Motion<'_>,
    reserve: f64,
    name: &str,
) -> Result<Vec<Check>> {
    let still = case_statics(inst, case, motion)?;
    let lifts: Vec<f64> = match motion {
        Motion::Shock(shock) => {
            let forces = shock.extrema(Quantity::MountForce);
            forces.iter().skip(2).step_by(3).map(|e| e.max.value.max(0.0)).collect()
        }
        Motion::Steady(response) => {
            let forces = response.mount_force()?;
            let vertical = forces.index_axis(Along(2), 2);
            let greatest =
                |f: ArrayView1<Complex64>| f.iter().map(|f| f.norm()).fold(0.0, f64::max);
            vertical.columns().into_iter().map(greatest).collect()
        }
    };
    let rows = still.mount_names.iter().zip(still.load.column(2)).zip(lifts);
    rows.filter(|((mount, _), _)| inst.mounts.iter().any(|m| m.name == **mount))
        .map(|((name_of, load), lift)| contact_reserve(&mount(name_of), *load, lift, reserve, name))
        .collect()
}

/// The history of a motion, as the searches take it.
enum Moving<'a> {
    Shock(&'a crate::analysis::transient::Joint<'a>),
    Steady(&'a crate::analysis::instant::Steady),
}

fn on_feet<T>(
    inst: &Installation,
    case: Option<&str>,
    motion: &Motion<'_>,
    work: &dyn Fn(&Feet, Moving<'_>, usize) -> Result<T>,
) -> Result<Vec<T>> {
    let still = case_statics(inst, case, motion)?;
    match motion {
        Motion::Shock(shock) => {
            let feet = Feet::new(shock.transient.linear(), &still)?;
            let output = feet.output(&shock.transient)?;
            let joint = shock.transient.joint(&output)?;
            Ok(vec![work(&feet, Moving::Shock(&joint), 0)?])
        }
        Motion::Steady(response) => {
            let (body, _) = inst.case(case)?;
            let feet = Feet::new(&inst.system_of(body).linear(), &still)?;
            (0..response.frequency.len())
                .map(|i| work(&feet, Moving::Steady(&feet.steady(response, i)?), i))
                .collect()
        }
    }
}

/// Statics of a case, if the motion is one of the same machine.
fn case_statics(inst: &Installation, case: Option<&str>, motion: &Motion<'_>) -> Result<Statics> {
    let (body, loads) = inst.case(case)?;
    let center = match motion {
        Motion::Shock(shock) => shock.transient.linear().reference,
        Motion::Steady(response) => response.center,
    };
    if center != *body.center() {
        let at = |v: &Vector3<f64>| format!("({}, {}, {}) m", v.x, v.y, v.z);
        return Err(Error::invalid(
            "case",
            case.unwrap_or(AS_IT_RUNS),
            format!(
                "must be the case of the motion, whose center of mass is at {}; here it is at {}",
                at(&center),
                at(body.center())
            ),
            "name the case that the motion was computed for",
        ));
    }
    let load = inst.static_load(body, loads);
    statics(&inst.system_of(body), &load, &StaticsOptions::default())
}

fn load_name(motion: &Motion<'_>, index: usize, name: &str) -> String {
    match motion {
        Motion::Shock(_) => name.into(),
        Motion::Steady(response) => {
            let frequency = response.frequency.get(index).copied().unwrap_or(0.0);
            format!("{name} at {frequency} Hz")
        }
    }
}
