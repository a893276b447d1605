//! Where do curved mounts come to rest?
//!
//! g(x) = sum B f(B' x - tau h) + K_g x - load = 0, by steps d with (K_t + K_g) d = -g, K_t the
//! tangents at x. Loads rise with the deformation everywhere, so the potential is convex as long as
//! gravity does not win: along d it is least where d' g = 0, which the line search finds from a
//! whole step backwards; then the method ends from any start. Where K_t + K_g is not positive
//! definite on the way (soft mounts that have not stiffened yet), the step is taken with K_t alone.
//!
//! The steps end when the balance no longer improves; it must then hold to [`BALANCED`] of the
//! load. Beyond the end of a curve the search passes along its tangent; a result there is refused
//! (`working::in_range`).
//!
//! Source: textbook (damped Newton method; J. Nocedal and S. J. Wright, Numerical Optimization,
//! 2nd ed. 2006, chapter 3, from memory).

use nalgebra::{DMatrix, DVector};

use super::equilibrium::{Factor, Model, parts};
use super::gravity::Equilibrium;
use crate::error::{Error, Result};

/// Balance, as a part of the load, that counts as reached.
pub(super) const BALANCED: f64 = 1e-11;
/// Balance at which one more step is useless.
const ROUNDING: f64 = 1e-16;
const STEPS: usize = 200;
/// Part of the slope along a step that may be left after the line search.
const FLATTER: f64 = 0.5;
const HALVINGS: usize = 60;

/// A solution, and how it was reached.
pub(super) struct Found {
    pub x: DVector<f64>,
    pub steps: usize,
    pub residual: f64,
}

/// Equilibrium with a part of each support at work; `None` if it is not stable.
pub(super) fn solve(
    model: &Model,
    bound: f64,
    part: &[f64],
    gravity: &DMatrix<f64>,
) -> Result<Option<Found>> {
    let mut x = DVector::zeros(model.dofs.len());
    let mut g = out_of_balance(model, part, gravity, &x);
    let mut best = (balance(model, part, gravity, &x, &g), x.clone());
    for step in 0..STEPS {
        let tangent = tangent(model, part, &x);
        let whole = &tangent + gravity;
        let stable = Factor::new(&whole, &model.scale, bound);
        if best.0 <= ROUNDING {
            return Ok(stable.map(|_| Found { x: best.1, steps: step, residual: best.0 }));
        }
        let d = match &stable {
            Some(factor) => factor.solve(&whole, &-&g),
            None => match Factor::new(&tangent, &model.scale, bound) {
                Some(factor) => factor.solve(&tangent, &-&g),
                None => return Ok(None),
            },
        };
        (x, g) = along(model, part, gravity, &x, &g, &d);
        let now = balance(model, part, gravity, &x, &g);
        let better = now < 0.5 * best.0;
        if now < best.0 {
            best = (now, x.clone());
        }
        if !better && best.0 <= BALANCED {
            let whole = self::tangent(model, part, &best.1) + gravity;
            let stable = Factor::new(&whole, &model.scale, bound);
            return Ok(stable.map(|_| Found { x: best.1, steps: step + 1, residual: best.0 }));
        }
        if !x.iter().all(|v| v.is_finite()) {
            break;
        }
    }
    let whole = self::tangent(model, part, &best.1) + gravity;
    if Factor::new(&whole, &model.scale, bound).is_none() {
        return Ok(None);
    }
    Err(Error::NotConverged {
        what: "the equilibrium of curved mounts".into(),
        detail: format!("forces balance to {:.3e} of the load after {STEPS} steps", best.0),
        remedy: "look for a curve that bends sharply or stiffnesses that differ by more than 1e9"
            .into(),
    })
}

/// Steps and balance of an equilibrium that was found; zeros for a linear system.
pub(super) fn reached(model: &Model, found: &Equilibrium) -> Result<(usize, f64)> {
    if model.is_linear() {
        return Ok((0, 0.0));
    }
    let part = parts(&found.contact, 0.0);
    let again = solve(model, 0.0, &part, &found.gravity)?;
    Ok(again.map_or((0, f64::INFINITY), |again| (again.steps, again.residual)))
}

/// g(x), N and N m.
fn out_of_balance(
    model: &Model,
    part: &[f64],
    gravity: &DMatrix<f64>,
    x: &DVector<f64>,
) -> DVector<f64> {
    let mut g = gravity * x - &model.load;
    for (joint, part, height) in model.at_work(part).filter(|(_, part, _)| *part != 0.0) {
        g += &joint.b * joint.force(&joint.deformation(x, height)) * part;
    }
    g
}

/// K_t at x.
fn tangent(model: &Model, part: &[f64], x: &DVector<f64>) -> DMatrix<f64> {
    let n = model.dofs.len();
    let mut k = DMatrix::zeros(n, n);
    for (joint, part, height) in model.at_work(part).filter(|(_, part, _)| *part != 0.0) {
        let law = joint.law.at(&joint.deformation(x, height));
        k += &joint.b * law.static_stiffness() * joint.b.transpose() * part;
    }
    (&k + k.transpose()) * 0.5
}

/// |g| as a part of the largest force at work, each degree of freedom on its own scale.
fn balance(
    model: &Model,
    part: &[f64],
    gravity: &DMatrix<f64>,
    x: &DVector<f64>,
    g: &DVector<f64>,
) -> f64 {
    let mut size = model.load.component_mul(&model.scale).amax();
    size = size.max((gravity * x).component_mul(&model.scale).amax());
    if size == 0.0 {
        // No load: the heights of the floor alone set forces.
        size = out_of_balance(model, part, gravity, &DVector::zeros(x.len()))
            .component_mul(&model.scale)
            .amax();
    }
    let left = g.component_mul(&model.scale).amax();
    if left == 0.0 { 0.0 } else { left / size }
}

/// The point along d where the slope d' g has fallen far enough.
fn along(
    model: &Model,
    part: &[f64],
    gravity: &DMatrix<f64>,
    x: &DVector<f64>,
    g: &DVector<f64>,
    d: &DVector<f64>,
) -> (DVector<f64>, DVector<f64>) {
    let at = |s: f64| {
        let x = x + d * s;
        let g = out_of_balance(model, part, gravity, &x);
        (x, g)
    };
    let start = d.dot(g);
    let mut high = at(1.0);
    if start >= 0.0 || d.dot(&high.1) <= FLATTER * start.abs() {
        return high;
    }
    // The slope turned within the step: close in on where it is zero.
    let (mut low, mut top) = (0.0, 1.0);
    for _ in 0..HALVINGS {
        let s = 0.5 * (low + top);
        high = at(s);
        let slope = d.dot(&high.1);
        if slope.abs() <= FLATTER * start.abs() {
            break;
        }
        if slope > 0.0 { top = s } else { low = s }
    }
    high
}
