//! The mount options of a job: ranked, and as a section of the summary.

use super::Study;
use super::rank::{Objective, RankOptions, Ranking, rank_options};
use super::text::{show, table};
use crate::error::Result;
use crate::job::Job;
use crate::support::catalog::Model;
use crate::units::Dimension;

/// The options that the job names, the best first.
pub fn ranked(job: &Job) -> Result<Option<Ranking>> {
    let Some(asked) = &job.options else { return Ok(None) };
    let objective = |(name, sense): &(String, Option<bool>)| {
        let usual = Objective::new(name);
        Objective { greatest: sense.unwrap_or(usual.greatest), ..usual }
    };
    let options = RankOptions {
        objectives: asked.objectives.iter().map(objective).collect(),
        groups: asked.groups.clone(),
        mixed: asked.mixed,
        ..RankOptions::default()
    };
    rank_options(job, &asked.catalog, &options).map(Some)
}

/// The section of the summary.
pub fn section(study: &Study, text: &mut String) {
    let Some(ranking) = &study.options else { return };
    text.push_str(
        "## Mount options\n\nEach judged by the checks above, for the inputs as given.\n\n",
    );
    text.push_str(&ranking.table(study.units));
    text.push('\n');
    let row = |model: &Model| {
        let length = |value: f64| show(study, value, Dimension::LENGTH);
        let sides = |[a, b]: [f64; 2]| format!("{} x {}", length(a), length(b));
        vec![
            model.name.clone(),
            model.price.map_or_else(String::new, |price| format!("{price}")),
            model.height.map_or_else(String::new, length),
            model.footprint.map_or_else(String::new, sides),
        ]
    };
    let rows: Vec<Vec<String>> = study.models.iter().map(row).collect();
    if rows.iter().any(|row| row[1..].iter().any(|cell| !cell.is_empty())) {
        table(text, &["model", "price of one", "height", "footprint"], &rows);
    }
}
