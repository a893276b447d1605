//! How a state moves on through time, exactly, in one step of any length.
//!
//! u' = N u + beta f(t), with f in closed form on each piece of time, has on a piece the solution
//! u(t + h) = E(h) u(t) + Gamma(h) l(t), where l holds what drives the load:
//! l = (c + d tau, d, Re w_1, Im w_1, ...), w_i = a_i e^{sigma_i tau}, f = l_0 + sum of Re w_i.
//!
//! Two kinds stand behind one face: `Modal`, in which N is diagonal in complex coordinates
//! (q_k' = s_k q_k + b_k f, stored as all real parts, then all imaginary parts), and `Dense`, the
//! exponential of the whole state matrix, for systems so near critical damping that the modes
//! are no basis.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::phi::{phi, psi};

/// A stretch of time with a load in one closed form, and the state at its start.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Piece {
    pub start: f64,
    pub end: f64,
    pub constant: f64,
    pub slope: f64,
    /// Amplitude at the start and exponent.
    pub waves: Vec<(Complex64, Complex64)>,
    /// State at the start.
    pub state: Vec<f64>,
}

impl Piece {
    pub fn length(&self) -> f64 {
        self.end - self.start
    }

    pub fn is_free(&self) -> bool {
        self.constant == 0.0 && self.slope == 0.0 && self.waves.is_empty()
    }

    /// What drives the load, tau after the start; nothing at all if the piece is free.
    pub fn drive(&self, tau: f64, out: &mut Vec<f64>) {
        out.clear();
        if self.is_free() {
            return;
        }
        out.push(self.constant + self.slope * tau);
        out.push(self.slope);
        for (amplitude, exponent) in &self.waves {
            let w = amplitude * (exponent * tau).exp();
            out.extend([w.re, w.im]);
        }
    }

    /// f and its first four derivatives from the drive.
    pub fn load(&self, drive: &[f64]) -> [f64; 5] {
        let mut f = [0.0; 5];
        if drive.is_empty() {
            return f;
        }
        f[0] = drive[0];
        f[1] = drive[1];
        for (i, (_, exponent)) in self.waves.iter().enumerate() {
            let mut w = Complex64::new(drive[2 + 2 * i], drive[3 + 2 * i]);
            for derivative in &mut f {
                *derivative += w.re;
                w *= exponent;
            }
        }
        f
    }

    /// No derivative of f of that order (2 or more) is greater within the time h after the drive.
    pub fn derivative_bound(&self, drive: &[f64], order: i32, h: f64) -> f64 {
        self.waves
            .iter()
            .enumerate()
            .map(|(i, (_, exponent))| {
                let w = drive[2 + 2 * i].hypot(drive[3 + 2 * i]);
                w * exponent.norm().powi(order) * (exponent.re.max(0.0) * h).exp()
            })
            .sum()
    }

    /// Greatest rate among the exponentials, 1/s.
    pub fn rate(&self) -> f64 {
        self.waves.iter().map(|(_, exponent)| exponent.norm()).fold(0.0, f64::max)
    }
}

/// Modes: q_k' = s_k q_k + b_k f.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Modal {
    /// Roots s_k; those of a real root have no imaginary part, nor has their q_k.
    pub roots: Vec<Complex64>,
    /// Inputs b_k.
    pub inputs: Vec<Complex64>,
    /// Modes whose roots are so close that they move together for a while.
    pub groups: Vec<Vec<usize>>,
}

/// The whole state matrix: u' = a u + b f.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Dense {
    pub a: DMatrix<f64>,
    pub b: DVector<f64>,
    /// Greatest rate of growth of |u|: the greatest eigenvalue of (a + a') / 2, 1/s.
    pub growth: f64,
    /// Greatest absolute root, 1/s.
    pub rate: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) enum Propagator {
    Modal(Modal),
    Dense(Dense),
}

/// E(h) and Gamma(h) for one h; the same object is refilled to keep loops free of allocation.
#[derive(Debug, Clone, Default)]
pub(super) struct Transition {
    /// Modal: e^{s_k h}, real parts then imaginary parts. Dense: E by columns.
    exponential: Vec<f64>,
    dense: bool,
    /// By columns, one for each entry of the drive.
    gamma: Vec<f64>,
    /// e^{sigma_i h}.
    waves: Vec<Complex64>,
    h: f64,
}

impl Modal {
    pub fn new(roots: Vec<Complex64>, inputs: Vec<Complex64>) -> Self {
        let groups = close_groups(&roots);
        Self { roots, inputs, groups }
    }

    fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        let m = self.roots.len();
        out.exponential.resize(2 * m, 0.0);
        let columns = if piece.is_free() { 0 } else { 2 + 2 * piece.waves.len() };
        out.gamma.resize(columns * 2 * m, 0.0);
        for k in 0..m {
            let (s, b) = (self.roots[k], self.inputs[k]);
            if columns == 0 {
                let e = (s * h).exp();
                (out.exponential[k], out.exponential[m + k]) = (e.re, e.im);
                continue;
            }
            let [e, phi1, phi2] = phi(s * h);
            (out.exponential[k], out.exponential[m + k]) = (e.re, e.im);
            let mut put = |column: usize, value: Complex64| {
                out.gamma[column * 2 * m + k] = value.re;
                out.gamma[column * 2 * m + m + k] = value.im;
            };
            put(0, b * phi1 * h);
            put(1, b * phi2 * (h * h));
            for (i, &(_, sigma)) in piece.waves.iter().enumerate() {
                // Re w = (w + w*) / 2, and each part is an exponential of its own.
                let (up, down) = (b * psi(s, sigma, h), b * psi(s, sigma.conj(), h));
                put(2 + 2 * i, 0.5 * (up + down));
                put(3 + 2 * i, Complex64::I * 0.5 * (up - down));
            }
        }
    }
}

impl Dense {
    /// The exponential of the state matrix with the drive of the load as further states.
    fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        let n = self.b.len();
        let columns = if piece.is_free() { 0 } else { 2 + 2 * piece.waves.len() };
        let mut g = DMatrix::zeros(n + columns, n + columns);
        g.view_mut((0, 0), (n, n)).copy_from(&self.a);
        if columns > 0 {
            g.view_mut((0, n), (n, 1)).copy_from(&self.b);
            g[(n, n + 1)] = 1.0;
            for (i, (_, sigma)) in piece.waves.iter().enumerate() {
                let at = n + 2 + 2 * i;
                g.view_mut((0, at), (n, 1)).copy_from(&self.b);
                (g[(at, at)], g[(at, at + 1)]) = (sigma.re, -sigma.im);
                (g[(at + 1, at)], g[(at + 1, at + 1)]) = (sigma.im, sigma.re);
            }
        }
        let e = (g * h).exp();
        out.exponential.clear();
        out.exponential.extend(e.view((0, 0), (n, n)).iter());
        out.gamma.clear();
        out.gamma.extend(e.view((0, n), (n, columns)).iter());
    }
}

impl Propagator {
    /// Number of real states.
    pub fn size(&self) -> usize {
        match self {
            Self::Modal(modal) => 2 * modal.roots.len(),
            Self::Dense(dense) => dense.b.len(),
        }
    }

    /// Prepare a step of length h within the piece.
    pub fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        out.h = h;
        out.dense = matches!(self, Self::Dense(_));
        out.waves.clear();
        out.waves.extend(piece.waves.iter().map(|(_, sigma)| (sigma * h).exp()));
        match self {
            Self::Modal(modal) => modal.fill(piece, h, out),
            Self::Dense(dense) => dense.fill(piece, h, out),
        }
    }

    /// u' = N u + beta f.
    pub fn rate_of_change(&self, u: &[f64], f: f64, out: &mut [f64]) {
        match self {
            Self::Modal(modal) => {
                let m = modal.roots.len();
                for k in 0..m {
                    let q = Complex64::new(u[k], u[m + k]);
                    let rate = modal.roots[k] * q + modal.inputs[k] * f;
                    (out[k], out[m + k]) = (rate.re, rate.im);
                }
            }
            Self::Dense(dense) => {
                for i in 0..dense.b.len() {
                    let row = dense.a.row(i);
                    out[i] = row.iter().zip(u).map(|(a, x)| a * x).sum::<f64>() + dense.b[i] * f;
                }
            }
        }
    }

    /// beta as a state.
    pub fn input(&self) -> Vec<f64> {
        let mut beta = vec![0.0; self.size()];
        self.rate_of_change(&vec![0.0; self.size()], 1.0, &mut beta);
        beta
    }

    /// |row . w(t)| is no greater than this for a time h of free motion from w.
    pub fn bound(&self, row: &[f64], w: &[f64], h: f64) -> f64 {
        match self {
            Self::Modal(modal) => {
                modal.groups.iter().map(|g| modal.group_bound(g, row, w, h)).sum()
            }
            Self::Dense(dense) => norm(row) * norm(w) * (dense.growth.max(0.0) * h).exp(),
        }
    }

    /// |row . u(t)| is no greater than this ever after in free motion from u.
    pub fn envelope(&self, row: &[f64], u: &[f64]) -> f64 {
        match self {
            Self::Modal(modal) => {
                let m = modal.roots.len();
                let each = |k: usize| {
                    let decays = modal.roots[k].re <= 0.0;
                    let size = row[k].hypot(row[m + k]) * u[k].hypot(u[m + k]);
                    if decays || size == 0.0 { size } else { f64::INFINITY }
                };
                (0..m).map(each).sum()
            }
            Self::Dense(dense) if dense.growth <= 0.0 => norm(row) * norm(u),
            Self::Dense(_) => f64::INFINITY,
        }
    }

    /// The rate (1/s) that sets the step of a scan: a mean of |s_k| weighted by how much each mode
    /// takes part in the curvature w = u'' (with F'' of the load no greater than `load`).
    pub fn scan_rate(&self, weights: &[f64], w: &[f64], load: f64) -> f64 {
        match self {
            Self::Modal(modal) => {
                let m = modal.roots.len();
                let (mut curvature, mut motion) = (0.0, 0.0);
                for k in 0..m {
                    let s = modal.roots[k].norm();
                    if s == 0.0 {
                        continue;
                    }
                    let forced = modal.inputs[k].norm() * load / s;
                    let size = weights[k] * (w[k].hypot(w[m + k]) + forced);
                    curvature += size;
                    motion += size / (s * s);
                }
                if motion > 0.0 { (curvature / motion).sqrt() } else { 0.0 }
            }
            Self::Dense(dense) => dense.rate,
        }
    }

    /// One weight per mode from the rows of an output, for [`Self::scan_rate`].
    pub fn weights(&self, rows: &[Vec<f64>]) -> Vec<f64> {
        let Self::Modal(modal) = self else {
            return Vec::new();
        };
        let m = modal.roots.len();
        let mut weights = vec![0.0_f64; m];
        for row in rows {
            let size = |k: usize| row[k].hypot(row[m + k]);
            let greatest = (0..m).map(size).fold(f64::MIN_POSITIVE, f64::max);
            for k in 0..m {
                weights[k] = weights[k].max(size(k) / greatest);
            }
        }
        weights
    }
}

