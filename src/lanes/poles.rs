//! How does one system answer at thousands of frequencies? By its poles.
//!
//! In real modes (x = Phi eta) the dynamic stiffness at sigma = j omega is
//!
//! Z(sigma) = sigma^2 + sigma C + Omega^2 + jH,   Z(sigma)^-1 = sum of x x' / (a (sigma - s)),
//!
//! over its 2n roots s with vectors x, Z(s) x = 0, a = x' (2 s + C) x. A row R = K_R + jH_R + sigma C_R
//! of a load F answers with sum of rho / (sigma - s), rho = R(s) x x'F / a: what sigma C_R adds
//! beside that cancels over all roots. Each root above the real axis is taken together with the one
//! below that belongs to the same mode (its conjugate where H = 0, else that of -H),
//!
//! y(omega) = sum over modes of (A + sigma B) / ((sigma - s) (sigma - s')),
//!
//! which loses no digits far above resonance. A frequency costs a few operations for each mode and
//! output in place of a factorization.
//!
//! Check: with E_0 = sum of x x'/a and E_1 = sum of s x x'/a - 1, both zero for roots that are all
//! there and right, Z(sigma) sum of x x' / (a (sigma - s)) = 1 + sigma E_0 + E_1 + C E_0. So two
//! sums bound the error at every frequency, and a system whose sums are not zero (roots that lie on
//! each other, one found twice) is left to the factorization.
//!
//! Limits: laws that depend on frequency, modes that may creep, and free motions have other ways.
//!
//! Source: textbook, e.g. L. Meirovitch, Fundamentals of Vibrations, 2001, section 4.10 (from
//! memory), for roots in conjugate pairs; the pairs of a loss factor and the check are derived here.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::coefficients::Coefficients;
use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH};
use super::newton::{self, Found, Pencil};

/// E_0 and E_1 that are still rounding, relative to their parts.
const COMPLETE: f64 = 1e-11;

/// A root of Z with its vector in real modes.
#[derive(Debug, Clone, PartialEq)]
pub struct Pole {
    /// s, 1/s.
    pub s: Complex64,
    /// x.
    pub vector: DVector<Complex64>,
    /// a = x' (2 s + C) x.
    pub slope: Complex64,
}

/// The roots of a system: of each mode the one above the real axis and the one below.
#[derive(Debug, Clone, PartialEq)]
pub struct Poles {
    /// (above, below) of each mode.
    pub pairs: Vec<[Pole; 2]>,
}

/// y(omega) of some outputs.
#[derive(Debug, Clone, PartialEq)]
pub struct Residues {
    modes: usize,
    outputs: usize,
    /// s and s' of each mode.
    roots: Vec<[Complex64; 2]>,
    /// A and B, (output, mode).
    numerators: Vec<[Complex64; 2]>,
}

impl Poles {
    /// Those of omega^2 (positive), C and H in real modes; none where they are not sure to be all.
    pub fn new(isa: Isa, omega: &[f64], c: &DMatrix<f64>, h: &DMatrix<f64>) -> Option<Self> {
        let n = omega.len();
        let above = settled(isa, omega, c, h, 1.0)?;
        let below = if h.iter().all(|h| *h == 0.0) {
            above.clone()
        } else {
            settled(isa, omega, c, h, -1.0)?
        };
        let below = below.into_iter().map(|p| Pole {
            s: p.s.conj(),
            vector: p.vector.map(|x| x.conj()),
            slope: p.slope.conj(),
        });
        let poles = Self { pairs: above.into_iter().zip(below).map(|(a, b)| [a, b]).collect() };
        poles.are_all(n).then_some(poles)
    }

    /// E_0 = 0 and E_1 = 0.
    fn are_all(&self, n: usize) -> bool {
        let largest = self.pairs.iter().map(|[p, _]| p.s.norm()).fold(0.0, f64::max);
        (0..n).all(|i| {
            (0..=i).all(|j| {
                let (mut e0, mut e1) = (Complex64::ZERO, Complex64::ZERO);
                for p in self.pairs.iter().flatten() {
                    let part = p.vector[i] * p.vector[j] / p.slope;
                    e0 += part;
                    e1 += part * p.s;
                }
                let one = if i == j { 1.0 } else { 0.0 };
                // Written so that what is no number is not complete.
                e0.norm() * largest <= COMPLETE && (e1 - one).norm() <= COMPLETE
            })
        })
    }

