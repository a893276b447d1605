//! How is the plan found? As a convex program over unit-length rows g'a <= b (module `limits`):
//!
//! - least motion: min |a|^2 / 2, a quadratic program with one solution;
//! - least travel: min sum |a_i|, a linear program over a = r - d, r, d >= 0, whose vertices touch
//!   few screws.
//!
//! The `clarabel` interior-point solver (P. J. Goulart and Y. Chen, arXiv:2405.12762, 2024, from
//! memory) solves both; rows are of unit length, without which it stops some 1e-6 off. Its answer
//! is then polished: the quadratic program by solving its active set exactly, a = M'lambda with
//! M M' lambda = b, until no multiplier has the wrong sign and no row is broken; the linear one by
//! walking to a vertex that costs no more. What the walk ends at is judged by `conditions`, which
//! knows nothing of the solver.

use clarabel::algebra::CscMatrix;
use clarabel::solver::{
    DefaultSettingsBuilder, DefaultSolver, IPSolver, NonnegativeConeT, SolverStatus,
    SupportedConeT, ZeroConeT,
};
use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::limits::{Limit, Limits};
use super::nnls::{least_distance, shortest_on};
use super::vertex::vertex;
use crate::error::{Error, Result};

/// What is made small.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Objective {
    /// Sum of squares of the adjustments: every screw a little.
    #[default]
    LeastMotion,
    /// Sum of sizes of the adjustments: few screws.
    LeastTravel,
}

impl Objective {
    /// Its value: m^2 (half the sum of squares) or m (the sum).
    pub fn of(self, a: &[f64]) -> f64 {
        match self {
            Self::LeastMotion => 0.5 * a.iter().map(|x| x * x).sum::<f64>(),
            Self::LeastTravel => a.iter().map(|x| x.abs()).sum(),
        }
    }
}

/// Rows broken by less than this part of the length of the problem hold.
pub(super) const HOLDS: f64 = 1e-11;
/// Slack below this part of the length of the problem is none, in the answer of the solver.
const TIGHT: f64 = 1e-7;
/// Rounds of exchange of the active set.
const ROUNDS: usize = 200;

/// What a program ended in.
pub(super) enum Answer {
    /// The adjustments, m.
    Found(DVector<f64>),
    /// No adjustments keep all limits.
    Infeasible,
}

/// Solves min objective(a) under the rows.
pub(super) fn solve(limits: &Limits, objective: Objective, n: usize) -> Result<Answer> {
    let length = length(limits);
    if limits.worst(&DVector::zeros(n)) <= HOLDS * length {
        return Ok(Answer::Found(DVector::zeros(n)));
    }
    match objective {
        Objective::LeastMotion => least_motion(limits, n, length),
        Objective::LeastTravel => least_travel(limits, n, length),
    }
}

/// The length of the problem: how far some row is broken, or bound, at a = 0, m.
pub(super) fn length(limits: &Limits) -> f64 {
    let zero = |limit: &Limit| {
        let over = -limit.bound;
        if limit.exact { over.abs() } else { over }
    };
    let broken = limits.rows.iter().map(zero).fold(0.0, f64::max);
    if broken > 0.0 { broken } else { 1e-3 }
}

fn least_motion(limits: &Limits, n: usize, length: f64) -> Result<Answer> {
    let p: Vec<f64> = vec![1.0; n];
    let program = Program::over(limits, n, length);
    let start = match program.solve(&p, &vec![0.0; n]) {
        Ok(Some(x)) => DVector::from_vec(x) * length,
        Ok(None) => return Ok(Answer::Infeasible),
        // On the edge of a conflict the solver cannot tell; the least distance can.
        Err(_) => match shortest(limits, length) {
            Some(near) => near,
            None => return Ok(Answer::Infeasible),
        },
    };
    let active = (0..limits.rows.len())
        .filter(|&i| limits.rows[i].exact || limits.rows[i].excess(&start) > -TIGHT * length)
        .collect();
    match polished(limits, active, n, length) {
        Ok(a) => Ok(Answer::Found(a)),
        // An exchange that circles: the least-distance problem gives the active set anew.
        Err(circles) => match shortest(limits, length) {
            Some(near) => {
                let tight = |&i: &usize| {
                    limits.rows[i].exact || limits.rows[i].excess(&near) > -TIGHT * length
                };
                let active = (0..limits.rows.len()).filter(tight).collect();
                polished(limits, active, n, length).map(Answer::Found).or(Err(circles))
            }
            None => Ok(Answer::Infeasible),
        },
    }
}

