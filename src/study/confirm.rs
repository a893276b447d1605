//! What must be asked and confirmed: the two numbers to ask for first, and the register of all that
//! is assumed.

use std::fmt::Write as _;

use super::Study;
use super::asks::Ask;
use super::summary::{split, telling};
use super::text::{in_unit, range, table};
use crate::checks::Verdict;
use crate::job::Input;

/// How many numbers are asked for at the head of a summary.
const FIRST: usize = 2;

/// The numbers to ask for first, where anything is assumed that moves a verdict.
pub fn first_questions(study: &Study, text: &mut String) {
    let asks: Vec<_> = study.asks.iter().take(FIRST).collect();
    if asks.is_empty() {
        return;
    }
    let listed: Vec<_> = asks
        .iter()
        .enumerate()
        .map(|(i, ask)| format!("{}. {}", i + 1, asked(study, ask)))
        .collect();
    let _ = writeln!(text, "Ask the client for: {}.\n", listed.join("; "));
}

/// An input to ask for, what is assumed for it, and what it decides.
fn asked(study: &Study, ask: &Ask) -> String {
    let input = study.inputs.iter().find(|i| i.path == ask.path);
    let band = input.map(|i| band(study, i)).filter(|b| !b.is_empty());
    let band = band.map_or_else(String::new, |b| format!(" (assumed {b})"));
    let does = match ask.flips {
        true => "which alone turns the verdict on".to_owned(),
        // What is beyond the limit already must come back by so much.
        false => format!("which goes {:.1} % of the way to the limit of", 100.0 * ask.reach),
    };
    let case = if ask.case.is_empty() { String::new() } else { format!(" in {:?}", ask.case) };
    format!("{}{band}, {does} \"{}\"{case}", ask.label, ask.question)
}

/// Inputs that somebody has to confirm: those on which a verdict hangs first, then those that move
/// one most.
pub fn assumptions(study: &Study, text: &mut String) {
    text.push_str("## To confirm\n\n");
    // A default of zero (no damping stated, not turned) is no guess about the machine, and
    // standard gravity is none either. What no result takes (an alternative model) needs nobody.
    let guessed = |i: &Input| {
        let usual = i.default.is_some() && i.value != 0.0 && i.path != "gravity";
        !i.informational && (i.assumed || usual)
    };
    let mut open: Vec<(Vec<String>, &Input)> = study
        .inputs
        .iter()
        .map(|input| (decided_by(study, input), input))
        .filter(|(questions, input)| guessed(input) || !questions.is_empty())
        .collect();
    let rank = |input: &Input| {
        study.asks.iter().position(|ask| ask.path == input.path).unwrap_or(study.asks.len())
    };
    open.sort_by_key(|(questions, input)| (questions.is_empty(), rank(input)));
    if open.is_empty() {
        text.push_str("Nothing is assumed.\n\n");
        return;
    }
    let rows: Vec<_> = open
        .iter()
        .map(|(questions, input)| {
            let why = input.default.clone().or_else(|| input.source.clone()).unwrap_or_default();
            // A list that moves together stands as a factor.
            let value = match input.scales.is_empty() {
                true => in_unit(study, input.value, &input.unit),
                false => format!("{} times as given", in_unit(study, input.value, "")),
            };
            let who = input.confirm.clone().unwrap_or_default();
            vec![input.label.clone(), value, band(study, input), why, who, questions.join("; ")]
        })
        .collect();
    let header = ["input", "value", "band", "source", "confirmed by", "a verdict hangs on it"];
    table(text, &header, &rows);
}

fn band(study: &Study, input: &Input) -> String {
    // A list that moves together stands as a factor.
    let unit = if input.scales.is_empty() { input.unit.as_str() } else { "" };
    match (input.low, input.high) {
        (Some(low), Some(high)) => range(study, [low, high], unit),
        _ => String::new(),
    }
}

/// The questions whose OK hangs on the band of an input.
fn decided_by(study: &Study, input: &Input) -> Vec<String> {
    let hangs = |check: &&crate::checks::Check| match &check.verdict {
        Verdict::OkIf(_) => split(&check.verdict).1 == input.label,
        _ => false,
    };
    let mut questions: Vec<String> = Vec::new();
    for check in telling(&study.checks).into_iter().filter(|c| input.is_banded() && hangs(c)) {
        questions.push(check.question.clone());
    }
    questions
}
