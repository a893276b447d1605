//! Natural frequencies of the six modes, by design: A = L^-1 K L^-T with M = L L', made tridiagonal by Householder
//! reflections, its eigenvalues by the QL method without square roots.
//!
//! Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed. 2013, sections 8.3.1 and 8.3.3
//! (from memory); the root-free QL step is that of Pal, Walker and Kahan as in LAPACK's dsterf (from
//! memory).

use std::f64::consts::TAU;

use super::vector::{Mask, V, WIDTH, and, each};
use super::{BodyLanes, Packed, at, solve};

/// Steps of QL for one eigenvalue, at most.
const STEPS: usize = 30;

/// Off-diagonal squared, relative to the product of its diagonals, that is rounding.
const SMALL: f64 = f64::EPSILON * f64::EPSILON;

/// Frequencies ascending, Hz, and the lanes that stand.
#[inline(always)]
pub fn frequencies<const F: bool, const A: bool>(k: &Packed, body: &BodyLanes) -> ([V; 6], Mask) {
    // Pivots of K itself tell whether something is free to move.
    let (_, mut good) = solve::factor::<F, A>(k);
    let a = normalized::<F>(k, body);
    let (d, e) = tridiagonal::<F>(a);
    let (values, ended) = eigenvalues::<F>(d, e);
    and(&mut good, &ended);
    let mut sum = V::ZERO;
    for value in values {
        sum = sum + value.abs();
    }
    and(&mut good, &V::all(f64::MAX).above(sum));
    let sorted = sorted(values);
    // The least must keep some digits beside the rounding of the greatest.
    and(&mut good, &sorted[0].above(sorted[5] * V::all(1e-12)));
    let mut hertz = sorted;
    each!(I in [0 1 2 3 4 5] {
        hertz[I] = sorted[I].sqrt() / V::all(TAU);
    });
    (hertz, good)
}

/// L^-1 K L^-T as a full symmetric matrix.
#[inline(always)]
fn normalized<const F: bool>(k: &Packed, body: &BodyLanes) -> [[V; 6]; 6] {
    // L of the tensor, with 1 / L_ii on the diagonal.
    let j = &body.inertia;
    let l00 = V::ONE / j[0].sqrt();
    let (l10, l20) = (j[1] * l00, j[3] * l00);
    let l11 = V::ONE / l10.fnma::<F>(l10, j[2]).sqrt();
    let l21 = l20.fnma::<F>(l10, j[4]) * l11;
    let l22 = V::ONE / l21.fnma::<F>(l21, l20.fnma::<F>(l20, j[5])).sqrt();
    let l = [l00, l10, l11, l20, l21, l22];
    let s = V::ONE / body.mass.sqrt();
    let s2 = V::ONE / body.mass;

    let mut a = [[V::ZERO; 6]; 6];
    for i in 0..3 {
        for j in 0..=i {
            a[i][j] = k[at(i, j)] * s2;
            a[j][i] = a[i][j];
        }
    }
    for j in 0..3 {
        let column = forward::<F>(&l, [k[at(3, j)] * s, k[at(4, j)] * s, k[at(5, j)] * s]);
        for i in 0..3 {
            a[3 + i][j] = column[i];
            a[j][3 + i] = column[i];
        }
    }
    // Columns of L^-1 K, then rows of (L^-1 K) L^-T.
    let mut columns = [[V::ZERO; 3]; 3];
    for j in 0..3 {
        columns[j] = forward::<F>(&l, [lower(k, 0, j), lower(k, 1, j), lower(k, 2, j)]);
    }
    for i in 0..3 {
        let row = forward::<F>(&l, [columns[0][i], columns[1][i], columns[2][i]]);
        for j in 0..=i {
            a[3 + i][3 + j] = row[j];
            a[3 + j][3 + i] = row[j];
        }
    }
    a
}

/// Entry of the lower right of K.
#[inline(always)]
fn lower(k: &Packed, i: usize, j: usize) -> V {
    k[if j <= i { at(3 + i, 3 + j) } else { at(3 + j, 3 + i) }]
}

/// L^-1 v.
#[inline(always)]
fn forward<const F: bool>([l00, l10, l11, l20, l21, l22]: &[V; 6], v: [V; 3]) -> [V; 3] {
    let a = v[0] * *l00;
    let b = l10.fnma::<F>(a, v[1]) * *l11;
    let c = l21.fnma::<F>(b, l20.fnma::<F>(a, v[2])) * *l22;
    [a, b, c]
}

