//! What does the millwright take to the machine? One sheet: order, mount, turns, direction seen
//! from above, height, what the levels must read after each step, when to stop, and the cautions.
//!
//! Both unit systems side by side, or one. The text is for a terminal, the HTML prints in big type.
//! Directions hold for a screw with right-hand thread (module `setting`); the sheet has the first
//! turn checked with a dial.
//!
//! Safety: the sheet gives computed numbers. It does not replace the maker's or the plant's own
//! procedure, nor licensed practice.

use std::fmt::Write as _;

use super::plan::LevelingPlan;
use super::request::Start;
use super::sequence::Step;
use super::setting::{amount, direction};
use super::tolerance::StationLevel;
use crate::installation::AS_IT_RUNS;

/// Units of a sheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SheetUnits {
    /// mm, mm/m, kN.
    Si,
    /// Thousandths of an inch, thousandths per foot, pounds-force.
    Us,
    /// Both, SI first.
    Both,
}

const MM_PER_M: f64 = 1e3;
/// 0.001 in/ft, rad.
const THOU_PER_FT: f64 = 0.001 / 12.0;
const THOU: f64 = 25.4e-6;
const LBF: f64 = 4.448_221_615_260_5;

/// Cautions, on every sheet.
pub const CAUTIONS: [&str; 7] = [
    "LOCK OUT AND TAG OUT the press: slide blocked, flywheel at rest, no pressure in air and \
     hydraulics but what carries the slide's weight.",
    "NEVER work or reach under a raised press. Keep hands out from under the feet.",
    "Jack ONLY at the points stated by the maker, on cribbing, never more than one corner's screw \
     travel.",
    "Follow the maker's and the plant's own procedure where it says otherwise; lifting and electrical \
     work belong to licensed people under local codes.",
    "Before turning anything: look for SHORT CIRCUITS: pipe, conduit, grout, pit cover, tight \
     anchor or debris that bridges a mount.",
    "STOP if a reading is off the expected one by more than half the change of that step, if a screw \
     turns suddenly easy or hard, or if a foot comes free. Turn the step back and call the engineer.",
    "FIRST TURN: watch a dial at the foot. If clockwise does not raise it, the thread is of the other \
     hand: turn all screws the other way.",
];

/// State of the press, and waiting times (common practice).
const STATE_OF_PRESS: &str = "slide at bottom dead center or blocked, die and bolster as in the load \
case named above, counterbalance as it runs, nothing hanging in the crane";
const WAITING: &str = "Read 15 minutes after each step; read again 24 to 72 hours after the last step \
and correct once (common practice).";
const RELEVEL: &str = "Re-level: check at week 1 and at month 1, then each year, and whenever the floor \
or the die changes (common practice).";

impl SheetUnits {
    fn si(self) -> bool {
        self != Self::Us
    }

    fn us(self) -> bool {
        self != Self::Si
    }

    fn join(self, si: String, us: String) -> String {
        match (self.si(), self.us()) {
            (true, true) => format!("{si} ({us})"),
            (true, false) => si,
            _ => us,
        }
    }

    fn height(self, meters: f64) -> String {
        self.join(format!("{:+.3} mm", 1e3 * meters), format!("{:+.1} thou", meters / THOU))
    }

    fn level(self, rad: f64) -> String {
        let si = format!("{:+.3} mm/m", clean(MM_PER_M * rad, 3));
        self.join(si, format!("{:+.2} thou/ft", clean(rad / THOU_PER_FT, 2)))
    }

    fn load(self, newton: f64) -> String {
        self.join(format!("{:.1} kN", 1e-3 * newton), format!("{:.0} lbf", newton / LBF))
    }
}

/// Zero where it would print as minus zero.
fn clean(value: f64, decimals: i32) -> f64 {
    if value.abs() < 0.5 * 10f64.powi(-decimals) { 0.0 } else { value }
}

