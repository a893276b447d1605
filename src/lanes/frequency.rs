//! How does one system answer at many frequencies? Eight at a time.
//!
//! For each frequency the kernel factors the complex symmetric dynamic stiffness without pivoting,
//!
//! Z = K - omega^2 M + j (H + omega C) + sum of W_t d_t(omega) = L D L',
//!
//! solves Z X = F for p load columns and returns Y = R(omega) X for the q rows asked for (a motion,
//! a mount force, the wrench on the ground). A rigid body on mounts with parallel axes takes a
//! shorter way, see [`super::rigid`].
//!
//! A factorization without pivoting can lose digits. Each lane is therefore checked by the
//! identity w'Z x = w'f with fixed weights w, and by the spread of its pivots; a lane that fails
//! is solved again with pivoting, in [`solve_pivoted`].
//!
//! Source of the factorization: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed. 2013,
//! section 4.1 (from memory), used here for complex symmetric (not Hermitian) matrices.

use nalgebra::DMatrix;
use num_complex::Complex64;
use std::ops::Range;

use super::coefficients::{At, Check, Coefficients, gather};
use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH, and};
use super::rigid;

/// Relative error of the check sum above which a lane is solved again.
const CHECK: f64 = 1e-11;

/// Ratio of least to greatest pivot (each relative to its own diagonal) that is still trusted.
pub(super) const PIVOT: f64 = 1e-6;

/// Solves Z(omega) X = F at each omega and writes Y = R(omega) X, laid out (omega, row, column).
/// `load` is F, n x p. Returns the indices of the frequencies that need pivoting; their values
/// in `out` are not to be used. `values` are those of the terms, which Z and R share, (omega, term).
pub fn solve(
    isa: Isa,
    z: &Coefficients,
    omega: &[f64],
    values: &[Complex64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    out: &mut [Complex64],
) -> Vec<usize> {
    let (n, p, q) = (z.rows, load.ncols(), rows.rows);
    assert_eq!(out.len(), omega.len() * q * p, "output is (omega, row, column)");
    let check = Check::new(z, load);
    let asked = Asked { z, load: load.as_slice(), rows, check: &check };
    let mut scratch = vec![Complex::ZERO; n * n + 2 * n + n * p];
    let terms = z.terms.len().max(rows.terms.len());
    let rigid = rigid::is_aligned(z);
    by_blocks(omega, values, terms, |at, places| {
        let out = &mut out[places.start * q * p..places.end * q * p];
        if rigid {
            rigid::columns(isa, &asked, at, &mut scratch, out)
        } else {
            general(isa, &asked, at, &mut scratch, out)
        }
    })
}

/// What one block of frequencies is to solve: Z X = F, and the rows R of what is to be seen of X.
pub(super) struct Asked<'a> {
    pub z: &'a Coefficients,
    /// F, column by column.
    pub load: &'a [Complex64],
    pub rows: &'a Coefficients,
    pub check: &'a Check,
}

/// Eight frequencies at a time, with the values of the terms there, (omega, term); `work` tells which
/// lanes can be trusted. Gives the indices of the others.
pub(super) fn by_blocks(
    omega: &[f64],
    values: &[Complex64],
    terms: usize,
    mut work: impl FnMut(&At, Range<usize>) -> [bool; WIDTH],
) -> Vec<usize> {
    assert_eq!(values.len(), omega.len() * terms, "values are (omega, term)");
    let mut d = vec![Complex::ZERO; terms];
    let mut bad = Vec::new();
    for (block, chunk) in omega.chunks(WIDTH).enumerate() {
        let first = block * WIDTH;
        gather(&values[first * terms..], chunk.len(), &mut d);
        let at = At { omega: Lane::load(chunk), values: &d };
        let trusted = work(&at, first..first + chunk.len());
        bad.extend((0..chunk.len()).filter(|&l| !trusted[l]).map(|l| first + l));
    }
    bad
}

