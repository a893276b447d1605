//! What part of a vertical force on each of many machines reaches the floor?
//!
//! T_zz = (D Z^-1)_zz about the center of mass, D = K + j (H + omega C), Z = D - omega^2 M, for eight
//! designs at a time at each frequency. Designs are laid out as in [`super::modes`]. A design whose
//! pivots or check fail is solved again with pivoting.

use nalgebra::DMatrix;
use num_complex::Complex64;

use super::coefficients::Coefficients;
use super::frequency::{PIVOT, above, solve_pivoted};
use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH, and};
use super::modes::{packed, place};
use super::rigid::{Entries, Factors};

/// Packed entries.
const ENTRIES: usize = packed(6);

/// Residual of Z x = e_z, relative to the size of its terms, that is still trusted.
const CHECK: f64 = 1e-11;

/// Many rigid bodies on mounts: packed entries (entry, design) of 6 x 6 matrices about the center of
/// mass. Mass and damping may be empty where nothing is at work or, for the mass, be one for all.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Designs<'a> {
    /// Number of designs.
    pub count: usize,
    /// Mass, kg and kg m^2; of one design if it is the same for all.
    pub m: &'a [f64],
    /// Stiffness, N/m, N and N m.
    pub k: &'a [f64],
    /// Loss factor times stiffness; empty if there is none.
    pub h: &'a [f64],
    /// Viscous damping; empty if there is none.
    pub c: &'a [f64],
}

impl Designs<'_> {
    fn checked(&self) {
        let full = ENTRIES * self.count;
        let fits = |a: &[f64]| a.is_empty() || a.len() == full;
        assert_eq!(self.k.len(), full, "k is (packed entry, design)");
        assert!(self.m.len() == ENTRIES || self.m.len() == full, "m is (packed entry, design)");
        assert!(fits(self.h) && fits(self.c), "h and c are (packed entry, design) or empty");
    }

    fn one(&self, a: &[f64], e: usize, design: usize) -> f64 {
        match a.len() {
            0 => 0.0,
            ENTRIES => a[e],
            _ => a[e * self.count + design],
        }
    }

    fn matrix(&self, a: &[f64], design: usize) -> DMatrix<f64> {
        DMatrix::from_fn(6, 6, |i, j| self.one(a, place(i.max(j), i.min(j)), design))
    }

    /// No design couples one translation with another, or with the rotation about it.
    fn are_aligned(&self) -> bool {
        let nothing = |a: &[f64], e: usize| {
            a.is_empty()
                || (a.len() == ENTRIES && a[e] == 0.0)
                || (a.len() > ENTRIES
                    && a[e * self.count..(e + 1) * self.count].iter().all(|x| *x == 0.0))
        };
        let zeros = [(1, 0), (2, 0), (2, 1), (3, 0), (4, 1), (5, 2)];
        let all = [self.m, self.k, self.h, self.c];
        zeros.iter().all(|&(i, j)| all.iter().all(|a| nothing(a, place(i, j))))
            && (3..6).all(|i| (0..3).all(|j| nothing(self.m, place(i, j))))
    }
}

/// |T_zz| of each design at each omega (rad/s) into (omega, design); NaN where a design has an
/// undamped resonance just there. Gives the number of values that were solved again with pivoting.
pub fn vertical(isa: Isa, designs: &Designs, omega: &[f64], out: &mut [f64]) -> usize {
    designs.checked();
    let count = designs.count;
    assert_eq!(out.len(), omega.len() * count, "output is (omega, design)");
    let aligned = designs.are_aligned();
    let mut block = Block::default();
    let mut again = 0;
    for first in (0..count).step_by(WIDTH) {
        let past = count.min(first + WIDTH);
        block.load(designs, first, past);
        for (i, &w) in omega.iter().enumerate() {
            let (values, trusted) = solve_block(isa, &block, w, aligned);
            let target = &mut out[i * count + first..i * count + past];
            values.store(target);
            for lane in (0..past - first).filter(|&lane| !trusted[lane]) {
                again += 1;
                target[lane] = pivoted(designs, first + lane, w).unwrap_or(f64::NAN);
            }
        }
    }
    again
}

