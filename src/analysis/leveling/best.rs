//! The best adjustments under given limits: the exact optimum, the proof that it is one, and the
//! best whole steps of the screws near it.

use nalgebra::DVector;

use super::conditions::{Conditions, conditions};
use super::limits::Limits;
use super::quantize::{Quantized, quantize};
use super::solve::{Answer, Objective, solve};
use crate::error::{Error, Result};

/// An optimum and its whole steps.
pub(super) struct Best {
    /// The exact optimum, m.
    pub optimum: Vec<f64>,
    /// Its optimality conditions.
    pub conditions: Conditions,
    /// The whole steps, where a screw has them.
    pub quantized: Option<Quantized>,
}

impl Best {
    /// The best adjustments; `None` if none keeps all limits. A step (m) of zero leaves a screw
    /// free.
    ///
    /// # Errors
    /// [`Error::NotConverged`] if the conditions of the optimum do not hold to 1e-9.
    pub fn of(limits: &Limits, objective: Objective, step: &[f64]) -> Result<Option<Self>> {
        let Answer::Found(optimum) = solve(limits, objective, step.len())? else { return Ok(None) };
        let conditions = proved(limits, objective, &optimum)?;
        let whole = step.iter().any(|s| *s > 0.0);
        let quantized = whole.then(|| quantize(limits, objective, &optimum, step));
        Ok(Some(Self { optimum: optimum.as_slice().to_vec(), conditions, quantized }))
    }

    /// True unless whole steps break a limit.
    pub fn keeps_limits(&self) -> bool {
        self.quantized.as_ref().is_none_or(|q| q.keeps_limits)
    }
}

fn proved(limits: &Limits, objective: Objective, optimum: &DVector<f64>) -> Result<Conditions> {
    let conditions = conditions(limits, objective, optimum);
    if conditions.hold() {
        return Ok(conditions);
    }
    Err(Error::NotConverged {
        what: "the leveling plan".into(),
        detail: format!(
            "its optimality conditions are off by {:.1e} (limits) and {:.1e} (gradient)",
            conditions.excess / conditions.length,
            conditions.stationarity
        ),
        remedy: "widen the tolerance or the load band a little".into(),
    })
}
