//! Numbers that look random, for the tests of the lanes.

use nalgebra::DMatrix;

/// A linear congruential generator.
pub(super) struct Draws(pub u64);

impl Draws {
    /// From -1 to 1.
    pub fn next(&mut self) -> f64 {
        self.0 =
            self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }

    /// Positive definite, eigenvalues of the order of `size`.
    pub fn matrix(&mut self, n: usize, size: f64) -> DMatrix<f64> {
        let root = DMatrix::from_fn(n, n, |_, _| self.next());
        (&root * root.transpose() / n as f64 + DMatrix::identity(n, n) * 0.5) * size
    }
}
