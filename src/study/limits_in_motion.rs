//! Checks of the moving machine that the limits of a job ask for: walking, contact, single points,
//! interfaces, in every shock and under every steady load.

use nalgebra::Vector3;

use super::events::LEFT;
use super::results::{CaseResult, HarmonicResult, Results, ShockResult, peak_displacement};
use super::running::Running;
use super::verdicts::{Asked, USER, about, case_of, general, one_by_one};
use crate::analysis::Response;
use crate::analysis::instant::{History, Length, Steady, greatest};
use crate::analysis::transient::Transient;
use crate::checks::{
    Borne, Check, Feet, Interface, allowed_in_motion, contact_reserve, dynamic_contact,
    dynamic_load, lateral, mount, sliding, walking,
};
use crate::error::Result;
use crate::installation::{AS_IT_RUNS, Point, port};
use crate::job::{EventLoad, Job};
use crate::support::LoadRange;

/// All of them.
pub fn checks(job: &Job, results: &Results) -> Result<Vec<Asked>> {
    let mut all = Vec::new();
    for shock in &results.shocks {
        let Some(case) = case(results, &shock.case) else { continue };
        let up = lifts(shock);
        all.extend(reserves(job, case, &up, &shock.name)?.into_iter().map(general));
        all.extend(shaken(job, case, shock)?.into_iter().map(general));
        all.extend(squeezed(job, case, shock)?);
    }
    all.extend(left(job, results)?.into_iter().map(general));
    for load in &results.harmonics {
        let Some(case) = case(results, AS_IT_RUNS) else { continue };
        all.extend(loads(job, results, load)?);
        let peaks = &load.mount_force;
        all.extend(reserves(job, case, peaks, &load.name)?.into_iter().map(general));
        all.extend(swung(job, case, load)?.into_iter().map(general));
        all.extend(swayed(job, case, load)?);
    }
    for run in results.slide.iter().flat_map(|slide| &slide.running) {
        let Some(case) = case(results, &run.case) else { continue };
        all.extend(running_loads(job, results, run)?);
        let up = run.mount_force.iter().map(|f| f[2].max.value.max(0.0)).collect::<Vec<_>>();
        all.extend(reserves(job, case, &up, &run.name)?.into_iter().map(general));
        all.extend(runs(job, case, run)?.into_iter().map(general));
    }
    for interface in &job.limits.interfaces {
        all.extend(swing(interface, results)?.into_iter().map(general));
    }
    Ok(all)
}

fn case<'a>(results: &'a Results, name: &str) -> Option<&'a CaseResult> {
    results.cases.iter().find(|c| c.name == name)
}

/// What is left of each blow when the next one falls.
fn left(job: &Job, results: &Results) -> Result<Vec<Check>> {
    let mut all = Vec::new();
    for event in &job.events {
        let EventLoad::Struck { left_max: Some(most), .. } = event.load else { continue };
        let found = results.shocks.iter().find(|s| s.name == event.name);
        let fact = found.and_then(|s| s.facts.iter().find(|f| f.what == LEFT));
        let Some(fact) = fact else { continue };
        let check = Check::at_most(LEFT.to_owned(), fact.value, most, "")?;
        all.push(check.in_case(&event.name).from_source(USER));
    }
    Ok(all)
}

/// Greatest lift of each mount in a shock, N.
fn lifts(shock: &ShockResult) -> Vec<f64> {
    shock.mount_force.iter().skip(2).step_by(3).map(|e| e.max.value.max(0.0)).collect()
}

/// The responses to the two senses of rotation, or the one of a load that swings in place.
fn ways(load: &HarmonicResult) -> impl Iterator<Item = &Response> {
    std::iter::once(&load.response).chain(&load.reversed)
}

