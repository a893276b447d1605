//! At which frequencies, and in which shapes, do many machines swing by themselves?
//!
//! K phi = omega^2 M phi, Phi' M Phi = 1, for eight designs at a time:
//!
//! M = L L',   A = L^-1 K L^-T = V Lambda V',   Phi = L^-T V.
//!
//! A is diagonalized by Jacobi's rotations in rounds of n/2 that do not touch each other. They keep
//! V orthogonal to rounding however close modes are (three equal ones included). Each design is
//! checked by its full residual, K Phi - M Phi Lambda, row by row against the mass and the greatest
//! omega^2; one that fails is solved again by Householder's reduction and QR.
//!
//! Many designs are laid out entry by entry: entry e of design d at `e * designs + d`, of a
//! symmetric matrix the lower triangle row by row (00, 10, 11, 20, ...), see [`packed`].
//!
//! Source: G. H. Golub, C. F. Van Loan, Matrix Computations, 4th ed. 2013, section 8.5 (Jacobi's
//! methods, parallel order; from memory).

use nalgebra::{DMatrix, linalg::SymmetricEigen};

use super::isa::{Isa, versions};
use super::lane::{Lane, WIDTH};

/// Rounds of all rotations before a block is given up.
const SWEEPS: usize = 14;

/// Residual, relative to the greatest omega^2, that is still trusted.
const RESIDUAL: f64 = 1e-12;

/// A pair whose square, relative to its two diagonal entries, is below this needs no rotation.
const NOTHING: f64 = 1e-34;

/// If all were below this before a sweep, none is left after it: convergence is quadratic.
const NEARLY: f64 = 1e-18;

/// A loop over independent lanes, written out for the usual size. Left as a loop, the compiler would
/// turn it about and gather its lanes number by number.
macro_rules! over {
    ($n:expr, $i:ident => $body:block) => {
        if $n == 6 {
            over!(@ $i $body 0 1 2 3 4 5);
        } else {
            for $i in 0..$n {
                let $i = std::hint::black_box($i);
                $body
            }
        }
    };
    (@ $i:ident $body:block $($value:literal)+) => {
        $({
            let $i = $value;
            $body
        })+
    };
}

/// Entries of a symmetric n x n matrix.
pub const fn packed(n: usize) -> usize {
    n * (n + 1) / 2
}

/// Place of entry (i, j), i >= j, among the packed ones.
pub const fn place(i: usize, j: usize) -> usize {
    i * (i + 1) / 2 + j
}

/// Squares of the natural angular frequencies (rad^2/s^2, ascending) and mass-normalized shapes,
/// the largest entry of each positive.
#[derive(Debug, Clone, PartialEq)]
pub struct Modes {
    /// (mode, design).
    pub square: Vec<f64>,
    /// (dof, mode, design).
    pub shape: Vec<f64>,
    /// Designs that neither method could solve (a mass that is not positive definite, numbers that
    /// are not finite); their values are NaN. Free and unstable motions are no failures: their
    /// omega^2 is about zero, or negative.
    pub failed: Vec<usize>,
    /// Designs that were solved again by the second method.
    pub again: usize,
}

/// Room for one block, so that no loop allocates.
#[derive(Debug, Clone)]
pub struct Block {
    n: usize,
    /// Mass and stiffness, packed.
    pub m: Vec<Lane>,
    /// Stiffness, packed.
    pub k: Vec<Lane>,
    /// omega^2, ascending.
    pub square: Vec<Lane>,
    /// (dof, mode).
    pub shape: Vec<Lane>,
    l: Vec<Lane>,
    a: Vec<Lane>,
    v: Vec<Lane>,
    order: Vec<[u32; 2]>,
}

impl Block {
    /// For systems of n degrees of freedom.
    pub fn new(n: usize) -> Self {
        let lanes = |count: usize| vec![Lane::ZERO; count];
        Self {
            n,
            m: lanes(packed(n)),
            k: lanes(packed(n)),
            square: lanes(n),
            shape: lanes(n * n),
            l: lanes(packed(n)),
            a: lanes(n * n),
            v: lanes(n * n),
            order: rounds(n),
        }
    }

    /// Modes of the eight designs in `m` and `k`; true for those that can be trusted.
    pub fn solve(&mut self, isa: Isa) -> [bool; WIDTH] {
        solve_block(isa, self)
    }

    /// One lane by the second method; false if there is no answer.
    pub fn solve_again(&mut self, lane: usize) -> bool {
        let n = self.n;
        let full = |packed: &[Lane]| {
            DMatrix::from_fn(n, n, |i, j| packed[place(i.max(j), i.min(j))].0[lane])
        };
        let found = scalar(&full(&self.m), &full(&self.k));
        let solved = found.is_some();
        let (square, shape) =
            found.unwrap_or_else(|| (vec![f64::NAN; n], DMatrix::from_element(n, n, f64::NAN)));
        for mode in 0..n {
            self.square[mode].0[lane] = square[mode];
            for i in 0..n {
                self.shape[i * n + mode].0[lane] = shape[(i, mode)];
            }
        }
        solved
    }
}

