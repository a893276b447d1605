//! The study on a page, as Markdown that reads well in a terminal too.
//!
//! Numbers carry two or three digits and a band: the foot loads of a rigid machine are known no
//! better. The order is that of the questions: does it hold, how much, how sure, on what
//! assumptions.

use std::fmt::Write as _;

use super::Study;
use super::bands::Figure;
use crate::checks::{Check, Verdict};
use crate::error::{Error, Result};
use crate::job::{Input, ReportUnits};
use crate::units::{Dimension, convert, format_rounded};

/// Digits of a figure.
const DIGITS: usize = 3;

const SCOPE: &str = "Floor: rigid. Transmissibility is that to a rigid floor; it claims no benefit \
over another way of standing. Rigid body: valid to about a third of the machine's first elastic \
mode (crown sway of large straight-side presses 8 to 20 Hz, common practice).";

const CAUTION: &str = "Jacking, anchoring and foundations can hurt people: lock out the machine, \
never work under a raised press, jack only at the maker's points, and follow local codes. Checks of \
concrete and steel belong to a licensed engineer.";

/// The whole summary.
pub fn summary(study: &Study) -> String {
    let mut text = String::new();
    head(study, &mut text);
    verdicts(study, &mut text);
    loads(study, &mut text);
    modes(study, &mut text);
    figures(study, &mut text);
    assumptions(study, &mut text);
    notes(study, &mut text);
    text
}

/// The study without histories and curves, as JSON.
pub fn json(study: &Study) -> Result<String> {
    let unevenness = &study.results.unevenness;
    let value = serde_json::json!({
        "title": study.title,
        "machine": study.machine,
        "inputs": study.inputs,
        "limits": study.limits,
        "floor_unevenness": study.floor_unevenness,
        "figures": study.figures,
        "checks": study.checks,
        "overall": study.overall,
        "warnings": study.warnings,
        "cases": study.results.cases,
        "modes": study.results.modes,
        "unevenness": unevenness,
        "harmonics": study.results.harmonics,
    });
    serde_json::to_string_pretty(&value).map_err(|e| Error::NotConverged {
        what: "writing the study as JSON".into(),
        detail: e.to_string(),
        remedy: "report this as a defect".into(),
    })
}

fn head(study: &Study, text: &mut String) {
    let _ = writeln!(text, "# {}\n", study.title);
    let first = study.results.cases.first();
    let mass = first.map(|c| show(study, c.mass, Dimension::MASS)).unwrap_or_default();
    let mounts = study.results.envelope.mount_names.len();
    let _ = writeln!(text, "{}: {mass} on {mounts} mounts, on a rigid floor.\n", study.machine);
    match &study.overall {
        Some(all) => {
            let governing = &study.checks[all.governing];
            let _ =
                writeln!(text, "**{}** - governed by: {}\n", all.verdict, line(study, governing));
        }
        None => text.push_str("No limits are set: nothing to check.\n\n"),
    }
}

fn verdicts(study: &Study, text: &mut String) {
    text.push_str("## Does it hold?\n\n");
    let mut rows = Vec::new();
    for check in telling(&study.checks) {
        let relation = match check.sense {
            crate::checks::Sense::AtMost => "at most",
            crate::checks::Sense::AtLeast => "at least",
        };
        rows.push(vec![
            check.verdict.to_string(),
            check.question.clone(),
            in_unit(study, check.demand, &check.unit),
            check.band.map_or_else(String::new, |b| range(study, b, &check.unit)),
            format!("{relation} {}", in_unit(study, check.capacity, &check.unit)),
            check.governing_case.clone(),
        ]);
    }
    table(text, &["verdict", "question", "value", "band", "limit", "case"], &rows);
}

/// Each kind of question once, at the place where it holds least; and all that do not hold.
fn telling(checks: &[Check]) -> Vec<&Check> {
    let kind = |check: &Check| {
        let question = check.question.split(" of ").next().unwrap_or_default();
        format!("{question} {:?}", check.sense)
    };
    let worst = |check: &Check| {
        let alike = checks.iter().filter(|other| kind(other) == kind(check));
        let least = alike.map(Check::margin_at_far_end).fold(f64::INFINITY, f64::min);
        check.margin_at_far_end() == least
    };
    let mut shown: Vec<&Check> = Vec::new();
    for check in checks {
        let again = shown.iter().any(|s| kind(s) == kind(check) && s.verdict == check.verdict);
        if matches!(check.verdict, Verdict::No) || (worst(check) && !again) {
            shown.push(check);
        }
    }
    shown.sort_by(|a, b| b.verdict.partial_cmp(&a.verdict).unwrap_or(std::cmp::Ordering::Equal));
    shown
}