/// Static plus dynamic load of each mount, and contact, under a steady load.
fn loads(job: &Job, results: &Results, load: &HarmonicResult) -> Result<Vec<Asked>> {
    let still = case_of(AS_IT_RUNS, results)?;
    let ranges: Vec<LoadRange> = job.installation.mounts.iter().map(|m| m.load_range).collect();
    let mut peaks = load.mount_force.clone();
    // What stands behind the mounts in the list (a pipe) has no range.
    peaks.truncate(ranges.len());
    let mut all = Vec::new();
    for (i, only) in one_by_one(&ranges).enumerate() {
        let checks = dynamic_load(&still, &peaks, &only, &load.name)?;
        all.extend(checks.into_iter().map(|c| about(c, i)));
    }
    let contact = dynamic_contact(&still, &peaks, &load.name)?;
    all.extend(contact.into_iter().enumerate().map(|(i, c)| about(c, i)));
    Ok(all)
}

/// The part of its static load that stays in each mount.
fn reserves(job: &Job, case: &CaseResult, lifts: &[f64], load: &str) -> Result<Vec<Check>> {
    let Some(reserve) = job.limits.contact_reserve else { return Ok(Vec::new()) };
    let names = case.statics.mount_names.iter().zip(case.statics.load.column(2));
    names
        .zip(lifts)
        .filter(|((name, _), _)| job.installation.mounts.iter().any(|m| m.name == **name))
        .map(|((name, still), lift)| {
            let check = contact_reserve(&mount(name), *still, *lift, reserve, load)?;
            Ok(check.from_source(USER))
        })
        .collect()
}

/// Friction and limits of single points in one shock.
fn shaken(job: &Job, case: &CaseResult, shock: &ShockResult) -> Result<Vec<Check>> {
    let motion = &shock.shock.transient;
    let mut all = Vec::new();
    if let (Some(friction), Some(found)) = (&job.limits.friction, &shock.sliding) {
        all.extend(walking(found, friction, &shock.name)?);
    }
    if let Some(limit) = job.limits.lateral {
        let feet = Feet::new(motion.linear(), &case.statics)?;
        let output = feet.output(motion)?;
        let joint = motion.joint(&output)?;
        all.push(lateral(&feet, &joint, limit, &shock.name)?.from_source(USER));
    }
    for limit in &job.limits.points {
        let Some(found) = shock.points.iter().find(|p| p.point == limit.point) else { continue };
        let peaks = [&found.displacement, &found.velocity, &found.acceleration].map(|p| p.value);
        all.extend(limit.judge(peaks, &shock.name, USER)?);
    }
    Ok(all)
}

/// The same under one steady load, for both senses of rotation.
fn swung(job: &Job, case: &CaseResult, load: &HarmonicResult) -> Result<Vec<Check>> {
    let mut all = Vec::new();
    let both = load.reversed.is_some();
    for (i, (response, way)) in ways(load).zip(["", ", turning the other way"]).enumerate() {
        let way = if both && way.is_empty() { ", turning right-handed" } else { way };
        let name = format!("{}{way}", load.name);
        let full = response.frequency.first().copied().unwrap_or(0.0);
        if let (Some(friction), Some((speed, found))) = (&job.limits.friction, load.sliding.get(i))
        {
            let name = match *speed == full {
                true => name.clone(),
                false => format!("{name}, running up through {speed:.2} Hz"),
            };
            all.extend(walking(found, friction, &name)?);
        }
        if let Some(limit) = job.limits.lateral {
            let feet = Feet::new(&response.linear, &case.statics)?;
            let steady = feet.steady(response, 0)?;
            all.push(lateral(&feet, &steady, limit, &name)?.from_source(USER));
        }
    }
    let omega = std::f64::consts::TAU * load.response.frequency.first().copied().unwrap_or(0.0);
    let peak = |point: &str| load.points.iter().find(|(name, _)| name == point).map(|p| p.1);
    for limit in &job.limits.points {
        let Some(moved) = peak(&limit.point) else { continue };
        all.extend(limit.judge([moved, moved * omega, moved * omega * omega], &load.name, USER)?);
    }
    if let Some(limit) = job.limits.motion {
        for (point, moved) in &load.points {
            let check = Check::at_most(format!("peak motion of {point}"), *moved, limit, "m")?;
            all.push(check.in_case(&load.name).from_source(USER));
        }
    }
    Ok(all)
}

