//! The run: step after step, pattern after pattern, each change of contact where it happens.

use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use std::f64::consts::TAU;

use super::contact::{Event, Guard, State, guards};
use super::model::{Model, Part, Pattern, Stretch};
use super::polynomial::crossings;
use super::series::{REACH, Series};
use super::{CHATTER, HybridOptions, Load};
use crate::analysis::transient::{Transient, default_duration};
use crate::error::{Error, Result, positive};
use crate::system::Hybrid;

/// A condition below this part of its terms is zero at the start.
const ZERO: f64 = 1e-13;
/// More steps than this are no input for one answer.
const MOST_STEPS: usize = 2_000_000;

/// The exact motion of a system with contacts.
#[derive(Debug, Clone)]
pub struct HybridMotion {
    pub(super) model: Model,
    pub(super) patterns: Vec<Pattern>,
    pub(super) stretches: Vec<Stretch>,
    pub(super) steps: Vec<Step>,
    /// The linear system at rest, for what quantities there are.
    pub(super) base: Transient,
    /// Changes of contact, in order.
    pub events: Vec<Event>,
    /// State of each part at the end.
    pub end: Vec<State>,
    /// End of the motion, s.
    pub duration: f64,
    system: Hybrid,
    loads: Vec<Load>,
    options: HybridOptions,
}

/// What a motion follows from: it is stored as that.
#[derive(Serialize, Deserialize)]
struct Stored {
    system: Hybrid,
    loads: Vec<Load>,
    options: HybridOptions,
}

impl Serialize for HybridMotion {
    fn serialize<S: serde::Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        let stored = Stored {
            system: self.system.clone(),
            loads: self.loads.clone(),
            options: self.options.clone(),
        };
        stored.serialize(to)
    }
}

impl<'de> Deserialize<'de> for HybridMotion {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> std::result::Result<Self, D::Error> {
        let Stored { system, loads, options } = Stored::deserialize(from)?;
        Self::new(&system, &loads, &options).map_err(serde::de::Error::custom)
    }
}

impl PartialEq for HybridMotion {
    fn eq(&self, other: &Self) -> bool {
        self.system == other.system && self.loads == other.loads && self.options == other.options
    }
}

/// A step: state at its start, and where it belongs.
#[derive(Debug, Clone)]
pub(super) struct Step {
    pub start: f64,
    pub length: f64,
    pub pattern: usize,
    pub stretch: usize,
    pub state: Vec<f64>,
}

impl HybridMotion {
    pub(super) fn new(system: &Hybrid, loads: &[Load], options: &HybridOptions) -> Result<Self> {
        let (model, base) = Model::new(system, loads, options)?;
        let end = loads.iter().flat_map(|l| &l.segments).map(|s| s.end).fold(0.0, f64::max);
        let duration = match options.duration {
            Some(duration) => positive("duration", duration, "s")?,
            None => default_duration(base.roots(), end)?,
        };
        let run = Run {
            contacts: model.parts.iter().map(|p| p.at_rest).collect(),
            fresh: vec![true; model.parts.len()],
            state: model.start.clone(),
            patterns: Vec::new(),
            known: HashMap::new(),
            steps: Vec::new(),
            events: Vec::new(),
            model: &model,
            system,
            most: options.most_events,
        };
        let stretches = Stretch::of(loads, duration);
        let (patterns, steps, events, end) = run.all(&stretches)?;
        Ok(Self {
            patterns,
            steps,
            events,
            end,
            stretches,
            base,
            duration,
            system: system.clone(),
            loads: loads.to_vec(),
            options: options.clone(),
            model,
        })
    }

    /// What the motion is of.
    pub fn system(&self) -> &Hybrid {
        &self.system
    }

    /// The loads it moves under.
    pub fn loads(&self) -> &[Load] {
        &self.loads
    }

    /// The linear system at rest, for what stands for its damping in time.
    pub fn at_rest(&self) -> &Transient {
        &self.base
    }

    pub(super) fn series(&self, step: &Step) -> Series {
        let (pattern, stretch) = (&self.patterns[step.pattern], &self.stretches[step.stretch]);
        Series::new(&self.model, pattern, stretch, (step.start, step.length), &step.state)
    }
}

struct Run<'a> {
    model: &'a Model,
    system: &'a Hybrid,
    contacts: Vec<State>,
    /// Parts whose conditions start at exactly zero: they have just changed.
    fresh: Vec<bool>,
    state: Vec<f64>,
    patterns: Vec<Pattern>,
    known: HashMap<Vec<State>, usize>,
    steps: Vec<Step>,
    events: Vec<Event>,
    most: usize,
}

type Ran = (Vec<Pattern>, Vec<Step>, Vec<Event>, Vec<State>);

