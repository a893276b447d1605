//! K x = f by K = L D L', by design.

use super::vector::{Mask, V, WIDTH};
use super::{PIVOT, Packed, at};

/// The factors of a symmetric 6 x 6 matrix: L below the diagonal, 1 / D on it; and the lanes whose
/// pivots can be trusted (each greater than a part of its own diagonal).
#[inline(always)]
pub fn factor<const F: bool>(k: &Packed) -> (Packed, Mask) {
    let mut l = [V::ZERO; 21];
    let mut least = V::ONE;
    for i in 0..6 {
        // y_j = l_ij d_j
        let mut y = [V::ZERO; 6];
        let mut d = k[at(i, i)];
        for j in 0..i {
            let mut sum = k[at(i, j)];
            for m in 0..j {
                sum = y[m].fnma::<F>(l[at(j, m)], sum);
            }
            y[j] = sum;
        }
        for j in 0..i {
            let l_ij = y[j] * l[at(j, j)];
            d = l_ij.fnma::<F>(y[j], d);
            l[at(i, j)] = l_ij;
        }
        // No number anywhere leaves `least` no number: min would drop it.
        least = keep_least(least, d / k[at(i, i)]);
        l[at(i, i)] = V::ONE / d;
    }
    (l, least.above(V::all(PIVOT)))
}

#[inline(always)]
fn keep_least(a: V, b: V) -> V {
    let mut out = a;
    for lane in 0..WIDTH {
        out.0[lane] = if b.0[lane] >= a.0[lane] { a.0[lane] } else { b.0[lane] };
    }
    out
}

/// x with L D L' x = f.
#[inline(always)]
pub fn substitute<const F: bool>(l: &Packed, f: &[V; 6]) -> [V; 6] {
    let mut x = *f;
    for i in 0..6 {
        for j in 0..i {
            x[i] = l[at(i, j)].fnma::<F>(x[j], x[i]);
        }
    }
    for i in (0..6).rev() {
        x[i] = x[i] * l[at(i, i)];
        for j in i + 1..6 {
            x[i] = l[at(j, i)].fnma::<F>(x[j], x[i]);
        }
    }
    x
}

/// f - K x.
#[inline(always)]
pub fn residual<const F: bool>(k: &Packed, x: &[V; 6], f: &[V; 6]) -> [V; 6] {
    let mut r = *f;
    for i in 0..6 {
        for j in 0..6 {
            let entry = if j <= i { k[at(i, j)] } else { k[at(j, i)] };
            r[i] = entry.fnma::<F>(x[j], r[i]);
        }
    }
    r
}
