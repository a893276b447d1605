//! K x = f by K = L D L', by design.

use super::vector::{Mask, V, each};
use super::{PIVOT, Packed, at};

/// Columns of row i of L that can differ from zero: none of the first three rows where all mounts
/// stand along x, y, z (`A`), since translations are then coupled by rotations only.
#[inline(always)]
pub const fn below<const A: bool>(i: usize) -> usize {
    if A && i < 3 { 0 } else { i }
}

/// First row below i of column i of L that can differ from zero.
#[inline(always)]
pub const fn above<const A: bool>(i: usize) -> usize {
    if A && i < 3 { 3 } else { i + 1 }
}

/// The factors of a symmetric 6 x 6 matrix: L below the diagonal, 1 / D on it; and the lanes whose
/// pivots can be trusted (each greater than a part of its own diagonal).
#[inline(always)]
pub fn factor<const F: bool, const A: bool>(k: &Packed) -> (Packed, Mask) {
    let mut l = [V::ZERO; 21];
    let mut least = V::all(f64::INFINITY);
    each!(I in [0 1 2 3 4 5] {
        // y_j = l_ij d_j
        let mut y = [V::ZERO; 6];
        let mut d = k[at(I, I)];
        for j in 0..below::<A>(I) {
            let mut sum = k[at(I, j)];
            for m in 0..below::<A>(j) {
                sum = y[m].fnma::<F>(l[at(j, m)], sum);
            }
            y[j] = sum;
        }
        for j in 0..below::<A>(I) {
            let l_ij = y[j] * l[at(j, j)];
            d = l_ij.fnma::<F>(y[j], d);
            l[at(I, j)] = l_ij;
        }
        let inverse = V::ONE / d;
        // d > PIVOT K_ii; false for what is no number.
        let margin = d - V::all(PIVOT) * k[at(I, I)];
        least = margin.min(least) + margin * V::ZERO;
        l[at(I, I)] = inverse;
    });
    (l, least.above(V::ZERO))
}

/// x with L D L' x = f.
#[inline(always)]
pub fn substitute<const F: bool, const A: bool>(l: &Packed, f: &[V; 6]) -> [V; 6] {
    let mut x = *f;
    each!(I in [1 2 3 4 5] {
        for j in 0..below::<A>(I) {
            x[I] = l[at(I, j)].fnma::<F>(x[j], x[I]);
        }
    });
    each!(I in [5 4 3 2 1 0] {
        x[I] = x[I] * l[at(I, I)];
        for j in above::<A>(I)..6 {
            x[I] = l[at(j, I)].fnma::<F>(x[j], x[I]);
        }
    });
    x
}

/// f - K x.
#[allow(clippy::absurd_extreme_comparisons)] // the loop is written out: I is a constant, 0 too
#[inline(always)]
pub fn residual<const F: bool>(k: &Packed, x: &[V; 6], f: &[V; 6]) -> [V; 6] {
    let mut r = *f;
    each!(I in [0 1 2 3 4 5] {
        for j in 0..6 {
            let entry = if j <= I { k[at(I, j)] } else { k[at(j, I)] };
            r[I] = entry.fnma::<F>(x[j], r[I]);
        }
    });
    r
}
