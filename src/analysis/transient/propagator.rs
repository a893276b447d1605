//! How a state moves on through time, exactly, in one step of any length.
//!
//! u' = N u + sum of beta_i f_i(t), with every f in closed form on each piece of time, has on a piece
//! the solution u(t + h) = E(h) u(t) + Gamma(h) l(t), where l holds what drives the loads:
//! l = (c_1 + d_1 tau, d_1, c_2 + d_2 tau, d_2, ..., Re w_1, Im w_1, ...), w = e^{sigma tau},
//! f_i = c_i + d_i tau + sum of Re(a_i w) over the waves, which several loads may share.
//!
//! Two kinds stand behind one face: `Modal`, in which N is diagonal in complex coordinates
//! (q_k' = s_k q_k + sum of b_ki f_i, stored as all real parts, then all imaginary parts), and `Dense`, the
//! exponential of the whole state matrix, for systems so near critical damping that the modes
//! are no basis.

use nalgebra::{DMatrix, DVector};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::phi::{phi, psi};

/// A stretch of time with each load in one closed form, and the state at its start.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub(super) struct Piece {
    pub start: f64,
    pub end: f64,
    /// Value at the start and slope of each load.
    pub lines: Vec<[f64; 2]>,
    pub waves: Vec<Wave>,
    /// State at the start.
    pub state: Vec<f64>,
}

/// Re(amplitude e^{exponent tau}) in some of the loads.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Wave {
    /// 1/s.
    pub exponent: Complex64,
    /// Load and amplitude at the start of the piece.
    pub parts: Vec<(usize, Complex64)>,
}

/// Every load and its first four derivatives: by order, then by load.
#[derive(Debug, Clone, Default)]
pub(super) struct Loads(pub [Vec<f64>; 5]);

impl Piece {
    pub fn length(&self) -> f64 {
        self.end - self.start
    }

    pub fn is_free(&self) -> bool {
        self.waves.is_empty() && self.lines.iter().all(|line| *line == [0.0; 2])
    }

    /// What drives the load, tau after the start; nothing at all if the piece is free.
    pub fn drive(&self, tau: f64, out: &mut Vec<f64>) {
        out.clear();
        if self.is_free() {
            return;
        }
        for [value, slope] in &self.lines {
            out.extend([value + slope * tau, *slope]);
        }
        for wave in &self.waves {
            let w = (wave.exponent * tau).exp();
            out.extend([w.re, w.im]);
        }
    }

    /// Entries of the drive.
    fn columns(&self) -> usize {
        if self.is_free() { 0 } else { 2 * (self.lines.len() + self.waves.len()) }
    }

    /// The waves as they are in the drive.
    fn driving<'a>(&'a self, drive: &'a [f64]) -> impl Iterator<Item = (&'a Wave, Complex64)> {
        let parts = drive.get(2 * self.lines.len()..).unwrap_or_default();
        let now = parts.chunks_exact(2).map(|w| Complex64::new(w[0], w[1]));
        self.waves.iter().zip(now)
    }

    /// Each load from the drive.
    pub fn values(&self, drive: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        for (f, line) in out.iter_mut().zip(drive.chunks_exact(2)) {
            *f = line[0];
        }
        for (wave, w) in self.driving(drive) {
            wave.parts.iter().for_each(|(load, a)| out[*load] += a.re * w.re - a.im * w.im);
        }
    }

    /// Each load and its derivatives from the drive.
    pub fn loads(&self, drive: &[f64], out: &mut Loads) {
        for derivative in &mut out.0 {
            derivative.clear();
            derivative.resize(self.lines.len(), 0.0);
        }
        if drive.is_empty() {
            return;
        }
        for (i, line) in drive.chunks_exact(2).take(self.lines.len()).enumerate() {
            (out.0[0][i], out.0[1][i]) = (line[0], line[1]);
        }
        for (wave, mut w) in self.driving(drive) {
            for derivative in &mut out.0 {
                for (load, a) in &wave.parts {
                    derivative[*load] += a.re * w.re - a.im * w.im;
                }
                w *= wave.exponent;
            }
        }
    }

    /// No derivative of a load of that order (2 or more) is greater than its entry within the time
    /// h after the drive.
    pub fn derivative_bounds(&self, drive: &[f64], order: i32, h: f64, out: &mut Vec<f64>) {
        out.clear();
        out.resize(self.lines.len(), 0.0);
        // Waves near each other in frequency may cancel: as vectors, and what they drift apart.
        let Some(middle) = self.waves.get(self.waves.len() / 2).map(|wave| wave.exponent) else {
            return;
        };
        let growth = (middle.re.max(0.0) * h).exp();
        let mut together = vec![(Complex64::ZERO, 0.0); out.len()];
        for (wave, w) in self.driving(drive) {
            let s = wave.exponent;
            let size = w.norm() * s.norm().powi(order) * (s.re.max(0.0) * h).exp();
            let turned = w * s.powi(order);
            let drift = turned.norm() * ((s - middle).norm() * h).exp_m1();
            for (load, a) in &wave.parts {
                out[*load] += a.norm() * size;
                together[*load].0 += a * turned;
                together[*load].1 += a.norm() * drift;
            }
        }
        for (bound, (sum, drift)) in out.iter_mut().zip(together) {
            *bound = bound.min((sum.norm() + drift) * growth);
        }
    }

    /// Greatest rate among the exponentials, 1/s.
    pub fn rate(&self) -> f64 {
        self.waves.iter().map(|wave| wave.exponent.norm()).fold(0.0, f64::max)
    }
}

