//! If no plan keeps all limits: which of them conflict, and by how much must they give?
//!
//! An irreducible set: limits that cannot hold together, though any one of them less could. Each
//! limit is dropped in turn; it stays out if the rest still conflicts (deletion filter;
//! J. W. Chinneck and E. W. Dravnieks, ORSA Journal on Computing 3 (1991) 157, from memory).
//! Whether a set conflicts is judged by a least-distance problem, not by the solver.
//!
//! What must give: for each group of limits (level tolerance, load band, travel) the least t by
//! which it must grow while the others stay as they are, a linear program min t.

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::limits::{Group, Limit, LimitKind, Limits};
use super::nnls::least_distance;
use super::settlement::State;
use super::solve::{length, linear};
use crate::error::{Error, Result};

/// How much one group of limits must give if the others stay.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Give {
    /// Which group.
    pub group: Group,
    /// By how much: rad for the level tolerance, a fraction for the load band, m for the travel;
    /// `None` if this group alone cannot resolve it.
    pub amount: Option<f64>,
}

/// Why there is no plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Conflict {
    /// Limits that cannot hold together; without any one of them the others could.
    pub limits: Vec<LimitKind>,
    /// What each group must give if the others stay.
    pub gives: Vec<Give>,
    /// Names of the mounts.
    pub mount_names: Vec<String>,
    /// The machine now.
    pub before: State,
}

impl Conflict {
    /// The conflicting limits in words.
    pub fn words(&self) -> String {
        let list: Vec<_> = self.limits.iter().map(|l| l.words(&self.mount_names)).collect();
        list.join(", ")
    }

    /// What would resolve it, in words.
    pub fn remedy(&self) -> String {
        let ways: Vec<String> = self
            .gives
            .iter()
            .filter_map(|give| {
                let amount = give.amount?;
                Some(match give.group {
                    Group::Level => {
                        format!("widen the level tolerance by {:.4} mm/m", 1e3 * amount)
                    }
                    Group::Load => {
                        format!("widen the load band by {:.3} % of the target", 1e2 * amount)
                    }
                    Group::Travel => {
                        format!(
                            "allow {:.4} mm more travel (reset or shim the screws)",
                            1e3 * amount
                        )
                    }
                })
            })
            .collect();
        if ways.is_empty() {
            "no group of limits resolves it alone: widen more than one of tolerance, load band and \
             travel"
                .into()
        } else {
            ways.join(", or ")
        }
    }

    /// The conflict as an error.
    pub fn error(&self) -> Error {
        Error::invalid(
            "leveling limits",
            self.words(),
            "cannot hold together: no adjustment keeps them all",
            self.remedy(),
        )
    }
}

/// Explains limits that no adjustment keeps.
pub(super) fn explain(limits: &Limits, mount_names: &[String], before: &State) -> Result<Conflict> {
    let n = mount_names.len();
    let length = length(limits);
    let conflicting = if limits.hopeless.is_empty() {
        irreducible(limits, length)
    } else {
        limits.hopeless[..1].to_vec()
    };
    let mut gives = Vec::new();
    for group in [Group::Level, Group::Load, Group::Travel] {
        if limits.rows.iter().any(|limit| limit.kind.group() == group) {
            let amount = if limits.hopeless.is_empty() {
                least_give(limits, group, n, length)?
            } else {
                None
            };
            gives.push(Give { group, amount });
        }
    }
    Ok(Conflict {
        limits: conflicting,
        gives,
        mount_names: mount_names.to_vec(),
        before: before.clone(),
    })
}

fn irreducible(limits: &Limits, length: f64) -> Vec<LimitKind> {
    let mut kept: Vec<&Limit> = limits.rows.iter().collect();
    let conflicts = |rows: &[&Limit]| {
        let (mut g, mut b) = (Vec::new(), Vec::new());
        for limit in rows {
            g.push(limit.row.clone());
            b.push(limit.bound / length);
            if limit.exact {
                g.push(-&limit.row);
                b.push(-limit.bound / length);
            }
        }
        least_distance(&g, &b).is_none()
    };
    if conflicts(&kept) {
        let mut i = 0;
        while i < kept.len() {
            let without: Vec<&Limit> =
                kept.iter().enumerate().filter(|(j, _)| *j != i).map(|(_, l)| *l).collect();
            if !without.is_empty() && conflicts(&without) {
                kept = without;
            } else {
                i += 1;
            }
        }
    }
    kept.into_iter().map(|limit| limit.kind.clone()).collect()
}

/// The least t by which a group must give, in its own unit, or `None`.
fn least_give(limits: &Limits, group: Group, n: usize, length: f64) -> Result<Option<f64>> {
    let of_group = |limit: &&Limit| limit.kind.group() == group;
    let reference =
        limits.rows.iter().filter(of_group).map(|l| l.gives).fold(f64::MIN_POSITIVE, f64::max);
    let mut wider = Limits::default();
    let mut add = |limit: &Limit, sign: f64, part: f64| {
        let row = DVector::from_fn(n + 1, |j, _| if j < n { sign * limit.row[j] } else { -part });
        wider.rows.push(Limit {
            row,
            bound: sign * limit.bound,
            exact: limit.exact && part == 0.0,
            ..limit.clone()
        });
    };
    for limit in &limits.rows {
        let part = if of_group(&limit) { limit.gives / reference } else { 0.0 };
        add(limit, 1.0, part);
        if limit.exact && part > 0.0 {
            add(limit, -1.0, part);
        }
    }
    let mut cost = DVector::zeros(n + 1);
    cost[n] = 1.0;
    let mut positive = DVector::zeros(n + 1);
    positive[n] = -1.0;
    wider.rows.push(Limit {
        kind: LimitKind::Up(0),
        row: positive,
        bound: 0.0,
        exact: false,
        gives: 0.0,
    });
    Ok(linear(&wider, &cost, length)?.map(|x| x[n] / reference))
}