/// One row of the table of work.
fn row(plan: &LevelingPlan, units: SheetUnits, number: usize, step: &Step) -> Vec<String> {
    let screw = plan.screws[step.mount].as_ref();
    vec![
        format!("{number}"),
        plan.influence.mount_names[step.mount].clone(),
        amount(screw, step.adjustment),
        direction(screw, step.adjustment).into(),
        units.height(step.adjustment),
        units.level(-step.state.tilt[1]),
        units.level(step.state.tilt[0]),
        units.level(half_change(plan, step)).replace('+', ""),
        units.load(step.state.load[step.mount]),
    ]
}

/// Half of what a step changes the level by about the axis that it moves most, rad: a reading that is
/// off by more says that something else carries the machine.
fn half_change(plan: &LevelingPlan, step: &Step) -> f64 {
    let column = plan.influence.tilt.column(step.mount);
    0.5 * column.amax() * step.adjustment.abs()
}

const HEADER: [&str; 9] = [
    "step",
    "mount",
    "turn",
    "direction",
    "height",
    "level must then read along x",
    "along y",
    "stop if off by",
    "load of this mount",
];

/// What stands above the table, as pairs of words.
fn facts(plan: &LevelingPlan, units: SheetUnits) -> Vec<(&'static str, String)> {
    let level = |tilt: [f64; 2]| {
        format!("along x {}, along y {}", units.level(-tilt[1]), units.level(tilt[0]))
    };
    let case = plan.request.case.as_deref().unwrap_or(AS_IT_RUNS);
    let start = match plan.request.start {
        Start::Level => "a machine that was level before it settled",
        Start::Even => "a machine whose screws were never set",
    };
    let mut facts = vec![
        ("Load case", case.to_owned()),
        ("State of the press", STATE_OF_PRESS.to_owned()),
        ("Loads reckoned from", start.to_owned()),
        ("Level now", level(plan.before.tilt)),
        ("Level after the last step", level(plan.after.tilt)),
        (
            "Tolerance",
            format!(
                "{} about each axis",
                units.level(plan.request.level_tolerance).replace('+', "")
            ),
        ),
    ];
    let lost = plan.lost_after.map(|s| s / 86_400.0);
    if let Some(days) = lost.filter(|d| *d < 36_500.0) {
        let text = if days < 1.0 {
            "within a day, by creep of the rubber".to_owned()
        } else {
            format!("after about {days:.0} days, by creep of the rubber")
        };
        facts.push(("Tolerance lost", text));
    }
    facts
}

fn rows(plan: &LevelingPlan, units: SheetUnits) -> Vec<Vec<String>> {
    let steps = plan.sequence.steps.iter().enumerate();
    steps.map(|(i, step)| row(plan, units, i + 1, step)).collect()
}

/// What each station must read in the end, its own twist and bow included.
fn stations(plan: &LevelingPlan, units: SheetUnits) -> Vec<String> {
    let line = |s: &StationLevel| {
        let along = if s.along[0].abs() > s.along[1].abs() { "x" } else { "y" };
        format!(
            "{} along {along}: now {}, then {}",
            s.name,
            units.level(s.before),
            units.level(s.after)
        )
    };
    plan.stations.iter().map(line).collect()
}

const TO_FILL_IN: &str =
    "Press ____________________  Date ____________  Read by ____________________";
const AT_THE_STATIONS: &str = "What the stations must read after the last step";

const SIGNS: &str = "Levels are positive where the machine rises to the right (x) and to the rear (y). \
Heights are those of the screw; the foot moves less, since the mount gives.";