/// Modes: q_k' = s_k q_k + sum of b_ki f_i.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Modal {
    /// Roots s_k; those of a real root have no imaginary part, nor has their q_k.
    pub roots: Vec<Complex64>,
    /// Inputs b_k of each load.
    pub inputs: Vec<Vec<Complex64>>,
    /// Modes whose roots are so close that they move together for a while.
    pub groups: Vec<Vec<usize>>,
}

/// The whole state matrix: u' = a u + b f, one column of b for each load.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Dense {
    pub a: DMatrix<f64>,
    pub b: DMatrix<f64>,
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
    /// Number of loads.
    lines: usize,
    h: f64,
}

impl Modal {
    pub fn new(roots: Vec<Complex64>, inputs: Vec<Vec<Complex64>>) -> Self {
        let groups = close_groups(&roots);
        Self { roots, inputs, groups }
    }

    fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        let m = self.roots.len();
        out.exponential.resize(2 * m, 0.0);
        let columns = piece.columns();
        out.gamma.resize(columns * 2 * m, 0.0);
        for k in 0..m {
            let s = self.roots[k];
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
            for (i, b) in self.inputs.iter().enumerate() {
                put(2 * i, b[k] * phi1 * h);
                put(2 * i + 1, b[k] * phi2 * (h * h));
            }
            let first = 2 * self.inputs.len();
            for (i, wave) in piece.waves.iter().enumerate() {
                // Re w = (w + w*) / 2, and each part is an exponential of its own.
                let sigma = wave.exponent;
                let (mut up, mut down) = (Complex64::ZERO, Complex64::ZERO);
                for (load, a) in &wave.parts {
                    up += self.inputs[*load][k] * a;
                    down += self.inputs[*load][k] * a.conj();
                }
                up *= psi(s, sigma, h);
                down *= psi(s, sigma.conj(), h);
                put(first + 2 * i, 0.5 * (up + down));
                put(first + 2 * i + 1, Complex64::I * 0.5 * (up - down));
            }
        }
    }
}

impl Dense {
    /// The exponential of the state matrix with the drive of the load as further states.
    fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        let n = self.b.nrows();
        let columns = piece.columns();
        let mut g = DMatrix::zeros(n + columns, n + columns);
        g.view_mut((0, 0), (n, n)).copy_from(&self.a);
        if columns > 0 {
            for (i, b) in self.b.column_iter().enumerate() {
                g.view_mut((0, n + 2 * i), (n, 1)).copy_from(&b);
                g[(n + 2 * i, n + 2 * i + 1)] = 1.0;
            }
            for (i, wave) in piece.waves.iter().enumerate() {
                let (at, sigma) = (n + 2 * (self.b.ncols() + i), wave.exponent);
                for (load, a) in &wave.parts {
                    let b = self.b.column(*load);
                    g.view_mut((0, at), (n, 1)).zip_apply(&b, |g, b| *g += a.re * b);
                    g.view_mut((0, at + 1), (n, 1)).zip_apply(&b, |g, b| *g -= a.im * b);
                }
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
            Self::Dense(dense) => dense.b.nrows(),
        }
    }

    /// Prepare a step of length h within the piece.
    pub fn fill(&self, piece: &Piece, h: f64, out: &mut Transition) {
        out.h = h;
        out.dense = matches!(self, Self::Dense(_));
        out.waves.clear();
        out.waves.extend(piece.waves.iter().map(|wave| (wave.exponent * h).exp()));
        out.lines = piece.lines.len();
        match self {
            Self::Modal(modal) => modal.fill(piece, h, out),
            Self::Dense(dense) => dense.fill(piece, h, out),
        }
    }

    /// u' = N u + beta f, f holding each load.
    pub fn rate_of_change(&self, u: &[f64], f: &[f64], out: &mut [f64]) {
        match self {
            Self::Modal(modal) => {
                let m = modal.roots.len();
                for k in 0..m {
                    let q = Complex64::new(u[k], u[m + k]);
                    let loads = modal.inputs.iter().zip(f);
                    let rate = loads.fold(modal.roots[k] * q, |sum, (b, f)| sum + b[k] * f);
                    (out[k], out[m + k]) = (rate.re, rate.im);
                }
            }
            Self::Dense(dense) => {
                for i in 0..dense.b.nrows() {
                    let free = dense.a.row(i).iter().zip(u).map(|(a, x)| a * x).sum::<f64>();
                    let loads = dense.b.row(i).iter().zip(f).map(|(b, f)| b * f).sum::<f64>();
                    out[i] = free + loads;
                }
            }
        }
    }

