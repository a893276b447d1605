//! The study on a page, as Markdown that reads well in a terminal too.
//!
//! Numbers carry two or three digits and a band: the foot loads of a rigid machine are known no
//! better. The order is that of the questions: does it hold, how much, how sure, on what
//! assumptions.

use std::collections::HashMap;
use std::fmt::Write as _;

use super::Study;
use super::bands::{CONFIRMED, Figure};
use super::confirm::{assumptions, first_questions};
use super::results::ShockResult;
use super::standing::{cases, loads};
use super::text::{brief, in_unit, range, reading_unit, show, table};
use crate::analysis::statics::{Beside, Extreme};
use crate::analysis::transient::TIME_MODEL;
use crate::checks::{Check, Sense, Verdict};
use crate::error::{Error, Result};
use crate::units::Dimension;

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
    first_questions(study, &mut text);
    verdicts(study, &mut text);
    figures(study, &mut text);
    cases(study, &mut text);
    loads(study, &mut text);
    super::snap_through::section(study, &mut text);
    super::work_forces::section(study, &mut text);
    super::leveling::section(study, &mut text);
    beside(study, &mut text);
    super::running::section(study, &mut text);
    super::floor_force::section(study, &mut text);
    super::options::section(study, &mut text);
    modes(study, &mut text);
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
        "asks": study.asks,
        "checks": study.checks,
        "overall": study.overall,
        "warnings": study.warnings,
        "cases": study.results.cases,
        "rail_steps": study.results.rail_steps,
        "rises": study.results.rises,
        "modes": study.results.modes,
        "unevenness": unevenness,
        "leveling": study.results.leveling,
        "options": study.options,
        "work_forces": study.work_forces,
        "harmonics": study.results.harmonics,
        "floor_force_by_source": super::floor_force::json(study),
        "slide": study.results.slide.as_ref().map(super::running::json),
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
    let Some(all) = &study.overall else {
        text.push_str("No limits are set: nothing to check.\n\n");
        return;
    };
    let (short, condition) = split(&all.verdict);
    let condition =
        if condition.is_empty() { String::new() } else { format!(" confirmed: {condition}") };
    let governing = &study.checks[all.governing];
    let _ = writeln!(text, "**{short}**{condition}. Governed by: {}.\n", line(study, governing));
}

fn verdicts(study: &Study, text: &mut String) {
    if study.checks.is_empty() {
        return;
    }
    text.push_str("## Does it hold?\n\n");
    let rows: Vec<_> = telling(&study.checks)
        .into_iter()
        .map(|check| {
            let (short, condition) = split(&check.verdict);
            vec![
                short.into(),
                check.question.clone(),
                in_unit(study, check.demand, &check.unit),
                check.band.map_or_else(String::new, |b| range(study, b, &check.unit)),
                limit(study, check),
                check.governing_case.clone(),
                condition,
            ]
        })
        .collect();
    let header = ["verdict", "question", "value", "band", "limit", "case", "if confirmed"];
    table(text, &header, &rows);
    let count = |short| study.checks.iter().filter(|c| split(&c.verdict).0 == short).count();
    let _ = writeln!(
        text,
        "Each question stands where it is tightest, and wherever it fails. Of {} checks {} are OK, \
         {} OK IF, {} NO.\n",
        study.checks.len(),
        count("OK"),
        count("OK IF"),
        count("NO")
    );
}

/// OK, OK IF or NO, and the inputs that an OK IF asks to confirm.
pub(super) fn split(verdict: &Verdict) -> (&'static str, String) {
    match verdict {
        Verdict::Ok => ("OK", String::new()),
        Verdict::No => ("NO", String::new()),
        Verdict::OkIf(conditions) => {
            let inputs: Vec<_> = conditions
                .split("; ")
                .map(|one| one.split_once(CONFIRMED).map_or(one, |(input, _)| input))
                .collect();
            ("OK IF", inputs.join("; "))
        }
    }
}

