//! From a good point of a linear program to a vertex that costs no more.
//!
//! While the tight rows leave a direction free, walk along it downhill (or either way, where it
//! costs nothing) to the next row; then solve the tight rows as equations. A vertex has as many
//! independent tight rows as unknowns. Source: textbook (purification of an interior solution).

use nalgebra::{DMatrix, DVector};

use super::limits::Limits;
use super::nnls::shortest_on;
use crate::error::{Error, Result};

/// Slack below this part of the length is none; above the error of the solver.
const TIGHT: f64 = 1e-8;

pub(super) fn vertex(
    limits: &Limits,
    cost: &DVector<f64>,
    start: DVector<f64>,
    length: f64,
) -> Result<DVector<f64>> {
    let n = cost.len();
    let mut x = start;
    let mut tight: Vec<usize> = Vec::new();
    let mut basis: Vec<DVector<f64>> = Vec::new();
    let mut order: Vec<usize> = (0..limits.rows.len())
        .filter(|&i| limits.rows[i].exact || limits.rows[i].excess(&x) > -TIGHT * length)
        .collect();
    order.sort_by(|&a, &b| {
        let key = |i: usize| (!limits.rows[i].exact, -limits.rows[i].excess(&x));
        let ((ea, sa), (eb, sb)) = (key(a), key(b));
        ea.cmp(&eb).then(sa.total_cmp(&sb))
    });
    for i in order {
        enter(limits, i, &mut tight, &mut basis);
    }
    while basis.len() < n {
        x = on(limits, &tight, x)?;
        let mut d = free_direction(&basis, cost, n);
        let slope = cost.dot(&d);
        if slope > 0.0 {
            d = -d;
        }
        let (step, row) = match first_row(limits, &tight, &x, &d) {
            Some(found) => found,
            // Costs nothing and meets nothing this way: then the other way.
            None => {
                d = -d;
                match first_row(limits, &tight, &x, &d) {
                    Some(found) => found,
                    None => return Ok(x),
                }
            }
        };
        x += &d * step;
        enter(limits, row, &mut tight, &mut basis);
    }
    let x = on(limits, &tight, x)?;
    descend(limits, cost, tight, x, length)
}

/// Exchanges tight rows of a vertex until every multiplier has its sign: the simplex method from a
/// vertex that is the best already but for the rounding of the solver. Bland's rule ends it.
fn descend(
    limits: &Limits,
    cost: &DVector<f64>,
    tight: Vec<usize>,
    x: DVector<f64>,
    length: f64,
) -> Result<DVector<f64>> {
    let n = x.len();
    let (mut tight, mut x) = (tight, x);
    for _ in 0..EXCHANGES {
        let m = DMatrix::from_fn(n, n, |i, j| limits.rows[tight[i]].row[j]);
        let Some(inverse) = m.try_inverse() else { return Ok(x) };
        let lambda = -inverse.tr_mul(cost);
        let leaves = (0..n)
            .filter(|&k| !limits.rows[tight[k]].exact && lambda[k] < -1e-9 * cost.amax())
            .min_by_key(|&k| tight[k]);
        let Some(k) = leaves else { return Ok(x) };
        let d = -inverse.column(k).into_owned();
        let steps: Vec<(f64, usize)> = rows_met(limits, &tight, &x, &d);
        let least = steps.iter().map(|s| s.0).fold(f64::INFINITY, f64::min);
        let same = |s: &&(f64, usize)| s.0 <= least + 1e-13 * length;
        let Some(&(step, row)) = steps.iter().filter(same).min_by_key(|s| s.1) else {
            return Ok(x);
        };
        x += &d * step;
        tight[k] = row;
        x = on(limits, &tight, x)?;
    }
    Err(Error::NotConverged {
        what: "the vertex of the leveling plan".into(),
        detail: format!("its rows still change after {EXCHANGES} exchanges"),
        remedy: "widen the tolerance or the load band a little".into(),
    })
}

/// Exchanges of the simplex method before it gives up.
const EXCHANGES: usize = 500;

/// Takes a row into the tight ones if it does not depend on them.
fn enter(limits: &Limits, i: usize, tight: &mut Vec<usize>, basis: &mut Vec<DVector<f64>>) {
    let mut rest = limits.rows[i].row.clone();
    for _ in 0..2 {
        for b in basis.iter() {
            rest -= b * b.dot(&rest);
        }
    }
    let left = rest.norm();
    if left > 1e-9 * limits.rows[i].row.norm() {
        basis.push(rest / left);
        tight.push(i);
    }
}

/// A unit direction along which no tight row changes: that of the cost where it has a part there.
fn free_direction(basis: &[DVector<f64>], cost: &DVector<f64>, n: usize) -> DVector<f64> {
    let project = |v: &DVector<f64>| {
        let mut rest = v.clone();
        for _ in 0..2 {
            for b in basis {
                rest -= b * b.dot(&rest);
            }
        }
        rest
    };
    let downhill = project(cost);
    if downhill.norm() > 1e-9 * cost.norm() {
        return downhill.normalize();
    }
    let unit = |j: usize| DVector::from_fn(n, |i, _| f64::from(u8::from(i == j)));
    let candidates = (0..n).map(|j| project(&unit(j)));
    let longest = candidates.max_by(|a, b| a.norm().total_cmp(&b.norm()));
    longest.unwrap_or_else(|| DVector::zeros(n)).normalize()
}

/// The first row met along d, and how far away.
fn first_row(
    limits: &Limits,
    tight: &[usize],
    x: &DVector<f64>,
    d: &DVector<f64>,
) -> Option<(f64, usize)> {
    rows_met(limits, tight, x, d).into_iter().min_by(|a, b| a.0.total_cmp(&b.0))
}

/// Rows met along d, and how far away.
fn rows_met(
    limits: &Limits,
    tight: &[usize],
    x: &DVector<f64>,
    d: &DVector<f64>,
) -> Vec<(f64, usize)> {
    let size = d.norm();
    (0..limits.rows.len())
        .filter(|i| !tight.contains(i) && !limits.rows[*i].exact)
        .filter_map(|i| {
            let rate = limits.rows[i].row.dot(d);
            let left = -limits.rows[i].excess(x);
            (rate > 1e-9 * size * limits.rows[i].row.norm()).then(|| (left.max(0.0) / rate, i))
        })
        .collect()
}

/// The point nearest to x on the tight rows.
fn on(limits: &Limits, tight: &[usize], x: DVector<f64>) -> Result<DVector<f64>> {
    if tight.is_empty() {
        return Ok(x);
    }
    let n = x.len();
    let m = DMatrix::from_fn(tight.len(), n, |i, j| limits.rows[tight[i]].row[j]);
    let mut x = x;
    for _ in 0..2 {
        let rest = DVector::from_fn(tight.len(), |i, _| {
            let limit = &limits.rows[tight[i]];
            limit.bound - limit.row.dot(&x)
        });
        let (step, _) = shortest_on(&m, &rest).ok_or_else(|| Error::NotConverged {
            what: "the vertex of the leveling plan".into(),
            detail: "the limits that bind depend on each other".into(),
            remedy: "widen the tolerance or the load band a little".into(),
        })?;
        x += step;
    }
    Ok(x)
}
