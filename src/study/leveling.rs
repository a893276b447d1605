//! What the study says about leveling: checks for the verdict, a section of the summary.

use std::fmt::Write as _;

use super::Study;
use super::text::{in_unit, table};
use crate::analysis::leveling::tolerance::COMMON_PRACTICE;
use crate::analysis::leveling::{
    LevelingPlan, OneTurn, Outcome, Plane, Quantity, Request, one_turn_words, parallelism, setting,
};
use crate::checks::Check;
use crate::error::Result;
use crate::support::Mount;

const USER: &str = "leveling limits of the job";
const DAY: f64 = 86_400.0;

/// Can it be leveled within its limits, how much tilt stays, do the readings agree with a plane?
pub fn checks(asked: &Request, outcome: &Outcome, mounts: &[Mount]) -> Result<Vec<Check>> {
    let (kept, tilt, case) = match outcome {
        Outcome::Plan(plan) => {
            let whole = plan.quantized.as_ref().is_none_or(|q| q.keeps_limits);
            (whole && plan.sequence.keeps_limits, plan.after.worst_tilt(), "after the plan")
        }
        Outcome::Conflict(conflict) => {
            (false, conflict.before.worst_tilt(), "no plan: as it stands")
        }
    };
    // Rounding is no fault.
    let near = |value: f64, limit: f64| {
        if value > limit && value <= limit * (1.0 + 1e-9) + 1e-12 { limit } else { value }
    };
    // Against zero the margin is one or minus one: it governs nothing that holds.
    let possible = if kept { 1.0 } else { -1.0 };
    let tolerance = asked.level_tolerance;
    let mut all = vec![
        Check::at_least("leveling within its limits (1: can be done, -1: not)", possible, 0.0, "")?,
        Check::at_most("tilt after leveling", near(tilt, tolerance), tolerance, "rad")?
            .in_case(case),
    ];
    if let Some(plane) = &asked.plane {
        let limit = plane.twist_limit;
        if let (Some(twist), Some(limit)) = (plane.twist, limit) {
            let question = "twist of the level readings between opposite ends";
            all.push(Check::at_most(question, twist.value.abs(), limit, "rad")?);
        }
        // Stations of the bed with a limit of their own are judged by that one.
        let own = asked.surfaces.bed_tolerance.is_some();
        let counts = |name: &String| !(own && asked.surfaces.bed.contains(name));
        let worst = worst_level(plane, outcome, counts);
        let question = "level left at the worst station";
        // Twist stays where the machine is set exactly level.
        let limit = if tolerance > 0.0 { tolerance } else { limit.unwrap_or(COMMON_PRACTICE) };
        all.push(Check::at_most(question, near(worst, limit), limit, "rad")?.in_case(case));
    }
    all.extend(loads(outcome, mounts, case)?);
    all.extend(surfaces(asked, outcome, case)?);
    Ok(all.into_iter().map(|check| check.from_source(USER)).collect())
}

/// Greatest level at the stations that count: after the plan, or as it stands where there is none.
fn worst_level(plane: &Plane, outcome: &Outcome, counts: impl Fn(&String) -> bool) -> f64 {
    let worst = |levels: &mut dyn Iterator<Item = f64>| levels.map(f64::abs).fold(0.0, f64::max);
    match outcome {
        Outcome::Plan(plan) => {
            worst(&mut plan.stations.iter().filter(|s| counts(&s.name)).map(|s| s.after))
        }
        Outcome::Conflict(_) => {
            let read = plane.readings.iter().zip(&plane.corrected);
            let levels = read.filter(|(r, _)| matches!(r.quantity, Quantity::Level { .. }));
            worst(&mut levels.filter(|(r, _)| counts(&r.station)).map(|(_, value)| *value))
        }
    }
}

/// Loads after the plan against what the mounts may carry; a foot cannot pull.
fn loads(outcome: &Outcome, mounts: &[Mount], case: &str) -> Result<Vec<Check>> {
    let load = match outcome {
        Outcome::Plan(plan) => &plan.after.load,
        Outcome::Conflict(conflict) => &conflict.before.load,
    };
    let (mut least, mut greatest) = (Vec::new(), Vec::new());
    for (mount, &load) in mounts.iter().zip(load) {
        let case = format!("{case}, {}", mount.name);
        let min = mount.load_range.min.unwrap_or(0.0);
        least.push(
            Check::at_least("least load of a mount after leveling", load, min, "N")?.in_case(&case),
        );
        if let Some(max) = mount.load_range.max {
            let question = "greatest load of a mount after leveling";
            greatest.push(Check::at_most(question, load, max, "N")?.in_case(&case));
        }
    }
    let worst = |all: Vec<Check>| all.into_iter().min_by(|a, b| a.margin.total_cmp(&b.margin));
    Ok([worst(least), worst(greatest)].into_iter().flatten().collect())
}

