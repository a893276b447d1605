//! What a reader of the summary finds: each thing once, in the report's units.

use crate::template_study;
use underfoot::job::{Job, template};
use underfoot::study::Study;

fn template_with(changes: &[(&str, &str)]) -> Study {
    let text = changes.iter().fold(template().to_owned(), |text, (from, to)| {
        assert!(text.contains(from), "{from}");
        text.replace(from, to)
    });
    Study::of(&Job::from_text(&text, "job.toml").unwrap()).unwrap()
}

fn section<'a>(summary: &'a str, title: &str) -> &'a str {
    let start = summary.find(&format!("## {title}\n")).unwrap_or_else(|| panic!("{title}"));
    let rest = &summary[start + 3..];
    rest.find("\n## ").map_or(rest, |end| &rest[..end])
}

#[test]
fn each_shock_and_each_steady_load_has_one_row_of_peaks() {
    let summary = template_study().summary();
    let figures = section(&summary, "Key figures");
    for load in [
        "blanking",
        "emergency stop",
        "feed motor",
        "valve",
        "brake",
        "eccentric at full speed",
        "flywheel unbalance",
    ] {
        let rows = figures.lines().filter(|l| {
            let rest = l.strip_prefix("| ").and_then(|l| l.strip_prefix(load));
            rest.is_some_and(|rest| rest.trim_start().starts_with('|'))
        });
        let rows: Vec<_> = rows.collect();
        assert_eq!(rows.len(), 1, "{load}: {rows:?}");
    }
    // The template asks every question once and holds every key, with thirteen load cases, two
    // stroke rates, three work forces and every kind of event.
    assert!(summary.lines().count() < 310, "{} lines", summary.lines().count());
}

#[test]
fn the_rows_of_a_table_have_as_many_cells_as_its_header() {
    let summary = template_with(&[("name = \"valve\"", "name = \"a | b\"")]).summary();
    let mut cells = None;
    for line in summary.lines() {
        let count = line.starts_with('|').then(|| line.matches('|').count());
        assert!(count.is_none() || cells.is_none() || cells == count, "{line}");
        cells = count;
    }
    assert!(summary.contains("| a / b "));
}

#[test]
fn an_ok_that_hangs_on_a_band_names_the_input_above_all_and_in_the_register() {
    let mut text = template().to_owned();
    let mut cut = |from: &str, to: &str| {
        let (start, end) = (text.find(from).unwrap(), text.find(to).unwrap());
        text.replace_range(start..end, "");
    };
    cut("[drive_train]", "# Force pulses");
    cut("[slide]", "[statics]");
    cut("[leveling]", "[[condition]]");
    cut("[[condition]]", "[limits]");
    cut("tilt = \"0.5 mm/m\"", "floor_force");
    cut("contact_reserve", "# Instead of mass");
    let text = text.replace("floor_force = \"150 kN\"", "floor_force = \"60 kN\"\nanchored = true");
    let study = Study::of(&Job::from_text(&text, "job.toml").unwrap()).unwrap();
    let summary = study.summary();
    assert!(summary.contains("**OK IF** confirmed: blanking: peak. Governed by: peak vertical"));
    let register = section(&summary, "To confirm");
    let first = register.lines().nth(4).unwrap();
    assert!(first.starts_with("| blanking: peak "), "{first}");
    assert!(first.contains("peak vertical force on the floor"), "{first}");
}

#[test]
fn what_is_assumed_stands_in_the_register_and_what_is_given_does_not() {
    let summary = template_study().summary();
    let register = section(&summary, "To confirm");
    assert!(register.contains("| pad: loss factor "));
    assert!(!register.contains("gravity"));
    assert!(!register.contains("| emergency stop: peak "));
}

#[test]
fn a_number_of_a_list_of_three_is_called_by_its_axis() {
    let study = template_study();
    let labels: Vec<_> = study.inputs.iter().map(|i| &*i.label).collect();
    assert!(labels.contains(&"invented press: center z"), "{labels:?}");
    assert!(study.summary().contains("| invented press: center z "));
}

#[test]
fn the_warning_about_loss_factors_in_time_is_said_once() {
    let study = template_study();
    let every = study.warnings.iter().filter(|w| w.contains("loss factors in time")).count();
    assert!(every >= study.results.shocks.len(), "{every} warnings");
    assert_eq!(study.summary().matches("loss factors in time").count(), 1);
}

#[test]
fn us_units_reach_every_table() {
    let summary = template_with(&[("units = \"si\"", "units = \"us\"")]).summary();
    for unit in [" kN", " mm", " t |", "mm/m"] {
        assert!(!summary.contains(unit), "{unit}");
    }
    for unit in [" lbf", " in ", " lb ", "in/ft", "crown, in ", "floor down, lbf"] {
        assert!(summary.contains(unit), "{unit}");
    }
}

#[test]
fn a_job_without_limits_says_that_nothing_is_checked_for_them() {
    let study = template_study();
    let open = template_with(&[
        ("tilt = \"0.5 mm/m\"", ""),
        ("motion = \"3 mm\"", ""),
        ("floor_force = \"150 kN\"", ""),
        ("transmissibility = { frequency = \"30 Hz\", max = 0.3 }", ""),
    ]);
    assert!(open.checks.len() < study.checks.len());
    assert!(!section(&open.summary(), "Does it hold?").contains("peak motion"));
    assert!(open.summary().contains("local codes"));
}