impl Modal {
    /// Close modes add as vectors first; what they drift apart in the time h is added.
    fn group_bound(&self, group: &[usize], row: &[f64], w: &[f64], h: f64) -> f64 {
        let m = self.roots.len();
        let reference = self.roots[group[0]];
        let mut sum = Complex64::from(0.0);
        let mut drift = 0.0;
        for &k in group {
            // row . (Re q, Im q) = Re((row_re - j row_im) q)
            let term = Complex64::new(row[k], -row[m + k]) * Complex64::new(w[k], w[m + k]);
            sum += term;
            if k != group[0] {
                drift += term.norm() * ((self.roots[k] - reference).norm() * h).exp_m1();
            }
        }
        (sum.norm() + drift) * (reference.re.max(0.0) * h).exp()
    }
}

impl Transition {
    /// u at the end of the step.
    pub fn apply(&self, u: &[f64], drive: &[f64], out: &mut [f64]) {
        let size = u.len();
        if self.dense {
            out.fill(0.0);
            for (column, x) in self.exponential.chunks_exact(size).zip(u) {
                for (o, e) in out.iter_mut().zip(column) {
                    *o += e * x;
                }
            }
        } else {
            let m = size / 2;
            let (er, ei) = self.exponential.split_at(m);
            let (ur, ui) = u.split_at(m);
            let (or, oi) = out.split_at_mut(m);
            for k in 0..m {
                or[k] = er[k] * ur[k] - ei[k] * ui[k];
                oi[k] = er[k] * ui[k] + ei[k] * ur[k];
            }
        }
        for (column, l) in self.gamma.chunks_exact(size.max(1)).zip(drive) {
            for (o, g) in out.iter_mut().zip(column) {
                *o += g * l;
            }
        }
    }

    /// The drive at the end of the step.
    pub fn apply_drive(&self, drive: &mut [f64]) {
        if drive.is_empty() {
            return;
        }
        drive[0] += drive[1] * self.h;
        for (i, e) in self.waves.iter().enumerate() {
            let w = e * Complex64::new(drive[2 + 2 * i], drive[3 + 2 * i]);
            (drive[2 + 2 * i], drive[3 + 2 * i]) = (w.re, w.im);
        }
    }
}

fn norm(x: &[f64]) -> f64 {
    x.iter().map(|v| v * v).sum::<f64>().sqrt()
}

/// Roots within 1e-4 of their size of the first of their group.
fn close_groups(roots: &[Complex64]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (k, s) in roots.iter().enumerate() {
        let near = |g: &&mut Vec<usize>| (roots[g[0]] - s).norm() < 1e-4 * s.norm();
        match groups.iter_mut().find(near) {
            Some(group) => group.push(k),
            None => groups.push(vec![k]),
        }
    }
    groups
}