/// Y = R(omega) x of a motion that is known, (omega, dof) -> (omega, row). `values` are those of the
/// terms, (omega, term).
pub fn see(
    isa: Isa,
    rows: &Coefficients,
    omega: &[f64],
    values: &[Complex64],
    motion: &[Complex64],
) -> Vec<Complex64> {
    let (n, q) = (rows.columns, rows.rows);
    assert_eq!(motion.len(), omega.len() * n, "the motion is (omega, dof)");
    let mut out = vec![Complex64::ZERO; omega.len() * q];
    let mut x = vec![Complex::ZERO; n];
    by_blocks(omega, values, rows.terms.len(), |at, places| {
        gather(&motion[places.start * n..], places.len(), &mut x);
        seen(isa, rows, at, &x, &mut out[places.start * q..places.end * q]);
        [true; WIDTH]
    });
    out
}

versions! {
    fn seen(rows: &Coefficients, at: &At, x: &[Complex], out: &mut [Complex64]) = one_column
}

#[inline(always)]
fn one_column<const FUSED: bool>(
    rows: &Coefficients,
    at: &At,
    x: &[Complex],
    out: &mut [Complex64],
) {
    apply::<FUSED>(rows, at, x, x.len(), 1, out);
}

/// One omega with partial pivoting; `None` if Z is singular to working precision.
pub fn solve_pivoted(
    z: &Coefficients,
    omega: f64,
    values: &[Complex64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
) -> Option<DMatrix<Complex64>> {
    let matrix = z.at(omega, values);
    // Scaled on both sides so that rotations and translations compare when pivots are chosen.
    let scale = DMatrix::from_fn(z.rows, z.rows, |i, j| {
        let largest = matrix.row(i).iter().map(|x| x.norm()).fold(0.0, f64::max);
        Complex64::from(if i == j { 1.0 / largest.sqrt() } else { 0.0 })
    });
    let x = &scale * (&scale * matrix * &scale).full_piv_lu().solve(&(&scale * load))?;
    let y = rows.at(omega, values) * x;
    y.iter().all(|v| v.re.is_finite() && v.im.is_finite()).then_some(y)
}

versions! {
    fn general(
        asked: &Asked,
        at: &At,
        scratch: &mut [Complex],
        out: &mut [Complex64],
    ) -> [bool; WIDTH] = block
}

/// One block of eight frequencies: factor, solve, apply the rows.
#[inline(always)]
fn block<const FUSED: bool>(
    asked: &Asked,
    at: &At,
    scratch: &mut [Complex],
    out: &mut [Complex64],
) -> [bool; WIDTH] {
    let Asked { z, load, rows, check } = asked;
    let n = z.rows;
    let p = load.len() / n;
    let (l, rest) = scratch.split_at_mut(n * n);
    let (d_inverse, rest) = rest.split_at_mut(n);
    let (y, x) = rest.split_at_mut(n);

    let mut trusted = factor::<FUSED>(z, at, l, d_inverse, y);
    for (column, x) in x.chunks_exact_mut(n).enumerate() {
        substitute::<FUSED>(l, d_inverse, &load[column * n..(column + 1) * n], x);
        and(&mut trusted, &holds::<FUSED>(check, at, check.load[column], x));
    }
    apply::<FUSED>(rows, at, x, n, p, out);
    trusted
}

/// Up-looking L D L': row i of L solves against the rows above. `y` is scratch of length n.
#[inline(always)]
fn factor<const FUSED: bool>(
    z: &Coefficients,
    at: &At,
    l: &mut [Complex],
    d_inverse: &mut [Complex],
    y: &mut [Complex],
) -> [bool; WIDTH] {
    let n = z.rows;
    let mut least = Lane::splat(f64::INFINITY);
    for i in 0..n {
        for j in 0..i {
            let mut sum = z.lane::<FUSED>(i, j, at);
            let row = &l[j * n..j * n + j];
            for (l_jk, y_k) in row.iter().zip(&y[..j]) {
                sum = sum.minus::<FUSED>(*l_jk, *y_k);
            }
            y[j] = sum;
        }
        let diagonal = z.lane::<FUSED>(i, i, at);
        let mut d = diagonal;
        for j in 0..i {
            let l_ij = y[j].times::<FUSED>(d_inverse[j]);
            d = d.minus::<FUSED>(l_ij, y[j]);
            l[i * n + j] = l_ij;
        }
        least = least.min(d.norm1() / diagonal.norm1());
        d_inverse[i] = d.inverse::<FUSED>();
    }
    above(least, PIVOT)
}

#[inline(always)]
fn substitute<const FUSED: bool>(
    l: &[Complex],
    d_inverse: &[Complex],
    load: &[Complex64],
    x: &mut [Complex],
) {
    let n = d_inverse.len();
    for i in 0..n {
        let mut sum = Complex::splat(load[i]);
        for (l_ij, x_j) in l[i * n..i * n + i].iter().zip(&x[..i]) {
            sum = sum.minus::<FUSED>(*l_ij, *x_j);
        }
        x[i] = sum;
    }
    for i in (0..n).rev() {
        let mut sum = x[i].times::<FUSED>(d_inverse[i]);
        for j in i + 1..n {
            sum = sum.minus::<FUSED>(l[j * n + i], x[j]);
        }
        x[i] = sum;
    }
}

/// |w'Z x - w'f| against the size of its terms.
#[inline(always)]
pub(super) fn holds<const FUSED: bool>(
    check: &Check,
    at: &At,
    load: Complex64,
    x: &[Complex],
) -> [bool; WIDTH] {
    let mut sum = Complex::splat(load);
    let mut size = sum.norm1();
    for (j, x_j) in x.iter().enumerate() {
        let w = check.columns.lane::<FUSED>(0, j, at);
        sum = sum.minus::<FUSED>(w, *x_j);
        size = size.plus::<FUSED>(w.norm1(), x_j.norm1());
    }
    let error = sum.norm1();
    let mut good = [false; WIDTH];
    for lane in 0..WIDTH {
        // False for NaN too.
        good[lane] = error.0[lane] <= CHECK * size.0[lane];
    }
    good
}

/// Which lanes are above a limit; not a NaN.
#[inline(always)]
pub(super) fn above(values: Lane, limit: f64) -> [bool; WIDTH] {
    let mut good = [false; WIDTH];
    for lane in 0..WIDTH {
        good[lane] = values.0[lane] > limit;
    }
    good
}

/// The motion itself under one load, (omega, dof).
#[inline(always)]
fn one_motion(x: &[Complex], n: usize, out: &mut [Complex64]) {
    let Some(six) = x.first_chunk::<6>().filter(|_| n == 6) else {
        for (lane, target) in out.chunks_exact_mut(n).enumerate() {
            for (value, x) in target.iter_mut().zip(x) {
                *value = Complex64::new(x.re.0[lane], x.im.0[lane]);
            }
        }
        return;
    };
    for (lane, target) in out.chunks_exact_mut(6).enumerate() {
        for i in 0..6 {
            target[i] = Complex64::new(six[i].re.0[lane], six[i].im.0[lane]);
        }
    }
}

/// Most load columns that are worked on together.
const COLUMNS: usize = 6;

/// Y = R(omega) X into (omega, row, column). Each row entry is formed once for all columns.
#[inline(always)]
pub(super) fn apply<const FUSED: bool>(
    rows: &Coefficients,
    at: &At,
    x: &[Complex],
    n: usize,
    p: usize,
    out: &mut [Complex64],
) {
    let q = rows.rows;
    if rows.is_motion && p == 1 {
        return one_motion(x, n, out);
    }
    for i in 0..q {
        for start in (0..p).step_by(COLUMNS) {
            let count = COLUMNS.min(p - start);
            let mut sums = [Complex::ZERO; COLUMNS];
            for j in 0..n {
                if rows.is_nothing(i, j) {
                    continue;
                }
                let r = rows.lane::<FUSED>(i, j, at);
                for (column, sum) in sums[..count].iter_mut().enumerate() {
                    *sum = sum.plus::<FUSED>(r, x[(start + column) * n + j]);
                }
            }
            for (lane, target) in out.chunks_exact_mut(q * p).enumerate() {
                for (column, sum) in sums[..count].iter().enumerate() {
                    target[i * p + start + column] = Complex64::new(sum.re.0[lane], sum.im.0[lane]);
                }
            }
        }
    }
}