/// Modes of many designs of n degrees of freedom; `m` and `k` hold the packed entries, each for all
/// designs. A mass of one design stands for all.
pub fn solve(isa: Isa, n: usize, designs: usize, m: &[f64], k: &[f64]) -> Modes {
    assert_eq!(k.len(), packed(n) * designs, "k is (packed entry, design)");
    let one_mass = m.len() == packed(n);
    assert!(one_mass || m.len() == k.len(), "m is (packed entry, design) or (packed entry)");
    let mut out = Modes {
        square: vec![0.0; n * designs],
        shape: vec![0.0; n * n * designs],
        failed: Vec::new(),
        again: 0,
    };
    let mut block = Block::new(n);
    for first in (0..designs).step_by(WIDTH) {
        let past = designs.min(first + WIDTH);
        for e in 0..packed(n) {
            block.k[e] = Lane::load(&k[e * designs + first..e * designs + past]);
            block.m[e] = if one_mass {
                Lane::splat(m[e])
            } else {
                Lane::load(&m[e * designs + first..e * designs + past])
            };
        }
        out.take(&mut block, isa, first, past);
        for mode in 0..n {
            block.square[mode]
                .store(&mut out.square[mode * designs + first..mode * designs + past]);
        }
        for e in 0..n * n {
            block.shape[e].store(&mut out.shape[e * designs + first..e * designs + past]);
        }
    }
    out
}

impl Modes {
    /// Solve a block that holds the designs from `first` up to `past`, and note what went wrong.
    fn take(&mut self, block: &mut Block, isa: Isa, first: usize, past: usize) {
        let trusted = block.solve(isa);
        for lane in (0..past - first).filter(|&lane| !trusted[lane]) {
            self.again += 1;
            if !block.solve_again(lane) {
                self.failed.push(first + lane);
            }
        }
    }
}

/// Pairs of each round, one after the other: n - 1 rounds (n if odd) in which each index occurs
/// once, by turning all but the first.
fn rounds(n: usize) -> Vec<[u32; 2]> {
    let even = n + n % 2;
    let mut ring: Vec<usize> = (0..even).collect();
    let mut pairs = Vec::new();
    for _ in 1..even {
        for i in 0..even / 2 {
            let (p, q) = (ring[i].min(ring[even - 1 - i]), ring[i].max(ring[even - 1 - i]));
            if q < n {
                pairs.push([p as u32, q as u32]);
            }
        }
        ring[1..].rotate_right(1);
    }
    pairs
}

versions! { fn solve_block(block: &mut Block) -> [bool; WIDTH] = kernel }

#[inline(always)]
fn kernel<const FUSED: bool>(block: &mut Block) -> [bool; WIDTH] {
    let Block { n, m, k, square, shape, l, a, v, order } = block;
    // The usual size with its places known to the compiler: no index is checked in its loops.
    if *n == 6
        && let (Some(m), Some(k), Some(l)) =
            (m.first_chunk::<21>(), k.first_chunk::<21>(), l.first_chunk_mut::<21>())
        && let (Some(a), Some(v)) = (a.first_chunk_mut::<36>(), v.first_chunk_mut::<36>())
        && let (Some(square), Some(shape)) =
            (square.first_chunk_mut::<6>(), shape.first_chunk_mut::<36>())
    {
        reduce::<FUSED>(6, m, k, l, a, v);
        for _ in 0..SWEEPS {
            if !sweep_of_six::<FUSED>(a, v).any_above(NEARLY) {
                break;
            }
        }
        return finish::<FUSED>(6, m, k, l, a, v, square, shape);
    }
    let n = *n;
    reduce::<FUSED>(n, m, k, l, a, v);
    for _ in 0..SWEEPS {
        let mut rest = Lane::ZERO;
        for &[p, q] in order.iter() {
            rest = rest.max(rotate::<FUSED>(n, p as usize, q as usize, a, v));
        }
        if !rest.any_above(NEARLY) {
            break;
        }
    }
    finish::<FUSED>(n, m, k, l, a, v, square, shape)
}

