//! What puts force on the floor, source by source: running slide, start and stop, contact, break.
//!
//! Mounts treat each source differently, and their peaks come at different times: they are never
//! summed up. Each row stands for one source as if the others were silent.

use serde_json::{Value, json};

use super::Study;
use super::figures::forces;
use super::text::{show, table};
use crate::analysis::transient::Extrema;
use crate::excitation::Source;
use crate::units::Dimension;

/// Peak dynamic force of one source on the floor.
struct Row {
    source: Source,
    /// What makes it: a stroke rate, an event, a work force.
    by: String,
    /// Down, up, along x, along y, N.
    peaks: [f64; 4],
}

impl Row {
    fn most(&self) -> f64 {
        self.peaks.iter().copied().fold(0.0, f64::max)
    }
}

/// From the least and the greatest force along x, y and z, N.
fn row(source: Source, by: &str, [x, y, z]: [[f64; 2]; 3]) -> Row {
    let side = |ends: [f64; 2]| ends[0].abs().max(ends[1].abs());
    let mut peaks = [0.0; 4];
    for (peak, (_, value)) in peaks.iter_mut().zip(forces([-z[0], z[1], side(x), side(y)])) {
        *peak = value;
    }
    Row { source, by: by.into(), peaks }
}

fn ends(wrench: &[Extrema]) -> [[f64; 2]; 3] {
    std::array::from_fn(|i| wrench.get(i).map_or([0.0; 2], |e| [e.min.value, e.max.value]))
}

fn rows(study: &Study) -> Vec<Row> {
    let results = &study.results;
    let mut all = Vec::new();
    for run in results.slide.iter().flat_map(|slide| &slide.running) {
        let by = format!("{} strokes per minute", run.steady.stroke_rate_spm);
        let wrench = &run.ground_wrench;
        let ends = [0, 1, 2].map(|i| [wrench[i].min.value, wrench[i].max.value]);
        all.push(row(run.steady.source, &by, ends));
    }
    for shock in &results.shocks {
        let parts = shock.sources.iter().map(|(s, wrench)| row(*s, &shock.name, ends(wrench)));
        all.extend(parts);
        if shock.sources.is_empty() {
            all.push(row(Source::Other, &shock.name, ends(&shock.ground_wrench)));
        }
    }
    for found in &results.snap_throughs {
        let parts = found.snap.sources.iter();
        all.extend(parts.map(|(s, wrench)| row(*s, &found.name, ends(wrench))));
    }
    all.sort_by_key(|row| row.source);
    all
}

/// The section of the summary, the worst of each source; nothing where only one thing acts.
pub(super) fn section(study: &Study, text: &mut String) {
    let rows = rows(study);
    if rows.len() < 2 {
        return;
    }
    text.push_str("## Floor force by source\n\n");
    text.push_str(
        "Peak dynamic force on the floor, the worst of each source as if the others were silent: they \
         peak at different times and do not add up.\n\n",
    );
    let force = |value: f64| show(study, value, Dimension::FORCE);
    let shown: Vec<Vec<String>> = rows
        .chunk_by(|a, b| a.source == b.source)
        .filter_map(|same| {
            let worst = same.iter().max_by(|a, b| a.most().total_cmp(&b.most()))?;
            let by = match same.len() {
                1 => worst.by.clone(),
                n => format!("{} (worst of {n})", worst.by),
            };
            let mut cells = vec![worst.source.name().to_owned(), by];
            cells.extend(worst.peaks.map(force));
            Some(cells)
        })
        .collect();
    table(text, &["source", "by", "down", "up", "along x", "along y"], &shown);
}

/// Every row as JSON.
pub(super) fn json(study: &Study) -> Value {
    let one = |row: Row| {
        let [down, up, x, y] = row.peaks;
        json!({ "source": row.source.name(), "by": row.by, "down": down, "up": up, "x": x, "y": y })
    };
    rows(study).into_iter().map(one).collect()
}