impl Run<'_> {
    fn all(mut self, stretches: &[Stretch]) -> Result<Ran> {
        for (index, stretch) in stretches.iter().enumerate() {
            let mut t = stretch.start;
            while t < stretch.end {
                t = self.step(index, stretch, t)?;
            }
        }
        Ok((self.patterns, self.steps, self.events, self.contacts))
    }

    fn pattern(&mut self) -> usize {
        if let Some(&known) = self.known.get(&self.contacts) {
            return known;
        }
        let index = self.patterns.len();
        self.patterns.push(self.model.pattern(&self.contacts));
        self.known.insert(self.contacts.clone(), index);
        index
    }

    /// One step, to its end or to the first change of contact; gives the time reached.
    fn step(&mut self, index: usize, stretch: &Stretch, t: f64) -> Result<f64> {
        let at = self.pattern();
        let pattern = &self.patterns[at];
        let left = stretch.end - t;
        let fastest = pattern.fastest.max(stretch.fastest());
        let reach = if fastest > 0.0 { (REACH / fastest).min(left) } else { left };
        let series = Series::new(self.model, pattern, stretch, (t, reach), &self.state);
        let found = self.first_change(&series);
        let s = found.map_or(1.0, |(s, _, _)| s);
        let length = s * series.length;
        // Rounding must not leave a sliver of the stretch behind.
        let last = found.is_none() && left - length <= 4.0 * f64::EPSILON * stretch.end;
        let reached = if last { stretch.end } else { t + length };
        if length > 0.0 {
            let step = Step {
                start: t,
                length,
                pattern: at,
                stretch: index,
                state: std::mem::take(&mut self.state),
            };
            self.steps.push(step);
            self.state = series.at(s);
            self.fresh.fill(false);
        }
        if self.steps.len() > MOST_STEPS {
            return Err(Error::NotConverged {
                what: "motion with contacts".into(),
                detail: format!("{MOST_STEPS} steps reach {t} s"),
                remedy: "ask for a shorter duration, or check for a spring or dashpot that is far \
                         too stiff"
                    .into(),
            });
        }
        if let Some((_, gap, next)) = found {
            self.change(gap, next, reached, fastest)?;
        }
        Ok(reached)
    }

    fn change(&mut self, gap: usize, next: State, time: f64, fastest: f64) -> Result<()> {
        let part = &self.model.parts[gap];
        let rate = part.rate.iter().zip(&self.state).map(|(a, b)| a * b).sum();
        let from = std::mem::replace(&mut self.contacts[gap], next);
        self.fresh[gap] = true;
        self.events.push(Event { time, gap, part: part.name.clone(), from, to: next, rate });
        let window = 1e-3 * TAU / fastest.max(f64::MIN_POSITIVE);
        let count = self.events.len();
        let crowd = count > CHATTER && time - self.events[count - 1 - CHATTER].time < window;
        if crowd || count > self.most {
            let detail = match crowd {
                true => format!("{CHATTER} changes of contact within {window:.1e} s at {time} s"),
                false => format!("more than {} changes of contact by {time} s", self.most),
            };
            return Err(Error::NotConverged {
                what: format!("contact of {}", part.name),
                detail: format!("it chatters: {detail}"),
                remedy: "give the contact damping, or a softer stiffness".into(),
            });
        }
        Ok(())
    }

    /// Where on the step the first condition fails, of which part, and what that becomes.
    fn first_change(&self, series: &Series) -> Option<(f64, usize, State)> {
        let mut first: Option<(f64, usize, State)> = None;
        for (index, part) in self.model.parts.iter().enumerate() {
            for guard in guards(self.contacts[index], part.ahead, part.behind, self.system.rule) {
                let s = self.fails(part, &guard, series, self.fresh[index]);
                if let Some(s) = s.filter(|&s| first.is_none_or(|(best, _, _)| s < best)) {
                    first = Some((s, index, guard.next));
                }
            }
        }
        first
    }

    /// Where a condition falls below zero.
    fn fails(&self, part: &Part, guard: &Guard, series: &Series, fresh: bool) -> Option<f64> {
        let (constant, row) = part.condition(guard.what);
        let mut c = series.through(constant, &row, &[]);
        let size = constant.abs().max(c.iter().fold(0.0, |a, x| a.max(x.abs())));
        if size == 0.0 {
            return None;
        }
        // The root at the start is the change that has just been; what follows decides.
        let mut stripped = false;
        while c.len() > 1 && c[0].abs() <= ZERO * size && (fresh || stripped || c[0] <= 0.0) {
            c.remove(0);
            stripped = true;
        }
        if c[0] < 0.0 {
            return Some(0.0);
        }
        // It starts above zero, so the first crossing falls.
        crossings(&c, 1).first().copied()
    }
}