/// Static plus dynamic load of each mount, and contact, while the machine runs.
fn running_loads(job: &Job, results: &Results, run: &Running) -> Result<Vec<Asked>> {
    let still = case_of(&run.case, results)?;
    let ranges: Vec<LoadRange> = job.installation.mounts.iter().map(|m| m.load_range).collect();
    let vertical = || run.mount_force.iter().map(|f| &f[2]).take(ranges.len());
    let down: Vec<f64> = vertical().map(|z| (-z.min.value).max(0.0)).collect();
    let up: Vec<f64> = vertical().map(|z| z.max.value.max(0.0)).collect();
    let mut all = Vec::new();
    for (i, only) in one_by_one(&ranges).enumerate() {
        let checks = dynamic_load(&still, &down, &only, &run.name)?;
        all.extend(checks.into_iter().map(|c| about(c, i)));
    }
    let contact = dynamic_contact(&still, &up, &run.name)?;
    all.extend(contact.into_iter().enumerate().map(|(i, c)| about(c, i)));
    Ok(all)
}

/// Friction, motion and floor force while the machine runs.
fn runs(job: &Job, case: &CaseResult, run: &Running) -> Result<Vec<Check>> {
    let mut all = Vec::new();
    if wants_feet(job) {
        let (body, _) = job.installation.case(Some(&run.case))?;
        let linear = job.installation.system_of(body).linear();
        let feet = Feet::new(&linear, &case.statics)?;
        all.extend(held(job, &feet, &feet.running(&run.steady)?, &run.name)?);
    }
    for limit in &job.limits.points {
        let Some(found) = run.points.iter().find(|p| p.point == limit.point) else { continue };
        all.extend(limit.judge(found.peaks, &run.name, USER)?);
    }
    if let Some(limit) = job.limits.motion {
        for point in &run.points {
            let question = format!("peak motion of {}", point.point);
            let check = Check::at_most(question, point.peaks[0], limit, "m")?;
            all.push(check.in_case(&run.name).from_source(USER));
        }
    }
    if let Some(limit) = job.limits.floor_force {
        let peak = run.ground_wrench[2].peak();
        let check = Check::at_most("peak vertical force on the floor", peak, limit, "N")?;
        all.push(check.in_case(&run.name).from_source(USER));
    }
    Ok(all)
}

/// Walking and sideways force of feet that have a history.
fn held(job: &Job, feet: &Feet, history: &impl History, name: &str) -> Result<Vec<Check>> {
    let mut all = Vec::new();
    if let Some(friction) = &job.limits.friction {
        all.extend(walking(&sliding(feet, history)?, friction, name)?);
    }
    if let Some(limit) = job.limits.lateral {
        all.push(lateral(feet, history, limit, name)?.from_source(USER));
    }
    Ok(all)
}

fn wants_feet(job: &Job) -> bool {
    job.limits.friction.is_some() || job.limits.lateral.is_some()
}

/// Limits of the parts that hold in motion, in one shock.
fn squeezed(job: &Job, case: &CaseResult, shock: &ShockResult) -> Result<Vec<Asked>> {
    in_motion(job, case, &shock.name, |i, still| {
        let motion = &shock.shock.transient;
        let at = job.installation.mounts[i].position;
        let output = motion
            .point_displacement(&port(&Point { name: String::new(), at }, &reference(motion)))?;
        let lowest = motion.extrema(&output).get(2).map_or(0.0, |e| e.min.value);
        let shear = greatest(&motion.joint(&output)?, &across(still, output.len()))?.value;
        let press = shock.mount_force.get(3 * i + 2).map_or(0.0, |e| e.min.value);
        Ok(Borne {
            compression: still.0.z + (-lowest).max(0.0),
            shear,
            load: still.1 + (-press).max(0.0),
        })
    })
}

