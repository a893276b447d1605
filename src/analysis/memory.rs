//! Laws made of springs and dashpots as states: the exact linear system behind them.
//!
//! A branch k_i tau s / (1 + tau s) on a port b carries k_i (b'x - xi), tau xi' = b'x - xi. All
//! branches with one tau share r <= n internal variables y: with sum of |k_i| b b' = G G',
//!
//! tau y' = G'x - y,   xi = (G^+ b)' y,
//!
//! so that four equal mounts need no more states than the body has directions. With real modes
//! x = Phi eta of a stiffness near that in motion, the state z = (W eta, eta', y) obeys z' = A z,
//!
//! A = [ 0, W, 0;  -Phi' K1 Phi W^-1, -Phi' C Phi, Phi' G S;  G' Phi W^-1 / tau, 0, -1/tau ],
//!
//! where K1 = K + sum of b (k + sum of k_i) b' is the stiffness to a sudden motion, C holds the
//! dashpots and S = G^+ (sum of k_i b b') G^+' (the unit matrix unless some k_i are negative).
//!
//! Source: textbook, e.g. J. N. Reddy, An Introduction to Continuum Mechanics, 2nd ed. 2013,
//! chapter 9 on internal variables (from memory); the reduction by G is derived here.

use nalgebra::{DMatrix, DVector, SymmetricEigen};

use super::dependent::typical_omega;
use super::roots::RealModes;
use crate::error::Result;
use crate::law::Realization;
use crate::system::Linear;

/// Part of the greatest eigenvalue below which a direction of G G' is rounding.
const NOTHING: f64 = 1e-12;

/// The internal variables of one relaxation time.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Group {
    /// Relaxation time tau, s.
    pub time: f64,
    /// G, n x r.
    g: DMatrix<f64>,
    /// S, r x r.
    s: DMatrix<f64>,
    /// (G^+)', n x r: xi = b' spread y.
    pub spread: DMatrix<f64>,
}

/// A system all of whose laws are springs and dashpots.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Memory {
    /// Real modes in whose coordinates the states are.
    pub modes: RealModes,
    /// K1, in modal coordinates.
    stiffness: DMatrix<f64>,
    /// C with all dashpots, in modal coordinates.
    pub damping: DMatrix<f64>,
    /// Internal variables.
    pub groups: Vec<Group>,
}

impl Memory {
    /// None if a law is not made of springs and dashpots.
    pub fn new(linear: &Linear) -> Result<Option<Self>> {
        let laws: Option<Vec<Realization>> =
            linear.dynamic.iter().map(|d| d.law.realization()).collect();
        let Some(laws) = laws else { return Ok(None) };
        let (mut k, mut c) = (linear.k.clone(), linear.c.clone());
        for (element, law) in linear.dynamic.iter().zip(&laws) {
            let sudden = law.stiffness + law.branches.iter().map(|b| b.stiffness).sum::<f64>();
            let square = &element.b * element.b.transpose();
            k += &square * sudden;
            c += square * law.damping;
        }
        let modes = RealModes::new(&linear.frozen(typical_omega(linear)?)?)?;
        Ok(Some(Self {
            stiffness: modes.project(&k),
            damping: modes.project(&c),
            groups: groups(linear, &laws),
            modes,
        }))
    }

    /// Number of states.
    pub fn size(&self) -> usize {
        2 * self.modes.omega.len() + self.groups.iter().map(|g| g.g.ncols()).sum::<usize>()
    }

    /// A, with `damping` (modal) in place of the dashpots.
    pub fn state_matrix(&self, damping: &DMatrix<f64>) -> DMatrix<f64> {
        let n = self.modes.omega.len();
        let mut a = DMatrix::zeros(self.size(), self.size());
        let scale = &self.modes.scale;
        for j in 0..n {
            a[(j, n + j)] = scale[j];
            for i in 0..n {
                a[(n + i, j)] = -self.stiffness[(i, j)] / scale[j];
                a[(n + i, n + j)] = -damping[(i, j)];
            }
        }
        for (group, at) in self.groups.iter().zip(self.offsets()) {
            let r = group.g.ncols();
            let seen = self.modes.phi.transpose() * &group.g;
            a.view_mut((n, at), (n, r)).copy_from(&(&seen * &group.s));
            for j in 0..n {
                for i in 0..r {
                    a[(at + i, j)] = seen[(j, i)] / (scale[j] * group.time);
                }
            }
            for i in 0..r {
                a[(at + i, at + i)] = -1.0 / group.time;
            }
        }
        a
    }

    /// First state of each group.
    pub fn offsets(&self) -> Vec<usize> {
        let mut next = 2 * self.modes.omega.len();
        let one = |group: &Group| {
            let at = next;
            next += group.g.ncols();
            at
        };
        self.groups.iter().map(one).collect()
    }

    /// State at rest in a displacement x with velocity v: branches relaxed, y = G'x.
    pub fn relaxed(&self, x: &DVector<f64>, v: &DVector<f64>) -> DVector<f64> {
        let n = self.modes.omega.len();
        let (eta, rate) = (&self.modes.inverse * x, &self.modes.inverse * v);
        let mut z = DVector::zeros(self.size());
        for i in 0..n {
            z[i] = eta[i] * self.modes.scale[i];
            z[n + i] = rate[i];
        }
        for (group, at) in self.groups.iter().zip(self.offsets()) {
            z.rows_mut(at, group.g.ncols()).copy_from(&group.g.tr_mul(x));
        }
        z
    }
}

/// Branches of one relaxation time put together, fastest first.
fn groups(linear: &Linear, laws: &[Realization]) -> Vec<Group> {
    let mut times: Vec<f64> = laws.iter().flat_map(|l| l.branches.iter().map(|b| b.time)).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    let n = linear.size();
    let one = |time: f64| {
        let (mut whole, mut signed) = (DMatrix::zeros(n, n), DMatrix::zeros(n, n));
        for (element, law) in linear.dynamic.iter().zip(laws) {
            for branch in law.branches.iter().filter(|b| b.time == time) {
                let square = &element.b * element.b.transpose();
                whole += &square * branch.stiffness.abs();
                signed += square * branch.stiffness;
            }
        }
        group(time, whole, &signed)
    };
    times.into_iter().map(one).collect()
}

fn group(time: f64, whole: DMatrix<f64>, signed: &DMatrix<f64>) -> Group {
    // Scaled by the diagonal, so that rotations and translations compare.
    let n = whole.nrows();
    let w: Vec<f64> =
        (0..n).map(|i| if whole[(i, i)] > 0.0 { whole[(i, i)].sqrt() } else { 1.0 }).collect();
    let eigen = SymmetricEigen::new(DMatrix::from_fn(n, n, |i, j| whole[(i, j)] / (w[i] * w[j])));
    let bound = NOTHING * eigen.eigenvalues.amax();
    let kept: Vec<usize> = (0..n).filter(|&j| eigen.eigenvalues[j] > bound).collect();
    let root = |j: usize| eigen.eigenvalues[kept[j]].sqrt();
    let g =
        DMatrix::from_fn(n, kept.len(), |i, j| w[i] * eigen.eigenvectors[(i, kept[j])] * root(j));
    // A left inverse of G, (G^+ G = 1), which is all that b in the range of G needs.
    let spread =
        DMatrix::from_fn(n, kept.len(), |i, j| eigen.eigenvectors[(i, kept[j])] / (w[i] * root(j)));
    let s = spread.transpose() * signed * &spread;
    Group { time, g, s: (&s + s.transpose()) * 0.5, spread }
}