    /// How rows see each root; both in the degrees of freedom of `phi` (dof, mode), rows without
    /// mass or terms.
    pub fn seen(&self, phi: &DMatrix<f64>, rows: &Coefficients) -> Seen {
        let phi = phi.map(Complex64::from);
        let roots = self.pairs.iter().map(|[a, b]| [a.s, b.s]).collect();
        let side = |pole: &Pole| {
            let shape = &phi * &pole.vector;
            let seen = (0..rows.rows()).map(|i| rows.row_at(i, pole.s, &shape)).collect();
            (seen, shape / pole.slope)
        };
        let sides = self.pairs.iter().map(|[a, b]| [side(a), side(b)]).collect();
        Seen { roots, sides }
    }
}

/// Roots as rows see them.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    roots: Vec<[Complex64; 2]>,
    /// R(s) x of each row and x / a, of both roots of each mode.
    sides: Vec<[(Vec<Complex64>, DVector<Complex64>); 2]>,
}

impl Seen {
    /// What the rows answer to a load; outputs are (row, column of the load).
    pub fn under(&self, load: &DMatrix<Complex64>) -> Residues {
        let (n, columns) = (self.roots.len(), load.ncols());
        let rows = self.sides.first().map_or(0, |[(seen, _), _]| seen.len());
        let mut numerators = vec![[Complex64::ZERO; 2]; rows * columns * n];
        for (k, (sides, [above, below])) in self.sides.iter().zip(&self.roots).enumerate() {
            for (j, f) in load.column_iter().enumerate() {
                let driven = sides.each_ref().map(|(_, x)| f.dot(x));
                for i in 0..rows {
                    let [up, down] = [0, 1].map(|side: usize| sides[side].0[i] * driven[side]);
                    numerators[(i * columns + j) * n + k] =
                        [-(up * below + down * above), up + down];
                }
            }
        }
        Residues { modes: n, outputs: rows * columns, roots: self.roots.clone(), numerators }
    }
}

/// The roots above the real axis of s^2 + s C + Omega^2 + j sign H, eight modes at a time: in each
/// lane the modes stand in an order of their own, with the one whose root is looked for as the last.
fn settled(
    isa: Isa,
    omega: &[f64],
    c: &DMatrix<f64>,
    h: &DMatrix<f64>,
    sign: f64,
) -> Option<Vec<Pole>> {
    let n = omega.len();
    let mut room = Room::new(n);
    let mut poles = Vec::with_capacity(n);
    for first in (0..n).step_by(WIDTH) {
        for lane in 0..WIDTH {
            let mode = (first + lane).min(n - 1);
            let of = |i: usize| match i {
                i if i + 1 == n => mode,
                i if i < mode => i,
                i => i + 1,
            };
            for i in 0..n {
                room.square[i].0[lane] = omega[of(i)] * omega[of(i)];
                for j in 0..n {
                    room.c[i * n + j].0[lane] = c[(of(i), of(j))];
                    room.h[i * n + j].0[lane] = sign * h[(of(i), of(j))];
                }
            }
        }
        let sound = last(isa, &mut room);
        for (lane, sound) in sound.iter().enumerate().take(n - first) {
            if !sound {
                return None;
            }
            let number = |z: &Complex| Complex64::new(z.re.0[lane], z.im.0[lane]);
            let mode = first + lane;
            let at = |i: usize| match i.cmp(&mode) {
                std::cmp::Ordering::Equal => n - 1,
                std::cmp::Ordering::Less => i,
                std::cmp::Ordering::Greater => i - 1,
            };
            poles.push(Pole {
                s: number(&room.root),
                vector: DVector::from_fn(n, |i, _| number(&room.vector[at(i)])),
                slope: number(&room.slope),
            });
        }
    }
    Some(poles)
}