fn pivoted(designs: &Designs, design: usize, omega: f64) -> Option<f64> {
    let [m, k, h, c] =
        [designs.m, designs.k, designs.h, designs.c].map(|a| designs.matrix(a, design));
    let z = Coefficients::new(&k, &h, &c, Some(&m));
    let row = |a: &DMatrix<f64>| a.rows(2, 1).into_owned();
    let rows = Coefficients::new(&row(&k), &row(&h), &row(&c), None);
    let load = DMatrix::from_fn(6, 1, |i, _| Complex64::from(f64::from(u8::from(i == 2))));
    Some(solve_pivoted(&z, omega, &[], &load, &rows)?[(0, 0)].norm())
}

/// Eight designs.
#[derive(Default)]
struct Block {
    m: [Lane; ENTRIES],
    k: [Lane; ENTRIES],
    h: [Lane; ENTRIES],
    c: [Lane; ENTRIES],
}

impl Block {
    fn load(&mut self, designs: &Designs, first: usize, past: usize) {
        let parts = [
            (&mut self.m, designs.m),
            (&mut self.k, designs.k),
            (&mut self.h, designs.h),
            (&mut self.c, designs.c),
        ];
        for (lanes, values) in parts {
            for (e, lane) in lanes.iter_mut().enumerate() {
                *lane = match values.len() {
                    0 => Lane::ZERO,
                    ENTRIES => Lane::splat(values[e]),
                    _ => Lane::load(&values[e * designs.count + first..e * designs.count + past]),
                };
            }
        }
    }

    /// D_ij, i >= j.
    #[inline(always)]
    fn spring<const FUSED: bool>(&self, i: usize, j: usize, omega: Lane) -> Complex {
        let e = place(i, j);
        Complex { re: self.k[e], im: self.h[e].plus::<FUSED>(omega, self.c[e]) }
    }

    /// Z_ij, i >= j.
    #[inline(always)]
    fn entry<const FUSED: bool>(&self, i: usize, j: usize, omega: Lane) -> Complex {
        let mut z = self.spring::<FUSED>(i, j, omega);
        z.re = z.re.minus::<FUSED>(omega * omega, self.m[place(i, j)]);
        z
    }
}

