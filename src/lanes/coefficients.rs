//! The matrices of the frequency response as numbers by which their entries follow from omega, and
//! the check of a solution.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::lane::{Complex, Lane, WIDTH};

/// Eight frequencies, and the values of the terms there.
pub(super) struct At<'a> {
    pub omega: Lane,
    pub values: &'a [Complex],
}

/// Coefficients of a matrix that is quadratic in omega, row by row:
/// k + j (h + omega c) - omega^2 m, and terms w d(omega) with values d given at each omega.
#[derive(Debug, Clone, PartialEq)]
pub struct Coefficients {
    pub(super) rows: usize,
    pub(super) columns: usize,
    /// k, h, c, m of each entry, row by row.
    pub(super) entries: Vec<[f64; 4]>,
    /// w of each term, row by row.
    pub(super) terms: Vec<Vec<f64>>,
    /// True for rows that pick the motion itself.
    pub(super) is_motion: bool,
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
        Self { rows, columns, entries, terms: Vec::new(), is_motion: false }
    }

    /// The same with terms, each a matrix W of this shape.
    #[must_use]
    pub fn with_terms(mut self, terms: &[DMatrix<f64>]) -> Self {
        let by_rows = |w: &DMatrix<f64>| w.transpose().as_slice().to_vec();
        self.terms = terms.iter().map(by_rows).collect();
        self.is_motion = false;
        self
    }

    /// Rows that pick the motion itself.
    pub fn identity(n: usize) -> Self {
        let zero = DMatrix::zeros(n, n);
        let rows = Self::new(&DMatrix::identity(n, n), &zero, &zero, None);
        Self { is_motion: true, ..rows }
    }

    /// Rows of both, one below the other; a matrix without terms takes no part in the other's.
    pub fn stacked(mut self, below: &Self) -> Self {
        let (above, added) = (self.entries.len(), below.entries.len());
        self.rows += below.rows;
        self.is_motion = false;
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

    /// True if these rows are all of `z` but its mass, to rounding.
    pub fn is_spring_part_of(&self, z: &Self) -> bool {
        let close = |a: f64, b: f64, size: f64| (a - b).abs() <= 1e-14 * size;
        let same = |part: usize| {
            let size = z.entries.iter().fold(0.0_f64, |size, e| size.max(e[part].abs()));
            self.entries.iter().zip(&z.entries).all(|(a, b)| close(a[part], b[part], size))
        };
        let terms = |(a, b): (&Vec<f64>, &Vec<f64>)| {
            let size = b.iter().fold(0.0_f64, |size, x| size.max(x.abs()));
            a.iter().zip(b).all(|(a, b)| close(*a, *b, size))
        };
        (self.rows, self.columns) == (z.rows, z.columns)
            && (0..3).all(same)
            && self.terms.len() == z.terms.len()
            && self.terms.iter().zip(&z.terms).all(terms)
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

    /// True if nothing but k, h and c stands in it.
    pub fn is_springs_and_dashpots(&self) -> bool {
        self.terms.is_empty() && self.entries.iter().all(|e| e[3] == 0.0)
    }

    /// Row i of k + jh + s c times a vector, for a complex s in place of j omega.
    pub(super) fn row_at(&self, i: usize, s: Complex64, x: &DVector<Complex64>) -> Complex64 {
        let row = &self.entries[i * self.columns..(i + 1) * self.columns];
        let entry = |[k, h, c, _]: &[f64; 4]| Complex64::new(*k, *h) + s * c;
        row.iter().zip(x.iter()).map(|(e, x)| entry(e) * x).sum()
    }

    /// The entry at eight frequencies.
    #[inline(always)]
    pub(super) fn lane<const FUSED: bool>(&self, i: usize, j: usize, at: &At) -> Complex {
        self.lanes::<FUSED>(i, j, at, true)
    }

    /// The entry without its mass: what springs and dashpots do.
    #[inline(always)]
    pub(super) fn spring<const FUSED: bool>(&self, i: usize, j: usize, at: &At) -> Complex {
        self.lanes::<FUSED>(i, j, at, false)
    }

    #[inline(always)]
    fn lanes<const FUSED: bool>(&self, i: usize, j: usize, at: &At, mass: bool) -> Complex {
        let entry = i * self.columns + j;
        let [k, h, c, m] = self.entries[entry];
        let mut re = Lane::splat(k);
        if mass {
            re = re.minus::<FUSED>(at.omega * at.omega, Lane::splat(m));
        }
        let im = Lane::splat(h).plus::<FUSED>(at.omega, Lane::splat(c));
        let mut out = Complex { re, im };
        for t in 0..self.terms.len() {
            let (w, d) = (Lane::splat(self.terms[t][entry]), at.values[t]);
            out.re = out.re.plus::<FUSED>(w, d.re);
            out.im = out.im.plus::<FUSED>(w, d.im);
        }
        out
    }

    /// True if the entry is zero at every omega.
    #[inline(always)]
    pub(super) fn is_nothing(&self, i: usize, j: usize) -> bool {
        let at = i * self.columns + j;
        self.entries[at] == [0.0; 4] && self.terms.iter().all(|w| w[at] == 0.0)
    }
}

/// Values (omega, term) of `count` frequencies into lanes; the last fills the lanes left over.
pub(super) fn gather(values: &[Complex64], count: usize, out: &mut [Complex]) {
    let terms = out.len();
    for (t, d) in out.iter_mut().enumerate() {
        for lane in 0..WIDTH {
            let value = values[lane.min(count - 1) * terms + t];
            (d.re.0[lane], d.im.0[lane]) = (value.re, value.im);
        }
    }
}

/// w'Z and w'f with weights that make rotations and translations comparable.
pub(super) struct Check {
    /// k, h, c, m of w'Z.
    pub columns: Coefficients,
    /// w'f of each load column.
    pub load: Vec<Complex64>,
}

impl Check {
    pub fn new(z: &Coefficients, load: &DMatrix<Complex64>) -> Self {
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
        Self {
            columns: Coefficients {
                rows: 1,
                columns: n,
                entries: columns,
                terms,
                is_motion: false,
            },
            load,
        }
    }
}
