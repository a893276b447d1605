//! Sixteen oscillators that follow one record: the kernel of the shock response spectrum.
//!
//! Each is one complex pole, p_{n+1} = e p_n + b x_n, read as y_n = Im(p_n) + d x_n. The form keeps
//! its digits however slowly the pole turns, and takes nine operations a sample. Two blocks of eight
//! side by side hide the time that one waits for its own last result.

use num_complex::Complex64;

use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH};

/// Blocks side by side.
const BLOCKS: usize = 2;

/// Poles in one group.
pub const GROUP: usize = BLOCKS * WIDTH;

/// One oscillator.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pole {
    /// Turn and decay in one sample.
    pub e: Complex64,
    /// Weight of a sample in the state after it.
    pub b: Complex64,
    /// Weight of a sample in the reading at it.
    pub d: f64,
    /// Samples of zero input that are followed after the record.
    pub after: usize,
}

#[derive(Clone, Copy, Default)]
struct Block {
    e: Complex,
    b: Complex,
    d: Lane,
    p: Complex,
    after: Lane,
    greatest: Lane,
    least: Lane,
}

/// Greatest and least reading of up to [`GROUP`] poles that start from rest; zero counts among them.
pub fn extremes(isa: Isa, poles: &[Pole], signal: &[f64]) -> Vec<[f64; 2]> {
    assert!(poles.len() <= GROUP, "one group at a time");
    let mut blocks = [Block::default(); BLOCKS];
    for (i, pole) in poles.iter().enumerate() {
        let (block, lane) = (&mut blocks[i / WIDTH], i % WIDTH);
        (block.e.re.0[lane], block.e.im.0[lane]) = (pole.e.re, pole.e.im);
        (block.b.re.0[lane], block.b.im.0[lane]) = (pole.b.re, pole.b.im);
        block.d.0[lane] = pole.d;
        block.after.0[lane] = pole.after as f64;
    }
    follow(isa, &mut blocks, signal, poles.iter().map(|pole| pole.after).max().unwrap_or(0));
    let read = |i: usize| {
        let block = &blocks[i / WIDTH];
        [block.greatest.0[i % WIDTH], block.least.0[i % WIDTH]]
    };
    (0..poles.len()).map(read).collect()
}

versions! {
    fn follow(blocks: &mut [Block; BLOCKS], signal: &[f64], after: usize) = kernel
}

#[inline(always)]
fn kernel<const FUSED: bool>(blocks: &mut [Block; BLOCKS], signal: &[f64], after: usize) {
    let mut local = *blocks;
    for &x in signal {
        let x = Lane::splat(x);
        for i in 0..BLOCKS {
            let block = &mut local[i];
            let y = block.p.im.plus::<FUSED>(block.d, x);
            block.greatest = block.greatest.max(y);
            block.least = block.least.min(y);
            block.p = block.e.times::<FUSED>(block.p).plus_scaled::<FUSED>(block.b, x);
        }
    }
    for step in 0..after {
        let step = Lane::splat(step as f64);
        for i in 0..BLOCKS {
            let block = &mut local[i];
            // Zero once a pole has had its samples: zero counts from the start.
            let y = block.after.greater(step, block.p.im, Lane::ZERO);
            block.greatest = block.greatest.max(y);
            block.least = block.least.min(y);
            block.p = block.e.times::<FUSED>(block.p);
        }
    }
    *blocks = local;
}
