//! Eight frequencies side by side: the lane type and the kernel that solves for all of them.
//!
//! For each frequency the kernel factors the complex symmetric dynamic stiffness without pivoting,
//!
//! Z = K - omega^2 M + j (H + omega C) = L D L',
//!
//! solves Z X = F for p load columns and returns Y = (A + j (B + omega E)) X for the q rows asked
//! for (a motion, a mount force, the wrench on the ground). Laws that depend on frequency add terms
//! W_t d_t(omega) to both, with values d_t that the caller gives at each frequency. Arithmetic runs
//! on plain arrays of eight numbers, which the compiler turns into the widest instructions the processor has
//! (`multiversion` picks the version at run time).
//!
//! A factorization without pivoting can lose digits. Each lane is therefore checked by the
//! identity w'Z x = w'f with fixed weights w, and by the spread of its pivots; a lane that fails
//! is solved again with pivoting, in [`solve_pivoted`].
//!
//! Source of the factorization: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed. 2013,
//! section 4.1 (from memory), used here for complex symmetric (not Hermitian) matrices.

mod isa;
mod lane;
pub mod modes;

pub use isa::{Isa, VARIABLE as ISA_VARIABLE, instruction_set};

use multiversion::multiversion;
use multiversion::target::target_cfg_f;
use nalgebra::DMatrix;
use num_complex::Complex64;

/// Lanes in a block.
pub const WIDTH: usize = 8;

/// Relative error of the check sum above which a lane is solved again.
const CHECK: f64 = 1e-11;

/// Ratio of least to greatest pivot (each relative to its own diagonal) that is still trusted.
const PIVOT: f64 = 1e-6;

type Lane = [f64; WIDTH];

const ZERO: Lane = [0.0; WIDTH];

/// Eight complex numbers.
#[derive(Clone, Copy)]
struct Complex {
    re: Lane,
    im: Lane,
}

impl Complex {
    const ZERO: Self = Self { re: ZERO, im: ZERO };

    /// self - a b.
    #[inline(always)]
    fn minus<const FUSED: bool>(self, a: Self, b: Self) -> Self {
        let mut out = self;
        for i in 0..WIDTH {
            if FUSED {
                out.re[i] = (-a.re[i]).mul_add(b.re[i], a.im[i].mul_add(b.im[i], out.re[i]));
                out.im[i] = (-a.re[i]).mul_add(b.im[i], (-a.im[i]).mul_add(b.re[i], out.im[i]));
            } else {
                out.re[i] -= a.re[i] * b.re[i] - a.im[i] * b.im[i];
                out.im[i] -= a.re[i] * b.im[i] + a.im[i] * b.re[i];
            }
        }
        out
    }

    #[inline(always)]
    fn times(self, b: Self) -> Self {
        let mut out = Self::ZERO;
        for i in 0..WIDTH {
            out.re[i] = self.re[i] * b.re[i] - self.im[i] * b.im[i];
            out.im[i] = self.re[i] * b.im[i] + self.im[i] * b.re[i];
        }
        out
    }

    #[inline(always)]
    fn inverse(self) -> Self {
        let mut out = Self::ZERO;
        for i in 0..WIDTH {
            let scale = 1.0 / (self.re[i] * self.re[i] + self.im[i] * self.im[i]);
            out.re[i] = self.re[i] * scale;
            out.im[i] = -self.im[i] * scale;
        }
        out
    }

    #[inline(always)]
    fn norm1(self) -> Lane {
        let mut out = ZERO;
        for i in 0..WIDTH {
            out[i] = self.re[i].abs() + self.im[i].abs();
        }
        out
    }
}

/// Eight frequencies, and the values of the terms there.
struct At<'a> {
    omega: Lane,
    values: &'a [Complex],
}

/// Coefficients of a matrix that is quadratic in omega, row by row:
/// k + j (h + omega c) - omega^2 m, and terms w d(omega) with values d given at each omega.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficients {
    rows: usize,
    columns: usize,
    /// k, h, c, m of each entry, row by row.
    entries: Vec<[f64; 4]>,
    /// w of each term, row by row.
    terms: Vec<Vec<f64>>,
}

