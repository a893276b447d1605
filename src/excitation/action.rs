//! What acts where, from which source, and how it goes on in time.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::{Record, Segment, Source};

/// A force and a moment at a point of the machine, times f(t).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Action {
    /// Where a force on the floor that follows from it comes from.
    pub source: Source,
    /// Force for unit f, N.
    pub force: Vector3<f64>,
    /// Moment for unit f, N m.
    pub moment: Vector3<f64>,
    /// Where it acts, m; `None`: at the center of mass.
    pub at: Option<Vector3<f64>>,
    /// f, dimensionless; zero outside its segments.
    pub segments: Vec<Segment>,
    /// Time between the samples that f goes through, s; `None`: f is in closed form.
    pub interval: Option<f64>,
}

impl Action {
    /// A force along a direction (unit vector), N, at a point (m).
    pub fn force(
        source: Source,
        direction: Vector3<f64>,
        at: Option<Vector3<f64>>,
        segments: Vec<Segment>,
    ) -> Self {
        Self { source, force: direction, moment: Vector3::zeros(), at, segments, interval: None }
    }

    /// A moment about an axis (unit vector, right-handed), N m, on the whole machine.
    pub fn moment(source: Source, axis: Vector3<f64>, segments: Vec<Segment>) -> Self {
        let force = Vector3::zeros();
        Self { source, force, moment: axis, at: None, segments, interval: None }
    }

    /// A force along a direction (unit vector) as it was sampled, N, at a point (m).
    pub fn recorded(
        source: Source,
        direction: Vector3<f64>,
        at: Option<Vector3<f64>>,
        record: &Record,
    ) -> Self {
        let force = Self::force(source, direction, at, record.segments());
        Self { interval: Some(record.interval), ..force }
    }

    /// Force and moment for unit f about a point (m), N and N m.
    pub fn about(&self, point: &Vector3<f64>) -> [f64; 6] {
        let moment = match self.at {
            Some(at) => self.moment + (at - point).cross(&self.force),
            None => self.moment,
        };
        let (f, m) = (self.force, moment);
        [f.x, f.y, f.z, m.x, m.y, m.z]
    }

    /// End of its history, s.
    pub fn end(&self) -> f64 {
        self.segments.iter().map(|s| s.end).fold(0.0, f64::max)
    }

    /// Value of f at a time (s).
    pub fn value(&self, t: f64) -> f64 {
        let now = self.segments.iter().filter(|s| (s.start..s.end).contains(&t));
        now.map(|s| s.value(t)).sum()
    }
}

/// All that acts in an event: what went on before, what acts, how long it is looked at.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Excitation {
    /// Running for long before it; none: the machine was at rest.
    pub before: Option<Before>,
    /// What acts from t = 0 on.
    pub actions: Vec<Action>,
    /// End of the motion that is looked at, s; none: when it has died away.
    pub duration: Option<f64>,
    /// The actions come back every so often, s, and have done so for long; none: they act once.
    pub every: Option<f64>,
}

impl Excitation {
    /// Actions on a machine at rest.
    pub fn once(actions: Vec<Action>) -> Self {
        Self { before: None, actions, duration: None, every: None }
    }

    /// Actions that come back every period, and have done so for long.
    pub fn repeated(turn: Before) -> Self {
        let Before { actions, period } = turn;
        Self { before: None, actions, duration: None, every: Some(period) }
    }

    /// Where its forces come from, each once, in the order of [`Source`].
    pub fn sources(&self) -> Vec<Source> {
        let earlier = self.before.iter().flat_map(|b| &b.actions);
        let mut all: Vec<Source> = self.actions.iter().chain(earlier).map(|a| a.source).collect();
        all.sort();
        all.dedup();
        all
    }
}

/// What went on for long before t = 0, coming back every period; t = 0 is a start of a period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Before {
    /// One period of it.
    pub actions: Vec<Action>,
    /// s.
    pub period: f64,
}