/// Z in eight orders of its modes, and the root of the last mode in each.
struct Room {
    n: usize,
    square: Vec<Lane>,
    c: Vec<Lane>,
    h: Vec<Lane>,
    root: Complex,
    vector: Vec<Complex>,
    slope: Complex,
    work: Vec<Complex>,
}

impl Room {
    fn new(n: usize) -> Self {
        Self {
            n,
            square: vec![Lane::ZERO; n],
            c: vec![Lane::ZERO; n * n],
            h: vec![Lane::ZERO; n * n],
            root: Complex::ZERO,
            vector: vec![Complex::ZERO; n],
            slope: Complex::ZERO,
            work: vec![Complex::ZERO; newton::room(n)],
        }
    }
}

versions! { fn last(room: &mut Room) -> [bool; WIDTH] = last_root }

#[inline(always)]
fn last_root<const F: bool>(room: &mut Room) -> [bool; WIDTH] {
    match room.n {
        6 => last_of::<F>(room, 6),
        n => last_of::<F>(room, n),
    }
}

#[inline(always)]
fn last_of<const F: bool>(room: &mut Room, n: usize) -> [bool; WIDTH] {
    let Room { square, c, h, root, vector, slope, work, .. } = room;
    let pencil = Pencil { square, c, h };
    let k = n - 1;
    let (start, swings) = pencil.start(k, n);
    *root = start;
    vector.fill(Complex::ZERO);
    vector[k].re = Lane::splat(1.0);
    let mut found = Found { root, vector, slope: Complex::ZERO };
    let active = pencil.settle::<F>(k, &mut found, work, Lane::splat(1.0), n);
    *slope = found.slope;
    let mut sound = [false; WIDTH];
    for lane in 0..WIDTH {
        sound[lane] = active.0[lane] == 0.0 && swings.0[lane] > 0.0 && root.im.0[lane] > 0.0;
    }
    sound
}

impl Residues {
    /// Numbers at each frequency.
    pub fn outputs(&self) -> usize {
        self.outputs
    }

    /// y at each omega, eight of them beside each other: (eight of omega, output). The last fills the
    /// lanes left over.
    pub fn at(&self, isa: Isa, omega: &[f64], out: &mut Vec<Complex>) {
        out.resize(omega.len().div_ceil(WIDTH) * self.outputs, Complex::ZERO);
        sums(isa, self, omega, out);
    }
}

versions! {
    fn sums(residues: &Residues, omega: &[f64], out: &mut [Complex]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(residues: &Residues, omega: &[f64], out: &mut [Complex]) {
    match residues.modes {
        6 => all::<F>(residues, omega, &mut [Complex::ZERO; 6], out),
        n => all::<F>(residues, omega, &mut vec![Complex::ZERO; n], out),
    }
}

#[inline(always)]
fn all<const F: bool>(
    residues: &Residues,
    omega: &[f64],
    inverse: &mut [Complex],
    out: &mut [Complex],
) {
    let n = inverse.len();
    let roots = &residues.roots[..n];
    for (omega, out) in omega.chunks(WIDTH).zip(out.chunks_exact_mut(residues.outputs)) {
        let w = Lane::load(omega);
        for k in 0..n {
            let [s, t] = roots[k];
            let from = |s: Complex64| Complex { re: Lane::splat(-s.re), im: w - Lane::splat(s.im) };
            inverse[k] = from(s).times::<F>(from(t)).inverse::<F>();
        }
        for (y, numerators) in out.iter_mut().zip(residues.numerators.chunks_exact(n)) {
            let mut sum = Complex::ZERO;
            for k in 0..n {
                let [a, b] = numerators[k];
                let up = Complex {
                    re: Lane::splat(a.re).minus::<F>(w, Lane::splat(b.im)),
                    im: Lane::splat(a.im).plus::<F>(w, Lane::splat(b.re)),
                };
                sum = sum.plus::<F>(up, inverse[k]);
            }
            *y = sum;
        }
    }
}

#[cfg(test)]
mod tests;
