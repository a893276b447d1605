//! Which steps could hold more than the greatest sample of an output?

use super::super::isa::versions;
use super::super::lane::{Lane, WIDTH};
use super::scan::CHUNK;
use super::{Block, Room};

/// Steps that four samples bound closer.
const SAMPLES: usize = 3;

versions! {
    /// The open steps of an output, in the lanes that are `sound`, into the room of the block.
    pub(super) fn open(block: &mut Block, output: usize, sound: &[bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(block: &mut Block, output: usize, sound: &[bool; WIDTH]) {
    let (outputs, room) = (block.outputs, &mut block.room);
    for open in room.open.iter_mut().flatten() {
        open.clear();
    }
    let [high, low] = room.reached[output];
    for piece in 0..room.count.len() {
        let (first, past) = (room.first[piece], room.first[piece + 1].min(room.past[output]));
        let mut y = room.seen[outputs * first + output];
        for i in 0..past.saturating_sub(first + 1) {
            let next = room.seen[outputs * (first + i + 1) + output];
            let block = room.block[piece] + i / CHUNK;
            let slack = room.slack[2 * (outputs * block + output)];
            let above = y.max(next) + slack - high;
            let below = slack - y.min(next) - low;
            y = next;
            // One look for both sides; most steps end here.
            if above.max(below).any_above(0.0) {
                note(room, outputs, output, piece, i, [above, below], sound);
            }
        }
    }
}

/// The lanes in which step i of a piece could pass the greatest sample.
fn note(
    room: &mut Room,
    outputs: usize,
    output: usize,
    piece: usize,
    i: usize,
    over: [Lane; 2],
    sound: &[bool; WIDTH],
) {
    let row = room.first[piece] + i;
    for lane in 0..WIDTH {
        let count = room.count[piece].0[lane];
        let none = over[0].0[lane].max(over[1].0[lane]) <= 0.0;
        if none || !sound[lane] || i as f64 >= count {
            continue;
        }
        let close = closer(room, outputs, output, piece, i, lane);
        for side in 0..2 {
            let known = room.reached[output][side].0[lane];
            let bound = (known + over[side].0[lane]).min(close[side]);
            if over[side].0[lane] > 0.0 && bound > known {
                room.open[side][lane].push((bound, row));
            }
        }
    }
}

/// What y, and -y, do not pass on step i of a piece, by the cubic through four samples.
fn closer(
    room: &Room,
    outputs: usize,
    output: usize,
    piece: usize,
    i: usize,
    lane: usize,
) -> [f64; 2] {
    let count = room.count[piece].0[lane] as usize;
    // An output that is done has fewer rows.
    let rows = room.past[output].saturating_sub(room.first[piece] + 1).min(count);
    if rows < SAMPLES {
        return [f64::INFINITY; 2];
    }
    let base = i.saturating_sub(1).min(rows - SAMPLES);
    let at = |j: usize| room.seen[outputs * (room.first[piece] + base + j) + output].0[lane];
    let y = [at(0), at(1), at(2), at(3)];
    // h y' / 6 of the cubic at its samples.
    let slope = [
        -11.0 * y[0] + 18.0 * y[1] - 9.0 * y[2] + 2.0 * y[3],
        -2.0 * y[0] - 3.0 * y[1] + 6.0 * y[2] - y[3],
        y[0] - 6.0 * y[1] + 3.0 * y[2] + 2.0 * y[3],
        -2.0 * y[0] + 9.0 * y[1] - 18.0 * y[2] + 11.0 * y[3],
    ]
    .map(|d| d / 36.0);
    let j = i - base;
    let (y0, y1, d0, d1) = (y[j], y[j + 1], slope[j], slope[j + 1]);
    // Bernstein points of both halves of the cubic; the middle one lies between its two.
    let (a, d) = (y0 + d0, y1 - d1);
    let middle = (y0 + y1) / 2.0 + (d0 - d1);
    let points = [y0, y1, a, d, (a + middle) / 2.0, (middle + d) / 2.0];
    // The samples may stand in two blocks.
    let fourth = |step: usize| {
        let block = room.block[piece] + step / CHUNK;
        room.slack[2 * (outputs * block + output) + 1].0[lane]
    };
    let share = if j == 1 { 3.0 / 128.0 } else { 1.0 / 24.0 };
    let slack = fourth(base).max(fourth(base + 2)) * share;
    let greatest = points.into_iter().fold(f64::NEG_INFINITY, f64::max);
    let least = points.into_iter().fold(f64::INFINITY, f64::min);
    [greatest + slack, slack - least]
}