/// The shortest a that keeps all rows, without the solver; `None` if they conflict.
fn shortest(limits: &Limits, length: f64) -> Option<DVector<f64>> {
    let (mut rows, mut bounds) = (Vec::new(), Vec::new());
    for limit in &limits.rows {
        rows.push(limit.row.clone());
        bounds.push(limit.bound / length);
        if limit.exact {
            rows.push(-&limit.row);
            bounds.push(-limit.bound / length);
        }
    }
    least_distance(&rows, &bounds).map(|x| x * length)
}

/// The least a with the active rows as equations, exchanged until it is optimal.
fn polished(limits: &Limits, active: Vec<usize>, n: usize, length: f64) -> Result<DVector<f64>> {
    let mut active = active;
    for _ in 0..ROUNDS {
        let kept = independent(limits, &active, n);
        let (a, lambda) = on_equations(limits, &kept, n)?;
        // A multiplier of the wrong sign: the row holds it back for nothing.
        let wrong = (0..kept.len())
            .filter(|&i| !limits.rows[kept[i]].exact && lambda[i] < -HOLDS * length)
            .min_by(|&a, &b| lambda[a].total_cmp(&lambda[b]));
        if let Some(wrong) = wrong {
            active = kept.iter().copied().filter(|&i| i != kept[wrong]).collect();
            continue;
        }
        let broken = (0..limits.rows.len())
            .filter(|i| !kept.contains(i) && limits.rows[*i].excess(&a) > HOLDS * length)
            .max_by(|&i, &j| limits.rows[i].excess(&a).total_cmp(&limits.rows[j].excess(&a)));
        match broken {
            None => return Ok(a),
            // The newest first, so that one that depends on others takes the place of one of them.
            Some(row) => active = std::iter::once(row).chain(kept).collect(),
        }
    }
    Err(Error::NotConverged {
        what: "the active set of the leveling plan".into(),
        detail: format!("it still changes after {ROUNDS} exchanges"),
        remedy: "widen the tolerance or the load band a little".into(),
    })
}

/// Of the active rows those that do not depend on earlier ones; equations come first.
fn independent(limits: &Limits, active: &[usize], n: usize) -> Vec<usize> {
    let mut order = active.to_vec();
    order.sort_by_key(|&i| !limits.rows[i].exact);
    let mut kept = Vec::new();
    let mut basis: Vec<DVector<f64>> = Vec::new();
    for i in order {
        let mut rest = limits.rows[i].row.clone();
        for _ in 0..2 {
            for b in &basis {
                rest -= b * b.dot(&rest);
            }
        }
        let left = rest.norm();
        if left > 1e-8 && basis.len() < n {
            basis.push(rest / left);
            kept.push(i);
        }
    }
    kept
}

/// a = M' lambda with M a = b, and minus lambda: the multipliers of g'a <= b.
fn on_equations(limits: &Limits, rows: &[usize], n: usize) -> Result<(DVector<f64>, DVector<f64>)> {
    if rows.is_empty() {
        return Ok((DVector::zeros(n), DVector::zeros(0)));
    }
    let m = DMatrix::from_fn(rows.len(), n, |i, j| limits.rows[rows[i]].row[j]);
    let b = DVector::from_fn(rows.len(), |i, _| limits.rows[rows[i]].bound);
    let (a, lambda) = shortest_on(&m, &b).ok_or_else(|| Error::NotConverged {
        what: "the equations of the leveling plan".into(),
        detail: "the limits that bind depend on each other".into(),
        remedy: "widen the tolerance or the load band a little".into(),
    })?;
    Ok((a, -lambda))
}