fn limit(study: &Study, check: &Check) -> String {
    let relation = if check.sense == Sense::AtMost { "at most" } else { "at least" };
    format!("{relation} {}", in_unit(study, check.capacity, &check.unit))
}

/// Each kind of question once, at the place where it holds least; and all that do not hold.
pub(super) fn telling(checks: &[Check]) -> Vec<&Check> {
    let kinds: Vec<Kind> = checks.iter().map(kind).collect();
    let mut least: HashMap<Kind, f64> = HashMap::new();
    for (check, kind) in checks.iter().zip(&kinds) {
        let known = least.entry(*kind).or_insert(f64::INFINITY);
        *known = known.min(room(check));
    }
    let mut shown: Vec<(&Check, Kind)> = Vec::new();
    for (check, kind) in checks.iter().zip(kinds) {
        let worst = room(check) == least[&kind];
        let again = || shown.iter().any(|(s, k)| *k == kind && s.verdict == check.verdict);
        if matches!(check.verdict, Verdict::No) || (worst && !again()) {
            shown.push((check, kind));
        }
    }
    let mut shown: Vec<&Check> = shown.into_iter().map(|(check, _)| check).collect();
    shown.sort_by(|a, b| b.verdict.partial_cmp(&a.verdict).unwrap_or(std::cmp::Ordering::Equal));
    shown
}

/// What makes two checks alike: the question without its place, the sense, whether its limit is zero.
type Kind<'a> = (&'a str, bool, bool);

fn kind(check: &Check) -> Kind<'_> {
    let question = check.question.split(" of ").next().unwrap_or_default();
    (question, check.sense == Sense::AtMost, check.capacity == 0.0)
}

/// Margin at the worse end of the band. Beside a limit of zero every relative margin is 1: there it
/// is what is left, in the unit of the check.
fn room(check: &Check) -> f64 {
    let [low, high] = check.band.unwrap_or([check.demand; 2]);
    match (check.capacity == 0.0, check.sense) {
        (false, _) => check.margin_at_far_end(),
        (true, Sense::AtLeast) => low,
        (true, Sense::AtMost) => -high,
    }
}

/// Stops and bridges, and what one left in would do.
fn beside(study: &Study, text: &mut String) {
    let cases = &study.results.cases;
    let parts = cases.first().map_or(&[][..], |c| &c.statics.beside);
    if !parts.is_empty() {
        text.push_str("## Stops and short circuits\n\n");
        let mut header = vec!["static force of"];
        header.extend(cases.iter().map(|c| c.name.as_str()));
        let row = |(i, part): (usize, &Beside)| {
            let each = cases.iter().map(|case| match case.statics.beside.get(i) {
                Some(part) if part.touches => show(study, part.force.norm(), Dimension::FORCE),
                _ => "open".into(),
            });
            std::iter::once(format!("{} {}", part.kind, part.name)).chain(each).collect()
        };
        let rows: Vec<Vec<String>> = parts.iter().enumerate().map(row).collect();
        table(text, &header, &rows);
    }
    for found in &study.results.what_if_bridged {
        let (Some(before), Some(after)) =
            (found.floor_force_before.first(), found.floor_force_after.first())
        else {
            continue;
        };
        let f = show(study, found.frequency[0], Dimension::FREQUENCY);
        let _ = writeln!(
            text,
            "{}, if left in: of a vertical force at the center of mass {:.3} reaches the floor at {f} \
             in place of {:.3}.\n",
            found.bridge, after, before
        );
    }
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
    let envelope = &study.results.envelope;
    let far = |which: &str, list: &[Extreme], sign: f64| {
        let found = (0..list.len()).min_by(|&a, &b| {
            let value = |i: usize| sign * list[i].value;
            value(a).total_cmp(&value(b))
        })?;
        let mount = &envelope.mount_names[found];
        let what = format!("{which} foot load ({mount}, {})", list[found].case);
        figure(study, &format!("{which} load of {mount}")).map(|f| row(study, what, f))
    };
    let named = |name: &str, what: &str| figure(study, name).map(|f| row(study, what.into(), f));
    let tilt = |axis: usize, what: &str| {
        figure(study, what).map(|f| row(study, format!("{what} ({})", envelope.tilt[axis].case), f))
    };
    let first = study.results.modes.description.first();
    let first = format!("first mode ({})", first.map_or("", String::as_str));
    let rows: Vec<_> = [
        far("least", &envelope.load_min, 1.0),
        far("greatest", &envelope.load_max, -1.0),
        named("greatest static deflection", "greatest static deflection"),
        tilt(0, "greatest tilt about x"),
        tilt(1, "greatest tilt about y"),
        rail_step(study),
        rise(study),
        named("frequency of mode 1", &first),
        named("vertical, greatest computed", "vertical transmissibility at resonance"),
    ]
    .into_iter()
    .flatten()
    .collect();
    table(text, &["figure", "value", "band", "moved most by"], &rows);
    let results = &study.results;
    let shocks: Vec<_> = results.shocks.iter().map(|s| (&*s.name, Some(&*s.case))).collect();
    peaks(study, "shock", &shocks, &["down", "up", "along x", "along y"], text);
    let steady: Vec<_> = results.harmonics.iter().map(|h| (&*h.name, None)).collect();
    peaks(study, "steady load", &steady, &["along x", "along y", "along z"], text);
}

