//! One rigid body on mounts whose axes are parallel to those of the floor: translations first.
//!
//! Such mounts couple no translation with another, and no rotation with the translation along its
//! own axis:
//!
//! Z = [ T  G'; G  R ],   T diagonal,   S = R - G T^-1 G' = L D L'  (3 x 3),
//!
//! which takes less than half of the work of a full factorization, in the same order of pivots.
//!
//! Where the wrench on the ground is all that holds the body, the transmissibility about its center
//! of mass is D Z^-1 = 1 + omega^2 M Z^-1 with D = Z + omega^2 M. Off the diagonal the momentum side
//! takes no difference and costs less; on it the spring side keeps its digits far above resonance.
//!
//! Source: textbook, e.g. R. J. Guyan, AIAA Journal 3 (1965), p. 380, on condensation, here exact
//! because it is done anew at each frequency (from memory).

use nalgebra::DMatrix;
use num_complex::Complex64;

use super::coefficients::{At, Check, Coefficients};
use super::frequency::{Asked, PIVOT, above, apply, by_blocks, holds};
use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH, and};

/// True if a system of six degrees of freedom has the zeros of this module.
pub fn is_aligned(z: &Coefficients) -> bool {
    let uncoupled = |i: usize, j: usize| z.is_nothing(i, j) && z.is_nothing(j, i);
    let no_mass = |i: usize, j: usize| z.entries[6 * i + j][3] == 0.0;
    (z.rows, z.columns) == (6, 6)
        && [(0, 1), (0, 2), (1, 2), (0, 3), (1, 4), (2, 5)].iter().all(|&(i, j)| uncoupled(i, j))
        && (0..3).all(|i| (3..6).all(|j| no_mass(i, j)))
}

/// The translations with which rotation r is coupled.
const OTHERS: [[usize; 2]; 3] = [[1, 2], [0, 2], [0, 1]];

/// The entries of Z that are not zero, for eight frequencies or designs.
#[derive(Clone, Copy)]
pub(super) struct Entries {
    /// T.
    pub t: [Complex; 3],
    /// G: rotation r with OTHERS[r].
    pub g: [[Complex; 2]; 3],
    /// R: 00, 10, 11, 20, 21, 22.
    pub r: [Complex; 6],
}

impl Entries {
    #[inline(always)]
    fn new<const FUSED: bool>(z: &Coefficients, at: &At) -> Self {
        // A macro, since a closure of this size is not sure to be compiled in place.
        macro_rules! of {
            ($i:literal, $j:literal) => {
                z.lane::<FUSED>($i, $j, at)
            };
        }
        Self {
            t: [of!(0, 0), of!(1, 1), of!(2, 2)],
            g: [[of!(3, 1), of!(3, 2)], [of!(4, 0), of!(4, 2)], [of!(5, 0), of!(5, 1)]],
            r: [of!(3, 3), of!(4, 3), of!(4, 4), of!(5, 3), of!(5, 4), of!(5, 5)],
        }
    }
}

/// T^-1, F = G T^-1, and L and D of S.
pub(super) struct Factors {
    t: [Complex; 3],
    f: [[Complex; 2]; 3],
    /// 10, 20, 21.
    l: [Complex; 3],
    d: [Complex; 3],
    /// Least pivot, each relative to its own diagonal entry.
    pub least: Lane,
}

impl Factors {
    #[inline(always)]
    pub fn new<const FUSED: bool>(z: &Entries) -> Self {
        let t = [z.t[0].inverse::<FUSED>(), z.t[1].inverse::<FUSED>(), z.t[2].inverse::<FUSED>()];
        let g = &z.g;
        let f = [
            [g[0][0].times::<FUSED>(t[1]), g[0][1].times::<FUSED>(t[2])],
            [g[1][0].times::<FUSED>(t[0]), g[1][1].times::<FUSED>(t[2])],
            [g[2][0].times::<FUSED>(t[0]), g[2][1].times::<FUSED>(t[1])],
        ];
        let s00 = z.r[0].minus::<FUSED>(f[0][0], g[0][0]).minus::<FUSED>(f[0][1], g[0][1]);
        // Two rotations share the translation along the third axis.
        let s10 = z.r[1].minus::<FUSED>(f[1][1], g[0][1]);
        let s11 = z.r[2].minus::<FUSED>(f[1][0], g[1][0]).minus::<FUSED>(f[1][1], g[1][1]);
        let s20 = z.r[3].minus::<FUSED>(f[2][1], g[0][0]);
        let s21 = z.r[4].minus::<FUSED>(f[2][0], g[1][0]);
        let s22 = z.r[5].minus::<FUSED>(f[2][0], g[2][0]).minus::<FUSED>(f[2][1], g[2][1]);
        let d0 = s00.inverse::<FUSED>();
        let (l10, l20) = (s10.times::<FUSED>(d0), s20.times::<FUSED>(d0));
        let p1 = s11.minus::<FUSED>(l10, s10);
        let d1 = p1.inverse::<FUSED>();
        let u21 = s21.minus::<FUSED>(l20, s10);
        let l21 = u21.times::<FUSED>(d1);
        let p2 = s22.minus::<FUSED>(l20, s20).minus::<FUSED>(l21, u21);
        let least = (s00.norm1() / z.r[0].norm1())
            .min(p1.norm1() / z.r[2].norm1())
            .min(p2.norm1() / z.r[5].norm1());
        Self { t, f, l: [l10, l20, l21], d: [d0, d1, p2.inverse::<FUSED>()], least }
    }