/// Level of the bed after the plan, and the slide against the bed, where they have limits.
fn surfaces(asked: &Request, outcome: &Outcome, case: &str) -> Result<Vec<Check>> {
    let Some(plane) = &asked.plane else { return Ok(Vec::new()) };
    let own = &asked.surfaces;
    let mut all = Vec::new();
    if let Some(limit) = own.bed_tolerance {
        let worst = worst_level(plane, outcome, |name| own.bed.contains(name));
        all.push(
            Check::at_most("level left at the worst station of the bed", worst, limit, "rad")?
                .in_case(case),
        );
    }
    if let Some(limit) = own.slide_parallelism {
        let found = parallelism(plane, &own.slide);
        let worst = found.iter().max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()));
        let (station, off) = worst.map_or(("", 0.0), |(name, off)| (name.as_str(), off.abs()));
        let question = "slide out of parallel with the bed";
        all.push(Check::at_most(question, off, limit, "rad")?.in_case(station));
    }
    Ok(all)
}

/// The section of the summary.
pub fn section(study: &Study, text: &mut String) {
    let Some(outcome) = &study.results.leveling else { return };
    text.push_str("## Leveling\n\n");
    match outcome {
        Outcome::Plan(plan) => planned(study, plan, text),
        Outcome::Conflict(conflict) => {
            let _ = writeln!(
                text,
                "**NO** adjustment keeps all limits. In conflict: {}. To resolve it: {}.\n",
                conflict.words(),
                conflict.remedy()
            );
        }
    }
}

/// What one turn of each screw does to every load, to the tilt and to the level at every station.
fn influence(study: &Study, plan: &LevelingPlan, text: &mut String) {
    let names = &plan.influence.mount_names;
    let mut header: Vec<String> = vec!["raised".into(), "by".into()];
    header.extend(names.iter().map(|name| format!("load of {name}")));
    header.extend(["tilt about x".into(), "tilt about y".into()]);
    header.extend(plan.stations.iter().map(|s| format!("level at {}", s.name)));
    let turns = plan.one_turn();
    // What is nothing but rounding beside its like.
    let largest = |of: &dyn Fn(&OneTurn) -> Vec<f64>| {
        turns.iter().flat_map(of).map(f64::abs).fold(0.0, f64::max)
    };
    let load = largest(&|t| t.load.clone());
    let angle = largest(&|t| t.tilt.iter().chain(&t.level).copied().collect());
    let cell = |value: f64, scale: f64, si: &str| {
        in_unit(study, if value.abs() <= 1e-9 * scale { 0.0 } else { value }, si)
    };
    let row = |(j, turn): (usize, &OneTurn)| {
        let what = one_turn_words(plan.screws[j].as_ref());
        let lift = in_unit(study, turn.lift, "m");
        let by = if plan.screws[j].is_some() { format!("{what}, {lift}") } else { lift };
        let mut cells = vec![names[j].clone(), by];
        cells.extend(turn.load.iter().map(|f| cell(*f, load, "N")));
        cells.extend(turn.tilt.iter().chain(&turn.level).map(|t| cell(*t, angle, "rad")));
        cells
    };
    let rows: Vec<Vec<String>> = turns.iter().enumerate().map(row).collect();
    text.push_str("What one turn changes (clockwise from above raises):\n\n");
    let header: Vec<&str> = header.iter().map(String::as_str).collect();
    table(text, &header, &rows);
}

fn planned(study: &Study, plan: &LevelingPlan, text: &mut String) {
    let tilt = |t: [f64; 2]| {
        format!("about x {}, about y {}", in_unit(study, t[0], "rad"), in_unit(study, t[1], "rad"))
    };
    let _ = writeln!(
        text,
        "Tilt now: {}; after the plan: {}; tolerance {}.\n",
        tilt(plan.before.tilt),
        tilt(plan.after.tilt),
        in_unit(study, plan.request.level_tolerance, "rad")
    );
    let names = &plan.influence.mount_names;
    let rows: Vec<Vec<String>> = plan
        .sequence
        .steps
        .iter()
        .enumerate()
        .map(|(i, step)| {
            let screw = plan.screws[step.mount].as_ref();
            vec![
                format!("{}", i + 1),
                names[step.mount].clone(),
                setting::words(screw, step.adjustment),
                in_unit(study, step.adjustment, "m"),
                in_unit(study, step.state.load[step.mount], "N"),
                in_unit(study, step.state.tilt[0], "rad"),
                in_unit(study, step.state.tilt[1], "rad"),
            ]
        })
        .collect();
    if rows.is_empty() {
        text.push_str("No screw needs to be turned.\n\n");
    } else {
        let header = [
            "order",
            "mount",
            "setting",
            "height, up positive",
            "its load then",
            "tilt about x then",
            "about y then",
        ];
        table(text, &header, &rows);
    }
    influence(study, plan, text);
    let levels: Vec<Vec<String>> = plan
        .cases
        .iter()
        .map(|level| {
            let cell = |t: f64| in_unit(study, t, "rad");
            let [x, y] = level.tilt_with_gravity;
            vec![level.case.clone(), cell(x), cell(y)]
        })
        .collect();
    if levels.len() > 1 {
        text.push_str("Level in each load case after the plan, gravity included:\n\n");
        table(text, &["case", "tilt about x", "about y"], &levels);
    }
    let lost = match plan.lost_after {
        Some(after) if after < DAY => {
            "Creep takes the level out of its tolerance within a day".into()
        }
        Some(after) => {
            format!("Creep takes the level out of its tolerance after {:.0} days", after / DAY)
        }
        None => "Creep does not take the level out of its tolerance".to_owned(),
    };
    let _ = writeln!(
        text,
        "{lost}. Check again at week 1 and month 1; look for short circuits first. The work sheet is \
         leveling_sheet.html.\n"
    );
}