/// The greatest step of the rails.
fn rail_step(study: &Study) -> Option<Vec<String>> {
    let steps = study.results.rail_steps.iter();
    let most = steps.max_by(|a, b| a.rise.abs().total_cmp(&b.rise.abs()))?;
    let what = format!("greatest rail step ({}, {})", most.point, most.to);
    figure(study, &format!("rail step of {}, {}", most.point, most.to)).map(|f| row(study, what, f))
}

/// The greatest rise of a named point, where one rises.
fn rise(study: &Study) -> Option<Vec<String>> {
    let rises = study.results.rises.iter().filter(|r| r.up.value > 0.0);
    let most = rises.max_by(|a, b| a.up.value.total_cmp(&b.up.value))?;
    let what = format!("greatest rise ({}, {})", most.point, most.up.case);
    figure(study, &format!("greatest rise of {}", most.point)).map(|f| row(study, what, f))
}

fn row(study: &Study, what: String, figure: &Figure) -> Vec<String> {
    let band = band_of(study, figure);
    // What moves a value by less than its digits is not worth a name.
    let strongest = figure.moved_by.first().filter(|_| !band.is_empty());
    let strongest = strongest.map_or_else(String::new, |m| m.0.clone());
    vec![what, value_of(study, figure), band, strongest]
}

/// One row for each load: how far the points move, and what reaches the floor.
fn peaks(
    study: &Study,
    kind: &str,
    loads: &[(&str, Option<&str>)],
    sides: &[&str],
    text: &mut String,
) {
    let [length, force] = [Dimension::LENGTH, Dimension::FORCE];
    let unit = |d: Dimension| reading_unit(study.units, d.si);
    let starts = |load: &str| format!("{load}: peak ");
    let points: Vec<String> = loads.first().map_or_else(Vec::new, |(load, _)| {
        let moved = format!("{}displacement of ", starts(load));
        let names = study.figures.iter().filter_map(|f| f.name.strip_prefix(&moved));
        names.map(str::to_owned).collect()
    });
    let mut header = vec![kind.to_owned(), "case".into()];
    header.extend(points.iter().map(|p| format!("{p}, {}", unit(length))));
    header.extend(sides.iter().map(|s| format!("floor {s}, {}", unit(force))));
    let rows: Vec<_> = loads
        .iter()
        .map(|(load, case)| {
            let find = |what: String| figure(study, &format!("{}{what}", starts(load)));
            let moved = points.iter().map(|p| find(format!("displacement of {p}")));
            let moved = cells(study, &moved.collect::<Vec<_>>(), length);
            let pushed = sides.iter().map(|s| {
                find(format!("dynamic force {s} on the floor"))
                    .or_else(|| find(format!("force {s} on the floor")))
            });
            let pushed = cells(study, &pushed.collect::<Vec<_>>(), force);
            let start = [(*load).to_owned(), case.unwrap_or_default().to_owned()];
            start.into_iter().chain(moved).chain(pushed).collect()
        })
        .collect();
    if !rows.is_empty() {
        let _ = writeln!(text, "Peaks under each {kind}, with bands; forces without the weight:\n");
        let header: Vec<_> = header.iter().map(String::as_str).collect();
        table(text, &header, &rows);
    }
}

