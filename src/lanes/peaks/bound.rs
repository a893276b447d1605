//! Which steps could hold more than the greatest sample of an output?

use super::super::isa::versions;
use super::super::lane::{Complex, Lane, WIDTH};
use super::scan::{CHUNK, derivatives};
use super::{Block, MODES, Piece, Room};

versions! {
    /// The open steps of an output, in the lanes that are `sound`, into the room of the block.
    pub(super) fn open(block: &mut Block, output: usize, sound: &[bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(block: &mut Block, output: usize, sound: &[bool; WIDTH]) {
    let Block { modes, outputs, roots, inputs, rows, feed, pieces, room, .. } = block;
    let (n, outputs) = (*modes, *outputs);
    for open in room.open.iter_mut().flatten() {
        open.clear();
    }
    let [high, low] = room.reached[output];
    let mut turned = [Complex::ZERO; MODES];
    for piece in 0..room.count.len() {
        let (first, past) = (room.first[piece], room.first[piece + 1].min(room.past[output]));
        // h y' / 6: of each mode, and of the load.
        let sixth = room.step[piece] * Lane::splat(1.0 / 6.0);
        let mut jump = Lane::ZERO;
        for k in 0..n {
            let r = rows[output * n + k];
            turned[k] = r.times::<F>(roots[k]).scaled(sixth);
            jump = jump + r.times::<F>(inputs[k]).re;
        }
        let by_load = [jump * sixth, feed[output] * Lane::splat(1.0 / 6.0)];
        let mut y = room.seen[outputs * first + output];
        for i in 0..past.saturating_sub(first + 1) {
            let next = room.seen[outputs * (first + i + 1) + output];
            let at = room.block[piece] + i / CHUNK;
            let slack = room.slack[2 * (outputs * at + output)];
            let above = y.max(next) + slack - high;
            let below = slack - y.min(next) - low;
            y = next;
            // One look for both sides; most steps end here.
            if !above.max(below).any_above(0.0) {
                continue;
            }
            let slope = slopes::<F>(room, &turned[..n], by_load, &pieces[piece], piece, first + i);
            let [top, bottom] = hermite(room, outputs, output, piece, i, slope);
            let over = [above.min(top - high), below.min(bottom - low)];
            if over[0].max(over[1]).any_above(0.0) {
                note(room, output, piece, i, over, sound);
            }
        }
    }
}

/// h y' / 6 at both ends of a step.
#[inline(always)]
fn slopes<const F: bool>(
    room: &Room,
    turned: &[Complex],
    [jump, feed]: [Lane; 2],
    load: &Piece,
    piece: usize,
    row: usize,
) -> [Lane; 2] {
    let mut out = [Lane::ZERO; 2];
    let n = turned.len();
    for end in 0..2 {
        let state = &room.states[(row + end) * room.width..][..room.width];
        let mut sum = Lane::ZERO;
        for k in 0..n {
            sum = sum.plus::<F>(turned[k].re, state[k]).minus::<F>(turned[k].im, state[n + k]);
        }
        if !load.is_free() {
            let [f, rate, ..] = derivatives::<F>(load, state, room.step[piece], n);
            sum = sum.plus::<F>(jump, f).plus::<F>(feed, rate);
        }
        out[end] = sum;
    }
    out
}

/// What y, and -y, do not pass on step i of a piece, by the cubic with the values and slopes at its
/// ends.
#[inline(always)]
fn hermite(
    room: &Room,
    outputs: usize,
    output: usize,
    piece: usize,
    i: usize,
    [d0, d1]: [Lane; 2],
) -> [Lane; 2] {
    let at = outputs * (room.first[piece] + i) + output;
    let (y0, y1) = (room.seen[at], room.seen[at + outputs]);
    // Bernstein points of both halves of the cubic; the middle one lies between its two.
    let half = Lane::splat(0.5);
    let (a, d) = (y0 + d0, y1 - d1);
    let middle = (y0 + y1) * half + (d0 - d1);
    let (b, c) = ((a + middle) * half, (middle + d) * half);
    let block = room.block[piece] + i / CHUNK;
    let slack = room.slack[2 * (outputs * block + output) + 1] * Lane::splat(1.0 / 384.0);
    let top = y0.max(y1).max(a.max(b)).max(c.max(d)) + slack;
    let bottom = slack - y0.min(y1).min(a.min(b)).min(c.min(d));
    [top, bottom]
}

/// The lanes in which step i of a piece could pass the greatest sample by as much as is told.
fn note(
    room: &mut Room,
    output: usize,
    piece: usize,
    i: usize,
    over: [Lane; 2],
    sound: &[bool; WIDTH],
) {
    let row = room.first[piece] + i;
    for lane in (0..WIDTH).filter(|lane| sound[*lane]) {
        if i as f64 >= room.count[piece].0[lane] {
            continue;
        }
        for side in 0..2 {
            if over[side].0[lane] > 0.0 {
                let known = room.reached[output][side].0[lane];
                room.open[side][lane].push((known + over[side].0[lane], row));
            }
        }
    }
}
