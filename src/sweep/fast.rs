//! Eight designs side by side.

use super::plan::Plan;

/// Designs in a block.
pub const WIDTH: usize = 8;

/// What a block has served.
pub struct Served {
    /// True if every output asked for is among those of the lanes.
    pub all: bool,
    /// Designs that stand as computed; the others are computed again by the analyses.
    pub stands: [bool; WIDTH],
}

/// Room for blocks of designs.
pub struct Fast {}

impl Fast {
    /// Lanes for a sweep.
    pub fn new(_plan: &Plan) -> Self {
        Self {}
    }

    /// Is that output among those of the lanes?
    pub fn serves(&self, _output: usize) -> bool {
        false
    }

    /// Computes a block.
    pub fn block(
        &mut self,
        _start: u64,
        _many: usize,
        _row: usize,
        _outs: &mut [&mut [f64]],
    ) -> Served {
        Served { all: false, stands: [false; WIDTH] }
    }
}