impl Coefficients {
    /// From matrices of one shape; `m` is `None` for rows that do not see the mass.
    pub fn new(
        k: &DMatrix<f64>,
        h: &DMatrix<f64>,
        c: &DMatrix<f64>,
        m: Option<&DMatrix<f64>>,
    ) -> Self {
        let (rows, columns) = k.shape();
        let mut entries = Vec::with_capacity(rows * columns);
        for i in 0..rows {
            for j in 0..columns {
                let mass = m.map_or(0.0, |m| m[(i, j)]);
                entries.push([k[(i, j)], h[(i, j)], c[(i, j)], mass]);
            }
        }
        Self { rows, columns, entries, terms: Vec::new() }
    }

    /// The same with terms, each a matrix W of this shape.
    #[must_use]
    pub fn with_terms(mut self, terms: &[DMatrix<f64>]) -> Self {
        let by_rows = |w: &DMatrix<f64>| w.transpose().as_slice().to_vec();
        self.terms = terms.iter().map(by_rows).collect();
        self
    }

    /// Rows that pick the motion itself.
    pub fn identity(n: usize) -> Self {
        let zero = DMatrix::zeros(n, n);
        Self::new(&DMatrix::identity(n, n), &zero, &zero, None)
    }

    /// Rows of both, one below the other; a matrix without terms takes no part in the other's.
    pub fn stacked(mut self, below: &Self) -> Self {
        let (above, added) = (self.entries.len(), below.entries.len());
        self.rows += below.rows;
        self.entries.extend_from_slice(&below.entries);
        self.terms.resize(self.terms.len().max(below.terms.len()), vec![0.0; above]);
        for (t, term) in self.terms.iter_mut().enumerate() {
            match below.terms.get(t) {
                Some(w) => term.extend_from_slice(w),
                None => term.resize(above + added, 0.0),
            }
        }
        self
    }

    /// Number of rows q.
    pub fn rows(&self) -> usize {
        self.rows
    }

    /// The matrix at one omega, with the values of its terms there.
    pub fn at(&self, omega: f64, values: &[Complex64]) -> DMatrix<Complex64> {
        DMatrix::from_fn(self.rows, self.columns, |i, j| {
            let at = i * self.columns + j;
            let [k, h, c, m] = self.entries[at];
            let own = Complex64::new(k - omega * omega * m, h + omega * c);
            self.terms.iter().zip(values).fold(own, |sum, (w, d)| sum + d * w[at])
        })
    }

    #[inline(always)]
    fn lane(&self, i: usize, j: usize, at: &At) -> Complex {
        let (omega, entry) = (&at.omega, i * self.columns + j);
        let [k, h, c, m] = self.entries[entry];
        let mut out = Complex::ZERO;
        for l in 0..WIDTH {
            out.re[l] = k - omega[l] * omega[l] * m;
            out.im[l] = h + omega[l] * c;
        }
        for (w, d) in self.terms.iter().zip(at.values) {
            let w = w[entry];
            for l in 0..WIDTH {
                out.re[l] += w * d.re[l];
                out.im[l] += w * d.im[l];
            }
        }
        out
    }

    /// True if the entry is zero at every omega.
    #[inline(always)]
    fn is_nothing(&self, i: usize, j: usize) -> bool {
        let at = i * self.columns + j;
        self.entries[at] == [0.0; 4] && self.terms.iter().all(|w| w[at] == 0.0)
    }
}