/// min sum (r + d) over [r; d] >= 0 with a = r - d.
fn least_travel(limits: &Limits, n: usize, length: f64) -> Result<Answer> {
    let mut split = Limits::default();
    for limit in &limits.rows {
        let row =
            DVector::from_fn(2 * n, |j, _| if j < n { limit.row[j] } else { -limit.row[j - n] });
        split.rows.push(Limit { row, ..limit.clone() });
    }
    for j in 0..2 * n {
        let mut row = DVector::zeros(2 * n);
        row[j] = -1.0;
        let kind = super::limits::LimitKind::Down(j % n);
        split.rows.push(Limit { kind, row, bound: 0.0, exact: false, gives: 0.0 });
    }
    let cost = DVector::from_element(2 * n, 1.0);
    let Some(x) = linear(&split, &cost, length)? else { return Ok(Answer::Infeasible) };
    Ok(Answer::Found(DVector::from_fn(n, |i, _| x[i] - x[n + i])))
}

/// A vertex of the rows at which cost'x is least, or `None` if no x keeps them.
pub(super) fn linear(
    limits: &Limits,
    cost: &DVector<f64>,
    length: f64,
) -> Result<Option<DVector<f64>>> {
    let n = cost.len();
    let program = Program::over(limits, n, length);
    let start = match program.solve(&vec![0.0; n], cost.as_slice()) {
        Ok(Some(x)) => DVector::from_vec(x) * length,
        Ok(None) => return Ok(None),
        Err(_) => match shortest(limits, length) {
            Some(near) => near,
            None => return Ok(None),
        },
    };
    vertex(limits, cost, start, length).map(Some)
}

/// Rows and bounds as the solver wants them, lengths over that of the problem.
struct Program {
    a: CscMatrix<f64>,
    b: Vec<f64>,
    cones: Vec<SupportedConeT<f64>>,
}

impl Program {
    fn over(limits: &Limits, n: usize, length: f64) -> Self {
        let exact = limits.rows.iter().filter(|l| l.exact);
        let others = limits.rows.iter().filter(|l| !l.exact);
        let (equations, bounds) = (exact.clone().count(), others.clone().count());
        let rows: Vec<&Limit> = exact.chain(others).collect();
        let mut cones = Vec::new();
        if equations > 0 {
            cones.push(ZeroConeT(equations));
        }
        if bounds > 0 {
            cones.push(NonnegativeConeT(bounds));
        }
        let (mut starts, mut index, mut values) = (vec![0], Vec::new(), Vec::new());
        for j in 0..n {
            for (i, limit) in rows.iter().enumerate().filter(|(_, l)| l.row[j] != 0.0) {
                index.push(i);
                values.push(limit.row[j]);
            }
            starts.push(index.len());
        }
        Self {
            a: CscMatrix::new(rows.len(), n, starts, index, values),
            b: rows.iter().map(|l| l.bound / length).collect(),
            cones,
        }
    }

    /// x of min x'diag(p)x / 2 + q'x, or `None` if the rows cannot all hold.
    fn solve(&self, p: &[f64], q: &[f64]) -> Result<Option<Vec<f64>>> {
        let n = q.len();
        let quadratic = if p.iter().any(|&x| x != 0.0) {
            CscMatrix::new(n, n, (0..=n).collect(), (0..n).collect(), p.to_vec())
        } else {
            CscMatrix::zeros((n, n))
        };
        let failed = |detail: String| Error::NotConverged {
            what: "the leveling plan".into(),
            detail,
            remedy: "widen the tolerance or the load band a little".into(),
        };
        let settings = DefaultSettingsBuilder::default()
            .verbose(false)
            .tol_gap_abs(1e-12)
            .tol_gap_rel(1e-12)
            .tol_feas(1e-12)
            .presolve_enable(false)
            .max_threads(1_u32)
            .build()
            .map_err(|e| failed(e.to_string()))?;
        let mut solver = DefaultSolver::new(&quadratic, q, &self.a, &self.b, &self.cones, settings)
            .map_err(|e| failed(e.to_string()))?;
        solver.solve();
        match solver.solution.status {
            SolverStatus::Solved | SolverStatus::AlmostSolved => {
                Ok(Some(solver.solution.x.clone()))
            }
            SolverStatus::PrimalInfeasible | SolverStatus::AlmostPrimalInfeasible => Ok(None),
            // Close to the last digit the path may stall: what it has is polished and judged.
            SolverStatus::InsufficientProgress
            | SolverStatus::MaxIterations
            | SolverStatus::NumericalError
                if solver.solution.r_prim < 1e-6 =>
            {
                Ok(Some(solver.solution.x.clone()))
            }
            other => Err(failed(format!("the solver ended with {other}"))),
        }
    }
}