/// The sheet as text.
pub fn sheet_text(plan: &LevelingPlan, units: SheetUnits) -> String {
    let mut text = format!("LEVELING SHEET\n\n{TO_FILL_IN}\n\n");
    for caution in CAUTIONS {
        let _ = writeln!(text, "  ! {caution}");
    }
    text.push('\n');
    for (name, value) in facts(plan, units) {
        let _ = writeln!(text, "{name}: {value}");
    }
    text.push('\n');
    let rows = rows(plan, units);
    if rows.is_empty() {
        text.push_str("No screw needs to be turned.\n");
    } else {
        let header: Vec<String> = HEADER.iter().map(|h| (*h).to_owned()).collect();
        let width = |i: usize| {
            let cells = std::iter::once(&header).chain(&rows);
            cells.map(|r| r[i].chars().count()).max().unwrap_or(0)
        };
        let widths: Vec<usize> = (0..HEADER.len()).map(width).collect();
        for cells in std::iter::once(&header).chain(&rows) {
            let padded: Vec<_> =
                cells.iter().zip(&widths).map(|(cell, &w)| format!("{cell:<w$}")).collect();
            let _ = writeln!(text, "{}", padded.join(" | ").trim_end());
        }
    }
    if !plan.stations.is_empty() {
        let _ = writeln!(text, "\n{AT_THE_STATIONS}:");
        for line in stations(plan, units) {
            let _ = writeln!(text, "  {line}");
        }
    }
    let _ = write!(text, "\n{SIGNS}\n{WAITING}\n{RELEVEL}\n");
    for warning in &plan.warnings {
        let _ = writeln!(text, "NOTE: {warning}");
    }
    text
}

/// The sheet as a page that prints in big type.
pub fn sheet_html(plan: &LevelingPlan, units: SheetUnits) -> String {
    let mut html = String::from(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><title>Leveling sheet</title>\n\
         <style>body{font:18pt/1.35 sans-serif;margin:2rem;color:#111}h1{font-size:32pt;margin:0 0 1rem}\
         table{border-collapse:collapse;width:100%;font-size:18pt}th,td{border:2px solid #333;\
         padding:.5rem;text-align:left}th{background:#eee}tr{page-break-inside:avoid}\
         .caution{border:4px solid #b00;padding:1rem;margin:1rem 0;font-weight:bold}\
         .raise{background:#e3efe7}.lower{background:#f7ebe0}dt{font-weight:bold}dd{margin:0 0 .4rem}\
         .done{width:3rem}@media print{body{margin:0}}</style></head><body>\n<h1>Leveling sheet</h1>\n",
    );
    let _ = writeln!(html, "<p>{TO_FILL_IN}</p>");
    html.push_str("<ul class=\"caution\">\n");
    for caution in CAUTIONS {
        let _ = writeln!(html, "<li>{}</li>", escape(caution));
    }
    html.push_str("</ul>\n<dl>\n");
    for (name, value) in facts(plan, units) {
        let _ = writeln!(html, "<dt>{name}</dt><dd>{}</dd>", escape(&value));
    }
    html.push_str("</dl>\n");
    if plan.sequence.steps.is_empty() {
        html.push_str("<p>No screw needs to be turned.</p>\n");
    } else {
        html.push_str("<table><tr>");
        for head in HEADER {
            let _ = write!(html, "<th>{head}</th>");
        }
        html.push_str("<th class=\"done\">done</th></tr>\n");
        for (cells, step) in rows(plan, units).iter().zip(&plan.sequence.steps) {
            let class = if step.adjustment > 0.0 { "raise" } else { "lower" };
            let _ = write!(html, "<tr class=\"{class}\">");
            for cell in cells {
                let _ = write!(html, "<td>{}</td>", escape(cell));
            }
            html.push_str("<td class=\"done\"></td></tr>\n");
        }
        html.push_str("</table>\n");
    }
    if !plan.stations.is_empty() {
        let _ = write!(html, "<h2>{AT_THE_STATIONS}</h2>\n<ul>\n");
        for line in stations(plan, units) {
            let _ = writeln!(html, "<li>{}</li>", escape(&line));
        }
        html.push_str("</ul>\n");
    }
    for line in [SIGNS, WAITING, RELEVEL] {
        let _ = writeln!(html, "<p>{}</p>", escape(line));
    }
    for warning in &plan.warnings {
        let _ = writeln!(html, "<p><b>Note:</b> {}</p>", escape(warning));
    }
    html.push_str("</body></html>\n");
    html
}

fn escape(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}