/// Solves Z(omega) X = F at each omega and writes Y = R(omega) X, laid out (omega, row, column).
/// `load` is F, n x p. Returns the indices of the frequencies that need pivoting; their values
/// in `out` are not to be used. `values` are those of the terms, which Z and R share, (omega, term).
pub fn solve(
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
    let mut scratch = vec![Complex::ZERO; n * n + 2 * n + n * p];
    let terms = z.terms.len().max(rows.terms.len());
    assert_eq!(values.len(), omega.len() * terms, "values are (omega, term)");
    let mut d = vec![Complex::ZERO; terms];
    let mut bad = Vec::new();
    for (block, chunk) in omega.chunks(WIDTH).enumerate() {
        let mut lanes = [chunk[chunk.len() - 1]; WIDTH];
        lanes[..chunk.len()].copy_from_slice(chunk);
        gather(&values[block * WIDTH * terms..], chunk.len(), &mut d);
        let at = At { omega: lanes, values: &d };
        let start = block * WIDTH * q * p;
        let target = &mut out[start..start + chunk.len() * q * p];
        let trusted = block_dispatch(z, &at, load.as_slice(), rows, &check, &mut scratch, target);
        bad.extend((0..chunk.len()).filter(|&l| !trusted[l]).map(|l| block * WIDTH + l));
    }
    bad
}

