//! Laws of springs and dashpots in time: the exact motion with their internal variables as states.
//!
//! The state z = (W eta, eta', y) of [`Memory`] obeys z' = A z + b f. It is solved in the complex
//! modes of A, or by the exponential of A where these are no basis. Motions, and the internal
//! variables that forces need, are rows of the same state.
//!
//! Loss factors beside such laws become dashpots in each mode, as in `super::model`. A motion that
//! starts from a displacement starts with its branches relaxed, as after a long rest there.

use faer::Mat;
use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;

use super::super::memory::Memory;
use super::super::roots::TimeModel;
use super::model::{
    Basis, Solved, WORST_CONDITION, band, check_stable, model_error, remembered, weight,
};
use super::propagator::{Dense, Modal, Propagator};
use crate::error::{Error, Result};
use crate::system::Linear;

/// A linear system in states of its own, and what is read from them.
struct StateSpace {
    a: DMatrix<f64>,
    b: DMatrix<f64>,
    start: DVector<f64>,
    /// Displacement, velocity and acceleration, n rows each.
    motion: [DMatrix<f64>; 3],
    /// What the loss factors multiply, n rows.
    loss: Option<DMatrix<f64>>,
    /// Relaxation time and internal variables by degree of freedom, n rows.
    memory: Vec<(f64, DMatrix<f64>)>,
    feed: DMatrix<f64>,
}

/// Solve for the load directions, the columns of g, and the initial displacement and velocity.
pub(super) fn solve(
    linear: &Linear,
    memory: &Memory,
    g: &DMatrix<f64>,
    x0: &DVector<f64>,
    v0: &DVector<f64>,
) -> Result<Solved> {
    let modes = &memory.modes;
    let h = modes.project(&linear.h);
    let damping = &memory.damping + modes.loss_damping(&h);
    let basis = space(linear, memory, &damping, g, x0, v0).basis()?;
    let hysteretic = linear.is_hysteretic();
    let error = if hysteretic {
        let n = h.nrows();
        let k = DMatrix::from_fn(
            n,
            n,
            |i, j| {
                if i == j { modes.omega[i] * modes.omega[i] } else { 0.0 }
            },
        );
        model_error(modes, &memory.damping, &h, &k, &damping)
    } else {
        0.0
    };
    let model = if hysteretic {
        TimeModel::InternalVariablesWithDashpots
    } else {
        TimeModel::InternalVariables
    };
    Ok(Solved { basis, model, error, band: band(&modes.omega) })
}

fn space(
    linear: &Linear,
    memory: &Memory,
    damping: &DMatrix<f64>,
    g: &DMatrix<f64>,
    x0: &DVector<f64>,
    v0: &DVector<f64>,
) -> StateSpace {
    let (modes, size) = (&memory.modes, memory.size());
    let n = modes.omega.len();
    let a = memory.state_matrix(damping);
    let input = modes.phi.transpose() * g;
    let mut b = DMatrix::zeros(size, g.ncols());
    b.rows_mut(n, n).copy_from(&input);
    let mut displacement = DMatrix::zeros(n, size);
    for i in 0..n {
        displacement.set_column(i, &(modes.phi.column(i) / modes.scale[i]));
    }
    let mut velocity = DMatrix::zeros(n, size);
    velocity.columns_mut(n, n).copy_from(&modes.phi);
    let spread = |(group, at): (&super::super::memory::Group, usize)| {
        let mut rows = DMatrix::zeros(n, size);
        rows.columns_mut(at, group.spread.ncols()).copy_from(&group.spread);
        (group.time, rows)
    };
    let loss = linear
        .is_hysteretic()
        .then(|| &modes.phi * modes.over_omega() * &modes.inverse * &velocity);
    StateSpace {
        motion: [displacement, velocity, &modes.phi * a.rows(n, n)],
        loss,
        memory: memory.groups.iter().zip(memory.offsets()).map(spread).collect(),
        feed: &modes.phi * input,
        start: memory.relaxed(x0, v0),
        a,
        b,
    }
}

