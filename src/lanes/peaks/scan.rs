//! Steps through all pieces: states, y, and how far y can leave its samples.

use super::super::isa::versions;
use super::super::lane::{Complex, Lane, WIDTH, one_if};
use super::slack::{block_slack, greatest_load};
use super::{Block, MOST, Piece, Room};

/// Rows of a block, between two looks at the envelope.
pub(super) const CHUNK: usize = 16;
/// |s| h of the fastest mode: an eighth of its period.
const ANGLE: f64 = std::f64::consts::FRAC_PI_4;
/// Terms of the series of a step: 0.79^17 / 17! is below rounding.
const TERMS: usize = 17;
/// Growth over a piece that is still rounding.
const GROWTH: f64 = 1e-6;

versions! {
    /// Scan all pieces; lanes that cannot be scanned are no longer `sound`.
    pub(super) fn scan(block: &mut Block, sound: &mut [bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(block: &mut Block, sound: &mut [bool; WIDTH]) {
    // The usual number known to the compiler.
    match block.modes {
        6 => all::<F>(block, sound, 6),
        n => all::<F>(block, sound, n),
    }
}

#[inline(always)]
fn all<const F: bool>(block: &mut Block, sound: &mut [bool; WIDTH], n: usize) {
    let waves = block.pieces.iter().map(|p| p.waves.len()).max().unwrap_or(0);
    let room = &mut block.room;
    room.width = 2 * n + 1 + 2 * waves;
    room.gain.resize((2 + 2 * waves) * n, Complex::ZERO);
    room.wave.resize(waves, Complex::ZERO);
    room.first.clear();
    room.step.clear();
    room.count.clear();
    room.slack.clear();
    room.block.clear();
    room.size.fill(Lane::ZERO);
    room.reached.fill([Lane([f64::NEG_INFINITY; WIDTH]); 2]);
    room.alive.clear();
    room.alive.extend(0..block.outputs);
    for (weight, r) in room.weight.iter_mut().zip(&block.rows) {
        *weight = norm::<F>(r);
    }
    for k in 0..n {
        room.input[k] = norm::<F>(&block.inputs[k]);
    }
    grow(room, block.outputs, 1);
    for k in 0..n {
        room.states[k] = block.start[k].re;
        room.states[n + k] = block.start[k].im;
    }
    let mut row = 0;
    let mut used = Lane::ZERO;
    for index in 0..block.pieces.len() {
        block.room.first.push(row);
        row = piece::<F>(block, sound, n, index, row, used);
        used = used + block.room.count[index];
        if index + 1 < block.pieces.len() {
            hand_over(&mut block.room, block.outputs, n, index, row);
        }
    }
    block.room.first.push(row);
    for &output in &block.room.alive {
        block.room.past[output] = row;
    }
}

/// The state at the end of a piece starts the next; each lane has its own end.
#[inline(always)]
fn hand_over(room: &mut Room, outputs: usize, n: usize, index: usize, row: usize) {
    grow(room, outputs, row + 1);
    for lane in 0..WIDTH {
        let at = (room.first[index] + room.count[index].0[lane] as usize).min(row - 1);
        for j in 0..2 * n {
            room.states[row * room.width + j].0[lane] = room.states[at * room.width + j].0[lane];
        }
    }
}

/// Room for that many rows.
#[inline(always)]
fn grow(room: &mut Room, outputs: usize, rows: usize) {
    if room.states.len() < room.width * rows || room.seen.len() < outputs * rows {
        let rows = rows + 4 * CHUNK;
        room.states.resize(room.width * rows, Lane::ZERO);
        room.seen.resize(outputs * rows, Lane::ZERO);
    }
}

/// Scan one piece from a row on, `used` steps having been taken before; gives the row after its
/// last.
#[inline(always)]
fn piece<const F: bool>(
    block: &mut Block,
    sound: &mut [bool; WIDTH],
    n: usize,
    index: usize,
    row: usize,
    used: Lane,
) -> usize {
    let Block { roots, inputs, rows, feed, pieces, outputs, room, .. } = block;
    let (outputs, piece) = (*outputs, &pieces[index]);
    let free = piece.is_free();
    let endless = free && index + 1 == pieces.len();
    let (step, mut count) = steps(roots, piece, sound, n, endless, used);
    room.step.push(step);
    prepare::<F>(room, roots, inputs, piece, step, n);
    for k in 0..n {
        room.rate[k] = norm::<F>(&roots[k]) * step;
    }
    room.block.push(room.slack.len() / (2 * outputs.max(1)));
    put_drive(room, piece, n, row);
    let load = greatest_load::<F>(piece, step);
    let mut i = 0;
    loop {
        grow(room, outputs, row + i + CHUNK + 1);
        block_slack::<F>(room, [roots, inputs], feed, piece, step, load, n, row + i);
        see::<F>(room, rows, feed, piece, step, n, row + i);
        if endless && i > 0 {
            settle(room, row, i, used, &mut count, sound);
        }
        if i > 0 && !goes_on(count, sound, i) {
            break;
        }
        let (noted, past) = (i, i + CHUNK);
        while i < past && goes_on(count, sound, i) {
            if free {
                advance_free::<F>(room, n, row + i);
            } else {
                advance::<F>(room, piece, step, n, row + i);
            }
            i += 1;
            // The first row of the next block is seen there, by those it still matters to.
            if i < past {
                see::<F>(room, rows, feed, piece, step, n, row + i);
            }
        }
        note(room, outputs, count, row, noted, i.min(past - 1));
        if i < past {
            break;
        }
    }
    room.count.push(count);
    row + i + 1
}

/// Some lane has a step i.
#[inline(always)]
fn goes_on(count: Lane, sound: &[bool; WIDTH], i: usize) -> bool {
    let mut any = false;
    for lane in 0..WIDTH {
        any |= sound[lane] & (count.0[lane] > i as f64);
    }
    any
}

/// Greatest y and -y of the rows `from` to `to` of a piece.
#[inline(always)]
fn note(room: &mut Room, outputs: usize, count: Lane, row: usize, from: usize, to: usize) {
    for &o in &room.alive {
        let [mut high, mut low] = room.reached[o];
        for i in from..=to {
            let outside = Lane::splat(i as f64) - count;
            let y = room.seen[outputs * (row + i) + o];
            high = outside.greater(Lane::ZERO, high, high.max(y));
            low = outside.greater(Lane::ZERO, low, low.max(-y));
        }
        room.reached[o] = [high, low];
    }
}

/// After i steps of the last piece, at the start of a block: outputs whose envelope can change no
/// extreme are done, and lanes in which all are end there; those that do not within [`MOST`] steps
/// are not sound.
#[inline(always)]
fn settle(
    room: &mut Room,
    row: usize,
    i: usize,
    used: Lane,
    count: &mut Lane,
    sound: &mut [bool; WIDTH],
) {
    let mut holds = [true; WIDTH];
    let Room { alive, past, reached, envelope, .. } = room;
    let mut kept = 0;
    for at in 0..alive.len() {
        let o = alive[at];
        let [high, low] = reached[o];
        let spare = high.min(low) - envelope[o];
        let mut done = true;
        for lane in 0..WIDTH {
            let below = spare.0[lane] >= 0.0;
            holds[lane] &= below;
            done &= below | !sound[lane] | (count.0[lane] <= i as f64);
        }
        past[o] = row + i + 1;
        alive[kept] = o;
        kept += usize::from(!done);
    }
    alive.truncate(kept);
    let mut most = Lane::ZERO;
    for lane in 0..WIDTH {
        most.0[lane] = i as f64 + f64::MAX * one_if(!holds[lane]);
    }
    *count = count.min(most);
    for lane in 0..WIDTH {
        sound[lane] &= count.0[lane] <= i as f64 || used.0[lane] + (i as f64) < MOST;
    }
}

/// Length and number of the steps of each lane.
#[inline(always)]
fn steps(
    roots: &[Complex],
    piece: &Piece,
    sound: &mut [bool; WIDTH],
    n: usize,
    endless: bool,
    used: Lane,
) -> (Lane, Lane) {
    let (mut square, mut growth) = (Lane::ZERO, Lane::ZERO);
    for s in &roots[..n] {
        square = square.max(s.re * s.re + s.im * s.im);
        growth = growth.max(s.re);
    }
    for (_, s) in &piece.waves {
        square = square.max(s.re * s.re + s.im * s.im);
    }
    let wanted = piece.length * square.sqrt() * Lane::splat(1.0 / ANGLE);
    let growth = growth * piece.length;
    let (mut step, mut count) = (Lane::ZERO, Lane::ZERO);
    for lane in 0..WIDTH {
        let wanted = wanted.0[lane].ceil().max(1.0);
        let fits = wanted.is_finite() && growth.0[lane] <= GROWTH;
        sound[lane] &= fits && (endless || used.0[lane] + wanted <= MOST);
        // One step of no length where it does not fit.
        let fits = one_if(sound[lane]);
        count.0[lane] = 1.0 + (wanted.min(f64::MAX) - 1.0) * fits;
        step.0[lane] = piece.length.0[lane].min(f64::MAX) * fits / count.0[lane];
    }
    (step, count)
}

/// e^{s h} and what each part of the drive adds in a step, by their series.
#[inline(always)]
fn prepare<const F: bool>(
    room: &mut Room,
    roots: &[Complex],
    inputs: &[Complex],
    piece: &Piece,
    step: Lane,
    n: usize,
) {
    for (wave, (_, exponent)) in room.wave.iter_mut().zip(&piece.waves) {
        *wave = exponential::<F>(exponent.scaled(step));
    }
    let free = piece.is_free();
    for k in 0..n {
        let sh = roots[k].scaled(step);
        room.turn[k] = exponential::<F>(sh);
        if free {
            continue;
        }
        let bh = inputs[k].scaled(step);
        let constant = Complex { re: Lane::splat(1.0), im: Lane::ZERO };
        room.gain[k] = gain::<F>(sh, bh, constant, Complex::ZERO);
        room.gain[n + k] = ramp::<F>(sh, bh.scaled(step));
        for (i, (_, exponent)) in piece.waves.iter().enumerate() {
            let turn = exponent.scaled(step);
            let up = gain::<F>(sh, bh, constant, turn);
            let aside = Complex { re: Lane::ZERO, im: Lane::splat(1.0) };
            room.gain[(2 + 2 * i) * n + k] = up;
            room.gain[(3 + 2 * i) * n + k] = gain::<F>(sh, bh, aside, turn);
        }
    }
}

/// q after a step from rest under f = Re(psi e^{turn tau / h}): z = h^p q^(p) / p! summed up.
#[inline(always)]
fn gain<const F: bool>(sh: Complex, bh: Complex, mut psi: Complex, turn: Complex) -> Complex {
    let (mut z, mut sum) = (Complex::ZERO, Complex::ZERO);
    for p in 1..=TERMS {
        let scale = Lane::splat(1.0 / p as f64);
        z = plus(bh.scaled(psi.re), z.times::<F>(sh)).scaled(scale);
        sum = plus(sum, z);
        psi = psi.times::<F>(turn).scaled(scale);
    }
    sum
}

/// The same under f = tau; `bhh` is b h^2.
#[inline(always)]
fn ramp<const F: bool>(sh: Complex, bhh: Complex) -> Complex {
    let mut z = bhh.scaled(Lane::splat(0.5));
    let mut sum = z;
    for p in 3..=TERMS {
        z = z.times::<F>(sh).scaled(Lane::splat(1.0 / p as f64));
        sum = plus(sum, z);
    }
    sum
}

/// e^z by its series, |z| < 0.8.
#[inline(always)]
fn exponential<const F: bool>(z: Complex) -> Complex {
    let mut term = Complex { re: Lane::splat(1.0), im: Lane::ZERO };
    let mut sum = term;
    for p in 1..=TERMS {
        term = term.times::<F>(z).scaled(Lane::splat(1.0 / p as f64));
        sum = plus(sum, term);
    }
    sum
}

/// The drive at the start of a piece into its first state.
#[inline(always)]
fn put_drive(room: &mut Room, piece: &Piece, n: usize, row: usize) {
    let drive = &mut room.states[row * room.width + 2 * n..(row + 1) * room.width];
    drive.fill(Lane::ZERO);
    drive[0] = piece.constant;
    for (i, (amplitude, _)) in piece.waves.iter().enumerate() {
        drive[1 + 2 * i] = amplitude.re;
        drive[2 + 2 * i] = amplitude.im;
    }
}

/// h^p f^(p) for p = 0 .. 3 of a state.
#[inline(always)]
pub(super) fn derivatives<const F: bool>(
    piece: &Piece,
    state: &[Lane],
    step: Lane,
    n: usize,
) -> [Lane; 4] {
    let mut f = [state[2 * n], piece.slope * step, Lane::ZERO, Lane::ZERO];
    for (i, (_, exponent)) in piece.waves.iter().enumerate() {
        let mut w = Complex { re: state[2 * n + 1 + 2 * i], im: state[2 * n + 2 + 2 * i] };
        let turn = exponent.scaled(step);
        for f in &mut f {
            *f = *f + w.re;
            w = w.times::<F>(turn);
        }
    }
    f
}

/// y of a row, of the outputs that can still change.
#[inline(always)]
fn see<const F: bool>(
    room: &mut Room,
    rows: &[Complex],
    feed: &[Lane],
    piece: &Piece,
    step: Lane,
    n: usize,
    row: usize,
) {
    let outputs = feed.len();
    let q = &room.states[row * room.width..row * room.width + 2 * n];
    let seen = &mut room.seen[outputs * row..outputs * (row + 1)];
    for &o in &room.alive {
        let r = &rows[o * n..(o + 1) * n];
        let (mut re, mut im) = (Lane::ZERO, Lane::ZERO);
        for k in 0..n {
            re = re.plus::<F>(r[k].re, q[k]);
            im = im.plus::<F>(r[k].im, q[n + k]);
        }
        seen[o] = re - im;
    }
    if !piece.is_free() {
        see_load::<F>(room, feed, piece, step, n, row);
    }
}

/// What the load adds to it.
#[inline(always)]
fn see_load<const F: bool>(
    room: &mut Room,
    feed: &[Lane],
    piece: &Piece,
    step: Lane,
    n: usize,
    row: usize,
) {
    let state = &room.states[row * room.width..(row + 1) * room.width];
    let [f, ..] = derivatives::<F>(piece, state, step, n);
    let outputs = feed.len();
    for o in 0..outputs {
        let at = outputs * row + o;
        room.seen[at] = room.seen[at].plus::<F>(feed[o], f);
    }
}

#[inline(always)]
fn advance_free<const F: bool>(room: &mut Room, n: usize, row: usize) {
    let at = row * room.width;
    let width = room.width;
    let (before, after) = room.states.split_at_mut(at + width);
    let (before, after) = (&before[at..at + 2 * n], &mut after[..width]);
    for k in 0..n {
        let (e, re, im) = (room.turn[k], before[k], before[n + k]);
        after[k] = (e.re * re).minus::<F>(e.im, im);
        after[n + k] = (e.re * im).plus::<F>(e.im, re);
    }
    for drive in &mut after[2 * n..] {
        *drive = Lane::ZERO;
    }
}

#[inline(always)]
fn advance<const F: bool>(room: &mut Room, piece: &Piece, step: Lane, n: usize, row: usize) {
    let at = row * room.width;
    let width = room.width;
    let (before, after) = room.states.split_at_mut(at + width);
    let (before, after) = (&before[at..], &mut after[..width]);
    for k in 0..n {
        let q = Complex { re: before[k], im: before[n + k] };
        let mut next = q.times::<F>(room.turn[k]);
        next = next.plus_scaled::<F>(room.gain[k], before[2 * n]);
        next = next.plus_scaled::<F>(room.gain[n + k], piece.slope);
        for drive in 0..2 * piece.waves.len() {
            let gain = room.gain[(2 + drive) * n + k];
            next = next.plus_scaled::<F>(gain, before[2 * n + 1 + drive]);
        }
        after[k] = next.re;
        after[n + k] = next.im;
    }
    for drive in &mut after[2 * n..] {
        *drive = Lane::ZERO;
    }
    after[2 * n] = before[2 * n].plus::<F>(piece.slope, step);
    for i in 0..piece.waves.len() {
        let (re, im) = (2 * n + 1 + 2 * i, 2 * n + 2 + 2 * i);
        let next = Complex { re: before[re], im: before[im] }.times::<F>(room.wave[i]);
        after[re] = next.re;
        after[im] = next.im;
    }
}

#[inline(always)]
pub(super) fn plus(a: Complex, b: Complex) -> Complex {
    Complex { re: a.re + b.re, im: a.im + b.im }
}

#[inline(always)]
pub(super) fn norm<const F: bool>(z: &Complex) -> Lane {
    (z.re * z.re).plus::<F>(z.im, z.im).sqrt()
}