fn loads(study: &Study, text: &mut String) {
    text.push_str("## Static load of each mount\n\n");
    let cases = &study.results.cases;
    let mut header = vec!["mount"];
    header.extend(cases.iter().map(|c| c.name.as_str()));
    header.push("least ... greatest, with band");
    let mut rows = Vec::new();
    for (i, mount) in study.results.envelope.mount_names.iter().enumerate() {
        let mut row = vec![mount.clone()];
        row.extend(cases.iter().map(|c| show(study, c.statics.load[[i, 2]], Dimension::FORCE)));
        let end = |which: &str| figure(study, &format!("{which} load of {mount}"));
        if let (Some(least), Some(most)) = (end("least"), end("greatest")) {
            row.push(range(study, [least.low, most.high], "N"));
        }
        rows.push(row);
    }
    let mut masses = vec!["mass of the machine".to_owned()];
    masses.extend(cases.iter().map(|c| show(study, c.mass, Dimension::MASS)));
    masses.push(String::new());
    rows.push(masses);
    table(text, &header, &rows);
}

fn modes(study: &Study, text: &mut String) {
    text.push_str("## Modes, as it runs\n\n");
    let modes = &study.results.modes;
    let mut rows = Vec::new();
    for (i, what) in modes.description.iter().enumerate() {
        let name = format!("frequency of mode {}", i + 1);
        let band = figure(study, &name).map(|f| band_of(study, f)).unwrap_or_default();
        rows.push(vec![
            format!("{}", i + 1),
            show(study, modes.frequency[i], Dimension::FREQUENCY),
            band,
            format!("{:.3}", modes.damping_ratio[i]),
            what.clone(),
        ]);
    }
    table(text, &["mode", "frequency", "band", "damping ratio", "what it is"], &rows);
}

fn figures(study: &Study, text: &mut String) {
    text.push_str("## Key figures\n\n");
    let wanted = |f: &&Figure| {
        f.group != super::figures::MODES
            && !f.name.contains(" load of ")
            && !f.name.contains("velocity")
    };
    let rows: Vec<_> = study
        .figures
        .iter()
        .filter(wanted)
        .map(|f| {
            let strongest = f.moved_by.first().map_or("", |m| m.0.as_str()).to_owned();
            vec![f.name.clone(), value_of(study, f), band_of(study, f), strongest]
        })
        .collect();
    table(text, &["figure", "value", "band", "moved most by"], &rows);
}

fn assumptions(study: &Study, text: &mut String) {
    text.push_str("## To confirm\n\n");
    // A default of zero (no damping stated, not turned) is no guess about the machine.
    let guessed = |i: &&Input| i.assumed || (i.default.is_some() && i.value != 0.0);
    let open: Vec<&Input> = study.inputs.iter().filter(guessed).collect();
    if open.is_empty() {
        text.push_str("Nothing is assumed.\n\n");
        return;
    }
    let rows: Vec<_> = open
        .iter()
        .map(|input| {
            let why = input.default.clone().or_else(|| input.source.clone()).unwrap_or_default();
            // A list that moves together stands as a factor.
            let unit = if input.scales.is_empty() { input.unit.as_str() } else { "" };
            let band = match (input.low, input.high) {
                (Some(low), Some(high)) => range(study, [low, high], unit),
                _ => String::new(),
            };
            let value = in_unit(study, input.value, unit);
            vec![input.path.clone(), value, band, why]
        })
        .collect();
    table(text, &["input", "value", "band", "assumed because"], &rows);
}

fn notes(study: &Study, text: &mut String) {
    text.push_str("## Notes\n\n");
    for warning in &study.warnings {
        let _ = writeln!(text, "- {warning}");
    }
    let _ = writeln!(text, "- {SCOPE}");
    if let Some(delta) = study.floor_unevenness {
        let delta = show(study, delta, Dimension::LENGTH);
        let _ = writeln!(text, "- Bands of the mount loads hold feet that are out by +-{delta}.");
    }
    let _ = writeln!(
        text,
        "- Bands are the stated ranges of the inputs carried through, one at a \
         time; they are no probabilities."
    );
    let _ = writeln!(text, "- {CAUTION}");
}