/// Like figures with their bands; what is nothing beside the others is 0.
fn cells(study: &Study, alike: &[Option<&Figure>], kind: Dimension) -> Vec<String> {
    let sizes = alike.iter().flatten().map(|f| f.high.abs().max(f.low.abs()));
    let scale = sizes.fold(0.0, f64::max);
    alike
        .iter()
        .map(|found| {
            found.map_or_else(String::new, |f| {
                brief(study, [f.value, f.low, f.high], scale, kind.si)
            })
        })
        .collect()
}

fn notes(study: &Study, text: &mut String) {
    text.push_str("## Notes\n\n");
    for warning in told_once(study) {
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

/// Warnings; what is said of the time model of every shock is said once, of the worst one.
fn told_once(study: &Study) -> Vec<String> {
    let shocks = &study.results.shocks;
    let about_model = |warning: &str| warning.starts_with(TIME_MODEL);
    let repeated = |warning: &str| {
        let of =
            |s: &ShockResult| warning.strip_prefix(&format!("shock {}: ", s.name)).map(about_model);
        shocks.iter().any(|s| of(s) == Some(true))
    };
    let mut told: Vec<String> = study.warnings.iter().filter(|w| !repeated(w)).cloned().collect();
    let error = |s: &ShockResult| s.shock.time_model_error;
    if let Some(worst) = shocks.iter().max_by(|a, b| error(a).total_cmp(&error(b))) {
        let warnings = worst.shock.warnings.iter().filter(|w| about_model(w));
        let which = if shocks.len() > 1 { "shocks, at worst" } else { "shock" };
        told.extend(warnings.map(|w| format!("{which} {}: {w}", worst.name)));
    }
    told
}

pub(super) fn figure<'a>(study: &'a Study, name: &str) -> Option<&'a Figure> {
    study.figures.iter().find(|f| f.name == name)
}

fn value_of(study: &Study, figure: &Figure) -> String {
    dimension(figure).map_or_else(String::new, |d| show(study, figure.value, d))
}

fn band_of(study: &Study, figure: &Figure) -> String {
    range(study, [figure.low, figure.high], dimension(figure).map_or("", |d| d.si))
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
    let demand = in_unit(study, check.demand, &check.unit);
    format!("{}, {demand}, {}{case}", check.question, limit(study, check))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn least(demand: f64, capacity: f64, mount: &str) -> Check {
        let check = Check::at_least(format!("least load of {mount}"), demand, capacity, "N");
        check.unwrap().with_band(demand - 1.0, demand + 1.0, "weighed").unwrap()
    }

    #[test]
    fn beside_a_limit_of_zero_the_tightest_is_the_one_with_least_left() {
        // Relative to its own demand the margin of each of these is 1.
        let checks = [least(50.0, 0.0, "a"), least(30.0, 0.0, "b"), least(40.0, 0.0, "c")];
        assert_eq!(telling(&checks), [&checks[1]]);
    }

    #[test]
    fn a_limit_of_zero_does_not_stand_for_one_that_is_set() {
        let checks = [least(50.0, 0.0, "a"), least(50.0, 10.0, "a"), least(30.0, 10.0, "b")];
        assert_eq!(telling(&checks), [&checks[0], &checks[2]]);
    }
}
