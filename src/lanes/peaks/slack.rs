//! How far can y leave its samples within a block of rows?
//!
//! |y''| and |y''''| by the parts of the motion: |r| |q''| at the start of the block, which a free
//! motion only loses from there on, and what the load adds until its end.

use super::super::lane::{Complex, Lane, WIDTH};
use super::scan::{CHUNK, derivatives, norm, plus};
use super::{MODES, Piece, Room};

/// Greatest |f''| h^2 and |f''''| h^4 of a piece.
#[inline(always)]
pub(super) fn greatest_load<const F: bool>(piece: &Piece, step: Lane) -> [Lane; 2] {
    let mut out = [Lane::ZERO; 2];
    for (amplitude, exponent) in &piece.waves {
        let rate = norm::<F>(exponent) * step;
        let square = rate * rate;
        let mut part = norm::<F>(amplitude) * square;
        for lane in 0..WIDTH {
            let growth = exponent.re.0[lane] * piece.length.0[lane];
            if growth > 0.0 {
                part.0[lane] *= growth.exp();
            }
        }
        out = [out[0] + part, out[1] + part * square];
    }
    out
}

/// How far y can leave its samples in the block of rows from `row` on, its envelope there, and the
/// size of its parts.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
pub(super) fn block_slack<const F: bool>(
    room: &mut Room,
    [roots, inputs]: [&[Complex]; 2],
    feed: &[Lane],
    piece: &Piece,
    step: Lane,
    [load2, load4]: [Lane; 2],
    n: usize,
    row: usize,
) {
    let state = &room.states[row * room.width..(row + 1) * room.width];
    let mut size = [Lane::ZERO; MODES];
    let mut second = [Lane::ZERO; MODES];
    let mut fourth = [Lane::ZERO; MODES];
    let free = piece.is_free();
    let mut drive = [Lane::ZERO; 4];
    if !free {
        drive = derivatives::<F>(piece, state, step, n);
    }
    for k in 0..n {
        let mut z = Complex { re: state[k], im: state[n + k] };
        size[k] = norm::<F>(&z);
        let square = room.rate[k] * room.rate[k];
        if free {
            second[k] = size[k] * square;
            fourth[k] = second[k] * square;
            continue;
        }
        let (sh, bh) = (roots[k].scaled(step), inputs[k].scaled(step));
        // What the load adds until the end of the block.
        let fed = room.input[k] * step * Lane::splat(CHUNK as f64);
        for (p, f) in drive.into_iter().enumerate() {
            z = plus(z.times::<F>(sh), bh.scaled(f));
            if p == 1 {
                second[k] = norm::<F>(&z).plus::<F>(fed, load2);
            }
        }
        fourth[k] = norm::<F>(&z).plus::<F>(fed, load4);
    }
    for o in 0..feed.len() {
        let (mut bound2, mut bound4) = (feed[o].abs() * load2, feed[o].abs() * load4);
        let mut envelope = Lane::ZERO;
        let weight = &room.weight[o * n..(o + 1) * n];
        for k in 0..n {
            bound2 = bound2.plus::<F>(weight[k], second[k]);
            bound4 = bound4.plus::<F>(weight[k], fourth[k]);
            envelope = envelope.plus::<F>(weight[k], size[k]);
        }
        room.slack.push(bound2 * Lane::splat(0.125));
        room.slack.push(bound4);
        room.size[o] = room.size[o].max(envelope);
        room.envelope[o] = envelope;
    }
}