versions! {
    fn solve_block(block: &Block, omega: f64, aligned: bool) -> (Lane, [bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const FUSED: bool>(block: &Block, omega: f64, aligned: bool) -> (Lane, [bool; WIDTH]) {
    let omega = Lane::splat(omega);
    let mut z = [Complex::ZERO; ENTRIES];
    for i in 0..6 {
        for j in 0..=i {
            z[place(i, j)] = block.entry::<FUSED>(i, j, omega);
        }
    }
    let (x, least) = if aligned { by_blocks::<FUSED>(&z) } else { by_rows::<FUSED>(&z) };
    // T_zz = row z of D times x.
    let mut t = Complex::ZERO;
    for j in 0..6 {
        let d = block.spring::<FUSED>(2.max(j), 2.min(j), omega);
        t = t.plus::<FUSED>(d, x[j]);
    }
    let size = (t.re * t.re).plus::<FUSED>(t.im, t.im).sqrt();
    let mut good = above(least, PIVOT);
    and(&mut good, &holds::<FUSED>(&z, &x));
    (size, good)
}

#[inline(always)]
fn by_blocks<const FUSED: bool>(z: &[Complex; ENTRIES]) -> ([Complex; 6], Lane) {
    let of = |i: usize, j: usize| z[place(i, j)];
    let entries = Entries {
        t: [of(0, 0), of(1, 1), of(2, 2)],
        g: [[of(3, 1), of(3, 2)], [of(4, 0), of(4, 2)], [of(5, 0), of(5, 1)]],
        r: [of(3, 3), of(4, 3), of(4, 4), of(5, 3), of(5, 4), of(5, 5)],
    };
    let factors = Factors::new::<FUSED>(&entries);
    (factors.vertical::<FUSED>(), factors.least)
}

/// Z = L D L' row by row, x of Z x = e_z.
#[inline(always)]
fn by_rows<const FUSED: bool>(z: &[Complex; ENTRIES]) -> ([Complex; 6], Lane) {
    let mut l = [Complex::ZERO; ENTRIES];
    let mut inverse = [Complex::ZERO; 6];
    let mut y = [Complex::ZERO; 6];
    let mut least = Lane::splat(f64::INFINITY);
    for i in 0..6 {
        for j in 0..i {
            let mut sum = z[place(i, j)];
            for k in 0..j {
                sum = sum.minus::<FUSED>(l[place(j, k)], y[k]);
            }
            y[j] = sum;
        }
        let mut d = z[place(i, i)];
        for j in 0..i {
            let value = y[j].times::<FUSED>(inverse[j]);
            d = d.minus::<FUSED>(value, y[j]);
            l[place(i, j)] = value;
        }
        least = least.min(d.norm1() / z[place(i, i)].norm1());
        inverse[i] = d.inverse::<FUSED>();
    }
    let mut x = [Complex::ZERO; 6];
    x[2].re = Lane::splat(1.0);
    for i in 3..6 {
        for j in 2..i {
            x[i] = x[i].minus::<FUSED>(l[place(i, j)], x[j]);
        }
    }
    for i in (0..6).rev() {
        x[i] = x[i].times::<FUSED>(inverse[i]);
        for j in i + 1..6 {
            x[i] = x[i].minus::<FUSED>(l[place(j, i)], x[j]);
        }
    }
    (x, least)
}

/// Every row of Z x = e_z against the size of its terms.
#[inline(always)]
fn holds<const FUSED: bool>(z: &[Complex; ENTRIES], x: &[Complex; 6]) -> [bool; WIDTH] {
    let mut good = [true; WIDTH];
    for i in 0..6 {
        let mut error = Complex::ZERO;
        let mut size = Lane::splat(if i == 2 { 1.0 } else { 0.0 });
        error.re = -size;
        for j in 0..6 {
            let entry = z[place(i.max(j), i.min(j))];
            error = error.plus::<FUSED>(entry, x[j]);
            size = size.plus::<FUSED>(entry.norm1(), x[j].norm1());
        }
        let error = error.norm1();
        for lane in 0..WIDTH {
            // False for NaN too.
            good[lane] &= error.0[lane] <= CHECK * size.0[lane];
        }
    }
    good
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A body on four parallel mounts, without damping.
    fn designs() -> (Vec<f64>, Vec<f64>) {
        let mass = [2.0, 2.0, 2.0, 3.0, 3.5, 4.0];
        let at = |i: usize, j: usize| if i == j { mass[i] } else { 0.0 };
        let m = (0..6).flat_map(|i| (0..=i).map(move |j| at(i, j))).collect();
        let mut k = vec![0.0; ENTRIES];
        for i in 0..6 {
            k[place(i, i)] = 800.0 + 100.0 * i as f64;
        }
        for (i, j, value) in [(3, 1, 90.0), (3, 2, 40.0), (4, 0, -80.0), (4, 2, 30.0), (5, 1, 20.0)]
        {
            k[place(i, j)] = value;
        }
        (m, k)
    }

    #[test]
    fn a_pivot_that_vanishes_is_solved_again_with_pivoting() {
        let (m, k) = designs();
        let one = Designs { count: 1, m: &m, k: &k, h: &[], c: &[] };
        // The translation along x by itself would resonate here: its pivot is zero.
        let omega = (k[0] / m[0]).sqrt();
        let at = |omega: f64| {
            let mut out = [0.0];
            let again = vertical(Isa::best(), &one, &[omega], &mut out);
            (out[0], again)
        };
        let ((just, again), (below, _), (above, _)) =
            (at(omega), at(omega * (1.0 - 1e-5)), at(omega * (1.0 + 1e-5)));
        assert_eq!(again, 1);
        assert!((just - 0.5 * (below + above)).abs() < 1e-6 * just, "{below} {just} {above}");
    }

    #[test]
    fn parallel_and_inclined_mounts_take_ways_that_agree() {
        let (m, k) = designs();
        let mut coupled = k.clone();
        coupled[place(1, 0)] = 1e-12;
        let h: Vec<f64> = k.iter().map(|x| 0.1 * x).collect();
        let omega = [0.0, 5.0, 21.0, 400.0];
        let of = |k: &[f64]| {
            let one = Designs { count: 1, m: &m, k, h: &h, c: &[] };
            let mut out = [0.0; 4];
            assert_eq!(vertical(Isa::best(), &one, &omega, &mut out), 0);
            out
        };
        for (a, b) in of(&k).into_iter().zip(of(&coupled)) {
            assert!((a - b).abs() < 1e-13 * a, "{a} {b}");
        }
        assert!((of(&k)[0] - 1.0).abs() < 1e-15);
    }
}
