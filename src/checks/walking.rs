//! Does it walk? The horizontal force on all feet, and its yaw moment, against friction, at every
//! instant.
//!
//! used(t) = safety mu_needed(t) / mu, with mu_needed(t) of `friction_needed` for H(t), M(t) and
//! the vertical loads N_i(t), static and dynamic together: it holds while used <= 1.
//!
//! The worst instant is solved for (`analysis::instant`), so that forces that peak at different
//! times are not put together: neither the peak over the static load (blind to a lifting jerk)
//! nor the peak over the least load (too severe). Under a steady load the forces keep the phases
//! with which the mounts pass them on.
//!
//! A single foot whose own force passes mu N_i / safety slips a little and hands its share to the
//! others; that is reported on a condition, and is not yet walking.
//!
//! Common practice: mu 0.1 to 0.2 oily, 0.5 to 0.7 dry; safety 1.5 to 2.
//!
//! Limits: the motion is that of feet that hold; what happens after they slip is not computed.

use serde::{Deserialize, Serialize};

use super::feet::{Feet, Foot};
use super::friction::{friction_needed, friction_within};
use super::{Check, Verdict};
use crate::analysis::instant::{Demand, History, Steady, greatest};
use crate::error::{Error, Result, positive};

/// A twist below this part of the weight's own moment is rounding.
const ROUNDING: f64 = 1e-9;

/// Friction under the feet.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Friction {
    /// Coefficient of friction mu.
    pub coefficient: f64,
    /// Safety against sliding, 1 or more.
    pub safety: f64,
}

impl Friction {
    /// Coefficient for an oily floor, in the middle of 0.1 to 0.2 (common practice).
    pub const OILY: f64 = 0.15;
    /// Safety at the lower end of 1.5 to 2 (common practice).
    pub const SAFETY: f64 = 1.5;

    /// Friction under the feet.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a coefficient that is not positive or a safety below 1.
    pub fn new(coefficient: f64, safety: f64) -> Result<Self> {
        positive("coefficient", coefficient, "")?;
        if !(safety.is_finite() && safety >= 1.0) {
            return Err(Error::invalid(
                "safety",
                safety,
                "must be at least 1",
                "1.5 to 2 is common practice",
            ));
        }
        Ok(Self { coefficient, safety })
    }
}

/// What friction must hold in one motion, at its worst instant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sliding {
    /// Coefficient of friction that all feet together need, without safety.
    pub friction_needed: f64,
    /// When, s.
    pub time: f64,
    /// Horizontal force on the floor then, N.
    pub force: [f64; 2],
    /// Yaw moment about the origin then, N m.
    pub yaw: f64,
    /// Vertical load of all feet then, N.
    pub load: f64,
    /// The foot that is nearest to slipping alone.
    pub foot: String,
    /// Coefficient of friction that it needs, without safety; infinite if it is unloaded.
    pub foot_friction_needed: f64,
    /// When, s.
    pub foot_time: f64,
}

/// What friction must hold in a motion; `history` as [`Feet::output`] or [`Feet::steady`] orders
/// its quantities.
///
/// # Errors
/// [`Error::Shape`] for the history of another system; [`Error::NotConverged`] if the search for
/// the worst instant does not end.
pub fn sliding(feet: &Feet, history: &impl History) -> Result<Sliding> {
    feet.check(history)?;
    let set = greatest(history, &Together(feet))?;
    let (force, yaw, _) = feet.sideways(&set.quantities);
    let alone = Alone(feet);
    let foot = greatest(history, &alone)?;
    let slipping = alone.worst(&foot.quantities).map_or("", |f| &f.name);
    Ok(Sliding {
        friction_needed: set.value,
        time: set.time,
        force: [force.x, force.y],
        yaw,
        load: feet.load(&set.quantities),
        foot: slipping.into(),
        foot_friction_needed: foot.value,
        foot_time: foot.time,
    })
}

/// Friction that a steady vibration asks of all feet, at sixteen instants of its period: to compare
/// speeds with each other, not to judge one.
pub(super) fn friction_estimate(feet: &Feet, steady: &Steady) -> f64 {
    let cuts = steady.cuts();
    let demand = Together(feet);
    cuts.iter().map(|&t| demand.at(&steady.values(0, t))).fold(0.0, f64::max)
}

/// Two checks of a motion: all feet together, and the foot nearest to slipping alone.
///
/// # Errors
/// None beyond those of [`Check::at_most`].
pub fn walking(found: &Sliding, friction: &Friction, case: &str) -> Result<[Check; 2]> {
    let Friction { coefficient, safety } = *friction;
    let used = |needed: f64| needed * safety / coefficient;
    let source = format!(
        "friction {coefficient}, safety {safety}; feet that slip pass their share on (limit surface)"
    );
    let at = |time: f64| format!("{case}, at {time:.3} s");
    let set = Check::at_most("friction used by all feet", used(found.friction_needed), 1.0, "")?
        .in_case(at(found.time))
        .from_source(source.clone());
    let foot =
        Check::at_most("friction used by one foot", used(found.foot_friction_needed), 1.0, "")?;
    let mut foot =
        foot.in_case(format!("{}, {}", at(found.foot_time), found.foot)).from_source(source);
    if foot.verdict == Verdict::No {
        // The others hold, or the check of all feet says no.
        foot.verdict = Verdict::OkIf(format!("{} may slip while the others hold", found.foot));
    }
    Ok([set, foot])
}

