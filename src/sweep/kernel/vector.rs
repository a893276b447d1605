//! What this kernel asks of lanes beyond [`crate::lanes`]: truth values and choices.

pub use crate::lanes::{Lane as V, WIDTH, and};

/// A truth value for each lane.
pub type Mask = [bool; WIDTH];

impl V {
    /// One in every lane.
    pub const ONE: Self = Self([1.0; WIDTH]);

    /// The same number in every lane.
    #[inline(always)]
    pub fn all(x: f64) -> Self {
        Self([x; WIDTH])
    }

    /// self * a + b, in one rounding where the processor has it (`F`).
    #[inline(always)]
    pub fn fma<const F: bool>(self, a: Self, b: Self) -> Self {
        b.plus::<F>(self, a)
    }

    /// b - self * a, in one rounding where the processor has it (`F`).
    #[inline(always)]
    pub fn fnma<const F: bool>(self, a: Self, b: Self) -> Self {
        b.minus::<F>(self, a)
    }

    /// self where the sign of `of` is not negative, else -self.
    #[inline(always)]
    pub fn signed_by(self, of: Self) -> Self {
        Self::ZERO.greater(of, -self, self)
    }

    /// Where self > 0 `yes`, else `no` (also where self is no number).
    #[inline(always)]
    pub fn pick(self, yes: Self, no: Self) -> Self {
        self.greater(Self::ZERO, yes, no)
    }

    /// self > other; false where one is no number.
    #[inline(always)]
    pub fn above(self, other: Self) -> Mask {
        let mut mask = [false; WIDTH];
        for l in 0..WIDTH {
            mask[l] = self.0[l] > other.0[l];
        }
        mask
    }
}

/// A loop written out, its index a constant: what it indexes can stay in registers, and the compiler
/// does not try to run several of its turns side by side in place of the lanes.
macro_rules! each {
    ($index:ident in [$($n:literal)*] $body:block) => {
        $({
            #[allow(dead_code)]
            const $index: usize = $n;
            $body
        })*
    };
}
pub(super) use each;