impl StateSpace {
    fn basis(self) -> Result<Basis> {
        let size = self.b.nrows();
        let eigen = Mat::<f64>::from_fn(size, size, |i, j| self.a[(i, j)]).eigen();
        let eigen = eigen.map_err(|_| Error::NotConverged {
            what: "the eigenvalues of the state matrix".into(),
            detail: "the QR iteration stopped".into(),
            remedy: "check relaxation times and masses for values that are far apart".into(),
        })?;
        let (values, vectors) = (eigen.S().column_vector(), eigen.U());
        let column =
            |j: usize, s: Complex64| unit(DVector::from_fn(size, |i, _| vectors[(i, j)]), s);
        let pairs: Vec<(Complex64, DVector<Complex64>)> = values
            .iter()
            .enumerate()
            .filter(|(_, s)| s.im >= 0.0)
            .map(|(j, &s)| (s, column(j, s)))
            .collect();
        let roots: Vec<Complex64> = pairs.iter().map(|(s, _)| *s).collect();
        check_stable(roots.iter().copied())?;
        Ok(self.modal(&pairs).unwrap_or_else(|| self.dense(roots)))
    }

    /// In the modes; none if they are no basis.
    fn modal(&self, pairs: &[(Complex64, DVector<Complex64>)]) -> Option<Basis> {
        let mut columns = Vec::with_capacity(self.b.nrows());
        for (s, v) in pairs {
            columns.push(v.map(|z| z.re * weight(*s)));
            if s.im != 0.0 {
                columns.push(v.map(|z| -z.im * weight(*s)));
            }
        }
        if columns.len() != self.b.nrows() {
            return None;
        }
        let states = DMatrix::from_columns(&columns);
        let inverse = states.clone().try_inverse()?;
        let condition = states.norm() * inverse.norm();
        if condition.is_nan() || condition > WORST_CONDITION {
            return None;
        }
        let spread = |z: &DVector<f64>| {
            let once = &inverse * z;
            let packed = &once + &inverse * (z - &states * &once);
            let mut next = packed.iter().copied();
            let mut take = || next.next().unwrap_or(0.0);
            let one = |(s, _): &(Complex64, _)| {
                let re = take();
                Complex64::new(re, if s.im == 0.0 { 0.0 } else { take() })
            };
            pairs.iter().map(one).collect::<Vec<_>>()
        };
        let (n, m) = (self.feed.nrows(), pairs.len());
        let seen = |rows: &DMatrix<f64>| {
            let mut out = DMatrix::zeros(n, 2 * m);
            for (k, (s, v)) in pairs.iter().enumerate() {
                out.set_column(k, &(rows * v.map(|z| z.re * weight(*s))));
                out.set_column(m + k, &(rows * v.map(|z| -z.im * weight(*s))));
            }
            out
        };
        let inputs = self.b.column_iter().map(|b| spread(&b.into_owned())).collect();
        let start = spread(&self.start);
        let start = start.iter().map(|q| q.re).chain(start.iter().map(|q| q.im)).collect();
        let roots: Vec<Complex64> = pairs.iter().map(|(s, _)| *s).collect();
        let propagator = Propagator::Modal(Modal::new(roots.clone(), inputs));
        Some(self.read(&seen, propagator, start, roots))
    }

    /// The state matrix itself.
    fn dense(&self, roots: Vec<Complex64>) -> Basis {
        let growth = ((&self.a + self.a.transpose()) * 0.5).symmetric_eigenvalues().max();
        let propagator = Propagator::Dense(Dense {
            b: self.b.clone(),
            growth: if growth < 1e-12 * self.a.norm() { 0.0 } else { growth },
            rate: roots.iter().map(|s| s.norm()).fold(0.0, f64::max),
            a: self.a.clone(),
        });
        let start = self.start.iter().copied().collect();
        self.read(&Clone::clone, propagator, start, roots)
    }

    /// The basis whose states are seen through `seen`.
    fn read(
        &self,
        seen: &dyn Fn(&DMatrix<f64>) -> DMatrix<f64>,
        propagator: Propagator,
        start: Vec<f64>,
        roots: Vec<Complex64>,
    ) -> Basis {
        let [x, v, a] = &self.motion;
        Basis {
            displacement: seen(x),
            velocity: seen(v),
            acceleration: seen(a),
            feed: self.feed.clone(),
            loss: self.loss.as_ref().map(seen),
            memory: self.memory.iter().map(|(time, rows)| remembered(*time, seen(rows))).collect(),
            start,
            roots,
            propagator,
        }
    }
}

/// The vector with length one; that of a real root is real but for a factor.
fn unit(v: DVector<Complex64>, s: Complex64) -> DVector<Complex64> {
    let v = &v / Complex64::from(v.norm());
    if s.im != 0.0 {
        return v;
    }
    let heavier = |a: &Complex64, b: &Complex64| a.norm().total_cmp(&b.norm());
    let greatest = v.iter().copied().max_by(heavier);
    let turn = greatest.map_or(Complex64::ONE, |z| z.conj() / z.norm());
    v.map(|z| Complex64::from((z * turn).re))
}
