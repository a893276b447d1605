//! Whatever the text, the reader answers with a job or an error, never with a panic.

use crate::{SMALL, read};
use proptest::prelude::*;
use underfoot::job::{Job, template};

fn answers(text: &str) {
    if let Err(error) = Job::from_text(text, "job.toml") {
        assert!(!error.to_string().is_empty());
    }
}

#[test]
fn deep_nesting_is_refused_and_does_not_overflow_the_stack() {
    for open in ["[", "{a=", "[[", "a."] {
        answers(&format!("title = {}", open.repeat(100_000)));
        answers(&open.repeat(100_000));
    }
}

#[test]
fn every_cut_of_the_small_job_is_answered() {
    for (end, _) in SMALL.char_indices() {
        answers(&SMALL[..end]);
        answers(&SMALL[end..]);
    }
}

#[test]
fn every_line_left_out_or_doubled_is_answered() {
    let lines: Vec<&str> = template().lines().collect();
    for i in 0..lines.len() {
        let mut without = lines.clone();
        without.remove(i);
        answers(&without.join("\n"));
        let mut doubled = lines.clone();
        doubled.insert(i, lines[i]);
        answers(&doubled.join("\n"));
    }
}

/// Pieces that matter to the reader.
const PIECES: [&str; 24] = [
    "",
    "\"",
    "[",
    "]",
    "{",
    "}",
    "=",
    ",",
    ".",
    "nan",
    "-inf",
    "1e308",
    "-1",
    "0",
    "\"5 kg\"",
    "\"1/0 in\"",
    "true",
    "[]",
    "{}",
    "[[mount]]",
    "value",
    "\u{b5}",
    "9223372036854775807",
    "\n",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, ..ProptestConfig::default() })]

    #[test]
    fn random_mutations_of_the_template_are_answered(
        edits in prop::collection::vec((0usize..100_000, 0usize..12, 0usize..24), 1..6),
    ) {
        let mut chars: Vec<char> = template().chars().collect();
        for (at, cut, piece) in edits {
            let start = at % chars.len();
            let end = (start + cut).min(chars.len());
            chars.splice(start..end, PIECES[piece].chars());
        }
        answers(&chars.iter().collect::<String>());
    }

    #[test]
    fn random_values_of_any_value_place_are_answered(
        line in 0usize..500, piece in 0usize..24, other in 0usize..24,
    ) {
        let mut lines: Vec<String> = template().lines().map(str::to_string).collect();
        let at = line % lines.len();
        if let Some((key, _)) = lines[at].clone().split_once('=') {
            lines[at] = format!("{key}= [{}, {}, 1]", PIECES[piece], PIECES[other]);
            answers(&lines.join("\n"));
            lines[at] = format!("{key}= {}", PIECES[piece]);
            answers(&lines.join("\n"));
        }
    }

    #[test]
    fn random_replacements_of_inputs_are_answered(row in 0usize..1000, value in prop::num::f64::ANY) {
        let job = read(template());
        let path = &job.inputs[row % job.inputs.len()].path;
        if let Err(error) = job.with_input(path, value) {
            prop_assert!(!error.to_string().is_empty());
        }
    }
}
