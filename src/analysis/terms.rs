//! The laws that depend on frequency as terms of the frequency response.
//!
//! Z(omega) = ... + sum over distinct laws t of d_t(omega) W_t,  W_t = sum of b b' over the elements
//! that have the law t; the force of an element adds rows of the same kind. A law shared by all
//! mounts is thus evaluated once at each frequency.

use nalgebra::DMatrix;
use num_complex::Complex64;

use crate::error::Result;
use crate::law::Dynamic;
use crate::system::{Linear, LinearElement};

/// The distinct laws of a system, in a fixed order.
pub(super) struct Terms<'a> {
    linear: &'a Linear,
    laws: Vec<&'a Dynamic>,
}

impl<'a> Terms<'a> {
    pub fn new(linear: &'a Linear) -> Self {
        Self { linear, laws: linear.laws() }
    }

    /// W_t, n x n.
    pub fn stiffness(&self) -> Vec<DMatrix<f64>> {
        let n = self.linear.size();
        let mut sums = vec![DMatrix::zeros(n, n); self.laws.len()];
        for element in &self.linear.dynamic {
            if let Some(t) = self.index(&element.law) {
                sums[t].gemm(1.0, &element.b, &element.b.transpose(), 1.0);
            }
        }
        sums
    }

    /// Rows x n of each law: `left` of an element times its law times its motion, from the first row
    /// given on.
    pub fn rows<'e>(
        &self,
        rows: usize,
        parts: impl Iterator<Item = (usize, DMatrix<f64>, &'e LinearElement)>,
    ) -> Vec<DMatrix<f64>> {
        let mut sums = vec![DMatrix::zeros(rows, self.linear.size()); self.laws.len()];
        for (first, left, element) in parts {
            for part in &element.dynamic {
                if let Some(t) = self.index(&part.law) {
                    let motion = part.b.transpose() * element.b.transpose();
                    let force = &left * &part.b * motion;
                    let mut target = sums[t].rows_mut(first, left.nrows());
                    target += force;
                }
            }
        }
        sums
    }

    /// d_t at each omega (rad/s), (omega, term).
    pub fn values(&self, omega: &[f64]) -> Result<Vec<Complex64>> {
        let mut values = Vec::with_capacity(omega.len() * self.laws.len());
        for &omega in omega {
            for law in &self.laws {
                values.push(law.at(omega)?);
            }
        }
        Ok(values)
    }

    fn index(&self, law: &Dynamic) -> Option<usize> {
        self.laws.iter().position(|&one| one == law)
    }
}