    /// Number of loads.
    pub fn loads(&self) -> usize {
        match self {
            Self::Modal(modal) => modal.inputs.len(),
            Self::Dense(dense) => dense.b.ncols(),
        }
    }

    /// beta of each load as a state.
    pub fn inputs(&self) -> Vec<Vec<f64>> {
        let still = vec![0.0; self.size()];
        let one = |i: usize| {
            let mut f = vec![0.0; self.loads()];
            f[i] = 1.0;
            let mut beta = vec![0.0; self.size()];
            self.rate_of_change(&still, &f, &mut beta);
            beta
        };
        (0..self.loads()).map(one).collect()
    }

    /// The state u that a step of that transition leads back to itself, when the step from zero ends
    /// at `forced`: u = (I - E)^-1 forced. None if no such state exists (undamped resonance).
    pub fn returning(&self, h: f64, forced: &[f64]) -> Option<Vec<f64>> {
        match self {
            Self::Modal(modal) => modal.returning(h, forced),
            Self::Dense(dense) => {
                let n = forced.len();
                let e = DMatrix::identity(n, n) - (&dense.a * h).exp();
                let u = e.lu().solve(&DVector::from_column_slice(forced))?;
                u.iter().all(|x| x.is_finite()).then(|| u.as_slice().to_vec())
            }
        }
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
                    let size = length(row[k], row[m + k]) * length(u[k], u[m + k]);
                    if decays || size == 0.0 { size } else { f64::INFINITY }
                };
                (0..m).map(each).sum()
            }
            Self::Dense(dense) if dense.growth <= 0.0 => norm(row) * norm(u),
            Self::Dense(_) => f64::INFINITY,
        }
    }

    /// The rate (1/s) that sets the step of a scan: a mean of |s_k| weighted by how much each mode
    /// takes part in the curvature w = u'' (with f'' of each load no greater than `loads`).
    pub fn scan_rate(&self, weights: &[f64], w: &[f64], loads: &[f64]) -> f64 {
        match self {
            Self::Modal(modal) => {
                let m = modal.roots.len();
                let (mut curvature, mut motion) = (0.0, 0.0);
                for k in 0..m {
                    let s = modal.roots[k].norm();
                    if s == 0.0 {
                        continue;
                    }
                    let inputs = modal.inputs.iter().zip(loads);
                    let forced = inputs.map(|(b, f)| b[k].norm() * f).sum::<f64>() / s;
                    let size = weights[k] * (length(w[k], w[m + k]) + forced);
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
            let size = |k: usize| length(row[k], row[m + k]);
            let greatest = (0..m).map(size).fold(f64::MIN_POSITIVE, f64::max);
            for k in 0..m {
                weights[k] = weights[k].max(size(k) / greatest);
            }
        }
        weights
    }
}

impl Modal {
    fn returning(&self, h: f64, forced: &[f64]) -> Option<Vec<f64>> {
        let m = self.roots.len();
        let mut out = vec![0.0; 2 * m];
        for k in 0..m {
            let p = Complex64::new(forced[k], forced[m + k]);
            // 1 - e^z = -z phi_1(z) keeps its digits where e^z is near 1.
            let z = self.roots[k] * h;
            let left = -z * phi(z)[1];
            if p.norm() == 0.0 {
                continue;
            }
            let q = p / left;
            if left.norm() < 1e-12 || !q.is_finite() {
                return None;
            }
            (out[k], out[m + k]) = (q.re, q.im);
        }
        Some(out)
    }

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
                let apart = self.roots[k] - reference;
                drift += length(term.re, term.im) * (length(apart.re, apart.im) * h).exp_m1();
            }
        }
        let growth = reference.re.max(0.0) * h;
        let whole = length(sum.re, sum.im) + drift;
        if growth > 0.0 { whole * growth.exp() } else { whole }
    }
}

/// Length of a vector that is far from the ends of the doubles' range: the careful `hypot` costs ten
/// times as much, and bounds are asked for more often than anything else.
fn length(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
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
        let (lines, waves) = drive.split_at_mut(2 * self.lines);
        for line in lines.chunks_exact_mut(2) {
            line[0] += line[1] * self.h;
        }
        for (e, w) in self.waves.iter().zip(waves.chunks_exact_mut(2)) {
            let now = e * Complex64::new(w[0], w[1]);
            (w[0], w[1]) = (now.re, now.im);
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