/// The same under one steady load, in the sense of rotation that asks most.
fn swayed(job: &Job, case: &CaseResult, load: &HarmonicResult) -> Result<Vec<Asked>> {
    in_motion(job, case, &load.name, |i, still| {
        let at = job.installation.mounts[i].position;
        let mut borne = Borne::default();
        for response in ways(load) {
            let phasors = response.at(&at).row(0).to_vec();
            let swing = phasors[2].norm();
            let omega = std::f64::consts::TAU * response.frequency[0];
            let demand = across(still, phasors.len());
            let shear = greatest(&Steady { omega, phasors }, &demand)?.value;
            borne = Borne {
                compression: borne.compression.max(still.0.z + swing),
                shear: borne.shear.max(shear),
                load: still.1 + load.mount_force[i],
            };
        }
        Ok(borne)
    })
}

/// Static compression (m, axes of the floor) and load (N) of a mount.
type Still = (Vector3<f64>, f64);

fn in_motion(
    job: &Job,
    case: &CaseResult,
    load: &str,
    borne: impl Fn(usize, &Still) -> Result<Borne>,
) -> Result<Vec<Asked>> {
    let mut all = Vec::new();
    for (i, mount) in job.installation.mounts.iter().enumerate() {
        if !mount.allowed.iter().any(|limit| limit.in_motion) {
            continue;
        }
        let still = &case.statics;
        let squeezed = Vector3::from_fn(|axis, _| still.deflection[[i, axis]]);
        let borne = borne(i, &(squeezed, still.load[[i, 2]]))?;
        for check in allowed_in_motion(&mount.name, &mount.allowed, &borne, load)? {
            all.push(if check.unit == "N" { about(check, i) } else { general(check) });
        }
    }
    Ok(all)
}

fn reference(motion: &Transient) -> Vector3<f64> {
    motion.linear().reference
}

/// The length of a sideways deflection, its static part included: the mount is squeezed by what its
/// top moves the other way.
fn across(still: &Still, quantities: usize) -> Length {
    let mut offset = vec![0.0; quantities];
    offset.iter_mut().zip([still.0.x, still.0.y]).for_each(|(o, s)| *o = -s);
    Length { offset, vectors: vec![vec![0, 1]] }
}

/// Swing of an interface in every shock and under every steady load.
fn swing(interface: &Interface, results: &Results) -> Result<Vec<Check>> {
    if interface.dynamic_limit.is_none() {
        return Ok(Vec::new());
    }
    let mut swings: Vec<(&str, [f64; 3])> = Vec::new();
    for shock in &results.shocks {
        let motion = &shock.shock.transient;
        let point = Point { name: interface.name.clone(), at: interface.at };
        let output = motion.point_displacement(&port(&point, &motion.linear().reference))?;
        let peaks = motion.peaks(&output);
        let mut moved = [0.0; 3];
        moved.iter_mut().zip(&peaks).for_each(|(m, peak)| *m = peak.value);
        swings.push((&shock.name, moved));
    }
    for load in &results.harmonics {
        let mut moved = [0.0_f64; 3];
        for response in ways(load) {
            let there: [f64; 3] = peak_displacement(response, &Vector3::from(interface.at));
            moved.iter_mut().zip(there).for_each(|(m, peak)| *m = m.max(peak));
        }
        swings.push((&load.name, moved));
    }
    for run in results.slide.iter().flat_map(|slide| &slide.running) {
        let motion = run.steady.at(&Vector3::from(interface.at)).range();
        swings.push((&run.name, [0, 1, 2].map(|i| motion[i].peak())));
    }
    interface.swing(&swings)
}
