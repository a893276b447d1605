//! What does the millwright do at one mount, in words: so many turns which way, or so many shims?
//!
//! Directions hold for a screw with right-hand thread that lifts when turned clockwise seen from
//! above (the sheet has the first turn checked with a dial).

use crate::support::Screw;

/// "1 3/8 turns", flats too where there are six, "2 shims"; without a screw "set by dial".
pub fn amount(screw: Option<&Screw>, adjustment: f64) -> String {
    let Some(screw) = screw else { return "set by dial".into() };
    let count = screw.steps_in(adjustment).unsigned_abs();
    if screw.is_shims {
        let word = if count == 1 { "shim" } else { "shims" };
        return format!("{count} {word}");
    }
    let per_turn = u64::from(screw.steps_per_turn);
    let (whole, part) = (count / per_turn, count % per_turn);
    let shared = gcd(part, per_turn).max(1);
    let fraction = format!("{}/{}", part / shared, per_turn / shared);
    let number = match (whole, part) {
        (_, 0) => format!("{whole}"),
        (0, _) => fraction,
        _ => format!("{whole} {fraction}"),
    };
    let word = if count <= per_turn { "turn" } else { "turns" };
    // A hexagon is turned by its flats.
    let flats = match (per_turn, count) {
        (6, 1) => " (1 flat)".to_owned(),
        (6, _) => format!(" ({count} flats)"),
        _ => String::new(),
    };
    format!("{number} {word}{flats}")
}

/// Which way: "RAISE, clockwise from above", "LOWER, take shims out".
pub fn direction(screw: Option<&Screw>, adjustment: f64) -> &'static str {
    match (screw.is_some_and(|s| s.is_shims), adjustment > 0.0) {
        (true, true) => "RAISE, put shims in",
        (true, false) => "LOWER, take shims out",
        (false, true) => "RAISE, clockwise from above",
        (false, false) => "LOWER, counter-clockwise from above",
    }
}

/// Both in one line, for a list: "raise 1 3/8 turns", "lower 2 shims", "none".
pub fn words(screw: Option<&Screw>, adjustment: f64) -> String {
    if adjustment == 0.0 {
        return "none".into();
    }
    let way = if adjustment > 0.0 { "raise" } else { "lower" };
    match screw {
        Some(_) => format!("{way} {}", amount(screw, adjustment)),
        None => format!("{way}, set by dial"),
    }
}

fn gcd(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { gcd(b, a % b) }
}