fn figure<'a>(study: &'a Study, name: &str) -> Option<&'a Figure> {
    study.figures.iter().find(|f| f.name == name)
}

fn value_of(study: &Study, figure: &Figure) -> String {
    dimension(figure).map_or_else(String::new, |d| show(study, figure.value, d))
}

fn band_of(study: &Study, figure: &Figure) -> String {
    if figure.low == figure.high {
        return String::new();
    }
    let unit = dimension(figure).map_or("", |d| d.si);
    range(study, [figure.low, figure.high], unit)
}

fn dimension(figure: &Figure) -> Option<Dimension> {
    Dimension::from_name(&figure.dimension)
}

fn line(study: &Study, check: &Check) -> String {
    let case = if check.governing_case.is_empty() {
        String::new()
    } else {
        format!(" (case {})", check.governing_case)
    };
    format!("{}, {}{case}", check.question, in_unit(study, check.demand, &check.unit))
}

/// A value in the report's unit for its kind of quantity.
fn show(study: &Study, value: f64, dimension: Dimension) -> String {
    in_unit(study, value, dimension.si)
}

fn in_unit(study: &Study, value: f64, si: &str) -> String {
    let unit = reading_unit(study.units, si);
    format_rounded(value, unit, DIGITS).unwrap_or_else(|_| format!("{value} {si}"))
}

fn range(study: &Study, [low, high]: [f64; 2], si: &str) -> String {
    let unit = reading_unit(study.units, si);
    let number = |x: f64| {
        let text = format_rounded(x, unit, DIGITS).unwrap_or_else(|_| format!("{x} {unit}"));
        text.strip_suffix(unit).map_or(text.clone(), |t| t.trim_end().to_owned())
    };
    format!("{} ... {} {unit}", number(low), number(high)).trim_end().to_owned()
}

/// The unit in which people of the trade read a quantity of that SI unit.
pub fn reading_unit(units: ReportUnits, si: &str) -> &str {
    match (units, si) {
        (ReportUnits::Si, "N") => "kN",
        (ReportUnits::Si, "m") => "mm",
        (ReportUnits::Si, "kg") => "t",
        (ReportUnits::Si, "rad") => "mm/m",
        (ReportUnits::Si, "m/s") => "mm/s",
        (ReportUnits::Si, "N m") => "kN m",
        (ReportUnits::Us, "N") => "lbf",
        (ReportUnits::Us, "m") => "in",
        (ReportUnits::Us, "kg") => "lb",
        (ReportUnits::Us, "rad") => "in/ft",
        (ReportUnits::Us, "m/s") => "in/s",
        (ReportUnits::Us, "m/s^2") => "g_n",
        (ReportUnits::Us, "N m") => "lbf in",
        (_, other) if convert(1.0, other).is_ok() => other,
        _ => "",
    }
}

/// A Markdown table whose columns line up, so that it reads in a terminal.
fn table(text: &mut String, header: &[&str], rows: &[Vec<String>]) {
    let clean = |cell: &str| cell.replace('|', "/");
    let mut width: Vec<usize> = header.iter().map(|h| h.chars().count()).collect();
    for row in rows {
        for (w, cell) in width.iter_mut().zip(row) {
            *w = (*w).max(clean(cell).chars().count());
        }
    }
    let mut line = |cells: &mut dyn Iterator<Item = String>| {
        let padded: Vec<_> =
            cells.zip(&width).map(|(cell, w)| format!("{cell}{}", pad(&cell, *w))).collect();
        let _ = writeln!(text, "| {} |", padded.join(" | "));
    };
    line(&mut header.iter().map(|h| (*h).to_owned()));
    line(&mut width.iter().map(|w| "-".repeat(*w)));
    for row in rows {
        line(&mut row.iter().map(|cell| clean(cell)));
    }
    text.push('\n');
}

fn pad(cell: &str, width: usize) -> String {
    " ".repeat(width.saturating_sub(cell.chars().count()))
}
