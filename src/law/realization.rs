//! A law as springs and dashpots: what gives it states of its own in time.
//!
//! D(s) = k + c s + sum of k_i tau_i s / (1 + tau_i s)
//!
//! Each branch has an internal variable, tau_i xi_i' = u - xi_i, and carries the force
//! k_i (u - xi_i); with it the motion in time is exact.

use num_complex::Complex64;

/// Spring and dashpot in line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Branch {
    /// Spring k_i, N/m.
    pub stiffness: f64,
    /// Relaxation time tau_i, s.
    pub time: f64,
}

/// Spring, dashpot and branches side by side.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Realization {
    /// Spring k, N/m.
    pub stiffness: f64,
    /// Dashpot c, N s/m.
    pub damping: f64,
    /// Branches, each with a state of its own.
    pub branches: Vec<Branch>,
}

impl Realization {
    /// D(s), N/m.
    pub fn at(&self, s: Complex64) -> Complex64 {
        let branch = |b: &Branch| {
            let z = s * b.time;
            b.stiffness * (z / (1.0 + z))
        };
        self.stiffness + self.damping * s + self.branches.iter().map(branch).sum::<Complex64>()
    }

    /// Everything times a factor.
    pub(super) fn scaled(mut self, factor: f64) -> Self {
        self.stiffness *= factor;
        self.damping *= factor;
        self.branches.iter_mut().for_each(|b| b.stiffness *= factor);
        self
    }

    /// Slower by a factor: D(factor s).
    pub(super) fn slowed(mut self, factor: f64) -> Self {
        self.damping *= factor;
        self.branches.iter_mut().for_each(|b| b.time *= factor);
        self
    }

    /// Both side by side; branches of one relaxation time become one.
    pub(super) fn beside(mut self, other: Self) -> Self {
        self.stiffness += other.stiffness;
        self.damping += other.damping;
        for branch in other.branches {
            match self.branches.iter_mut().find(|b| b.time == branch.time) {
                Some(same) => same.stiffness += branch.stiffness,
                None => self.branches.push(branch),
            }
        }
        self
    }
}