    /// x of Z x = f.
    #[inline(always)]
    pub fn solve<const FUSED: bool>(&self, load: &[Complex; 6]) -> [Complex; 6] {
        let f = &self.f;
        let mut right = [load[3], load[4], load[5]];
        for r in 0..3 {
            let [a, b] = OTHERS[r];
            right[r] = right[r].minus::<FUSED>(f[r][0], load[a]).minus::<FUSED>(f[r][1], load[b]);
        }
        let mut own = [Complex::ZERO; 3];
        for t in 0..3 {
            own[t] = load[t].times::<FUSED>(self.t[t]);
        }
        self.rest::<FUSED>(&right, &own)
    }

    /// x of Z x = e_z: a vertical unit force.
    #[inline(always)]
    pub fn vertical<const FUSED: bool>(&self) -> [Complex; 6] {
        let right = [-self.f[0][1], -self.f[1][1], Complex::ZERO];
        self.rest::<FUSED>(&right, &[Complex::ZERO, Complex::ZERO, self.t[2]])
    }

    /// Rotations from the condensed load, then translations: own - F' x_r.
    #[inline(always)]
    fn rest<const FUSED: bool>(&self, right: &[Complex; 3], own: &[Complex; 3]) -> [Complex; 6] {
        let Self { f, l, d, .. } = self;
        let y1 = right[1].minus::<FUSED>(l[0], right[0]);
        let y2 = right[2].minus::<FUSED>(l[1], right[0]).minus::<FUSED>(l[2], y1);
        let r2 = y2.times::<FUSED>(d[2]);
        let r1 = y1.times::<FUSED>(d[1]).minus::<FUSED>(l[2], r2);
        let r0 = right[0].times::<FUSED>(d[0]).minus::<FUSED>(l[0], r1).minus::<FUSED>(l[1], r2);
        let x = own[0].minus::<FUSED>(f[1][0], r1).minus::<FUSED>(f[2][0], r2);
        let y = own[1].minus::<FUSED>(f[0][0], r0).minus::<FUSED>(f[2][1], r2);
        let z = own[2].minus::<FUSED>(f[0][1], r0).minus::<FUSED>(f[1][1], r1);
        [x, y, z, r0, r1, r2]
    }

    /// Z^-1, row by row.
    #[inline(always)]
    fn inverse<const FUSED: bool>(&self) -> [[Complex; 6]; 6] {
        let Self { t, f, l: [l10, l20, l21], d: [d0, d1, d2], .. } = self;
        // L^-1 below its diagonal.
        let (m10, m21) = (-*l10, -*l21);
        let m20 = (-*l20).plus::<FUSED>(*l10, *l21);
        let b2 = m21.times::<FUSED>(*d2);
        let c2 = m20.times::<FUSED>(*d2);
        let r11 = d1.plus::<FUSED>(m21, b2);
        let r10 = m10.times::<FUSED>(*d1).plus::<FUSED>(m20, b2);
        let r00 = d0.plus::<FUSED>(m10, m10.times::<FUSED>(*d1)).plus::<FUSED>(m20, c2);
        let rr = [[r00, r10, c2], [r10, r11, b2], [c2, b2, *d2]];
        let mut x = [[Complex::ZERO; 6]; 6];
        // The rotations of each translation, with their entries of F.
        let pairs = [
            [(1, f[1][0]), (2, f[2][0])],
            [(0, f[0][0]), (2, f[2][1])],
            [(0, f[0][1]), (1, f[1][1])],
        ];
        for r in 0..3 {
            for q in 0..3 {
                x[3 + r][3 + q] = rr[r][q];
            }
        }
        for i in 0..3 {
            let [(a, fa), (b, fb)] = pairs[i];
            for r in 0..3 {
                let value = (-fa.times::<FUSED>(rr[a][r])).minus::<FUSED>(fb, rr[b][r]);
                (x[i][3 + r], x[3 + r][i]) = (value, value);
            }
        }
        for i in 0..3 {
            let [(a, fa), (b, fb)] = pairs[i];
            for j in 0..=i {
                let own = if i == j { t[i] } else { Complex::ZERO };
                let value = own.minus::<FUSED>(fa, x[3 + a][j]).minus::<FUSED>(fb, x[3 + b][j]);
                (x[i][j], x[j][i]) = (value, value);
            }
        }
        x
    }
}

versions! {
    /// As the general kernel, for a system that [`is_aligned`].
    pub(super) fn columns(
        asked: &Asked,
        at: &At,
        scratch: &mut [Complex],
        out: &mut [Complex64],
    ) -> [bool; WIDTH] = block
}