/// M = L L' with the diagonal of L inverted, A = L^-1 K L^-T (upper triangle), V = 1.
#[inline(always)]
fn reduce<const FUSED: bool>(
    n: usize,
    m: &[Lane],
    k: &[Lane],
    l: &mut [Lane],
    a: &mut [Lane],
    v: &mut [Lane],
) {
    for i in 0..n {
        for j in 0..=i {
            let mut sum = m[place(i, j)];
            for p in 0..j {
                sum = sum.minus::<FUSED>(l[place(i, p)], l[place(j, p)]);
            }
            // A pivot that is not positive leaves no number behind, which the residual shows.
            l[place(i, j)] =
                if i == j { Lane::splat(1.0) / sum.sqrt() } else { sum * l[place(j, j)] };
        }
    }
    // B = L^-1 K, row by row.
    for i in 0..n {
        for j in 0..n {
            let mut sum = k[place(i.max(j), i.min(j))];
            for p in 0..i {
                sum = sum.minus::<FUSED>(l[place(i, p)], a[p * n + j]);
            }
            a[i * n + j] = sum * l[place(i, i)];
        }
    }
    // A = B L^-T, row by row; of each row only what lies right of the diagonal is kept.
    for i in 0..n {
        for j in 0..n {
            let mut sum = a[i * n + j];
            for p in 0..j {
                sum = sum.minus::<FUSED>(a[i * n + p], l[place(j, p)]);
            }
            a[i * n + j] = sum * l[place(j, j)];
        }
    }
    v.fill(Lane::ZERO);
    for i in 0..n {
        v[i * n + i] = Lane::splat(1.0);
    }
}

/// All pairs in five rounds, written out: an index known to the compiler costs nothing.
#[inline(always)]
fn sweep_of_six<const FUSED: bool>(a: &mut [Lane; 36], v: &mut [Lane; 36]) -> Lane {
    let mut rest = Lane::ZERO;
    macro_rules! turn {
        ($(($p:literal, $q:literal))+) => {
            $(rest = rest.max(rotate::<FUSED>(6, $p, $q, a, v));)+
        };
    }
    turn!((0, 5)(1, 4)(2, 3));
    turn!((0, 4)(3, 5)(1, 2));
    turn!((0, 3)(2, 4)(1, 5));
    turn!((0, 2)(1, 3)(4, 5));
    turn!((0, 1)(2, 5)(3, 4));
    rest
}

/// Turns degrees of freedom p < q so that a_pq = 0. V is kept by rows: row p is the vector of A's
/// column p. Gives a_pq^2 / (a_pp a_qq) as it was found.
#[inline(always)]
fn rotate<const FUSED: bool>(n: usize, p: usize, q: usize, a: &mut [Lane], v: &mut [Lane]) -> Lane {
    let (app, aqq, apq) = (a[p * n + p], a[q * n + q], a[p * n + q]);
    let size = (app * aqq).abs().max(Lane::splat(f64::MIN_POSITIVE));
    let relative = apq * apq / size;
    if !relative.any_above(NOTHING) {
        return relative;
    }
    let turn = Turn::new::<FUSED>(app, aqq, apq);
    a[p * n + p] = app.minus::<FUSED>(turn.t, apq);
    a[q * n + q] = aqq.plus::<FUSED>(turn.t, apq);
    a[p * n + q] = Lane::ZERO;
    over!(n, i => {
        if i != p && i != q {
            let (to_p, to_q) = (p.min(i) * n + p.max(i), q.min(i) * n + q.max(i));
            (a[to_p], a[to_q]) = turn.apply::<FUSED>(a[to_p], a[to_q]);
        }
    });
    over!(n, i => {
        (v[p * n + i], v[q * n + i]) = turn.apply::<FUSED>(v[p * n + i], v[q * n + i]);
    });
    relative
}

/// Order, shapes, signs and the check.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
fn finish<const FUSED: bool>(
    n: usize,
    m: &[Lane],
    k: &[Lane],
    l: &[Lane],
    a: &[Lane],
    v: &mut [Lane],
    square: &mut [Lane],
    shape: &mut [Lane],
) -> [bool; WIDTH] {
    sort(n, a, v, square);
    back::<FUSED>(n, l, v, shape);
    upright(n, shape);
    let residual = residual::<FUSED>(n, m, k, square, shape);
    let greatest = square[n - 1].abs().max(square[0].abs()) * Lane::splat(RESIDUAL);
    let limit = greatest * greatest;
    let mut good = [false; WIDTH];
    for lane in 0..WIDTH {
        // False for NaN too.
        good[lane] = residual.0[lane] <= limit.0[lane];
    }
    good
}

/// A rotation that makes a_pq zero.
struct Turn {
    t: Lane,
    c: Lane,
    s: Lane,
}

