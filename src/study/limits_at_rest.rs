//! Checks of the standing machine that the limits of a job ask for: parts, level, sideways
//! acceleration, interfaces, height, strokes.

use nalgebra::Vector3;

use super::results::{CaseResult, Results};
use super::verdicts::{Asked, USER, about, general};
use crate::analysis::statics::Statics;
use crate::checks::{
    Check, Interface, allowed, lateral_share, level_error, pass_line, rail_step, screw_travel,
    sideways, tipping,
};
use crate::error::Result;
use crate::installation::AS_IT_RUNS;
use crate::job::{Job, Judged};
use crate::system::{Axis, wrench_transfer};

/// All of them.
pub fn checks(job: &Job, results: &Results) -> Result<Vec<Asked>> {
    let mut all = parts(job, results)?;
    if let Some(limit) = job.limits.level {
        all.extend(level(job, results, limit)?.into_iter().map(general));
    }
    all.extend(rails(job, results)?.into_iter().map(general));
    all.extend(pushed(job, results)?.into_iter().map(general));
    for interface in &job.limits.interfaces {
        all.extend(shift(interface, results)?.into_iter().map(general));
    }
    all.extend(heights(job, results)?.into_iter().map(general));
    if let Some(limit) = &job.limits.duty {
        all.push(general(limit.duty.fatigue(limit.years, limit.endurance)?));
    }
    Ok(all)
}

fn named(results: &Results) -> Vec<(&str, &Statics)> {
    results.cases.iter().map(|c| (c.name.as_str(), &c.statics)).collect()
}

/// Limits of the part at each mount; a limit on a load also moves with an uneven floor.
fn parts(job: &Job, results: &Results) -> Result<Vec<Asked>> {
    let cases = named(results);
    let mut all = Vec::new();
    for (i, mount) in job.installation.mounts.iter().enumerate() {
        for check in allowed(&mount.name, &mount.allowed, &cases)? {
            all.push(if check.unit == "N" { about(check, i) } else { general(check) });
        }
    }
    Ok(all)
}

/// Tilt of each case against the machine as it runs, with the weight's own moment.
fn level(job: &Job, results: &Results, limit: f64) -> Result<Vec<Check>> {
    let Some(first) = results.cases.first() else { return Ok(Vec::new()) };
    let about = |i: usize, axis: Axis| {
        let tilts: Vec<(&str, f64)> = results
            .cases
            .iter()
            .map(|case| {
                let grows = match job.statics.gravity_stiffness {
                    true => 1.0,
                    false => case.stability[i].amplification,
                };
                let change = case.statics.tilt[i] - first.statics.tilt[i];
                (case.name.as_str(), if change == 0.0 { 0.0 } else { change * grows })
            })
            .collect();
        level_error(axis, &tilts, limit, USER)
    };
    [(0, Axis::Rx), (1, Axis::Ry)].into_iter().map(|(i, axis)| about(i, axis)).collect()
}

/// Step of each rail of a rolling bolster that is out, and its tilt half way.
fn rails(job: &Job, results: &Results) -> Result<Vec<Check>> {
    let mut all = Vec::new();
    for (asked, step) in job.steps.iter().zip(&results.rail_steps) {
        let limits = match asked.judged {
            Judged::Rise => [job.limits.rail_step, None],
            Judged::Tilt => [None, job.limits.rail_tilt],
            Judged::Nothing => continue,
        };
        let [x, y] = step.tilt;
        let tilt = if x.abs() > y.abs() { x } else { y };
        let cases = format!("{} to {}", step.from, step.to);
        all.extend(rail_step(&step.point, [step.rise, tilt], limits, &cases)?);
    }
    Ok(all)
}

/// Horizontal acceleration and share.
fn pushed(job: &Job, results: &Results) -> Result<Vec<Check>> {
    let limits = &job.limits;
    if limits.sideways.is_none() && limits.lateral_share.is_none() {
        return Ok(Vec::new());
    }
    let inst = &job.installation;
    let mut cases = Vec::new();
    for case in &results.cases {
        let (body, _) = inst.case(Some(&case.name))?;
        let system = inst.system_of(body);
        let weight = body.mass() * inst.gravity;
        let found = sideways(&system, &case.statics, &case.stability, weight)?;
        cases.push((case.name.as_str(), found));
    }
    let mut all = Vec::new();
    if let Some(limit) = &limits.sideways {
        all.extend(tipping(&cases, limit.acceleration, limit.hold_down)?);
    }
    if let Some(limit) = limits.lateral_share {
        all.push(lateral_share(&cases, limit)?.from_source(USER));
    }
    Ok(all)
}

/// Shift of an interface in each case, against the case in which it was aligned.
fn shift(interface: &Interface, results: &Results) -> Result<Vec<Check>> {
    let wanted = interface.aligned_in.as_deref().unwrap_or(AS_IT_RUNS);
    let Some(aligned) = results.cases.iter().find(|c| c.name == wanted) else {
        return Ok(Vec::new());
    };
    let start = moved(aligned, &interface.at);
    let shifts: Vec<(&str, [f64; 3])> = results
        .cases
        .iter()
        .map(|case| (case.name.as_str(), (moved(case, &interface.at) - start).into()))
        .collect();
    interface.shift(&shifts)
}

/// Static displacement of a point of the machine in a case, m.
fn moved(case: &CaseResult, at: &Vector3<f64>) -> Vector3<f64> {
    let motion = case.statics.displacement.fixed_rows::<6>(0);
    wrench_transfer(at, &case.center).tr_mul(&motion).fixed_rows::<3>(0).into()
}

fn heights(job: &Job, results: &Results) -> Result<Vec<Check>> {
    let Some(height) = &job.limits.height else { return Ok(Vec::new()) };
    let mut all = screw_travel(&job.installation.mounts, &named(results), &height.budget)?;
    if let (Some(line), Some(case)) = (&height.pass_line, results.cases.first()) {
        let found = line.at.z + moved(case, &line.at).z;
        all.push(pass_line(found, line.height, line.tolerance, &case.name)?);
    }
    Ok(all)
}