#[inline(always)]
fn block<const FUSED: bool>(
    asked: &Asked,
    at: &At,
    scratch: &mut [Complex],
    out: &mut [Complex64],
) -> [bool; WIDTH] {
    let Asked { z, load, rows, check } = asked;
    let p = load.len() / 6;
    let factors = Factors::new::<FUSED>(&Entries::new::<FUSED>(z, at));
    let mut trusted = above(factors.least, PIVOT);
    let x = &mut scratch[..6 * p];
    for column in 0..p {
        let load = &load[6 * column..6 * column + 6];
        let mut f = [Complex::ZERO; 6];
        for i in 0..6 {
            f[i] = Complex::splat(load[i]);
        }
        let vertical = load[2] == Complex64::ONE
            && load.iter().enumerate().all(|(i, f)| i == 2 || *f == Complex64::ZERO);
        let found = if vertical { factors.vertical::<FUSED>() } else { factors.solve::<FUSED>(&f) };
        and(&mut trusted, &holds::<FUSED>(check, at, check.load[column], &found));
        // Number by number: a copy in other pieces than they were stored in stalls the loads after it.
        for i in 0..6 {
            x[6 * column + i] = found[i];
        }
    }
    apply::<FUSED>(rows, at, x, 6, p, out);
    trusted
}

/// Transmissibility D Z^-1 about the center of mass of a body that only the ground holds, for a
/// system that [`is_aligned`]: (omega, row, column) into `out`. Gives the indices of the frequencies
/// that need pivoting. `values` are those of the terms, (omega, term).
pub fn transfer(
    isa: Isa,
    z: &Coefficients,
    omega: &[f64],
    values: &[Complex64],
    out: &mut [Complex64],
) -> Vec<usize> {
    assert_eq!(out.len(), omega.len() * 36, "output is (omega, 6, 6)");
    // One load that meets every column; units of mass make its parts comparable.
    let unit = |i: usize, _: usize| Complex64::from(z.entries[7 * i][3].abs().sqrt());
    let load = DMatrix::from_fn(6, 1, unit);
    let check = Check::new(z, &load);
    by_blocks(omega, values, z.terms.len(), |at, places| {
        let out = &mut out[places.start * 36..places.end * 36];
        transfer_block(isa, z, at, load.as_slice(), &check, out)
    })
}

versions! {
    fn transfer_block(
        z: &Coefficients,
        at: &At,
        load: &[Complex64],
        check: &Check,
        out: &mut [Complex64],
    ) -> [bool; WIDTH] = transfer_kernel
}

#[inline(always)]
fn transfer_kernel<const FUSED: bool>(
    z: &Coefficients,
    at: &At,
    load: &[Complex64],
    check: &Check,
    out: &mut [Complex64],
) -> [bool; WIDTH] {
    let entries = Entries::new::<FUSED>(z, at);
    let factors = Factors::new::<FUSED>(&entries);
    let x = factors.inverse::<FUSED>();
    let mut sum = [Complex::ZERO; 6];
    for i in 0..6 {
        for j in 0..6 {
            sum[i] = sum[i].plus_scaled::<FUSED>(x[i][j], Lane::splat(load[j].re));
        }
    }
    let mut trusted = above(factors.least, PIVOT);
    and(&mut trusted, &holds::<FUSED>(check, at, check.load[0], &sum));
    let square = at.omega * at.omega;
    macro_rules! mass {
        ($i:expr, $j:expr) => {
            square * Lane::splat(z.entries[6 * $i + $j][3])
        };
    }
    let mut t = [[Complex::ZERO; 6]; 6];
    for i in 0..3 {
        let m = mass!(i, i);
        for j in 0..6 {
            t[i][j] = x[i][j].scaled(m);
        }
        let spring = z.spring::<FUSED>(i, i, at);
        t[i][i] = spring.times::<FUSED>(x[i][i]);
    }
    for r in 3..6 {
        let m = [mass!(r, 3), mass!(r, 4), mass!(r, 5)];
        for j in 0..6 {
            t[r][j] = x[3][j]
                .scaled(m[0])
                .plus_scaled::<FUSED>(x[4][j], m[1])
                .plus_scaled::<FUSED>(x[5][j], m[2]);
        }
        t[r][r] = Complex::ZERO;
        for q in 3..6 {
            t[r][r] = t[r][r].plus::<FUSED>(z.spring::<FUSED>(r, q, at), x[q][r]);
        }
    }
    for r in 0..3 {
        for (i, &other) in OTHERS[r].iter().enumerate() {
            let g = entries.g[r][i];
            t[other][other] = t[other][other].plus::<FUSED>(g, x[3 + r][other]);
            t[3 + r][3 + r] = t[3 + r][3 + r].plus::<FUSED>(g, x[other][3 + r]);
        }
    }
    for (lane, target) in out.chunks_exact_mut(36).enumerate() {
        for i in 0..6 {
            for j in 0..6 {
                target[6 * i + j] = Complex64::new(t[i][j].re.0[lane], t[i][j].im.0[lane]);
            }
        }
    }
    trusted
}