impl Turn {
    /// t = tan of the angle, the smaller of the two: t = 2 a_pq / (d +- sqrt(d^2 + 4 a_pq^2)).
    #[inline(always)]
    fn new<const FUSED: bool>(app: Lane, aqq: Lane, apq: Lane) -> Self {
        let (d, twice) = (aqq - app, apq + apq);
        let root = (d * d).plus::<FUSED>(twice, twice).sqrt().max(twice.abs());
        let below = (d.abs() + root).max(Lane::splat(f64::MIN_POSITIVE));
        let t = twice / below.copysign(d);
        let c = Lane::splat(1.0) / Lane::splat(1.0).plus::<FUSED>(t, t).sqrt();
        Self { t, c, s: t * c }
    }

    #[inline(always)]
    fn apply<const FUSED: bool>(&self, x: Lane, y: Lane) -> (Lane, Lane) {
        ((self.c * x).minus::<FUSED>(self.s, y), (self.c * y).plus::<FUSED>(self.s, x))
    }
}

/// Eigenvalues ascending, and the rows of V with them.
#[inline(always)]
fn sort(n: usize, a: &[Lane], v: &mut [Lane], square: &mut [Lane]) {
    for i in 0..n {
        square[i] = a[i * n + i];
    }
    for end in (1..n).rev() {
        for i in 0..end {
            let (low, high) = (square[i], square[i + 1]);
            square[i] = low.greater(high, high, low);
            square[i + 1] = low.greater(high, low, high);
            if !(low - high).any_above(0.0) {
                continue;
            }
            over!(n, k => {
                let (x, y) = (v[i * n + k], v[(i + 1) * n + k]);
                v[i * n + k] = low.greater(high, y, x);
                v[(i + 1) * n + k] = low.greater(high, x, y);
            });
        }
    }
}

/// Phi = L^-T V, (dof, mode).
#[inline(always)]
fn back<const FUSED: bool>(n: usize, l: &[Lane], v: &[Lane], shape: &mut [Lane]) {
    for mode in 0..n {
        for i in (0..n).rev() {
            let mut sum = v[mode * n + i];
            for k in i + 1..n {
                sum = sum.minus::<FUSED>(l[place(k, i)], shape[k * n + mode]);
            }
            shape[i * n + mode] = sum * l[place(i, i)];
        }
    }
}

/// The largest entry of each shape positive.
#[inline(always)]
fn upright(n: usize, shape: &mut [Lane]) {
    for mode in 0..n {
        let mut largest = shape[mode];
        for i in 1..n {
            let x = shape[i * n + mode];
            largest = x.abs().greater(largest.abs(), x, largest);
        }
        let sign = Lane::splat(1.0).copysign(largest);
        over!(n, i => {
            shape[i * n + mode] = shape[i * n + mode] * sign;
        });
    }
}

/// Sum of the squares of K phi - omega^2 M phi, each row relative to sqrt(m_ii).
#[inline(always)]
fn residual<const FUSED: bool>(
    n: usize,
    m: &[Lane],
    k: &[Lane],
    square: &[Lane],
    shape: &[Lane],
) -> Lane {
    let mut sum = Lane::ZERO;
    for i in 0..n {
        let mut row = Lane::ZERO;
        for mode in 0..n {
            let mut error = Lane::ZERO;
            for j in 0..n {
                let at = place(i.max(j), i.min(j));
                let entry = k[at].minus::<FUSED>(square[mode], m[at]);
                error = error.plus::<FUSED>(entry, shape[j * n + mode]);
            }
            row = row.plus::<FUSED>(error, error);
        }
        sum = sum + row / m[place(i, i)];
    }
    sum
}

/// The largest entry of each column positive.
pub fn turn_upright(shape: &mut DMatrix<f64>) {
    for mut column in shape.column_iter_mut() {
        if column[column.icamax()] < 0.0 {
            column.neg_mut();
        }
    }
}

/// The second method: Householder's reduction and QR.
fn scalar(m: &DMatrix<f64>, k: &DMatrix<f64>) -> Option<(Vec<f64>, DMatrix<f64>)> {
    let n = m.nrows();
    let finite = |a: &DMatrix<f64>| a.iter().all(|x| x.is_finite());
    if !finite(m) || !finite(k) {
        return None;
    }
    let inverse = m.clone().cholesky()?.l().try_inverse()?;
    let a = &inverse * k * inverse.transpose();
    let eigen = SymmetricEigen::try_new((&a + a.transpose()) * 0.5, f64::EPSILON, 1000)?;
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&i, &j| eigen.eigenvalues[i].total_cmp(&eigen.eigenvalues[j]));
    let columns: Vec<_> = order.iter().map(|&i| eigen.eigenvectors.column(i)).collect();
    let mut shape = inverse.transpose() * DMatrix::from_columns(&columns);
    turn_upright(&mut shape);
    let square: Vec<f64> = order.iter().map(|&i| eigen.eigenvalues[i]).collect();
    (finite(&shape) && square.iter().all(|x| x.is_finite())).then_some((square, shape))
}

#[cfg(test)]
mod tests;
