//! Which assumed numbers should the client be asked for first?
//!
//! Each assumed input is moved to the ends of its band, one at a time. For a check with demand D and
//! capacity C, an end that makes the demand D' has the reach
//!
//! r = (D' - D) / (C - D)
//!
//! the part of the way to the limit that it goes; 1 flips the verdict, in either direction. The
//! reach of an input is its greatest over all checks and both ends; the list is sorted by it.
//! Checks whose demand is infinite have no way to go and are left out.
//!
//! Limit: one at a time; two inputs that flip a verdict only together are ranked by what each does
//! alone.

use serde::{Deserialize, Serialize};

use super::verdicts::Asked;
use crate::checks::{Check, Sense};
use crate::job::Input;

/// An assumed input, and the verdict that it moves most.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Ask {
    /// Key path of the input.
    pub path: String,
    /// The input in words.
    pub label: String,
    /// Who can confirm it, where that is known.
    pub confirm: Option<String>,
    /// Part of the way to the limit that it moves that check; 1 or more flips its verdict.
    pub reach: f64,
    /// True if it flips a verdict alone.
    pub flips: bool,
    /// The question of the check that it moves most; empty if it moves none.
    pub question: String,
    /// Load case or shock of that check.
    pub case: String,
}

impl Ask {
    /// What moving an input to the ends of its band does to the checks as given.
    pub(super) fn of(input: &Input, checks: &[Asked], ends: [&[Asked]; 2]) -> Self {
        let mut ask = Self {
            path: input.path.clone(),
            label: input.label.clone(),
            confirm: input.confirm.clone(),
            reach: 0.0,
            flips: false,
            question: String::new(),
            case: String::new(),
        };
        for (i, asked) in checks.iter().enumerate() {
            for end in ends.iter().filter_map(|end| end.get(i)) {
                let reach = reach(&asked.check, &end.check);
                if reach > ask.reach {
                    ask.reach = reach;
                    ask.question.clone_from(&asked.check.question);
                    // At the end of the band another case may govern.
                    ask.case.clone_from(&end.check.governing_case);
                }
                ask.flips |= holds(&asked.check) != holds(&end.check);
            }
        }
        ask
    }
}

/// Part of the way to its limit that the demand of a check moves.
fn reach(now: &Check, then: &Check) -> f64 {
    let (moved, room) = (then.demand - now.demand, now.capacity - now.demand);
    if moved == 0.0 || !moved.is_finite() || !room.is_finite() {
        return 0.0;
    }
    // A demand on its limit is flipped by any move across it.
    let across = match now.sense {
        Sense::AtMost => moved > 0.0,
        Sense::AtLeast => moved < 0.0,
    };
    if room == 0.0 { if across { f64::MAX } else { 0.0 } } else { (moved / room).max(0.0) }
}

fn holds(check: &Check) -> bool {
    check.margin >= 0.0
}

/// The assumed inputs among `asks`, the most decisive first; those that move no check are left out.
pub(super) fn ranked(mut asks: Vec<Ask>) -> Vec<Ask> {
    asks.retain(|ask| ask.reach > 0.0);
    asks.sort_by(|a, b| b.reach.total_cmp(&a.reach));
    asks
}