/// Diagonal, and the squares of the off-diagonal, of an orthogonally similar tridiagonal matrix.
#[inline(always)]
fn tridiagonal<const F: bool>(mut a: [[V; 6]; 6]) -> ([V; 6], [V; 5]) {
    let mut e = [V::ZERO; 5];
    each!(K in [0 1 2 3] {
        let mut square = V::ZERO;
        for i in K + 1..6 {
            square = a[i][K].fma::<F>(a[i][K], square);
        }
        e[K] = square;
        let norm = square.sqrt();
        let mut v = [V::ZERO; 6];
        for i in K + 1..6 {
            v[i] = a[i][K];
        }
        v[K + 1] = v[K + 1] + norm.signed_by(v[K + 1]);
        // beta = 2 / v'v; nothing is reflected where the column is zero.
        let half = a[K + 1][K].abs().fma::<F>(norm, square);
        let beta = half.pick(V::ONE / half, V::ZERO);
        let mut p = [V::ZERO; 6];
        for i in K + 1..6 {
            for j in K + 1..6 {
                p[i] = a[i][j].fma::<F>(v[j], p[i]);
            }
            p[i] = p[i] * beta;
        }
        let mut dot = V::ZERO;
        for i in K + 1..6 {
            dot = v[i].fma::<F>(p[i], dot);
        }
        let half = dot * beta * V::all(0.5);
        for i in K + 1..6 {
            p[i] = half.fnma::<F>(v[i], p[i]);
        }
        for i in K + 1..6 {
            for j in K + 1..=i {
                a[i][j] = v[i].fnma::<F>(p[j], p[i].fnma::<F>(v[j], a[i][j]));
                a[j][i] = a[i][j];
            }
        }
    });
    e[4] = a[5][4] * a[5][4];
    ([a[0][0], a[1][1], a[2][2], a[3][3], a[4][4], a[5][5]], e)
}

/// Eigenvalues of a tridiagonal matrix from its diagonal and its squared off-diagonal.
#[inline(always)]
fn eigenvalues<const F: bool>(mut d: [V; 6], mut e: [V; 5]) -> ([V; 6], Mask) {
    let mut good = [true; WIDTH];
    each!(L in [0 1 2 3 4] {
        for step in 0..=STEPS {
            // Above zero where this lane has not yet converged.
            let active = e[L] - (d[L] * d[L + 1]).abs() * V::all(SMALL);
            let mask = active.above(V::ZERO);
            if !mask.contains(&true) {
                break;
            }
            if step == STEPS {
                for lane in 0..WIDTH {
                    good[lane] &= !mask[lane];
                }
                break;
            }
            let (next_d, next_e) = step_of::<F, L>(&d, &e);
            // Lanes that are done stay as they are, whatever their neighbors still need.
            for i in L..6 {
                d[i] = active.pick(next_d[i], d[i]);
            }
            for i in L..5 {
                e[i] = active.pick(next_e[i], e[i]);
            }
        }
    });
    (d, good)
}

/// One root-free QL step on rows L..6.
#[inline(always)]
fn step_of<const F: bool, const L: usize>(d: &[V; 6], e: &[V; 5]) -> ([V; 6], [V; 5]) {
    let (mut d, mut e) = (*d, *e);
    let root = e[L].sqrt();
    let half = (d[L + 1] - d[L]) / (root + root);
    let r = half.fma::<F>(half, V::ONE).sqrt();
    let sigma = d[L] - root / (half + r.signed_by(half));
    let (mut c, mut s) = (V::ONE, V::ZERO);
    let mut gamma = d[5] - sigma;
    let mut p = gamma * gamma;
    for i in (L..5).rev() {
        let bb = e[i];
        let r = p + bb;
        if i != 4 {
            e[i + 1] = s * r;
        }
        let inverse = V::ONE / r;
        let old_c = c;
        c = r.pick(p * inverse, V::ONE);
        s = r.pick(bb * inverse, V::ZERO);
        let old_gamma = gamma;
        gamma = s.fnma::<F>(old_gamma, c * (d[i] - sigma));
        d[i + 1] = old_gamma + (d[i] - gamma);
        p = c.pick(gamma * gamma / c, old_c * bb);
    }
    e[L] = s * p;
    d[L] = sigma + gamma;
    (d, e)
}

/// Ascending, by a sorting network for six.
#[inline(always)]
fn sorted(mut v: [V; 6]) -> [V; 6] {
    const PAIRS: [(usize, usize); 12] = [
        (0, 5),
        (1, 3),
        (2, 4),
        (1, 2),
        (3, 4),
        (0, 3),
        (2, 5),
        (0, 1),
        (2, 3),
        (4, 5),
        (1, 2),
        (3, 4),
    ];
    for (a, b) in PAIRS {
        let (low, high) = (v[a].min(v[b]), v[a].max(v[b]));
        v[a] = low;
        v[b] = high;
    }
    v
}
