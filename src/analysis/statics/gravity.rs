//! How does the weight soften the mounts?
//!
//! A force F that keeps its direction, at an arm r that turns with the body, does the work
//! F . (theta x r + theta x (theta x r) / 2). Its second-order part is a stiffness
//!
//! K_g = (F . r) I - sym(F r'),   sym(A) = (A + A') / 2,
//!
//! on the rotations of the body. Mounts below the center of mass give F . r < 0: the weight
//! overturns. Each reaction acts on the body its port belongs to; weights act at the centers of
//! mass, where the arm is zero. A load given as a force elsewhere is treated as if at the center
//! of mass with its moment: put a heavy die into the body rather than into the load.
//!
//! Source: textbook (second-order work of a constant force); with F = m g e_z at arm -h e_z it is
//! the -m g h of the rocking check.

use nalgebra::{DMatrix, DVector, Matrix3};

use super::equilibrium::{Model, parts};
use super::unilateral;
use crate::error::{Error, Result};

/// Relative change of K_g at which it is consistent with its own reactions.
const CONSISTENT: f64 = 1e-13;
/// Rounds of plain substitution.
const PLAIN: usize = 10;
const ROUNDS: usize = 200;

/// An equilibrium: displacement, contact, and the gravity stiffness it was solved with.
pub(super) struct Equilibrium {
    pub x: DVector<f64>,
    pub contact: Vec<bool>,
    pub gravity: DMatrix<f64>,
    pub rounds: usize,
    pub warnings: Vec<String>,
}

/// Solves K x = f, or K + K_g with the K_g of its own reactions.
pub(super) fn equilibrium(model: &Model, lift: bool, with_gravity: bool) -> Result<Equilibrium> {
    let n = model.dofs.len();
    let mut gravity = DMatrix::zeros(n, n);
    let mut change = f64::INFINITY;
    for round in 0..ROUNDS {
        let (x, contact) = solve(model, lift, &gravity)?;
        if !with_gravity {
            return Ok(Equilibrium { x, contact, gravity, rounds: 0, warnings: Vec::new() });
        }
        let (next, warnings) = gravity_stiffness(model, &x, &contact);
        let last = change;
        change = (&next - &gravity).amax();
        let settled = change <= CONSISTENT * next.amax()
            || (change <= 1e3 * CONSISTENT * next.amax() && change >= last);
        if settled {
            return Ok(Equilibrium { x, contact, gravity, rounds: round, warnings });
        }
        // Plain steps converge in a few rounds; half steps tame one that circles.
        gravity = if round < PLAIN { next } else { (gravity + next) * 0.5 };
    }
    Err(Error::NotConverged {
        what: "gravity stiffness".into(),
        detail: format!(
            "its largest entry still changes by {change:.3e} N m/rad after {ROUNDS} rounds"
        ),
        remedy: "the machine is close to tipping: stiffen or widen the mounts".into(),
    })
}

fn solve(model: &Model, lift: bool, gravity: &DMatrix<f64>) -> Result<(DVector<f64>, Vec<bool>)> {
    if lift {
        return unilateral::solve(model, gravity);
    }
    let contact = vec![true; model.supports.len()];
    match model.solve(&parts(&contact, 0.0), gravity)? {
        Some(x) => Ok((x, contact)),
        None => Err(model.why_unstable(&contact, gravity)),
    }
}

/// K_g of the reactions at x, and what it leaves out.
pub(super) fn gravity_stiffness(
    model: &Model,
    x: &DVector<f64>,
    contact: &[bool],
) -> (DMatrix<f64>, Vec<String>) {
    let n = model.dofs.len();
    let mut gravity = DMatrix::zeros(n, n);
    let mut warnings = Vec::new();
    let mut height = vec![0.0; model.joints.len()];
    let mut carries = vec![true; model.joints.len()];
    for (i, &joint) in model.supports.iter().enumerate() {
        height[joint] = model.heights[i];
        carries[joint] = contact[i];
    }
    for (index, joint) in model.joints.iter().enumerate().filter(|(index, _)| carries[*index]) {
        for end in &joint.ends {
            let (force, _) = joint.reaction(end, x, height[index]);
            let turns = end.rows[3..].iter().any(Option::is_some);
            if !end.arm_known && turns && force.norm() > 0.0 {
                warnings.push(format!(
                    "gravity stiffness takes the force of {} at the height of the center of mass: \
                     where along its axis it acts does not follow from its port",
                    joint.name
                ));
            }
            let product = force * end.arm.transpose();
            let kg =
                Matrix3::identity() * force.dot(&end.arm) - (product + product.transpose()) * 0.5;
            for i in 0..3 {
                for j in 0..3 {
                    if let (Some(row), Some(column)) = (end.rows[3 + i], end.rows[3 + j]) {
                        gravity[(row, column)] += kg[(i, j)];
                    }
                }
            }
        }
    }
    (gravity, warnings)
}
