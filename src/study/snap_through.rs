//! Work forces that break off: their figures, checks and section of the summary.

use std::fmt::Write as _;

use super::Study;
use super::figures::{Plain, SNAP, plain};
use super::results::{Results, SnapThroughResult};
use super::text::{show, table};
use super::verdicts::{Asked, USER, about, case_of, general, one_by_one};
use crate::analysis::transient::Extrema;
use crate::checks::{Check, dynamic_contact, dynamic_load};
use crate::error::Result;
use crate::job::Job;
use crate::machine::press::REVERSE_LIMIT;
use crate::support::LoadRange;
use crate::units::Dimension;

/// Where the limit of the reverse load comes from if the user gives none.
const TRADE: &str = "10 % of the rated force (Managing Reverse Tonnage, MetalForming Magazine)";

fn most(e: &Extrema) -> f64 {
    e.max.value.abs().max(e.min.value.abs())
}

/// The figures of one work force.
pub(super) fn figures(found: &SnapThroughResult, all: &mut Vec<Plain>) {
    let snap = &found.snap;
    let mut add = |what: &str, value: f64, dimension| {
        all.push(plain(SNAP, format!("{}: {what}", found.name), value, dimension));
    };
    let peak = |name: &str| snap.peak(name).map_or(0.0, most);
    add("reverse load in the drive", snap.reverse_load, Dimension::FORCE);
    add("reverse load in the drive over the force", snap.reverse_fraction(), Dimension::RATIO);
    if let Some(part) = snap.reverse_of_rating() {
        add("reverse load in the drive over the rating", part, Dimension::RATIO);
    }
    add("reverse load in the column", snap.column_reverse_load, Dimension::FORCE);
    add("greatest force in the drive", peak("drive_force"), Dimension::FORCE);
    add("greatest force in the column", peak("column_force"), Dimension::FORCE);
    add("energy stored in frame and drive", snap.stored_energy, Dimension::ENERGY);
    add("peak acceleration of the bed", peak("bed_acceleration"), Dimension::ACCELERATION);
    add("peak acceleration of the crown", peak("crown_acceleration"), Dimension::ACCELERATION);
    let z = &snap.ground_peaks[2];
    add("peak dynamic force down on the floor", (-z.min.value).max(0.0), Dimension::FORCE);
    add("peak dynamic force up on the floor", z.max.value.max(0.0), Dimension::FORCE);
    add("peak force on the floor if bolted down", peak("bolted_force"), Dimension::FORCE);
    if let Some(energy) = found.forming_energy {
        add("work of the forming", energy, Dimension::ENERGY);
    }
    if snap.sources.len() > 1 {
        for (source, wrench) in &snap.sources {
            let what = format!("peak dynamic force down on the floor, from {}", source.name());
            add(&what, (-wrench[2].min.value).max(0.0), Dimension::FORCE);
        }
    }
    if let Some(force) = snap.guide_force {
        add("greatest force of the gibs", force, Dimension::FORCE);
    }
}

/// Reverse load, rating, floor force and mounts.
pub(super) fn checks(
    job: &Job,
    found: &SnapThroughResult,
    results: &Results,
    ranges: &[LoadRange],
) -> Result<Vec<Asked>> {
    let snap = &found.snap;
    let mut all = Vec::new();
    if let Some(rated) = snap.rated_force {
        let limit = snap.reverse_limit * rated;
        let source = if snap.reverse_limit == REVERSE_LIMIT { TRADE } else { USER };
        let reverse = Check::at_most("reverse load in the drive", snap.reverse_load, limit, "N")?;
        all.push(general(reverse.in_case(&found.name).from_source(source)));
        let force = Check::at_most("force of the work", snap.force, rated, "N")?;
        all.push(general(force.in_case(&found.name).from_source("rated force of the press")));
    }
    if let Some(limit) = job.limits.floor_force {
        let demand = most(&snap.ground_peaks[2]);
        let floor = Check::at_most("peak vertical force on the floor", demand, limit, "N")?;
        all.push(general(floor.in_case(&found.name).from_source(USER)));
    }
    let still = case_of(&found.case, results)?;
    let vertical = snap.mount_peaks.iter().skip(2).step_by(3).take(ranges.len());
    let down: Vec<f64> = vertical.clone().map(|e| (-e.min.value).max(0.0)).collect();
    let up: Vec<f64> = vertical.map(|e| e.max.value.max(0.0)).collect();
    for (i, only) in one_by_one(ranges).enumerate() {
        let loads = dynamic_load(&still, &down, &only, &found.name)?;
        all.extend(loads.into_iter().map(|c| about(c, i)));
    }
    let contact = dynamic_contact(&still, &up, &found.name)?;
    all.extend(contact.into_iter().enumerate().map(|(i, c)| about(c, i)));
    Ok(all)
}

/// The section of the summary; nothing without such a force.
pub(super) fn section(study: &Study, text: &mut String) {
    if study.results.snap_throughs.is_empty() {
        return;
    }
    text.push_str("## When the material breaks\n\n");
    text.push_str(
        "The work force is internal: the floor feels the inertia of crown and slide as the stretched \
         frame snaps back. Drive and column are loaded in reverse, and no fixed ratio holds between \
         them.\n\n",
    );
    let mut rows = Vec::new();
    for found in &study.results.snap_throughs {
        let snap = &found.snap;
        let force = |value: f64| show(study, value, Dimension::FORCE);
        let peak = |name: &str| snap.peak(name).map_or(0.0, most);
        let of =
            |part: Option<f64>| part.map_or_else(String::new, |p| format!("{:.1} %", 100.0 * p));
        rows.push(vec![
            found.name.clone(),
            force(snap.force),
            format!("{} ({:.1} %)", force(snap.reverse_load), 100.0 * snap.reverse_fraction()),
            of(snap.reverse_of_rating()),
            format!(
                "{} ({:.1} %)",
                force(snap.column_reverse_load),
                100.0 * snap.column_reverse_fraction()
            ),
            show(study, peak("bed_acceleration"), Dimension::ACCELERATION),
            show(study, peak("crown_acceleration"), Dimension::ACCELERATION),
            force(most(&snap.ground_peaks[2])),
            force(peak("bolted_force")),
        ]);
    }
    let header = [
        "work",
        "force",
        "reverse, drive (of the force)",
        "of the rating",
        "reverse, column (of the force)",
        "bed",
        "crown",
        "floor, on mounts",
        "floor, bolted to a rigid floor",
    ];
    table(text, &header, &rows);
    for found in &study.results.snap_throughs {
        let snap = &found.snap;
        let _ = writeln!(
            text,
            "{}: frame and drive store {}; contacts {}, {} changes of contact.",
            found.name,
            show(study, snap.stored_energy, Dimension::ENERGY),
            snap.rule.name(),
            snap.events.len()
        );
    }
    text.push('\n');
}