/// Values (omega, term) of `count` frequencies into lanes; the last fills the lanes left over.
fn gather(values: &[Complex64], count: usize, out: &mut [Complex]) {
    let terms = out.len();
    for (t, d) in out.iter_mut().enumerate() {
        for lane in 0..WIDTH {
            let value = values[lane.min(count - 1) * terms + t];
            (d.re[lane], d.im[lane]) = (value.re, value.im);
        }
    }
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

/// w'Z and w'f with weights that make rotations and translations comparable.
struct Check {
    /// k, h, c, m of w'Z.
    columns: Coefficients,
    /// w'f of each load column.
    load: Vec<Complex64>,
}

impl Check {
    fn new(z: &Coefficients, load: &DMatrix<Complex64>) -> Self {
        let n = z.rows;
        // Any weights do; these differ from each other so that opposite errors do not cancel.
        let weight: Vec<f64> = (0..n)
            .map(|i| (1.0 + 0.37 * i as f64) / z.entries[i * n + i][3].abs().sqrt().max(1e-300))
            .collect();
        let mut columns = vec![[0.0; 4]; n];
        for i in 0..n {
            for (j, column) in columns.iter_mut().enumerate() {
                for (sum, entry) in column.iter_mut().zip(&z.entries[i * n + j]) {
                    *sum += weight[i] * entry;
                }
            }
        }
        let terms = z.terms.iter().map(|term| {
            let column = |j: usize| (0..n).map(|i| weight[i] * term[i * n + j]).sum();
            (0..n).map(column).collect()
        });
        let terms = terms.collect();
        let load =
            load.column_iter().map(|f| f.iter().zip(&weight).map(|(f, w)| f * w).sum()).collect();
        Self { columns: Coefficients { rows: 1, columns: n, entries: columns, terms }, load }
    }
}

#[multiversion(targets("x86_64+avx512f+avx512vl+fma", "x86_64+avx2+fma", "aarch64+neon"))]
fn block_dispatch(
    z: &Coefficients,
    at: &At,
    load: &[Complex64],
    rows: &Coefficients,
    check: &Check,
    scratch: &mut [Complex],
    out: &mut [Complex64],
) -> [bool; WIDTH] {
    if target_cfg_f!(any(target_feature = "fma", target_arch = "aarch64")) {
        block::<true>(z, at, load, rows, check, scratch, out)
    } else {
        block::<false>(z, at, load, rows, check, scratch, out)
    }
}

/// One block of eight frequencies: factor, solve, apply the rows.
#[inline(always)]
fn block<const FUSED: bool>(
    z: &Coefficients,
    at: &At,
    load: &[Complex64],
    rows: &Coefficients,
    check: &Check,
    scratch: &mut [Complex],
    out: &mut [Complex64],
) -> [bool; WIDTH] {
    let n = z.rows;
    let p = load.len() / n;
    let (l, rest) = scratch.split_at_mut(n * n);
    let (d_inverse, rest) = rest.split_at_mut(n);
    let (y, x) = rest.split_at_mut(n);

    let mut trusted = factor::<FUSED>(z, at, l, d_inverse, y);
    for (column, x) in x.chunks_exact_mut(n).enumerate() {
        substitute::<FUSED>(l, d_inverse, &load[column * n..(column + 1) * n], x);
        let holds = holds::<FUSED>(check, at, check.load[column], x);
        for lane in 0..WIDTH {
            trusted[lane] &= holds[lane];
        }
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
    let mut least = [f64::INFINITY; WIDTH];
    for i in 0..n {
        for j in 0..i {
            let mut sum = z.lane(i, j, at);
            let row = &l[j * n..j * n + j];
            for (l_jk, y_k) in row.iter().zip(&y[..j]) {
                sum = sum.minus::<FUSED>(*l_jk, *y_k);
            }
            y[j] = sum;
        }
        let diagonal = z.lane(i, i, at);
        let mut d = diagonal;
        for j in 0..i {
            let l_ij = y[j].times(d_inverse[j]);
            d = d.minus::<FUSED>(l_ij, y[j]);
            l[i * n + j] = l_ij;
        }
        let (size, full) = (d.norm1(), diagonal.norm1());
        for lane in 0..WIDTH {
            least[lane] = least[lane].min(size[lane] / full[lane]);
        }
        d_inverse[i] = d.inverse();
    }
    least.map(|ratio| ratio > PIVOT)
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
        let mut sum = Complex { re: [load[i].re; WIDTH], im: [load[i].im; WIDTH] };
        for (l_ij, x_j) in l[i * n..i * n + i].iter().zip(&x[..i]) {
            sum = sum.minus::<FUSED>(*l_ij, *x_j);
        }
        x[i] = sum;
    }
    for i in (0..n).rev() {
        let mut sum = x[i].times(d_inverse[i]);
        for j in i + 1..n {
            sum = sum.minus::<FUSED>(l[j * n + i], x[j]);
        }
        x[i] = sum;
    }
}

/// |w'Z x - w'f| against the size of its terms.
#[inline(always)]
fn holds<const FUSED: bool>(
    check: &Check,
    at: &At,
    load: Complex64,
    x: &[Complex],
) -> [bool; WIDTH] {
    let mut sum = Complex { re: [load.re; WIDTH], im: [load.im; WIDTH] };
    let mut size = sum.norm1();
    for (j, x_j) in x.iter().enumerate() {
        let w = check.columns.lane(0, j, at);
        sum = sum.minus::<FUSED>(w, *x_j);
        let (a, b) = (w.norm1(), x_j.norm1());
        for lane in 0..WIDTH {
            size[lane] += a[lane] * b[lane];
        }
    }
    let error = sum.norm1();
    let mut good = [false; WIDTH];
    for lane in 0..WIDTH {
        // False for NaN too.
        good[lane] = error[lane] <= CHECK * size[lane];
    }
    good
}

/// Most load columns that are worked on together.
const COLUMNS: usize = 6;

/// Y = R(omega) X into (omega, row, column). Each row entry is formed once for all columns.
#[inline(always)]
fn apply<const FUSED: bool>(
    rows: &Coefficients,
    at: &At,
    x: &[Complex],
    n: usize,
    p: usize,
    out: &mut [Complex64],
) {
    let q = rows.rows;
    for i in 0..q {
        for start in (0..p).step_by(COLUMNS) {
            let count = COLUMNS.min(p - start);
            let mut sums = [Complex::ZERO; COLUMNS];
            for j in 0..n {
                if rows.is_nothing(i, j) {
                    continue;
                }
                let r = rows.lane(i, j, at);
                for (column, sum) in sums[..count].iter_mut().enumerate() {
                    *sum = sum.minus::<FUSED>(r, x[(start + column) * n + j]);
                }
            }
            for (lane, target) in out.chunks_exact_mut(q * p).enumerate() {
                for (column, sum) in sums[..count].iter().enumerate() {
                    target[i * p + start + column] = Complex64::new(-sum.re[lane], -sum.im[lane]);
                }
            }
        }
    }
}
