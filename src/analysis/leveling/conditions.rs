//! Is the plan the best there is? Its optimality conditions (Karush, Kuhn and Tucker), judged from
//! the plan alone:
//!
//! feasible: no row broken; stationary: -grad = sum lambda_i g_i over the rows that are tight,
//! lambda_i >= 0.
//!
//! The multipliers come from non-negative least squares over the tight rows, not from the solver.
//! For the convex programs at hand they prove that no other plan is better. lambda says what a
//! limit costs: how much the objective falls when its bound gives by one meter of screw. For least
//! travel grad is sign(a_i), anything within -1..1 where a_i = 0.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::limits::{LimitKind, Limits};
use super::nnls::nnls;
use super::solve::{Objective, length};

/// Slack below this part of the length of the problem is none.
const TIGHT: f64 = 1e-9;

/// The optimality conditions at a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conditions {
    /// Greatest excess over the limits, m of screw; not above rounding where all hold.
    pub excess: f64,
    /// Size of what the multipliers leave of the gradient, relative to it.
    pub stationarity: f64,
    /// Tight limits and their multipliers; zero where a limit is tight by chance.
    pub multipliers: Vec<(LimitKind, f64)>,
    /// Length by which both are judged, m.
    pub length: f64,
}

impl Conditions {
    /// True if they hold to a part of 1e-9.
    pub fn hold(&self) -> bool {
        self.excess <= 1e-9 * self.length && self.stationarity <= 1e-9
    }
}

/// Judges the adjustments a.
pub(super) fn conditions(limits: &Limits, objective: Objective, a: &DVector<f64>) -> Conditions {
    let length = length(limits);
    let tight: Vec<usize> = (0..limits.rows.len())
        .filter(|&i| limits.rows[i].exact || limits.rows[i].excess(a) > -TIGHT * length)
        .collect();
    let mut columns: Vec<DVector<f64>> = Vec::new();
    let mut owner: Vec<(usize, f64)> = Vec::new();
    for &i in &tight {
        columns.push(limits.rows[i].row.clone());
        owner.push((i, 1.0));
        if limits.rows[i].exact {
            columns.push(-&limits.rows[i].row);
            owner.push((i, -1.0));
        }
    }
    let moved = |x: f64| x.abs() > TIGHT * length;
    let gradient = match objective {
        Objective::LeastMotion => a / length,
        Objective::LeastTravel => a.map(|x| if moved(x) { x.signum() } else { 0.0 }),
    };
    let rows = columns.len();
    let n = a.len();
    let mut f = -&gradient;
    let mut extra = 0;
    if objective == Objective::LeastTravel {
        // -grad = -1 + v with 0 <= v <= 2 where a screw is not touched: v and 2 - v as two
        // non-negative parts, the second bound as a row of its own.
        for i in (0..n).filter(|&i| !moved(a[i])) {
            f[i] = -1.0;
            columns.push(DVector::from_fn(n, |j, _| if i == j { -1.0 } else { 0.0 }));
            extra += 1;
        }
    }
    let height = n + extra;
    let e = DMatrix::from_fn(height, rows + 2 * extra, |i, j| match (i < n, j < rows + extra) {
        (true, true) => columns[j][i],
        (true, false) => 0.0,
        // v_k + w_k = 2
        (false, _) => f64::from(u8::from(j >= rows && (j - rows) % extra.max(1) == i - n)),
    });
    let f = DVector::from_fn(height, |i, _| if i < n { f[i] } else { 2.0 });
    let u = nnls(&e, &f);
    let rest = (&f - &e * &u).norm();
    let size = gradient.norm().max(f64::MIN_POSITIVE);
    let mut multipliers: Vec<(LimitKind, f64)> =
        tight.iter().map(|&i| (limits.rows[i].kind.clone(), 0.0)).collect();
    let unit = if objective == Objective::LeastMotion { length } else { 1.0 };
    for (&(row, sign), &value) in owner.iter().zip(u.iter()) {
        if let Some(place) = tight.iter().position(|&i| i == row) {
            multipliers[place].1 += sign * value * unit;
        }
    }
    let nothing = gradient.norm() == 0.0;
    Conditions {
        excess: limits.worst(a).max(0.0),
        stationarity: if nothing { 0.0 } else { rest / size },
        multipliers,
        length,
    }
}
