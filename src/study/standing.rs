//! How the machine stands, as tables: its load cases, and the load of each mount with the case that
//! governs it.

use super::Study;
use super::summary::figure;
use super::text::{range, show, table};
use crate::units::Dimension;

/// One row for each load case; nothing where the machine only runs.
pub fn cases(study: &Study, text: &mut String) {
    let results = &study.results;
    if results.cases.len() < 2 {
        return;
    }
    text.push_str("## Load cases\n\n");
    let rows: Vec<_> = results
        .cases
        .iter()
        .map(|case| {
            let loads = case.statics.load.column(2);
            let least = loads.iter().copied().fold(f64::INFINITY, f64::min);
            let most = loads.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let rails = results.rail_steps.iter().filter(|s| s.to == case.name);
            let step = rails.max_by(|a, b| a.rise.abs().total_cmp(&b.rise.abs()));
            let [x, y] = case.statics.tilt.map(|tilt| show(study, tilt, Dimension::ANGLE));
            vec![
                case.name.clone(),
                show(study, case.mass, Dimension::MASS),
                show(study, least, Dimension::FORCE),
                show(study, most, Dimension::FORCE),
                x,
                y,
                step.map_or_else(String::new, |s| show(study, s.rise, Dimension::LENGTH)),
            ]
        })
        .collect();
    let header =
        ["case", "mass", "least foot load", "greatest", "tilt about x", "about y", "rail step"];
    table(text, &header, &rows);
}

/// One row for each mount.
pub fn loads(study: &Study, text: &mut String) {
    text.push_str("## Static load of each mount\n\n");
    let envelope = &study.results.envelope;
    let several = study.results.cases.len() > 1;
    let mut rows = Vec::new();
    for (i, mount) in envelope.mount_names.iter().enumerate() {
        let running = study.results.cases.first().map(|c| c.statics.load[[i, 2]]);
        let mut row = vec![mount.clone()];
        row.push(running.map_or_else(String::new, |load| show(study, load, Dimension::FORCE)));
        for end in [&envelope.load_min[i], &envelope.load_max[i]] {
            let (value, case) = match several {
                true => (show(study, end.value, Dimension::FORCE), end.case.clone()),
                false => Default::default(),
            };
            row.extend([value, case]);
        }
        let end = |which: &str| figure(study, &format!("{which} load of {mount}"));
        if let (Some(least), Some(most)) = (end("least"), end("greatest")) {
            row.push(range(study, [least.low, most.high], "N"));
        }
        rows.push(row);
    }
    let header = [
        "mount",
        "as it runs",
        "least",
        "in",
        "greatest",
        "in case",
        "least ... greatest, with band",
    ];
    table(text, &header, &rows);
}
