//! Which non-negative parts of given columns come closest to a vector?
//!
//! min |E u - f|, u >= 0, by the active sets of C. L. Lawson and R. J. Hanson, Solving Least
//! Squares Problems, 1974, chapter 23 (from memory). It gives the multipliers of a plan without
//! its solver, and tells exactly whether limits conflict: the least-distance problem
//! min |a|, G a >= h is that of E = [G'; h'], f = (0, ..., 0, 1), and has no solution where the
//! residual is zero.

use nalgebra::{DMatrix, DVector};

/// Gradient below this part of its scale is zero.
const ZERO: f64 = 1e-13;

/// u >= 0 that minimizes |E u - f|.
pub(super) fn nnls(e: &DMatrix<f64>, f: &DVector<f64>) -> DVector<f64> {
    let n = e.ncols();
    let mut u = DVector::zeros(n);
    let mut chosen: Vec<usize> = Vec::new();
    // Columns that rounding keeps from entering; forgotten as soon as another one enters.
    let mut barred: Vec<usize> = Vec::new();
    for _ in 0..10 * n + 20 {
        let gradient = e.tr_mul(&(f - e * &u));
        let enters = |j: &usize| {
            let scale = e.column(*j).norm() * f.norm();
            !chosen.contains(j) && !barred.contains(j) && gradient[*j] > ZERO * scale
        };
        let best = (0..n).filter(enters).max_by(|&a, &b| gradient[a].total_cmp(&gradient[b]));
        let Some(best) = best else { break };
        chosen.push(best);
        settle(e, f, &mut u, &mut chosen);
        if chosen.contains(&best) {
            barred.clear();
        } else {
            barred.push(best);
        }
    }
    u
}

/// Moves u to the least-squares solution of the chosen columns, letting go of those that would
/// become negative on the way.
fn settle(e: &DMatrix<f64>, f: &DVector<f64>, u: &mut DVector<f64>, chosen: &mut Vec<usize>) {
    while !chosen.is_empty() {
        let Some(trial) = least_squares(e, f, chosen) else {
            // The newest depends on the others: it cannot improve anything.
            if let Some(newest) = chosen.pop() {
                u[newest] = 0.0;
            }
            continue;
        };
        let toward = |(&j, &t): (&usize, &f64)| if t <= 0.0 { u[j] / (u[j] - t) } else { 1.0 };
        let parts: Vec<f64> = chosen.iter().zip(trial.iter()).map(toward).collect();
        let blocked = (0..chosen.len())
            .filter(|&i| trial[i] <= 0.0)
            .min_by(|&a, &b| parts[a].total_cmp(&parts[b]));
        let part = blocked.map_or(1.0, |i| if parts[i].is_finite() { parts[i] } else { 0.0 });
        for (&j, &t) in chosen.iter().zip(trial.iter()) {
            u[j] += part * (t - u[j]);
        }
        let Some(blocked) = blocked else { break };
        // What blocks goes, whatever rounding leaves of it.
        u[chosen.remove(blocked)] = 0.0;
    }
}

fn least_squares(e: &DMatrix<f64>, f: &DVector<f64>, chosen: &[usize]) -> Option<DVector<f64>> {
    tall(&e.select_columns(chosen), f)
}

/// x that minimizes |A x - f| for independent columns, refined once; `None` if they depend on each
/// other. By Householder reflections: a singular value decomposition loses digits on such matrices
/// of many zeros.
pub(super) fn tall(a: &DMatrix<f64>, f: &DVector<f64>) -> Option<DVector<f64>> {
    if a.nrows() < a.ncols() {
        return None;
    }
    let (q, r) = a.clone().qr().unpack();
    let diagonal = r.diagonal().abs();
    if diagonal.is_empty() || diagonal.min() <= DEPENDENT * diagonal.max() {
        return None;
    }
    let x = r.solve_upper_triangular(&q.tr_mul(f))?;
    let rest = f - a * &x;
    Some(x + r.solve_upper_triangular(&q.tr_mul(&rest))?)
}

/// The shortest x with A x = b for independent rows, refined once, and lambda with A' lambda = x.
pub(super) fn shortest_on(
    a: &DMatrix<f64>,
    b: &DVector<f64>,
) -> Option<(DVector<f64>, DVector<f64>)> {
    let (q, r) = a.transpose().qr().unpack();
    let once = |b: &DVector<f64>| r.tr_solve_upper_triangular(b).map(|y| &q * y);
    let mut x = once(b)?;
    x += once(&(b - a * &x))?;
    let lambda = r.solve_upper_triangular(&q.tr_mul(&x))?;
    Some((x, lambda))
}

/// Columns whose part of their own is below this part of the largest depend on the others.
const DEPENDENT: f64 = 1e-12;

/// The shortest x with rows'x <= bounds, or `None` if there is none. Lengths should be of order 1.
pub(super) fn least_distance(rows: &[DVector<f64>], bounds: &[f64]) -> Option<DVector<f64>> {
    let n = rows.first().map_or(0, |row| row.len());
    let e =
        DMatrix::from_fn(n + 1, rows.len(), |i, j| if i < n { -rows[j][i] } else { -bounds[j] });
    let mut f = DVector::zeros(n + 1);
    f[n] = 1.0;
    let rest = &e * nnls(&e, &f) - f;
    if rest.norm() < NO_DISTANCE {
        return None;
    }
    Some(DVector::from_fn(n, |i, _| -rest[i] / rest[n]))
}

/// Residual below which the rows conflict; 1 / sqrt(1 + |x|^2) for rows that do not.
const NO_DISTANCE: f64 = 1e-8;
