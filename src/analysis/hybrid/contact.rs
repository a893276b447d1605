//! Which conditions keep a contact as it is, and what it becomes when one fails.

use serde::{Deserialize, Serialize};

use crate::system::ContactRule;

/// How a part touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum State {
    /// Between its sides.
    Open,
    /// Ahead, and carries.
    Ahead,
    /// Ahead by its coordinate, without force (force-clipped rule only).
    AheadSlack,
    /// Behind, and carries.
    Behind,
    /// Behind by its coordinate, without force (force-clipped rule only).
    BehindSlack,
}

impl State {
    /// Name in tables.
    pub fn name(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Ahead => "ahead",
            Self::AheadSlack => "ahead without force",
            Self::Behind => "behind",
            Self::BehindSlack => "behind without force",
        }
    }
}

/// A change of contact.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Event {
    /// s.
    pub time: f64,
    /// Index of the part in [`crate::system::Hybrid::gaps`].
    pub gap: usize,
    /// Its name.
    pub part: String,
    /// Before.
    pub from: State,
    /// After.
    pub to: State,
    /// Rate of its coordinate, m/s.
    pub rate: f64,
}

/// What must stay positive, and what follows when it does not.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Guard {
    pub what: Condition,
    pub next: State,
}

/// A quantity that must stay positive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Condition {
    /// sign (e - at).
    Coordinate { sign: f64, at: f64 },
    /// sign times the force along the coordinate that the side named would carry.
    Force { sign: f64, ahead: bool },
}

/// Conditions of a state, for sides at `ahead` and `behind`.
pub(super) fn guards(
    state: State,
    ahead: Option<f64>,
    behind: Option<f64>,
    rule: ContactRule,
) -> Vec<Guard> {
    let clipped = rule == ContactRule::ForceClipped;
    // Without play it goes from one side to the other.
    let together = ahead.is_some() && ahead == behind;
    let leaves = |other: State| if together { other } else { State::Open };
    let coordinate = |sign, at, next| Guard { what: Condition::Coordinate { sign, at }, next };
    let force = |sign, ahead, next| Guard { what: Condition::Force { sign, ahead }, next };
    let mut all = Vec::with_capacity(2);
    match state {
        State::Open => {
            all.extend(ahead.map(|at| coordinate(-1.0, at, State::Ahead)));
            all.extend(behind.map(|at| coordinate(1.0, at, State::Behind)));
        }
        State::Ahead | State::AheadSlack => {
            let carries = state == State::Ahead;
            if clipped && carries {
                all.push(force(1.0, true, State::AheadSlack));
            } else if clipped {
                all.push(force(-1.0, true, State::Ahead));
            }
            all.extend(ahead.map(|at| coordinate(1.0, at, leaves(State::Behind))));
        }
        State::Behind | State::BehindSlack => {
            let carries = state == State::Behind;
            if clipped && carries {
                all.push(force(-1.0, false, State::BehindSlack));
            } else if clipped {
                all.push(force(1.0, false, State::Behind));
            }
            all.extend(behind.map(|at| coordinate(-1.0, at, leaves(State::Ahead))));
        }
    }
    all
}
