//! Which root of a damped system belongs to one of its modes? Eight systems, or eight modes, at a time.
//!
//! In real modes Z(s) = s^2 + s C + Omega^2 + jH. Root k starts from its diagonal alone and is found
//! by Newton on the Schur complement,
//!
//! x_o = -Z_oo^-1 z_ok,   f = z_kk + z_ko x_o,   f' = x' (2 s + C) x with x_k = 1,
//!
//! where o are the other modes, Z_oo = L D L': no small pivot meets the root itself.
//!
//! Limits: symmetric C and H; roots that lie on each other do not settle.
//!
//! Source: derived here.

use super::lane::{Complex, Lane, WIDTH, one_if};
use super::modes::{packed, place};

/// Rounds of Newton, and the last step relative to |s|.
const ROUNDS: usize = 16;
const SETTLED: f64 = 1e-13;
/// |f| relative to |s^2| that is left of a root: where Z_oo is singular f has a pole, which Newton
/// takes for one.
const LEFT: f64 = 1e-9;

/// Z(s) of eight systems in real modes.
pub(super) struct Pencil<'a> {
    /// Omega^2.
    pub square: &'a [Lane],
    /// C, (mode, mode).
    pub c: &'a [Lane],
    /// H, (mode, mode).
    pub h: &'a [Lane],
}

/// A root, its vector and f' there.
pub(super) struct Found<'a> {
    /// s; on entry where to start.
    pub root: &'a mut Complex,
    /// x, by mode.
    pub vector: &'a mut [Complex],
    /// x' (2 s + C) x.
    pub slope: Complex,
}

/// Numbers of room that [`Pencil::settle`] needs for n modes.
pub(super) const fn room(n: usize) -> usize {
    packed(n) + 2 * n
}

impl Pencil<'_> {
    /// The root on the diagonal, s = -c/2 + sqrt(c^2/4 - omega^2 - jh) above the real axis, and one
    /// where it swings.
    #[inline(always)]
    pub fn start(&self, k: usize, n: usize) -> (Complex, Lane) {
        let half = self.c[k * n + k] * Lane::splat(0.5);
        let (x, y) = (half * half - self.square[k], -self.h[k * n + k]);
        let size = (x * x + y * y).sqrt();
        let im = ((size - x) * Lane::splat(0.5)).sqrt();
        let re = y * Lane::splat(0.5) / im;
        let mut swings = Lane::ZERO;
        for lane in 0..WIDTH {
            swings.0[lane] = one_if(x.0[lane] < 0.0);
        }
        // Exactly zero without loss factors, not minus zero over something.
        (Complex { re: re - half, im }, swings)
    }

    #[inline(always)]
    fn entry<const F: bool>(
        &self,
        i: usize,
        j: usize,
        s: Complex,
        s2: Complex,
        n: usize,
    ) -> Complex {
        let mut z = s.scaled(self.c[i * n + j]);
        z.im = z.im + self.h[i * n + j];
        if i == j {
            z.re = z.re + s2.re + self.square[i];
            z.im = z.im + s2.im;
        }
        z
    }

    /// Root k and its vector in the lanes that are `active`; gives one for those that do not settle.
    #[inline(always)]
    pub fn settle<const F: bool>(
        &self,
        k: usize,
        found: &mut Found,
        room: &mut [Complex],
        mut active: Lane,
        n: usize,
    ) -> Lane {
        let m = n - 1;
        let other = |i: usize| if i < k { i } else { i + 1 };
        let (l, room) = room.split_at_mut(packed(n));
        let (y, x) = room.split_at_mut(n);
        let mut left = Lane::ZERO;
        for _ in 0..ROUNDS {
            let s = *found.root;
            let s2 = s.times::<F>(s);
            let floor = s2.norm1() * Lane::splat(1e-14);
            // Row i of L with 1 / d on its diagonal; x goes forward with it.
            for i in 0..m {
                let mut right = -self.entry::<F>(other(i), k, s, s2, n);
                for j in 0..i {
                    let mut sum = self.entry::<F>(other(i), other(j), s, s2, n);
                    for p in 0..j {
                        sum = sum.minus::<F>(y[p], l[place(j, p)]);
                    }
                    y[j] = sum;
                }
                let mut d = self.entry::<F>(other(i), other(i), s, s2, n);
                for j in 0..i {
                    let scaled = y[j].times::<F>(l[place(j, j)]);
                    d = d.minus::<F>(y[j], scaled);
                    right = right.minus::<F>(scaled, x[j]);
                    l[place(i, j)] = scaled;
                }
                let small = floor - d.norm1();
                d.re = small.greater(Lane::ZERO, floor, d.re);
                l[place(i, i)] = d.inverse::<F>();
                x[i] = right;
            }
            for i in (0..m).rev() {
                let mut sum = x[i].times::<F>(l[place(i, i)]);
                for p in i + 1..m {
                    sum = sum.minus::<F>(l[place(p, i)], x[p]);
                }
                x[i] = sum;
            }
            let mut f = self.entry::<F>(k, k, s, s2, n);
            let mut slope = Complex { re: s.re + s.re + self.c[k * n + k], im: s.im + s.im };
            for i in 0..m {
                f = f.plus::<F>(self.entry::<F>(other(i), k, s, s2, n), x[i]);
                // x_i (2 s x_i + sum of c_ij x_j).
                let mut sum = s.scaled(Lane::splat(2.0)).times::<F>(x[i]);
                for j in 0..m {
                    sum = sum.plus_scaled::<F>(x[j], self.c[other(i) * n + other(j)]);
                }
                let edge = self.c[other(i) * n + k];
                sum.re = sum.re + edge + edge;
                slope = slope.plus::<F>(x[i], sum);
            }
            let step = f.times::<F>(slope.inverse::<F>());
            let choose = |new: Complex, old: Complex| Complex {
                re: active.greater(Lane::ZERO, new.re, old.re),
                im: active.greater(Lane::ZERO, new.im, old.im),
            };
            for i in 0..m {
                found.vector[other(i)] = choose(x[i], found.vector[other(i)]);
            }
            found.slope = choose(slope, found.slope);
            left = active.greater(Lane::ZERO, f.norm1() / s2.norm1(), left);
            *found.root = choose(Complex { re: s.re - step.re, im: s.im - step.im }, s);
            // What is no number stays active.
            let rest = step.norm1() - s.norm1() * Lane::splat(SETTLED);
            active = rest.greater(Lane::ZERO, active, Lane::ZERO) + nothing(rest, active);
            if !active.any_above(0.0) {
                break;
            }
        }
        left.greater(Lane::splat(LEFT), Lane::splat(1.0), active)
    }
}

/// `active` where `x` is no number, else zero.
#[inline(always)]
fn nothing(x: Lane, active: Lane) -> Lane {
    let mut out = Lane::ZERO;
    for lane in 0..WIDTH {
        out.0[lane] = active.0[lane] * one_if(x.0[lane].is_nan());
    }
    out
}
