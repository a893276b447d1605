//! |T_zz| by design at one frequency: Z x = e_z with Z = K - omega^2 M + j (H + omega C) = L D L', and
//! T_zz the z row of (K + j (H + omega C)) x: the sum of the mounts' forces on the floor.
//!
//! Each lane is checked as in [`crate::lanes`]: pivots, and w'Z x = w'e_z with fixed weights.

use super::solve::{above, below};
use super::vector::{Mask, V, WIDTH, and, each};
use super::{BodyLanes, PIVOT, Packed, at};

/// Relative error of the check sum above which a lane is left to the analyses.
const CHECK: f64 = 1e-11;

/// Eight complex numbers.
#[derive(Clone, Copy)]
struct C {
    re: V,
    im: V,
}

impl C {
    const ZERO: Self = Self { re: V::ZERO, im: V::ZERO };

    /// self - a b.
    #[inline(always)]
    fn minus<const F: bool>(self, a: Self, b: Self) -> Self {
        Self {
            re: a.im.fma::<F>(b.im, a.re.fnma::<F>(b.re, self.re)),
            im: a.im.fnma::<F>(b.re, a.re.fnma::<F>(b.im, self.im)),
        }
    }

    #[inline(always)]
    fn times<const F: bool>(self, b: Self) -> Self {
        Self {
            re: self.im.fnma::<F>(b.im, self.re * b.re),
            im: self.im.fma::<F>(b.re, self.re * b.im),
        }
    }

    #[inline(always)]
    fn inverse<const F: bool>(self) -> Self {
        let scale = V::ONE / self.im.fma::<F>(self.im, self.re * self.re);
        Self { re: self.re * scale, im: -(self.im * scale) }
    }

    #[inline(always)]
    fn norm1(self) -> V {
        self.re.abs() + self.im.abs()
    }
}

#[inline(always)]
pub fn vertical<const F: bool, const A: bool>(
    k: &Packed,
    h: &Packed,
    c: &Packed,
    body: &BodyLanes,
    omega: f64,
) -> (V, Mask) {
    let (w, w2) = (V::all(omega), V::all(omega * omega));
    let mut z = [C::ZERO; 21];
    each!(I in [0 1 2 3 4 5 6 7 8 9 10 11 12 13 14 15 16 17 18 19 20] {
        z[I] = C { re: k[I], im: w.fma::<F>(c[I], h[I]) };
    });
    let row = [z[at(2, 0)], z[at(2, 1)], z[at(2, 2)], z[at(3, 2)], z[at(4, 2)], z[at(5, 2)]];
    each!(I in [0 1 2] {
        z[at(I, I)].re = w2.fnma::<F>(body.mass, z[at(I, I)].re);
        for j in 0..=I {
            let place = at(3 + I, 3 + j);
            z[place].re = w2.fnma::<F>(body.inertia[at(I, j)], z[place].re);
        }
    });

    let mut l = [C::ZERO; 21];
    let mut good = [true; WIDTH];
    each!(I in [0 1 2 3 4 5] {
        let mut y = [C::ZERO; 6];
        for j in 0..below::<A>(I) {
            let mut sum = z[at(I, j)];
            for m in 0..below::<A>(j) {
                sum = sum.minus::<F>(y[m], l[at(j, m)]);
            }
            y[j] = sum;
        }
        let mut d = z[at(I, I)];
        for j in 0..below::<A>(I) {
            let l_ij = y[j].times::<F>(l[at(j, j)]);
            d = d.minus::<F>(l_ij, y[j]);
            l[at(I, j)] = l_ij;
        }
        and(&mut good, &d.norm1().above(V::all(PIVOT) * z[at(I, I)].norm1()));
        l[at(I, I)] = d.inverse::<F>();
    });

    let mut x = [C::ZERO; 6];
    x[2].re = V::ONE;
    each!(I in [3 4 5] {
        for j in 2..I {
            x[I] = x[I].minus::<F>(l[at(I, j)], x[j]);
        }
    });
    each!(I in [5 4 3 2 1 0] {
        x[I] = x[I].times::<F>(l[at(I, I)]);
        for j in above::<A>(I)..6 {
            x[I] = x[I].minus::<F>(l[at(j, I)], x[j]);
        }
    });
    and(&mut good, &holds::<F>(&z, body, &x));

    let mut t = C::ZERO;
    each!(J in [0 1 2 3 4 5] {
        t = t.minus::<F>(row[J], x[J]);
    });
    (t.im.fma::<F>(t.im, t.re * t.re).sqrt(), good)
}

/// |w'Z x - w'e_z| against the size of its terms.
#[allow(clippy::absurd_extreme_comparisons)] // the loop is written out: J is a constant, 0 too
#[inline(always)]
fn holds<const F: bool>(z: &Packed2, body: &BodyLanes, x: &[C; 6]) -> Mask {
    // Any weights do that make rotations and translations comparable and differ from each other.
    let arm = (body.inertia[0] + body.inertia[2] + body.inertia[5]) / body.mass;
    let turn = V::ONE / arm.sqrt();
    let weight = [
        V::ONE,
        V::all(1.37),
        V::all(1.74),
        V::all(2.11) * turn,
        V::all(2.48) * turn,
        V::all(2.85) * turn,
    ];
    let mut sum = C { re: weight[2], im: V::ZERO };
    let mut size = weight[2];
    each!(J in [0 1 2 3 4 5] {
        let mut column = C::ZERO;
        for i in 0..6 {
            let entry = z[if J <= i { at(i, J) } else { at(J, i) }];
            column.re = weight[i].fma::<F>(entry.re, column.re);
            column.im = weight[i].fma::<F>(entry.im, column.im);
        }
        sum = sum.minus::<F>(column, x[J]);
        size = column.norm1().fma::<F>(x[J].norm1(), size);
    });
    // False for what is no number, too.
    (V::all(CHECK) * size).above(sum.norm1())
}

type Packed2 = [C; 21];