/// Greatest horizontal force of any one foot on the floor, static and dynamic, in a motion.
///
/// # Errors
/// As [`sliding`]; [`Error::Invalid`] for a limit that is not positive.
pub fn lateral(feet: &Feet, history: &impl History, limit: f64, case: &str) -> Result<Check> {
    positive("limit", limit, "N")?;
    feet.check(history)?;
    let demand = feet.lateral();
    let worst = greatest(history, &demand)?;
    let foot = feet.feet.get(demand.longest(&worst.quantities)).map_or("", |f| &f.name);
    let check = Check::at_most("greatest horizontal force of one foot", worst.value, limit, "N")?;
    Ok(check.in_case(format!("{case}, at {:.3} s, {foot}", worst.time)))
}

/// All feet together.
struct Together<'a>(&'a Feet);

impl Together<'_> {
    /// A point holds no twist; what rounding leaves of one is none.
    fn twists(&self, twist: f64) -> bool {
        twist.abs() > ROUNDING * self.0.lever_moment()
    }
}

impl Demand for Together<'_> {
    fn at(&self, y: &[f64]) -> f64 {
        let (force, yaw, _) = self.0.sideways(y);
        let load = self.0.load(y);
        if load <= 0.0 {
            return f64::INFINITY;
        }
        if self.0.feet.len() == 1 {
            let twist = self.0.sideways(y).2;
            return if self.twists(twist) { f64::INFINITY } else { force.norm() / load };
        }
        // Where feet would pull, the load they share is less than the sum of those that press.
        friction_needed(&self.0.pressed(y), force, yaw).max(force.norm() / load)
    }

    /// The forces as the mounts pass them on hold too, with the friction of the worst foot and
    /// what a twist adds.
    fn quick(&self, y: &[f64]) -> f64 {
        if self.0.feet.len() == 1 {
            return self.at(y);
        }
        let alone = Alone(self.0).at(y);
        if alone.is_infinite() {
            return alone;
        }
        let twist = self.0.sideways(y).2.abs();
        friction_within(&self.0.pressed(y), alone, 0.0, twist, &vec![0.0; self.0.feet.len()])
    }

    fn within(&self, y: &[f64], q: f64, slack: &[f64]) -> f64 {
        let feet = self.0;
        let (force_slack, yaw_slack, twist_slack) = feet.sideways_slack(slack);
        let each: Vec<f64> = (0..feet.feet.len()).map(|i| feet.force_slack(i, slack).z).collect();
        let load = feet.load(y) - each.iter().sum::<f64>();
        if load <= 0.0 {
            return f64::INFINITY;
        }
        if slack.iter().all(|&s| s == 0.0) {
            return q;
        }
        if feet.feet.len() == 1 {
            let twisted = self.twists(feet.sideways(y).2.abs() + twist_slack);
            let far = (feet.sideways(y).0.norm() + force_slack) / load;
            return if twisted { f64::INFINITY } else { far };
        }
        let pressed = feet.pressed(y);
        let plain = (feet.sideways(y).0.norm() + force_slack) / load;
        let set = friction_within(&pressed, q, force_slack, yaw_slack, &each).max(plain);
        // The same by the foot that asks most, which is nearer where little is asked.
        let alone = Alone(feet).within(y, q, slack);
        let twist = feet.sideways(y).2.abs() + twist_slack;
        set.min(friction_within(&pressed, alone, 0.0, twist, &each))
    }
}

/// The foot that needs the most friction alone.
struct Alone<'a>(&'a Feet);

impl Alone<'_> {
    fn of(&self, i: usize, y: &[f64]) -> f64 {
        let force = self.0.force(i, y);
        ratio(force.xy().norm(), -force.z)
    }

    fn worst(&self, y: &[f64]) -> Option<&Foot> {
        if y.is_empty() {
            return None;
        }
        let all = 0..self.0.feet.len();
        all.max_by(|&a, &b| self.of(a, y).total_cmp(&self.of(b, y))).map(|i| &self.0.feet[i])
    }
}

impl Demand for Alone<'_> {
    fn at(&self, y: &[f64]) -> f64 {
        (0..self.0.feet.len()).map(|i| self.of(i, y)).fold(0.0, f64::max)
    }

    fn within(&self, y: &[f64], _q: f64, slack: &[f64]) -> f64 {
        let far = |i: usize| {
            let (force, slack) = (self.0.force(i, y), self.0.force_slack(i, slack));
            ratio(force.xy().norm() + slack.xy().norm(), -force.z - slack.z)
        };
        (0..self.0.feet.len()).map(far).fold(0.0, f64::max)
    }
}

/// Horizontal over vertical force; nothing on nothing needs no friction.
fn ratio(sideways: f64, load: f64) -> f64 {
    if sideways == 0.0 && load >= 0.0 {
        0.0
    } else if load > 0.0 {
        sideways / load
    } else {
        f64::INFINITY
    }
}
