//! Steps through all pieces: states, y and y', and how far y can leave its Hermite cubic.

use super::super::isa::versions;
use super::super::lane::{Complex, Lane, WIDTH, one_if};
use super::{Block, MODES, MOST, Piece, Room};

/// Steps between two looks at the envelope.
const CHUNK: usize = 16;
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
    room.size.fill(Lane::ZERO);
    room.reached.fill([Lane([f64::NEG_INFINITY; WIDTH]); 2]);
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
    if room.states.len() < room.width * rows || room.seen.len() < 2 * outputs * rows {
        let rows = rows + 4 * CHUNK;
        room.states.resize(room.width * rows, Lane::ZERO);
        room.seen.resize(2 * outputs * rows, Lane::ZERO);
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
    coefficients::<F>(room, [roots, inputs, rows], outputs, step, n);
    put_drive(room, piece, n, row);
    slack::<F>(room, [roots, inputs, rows], feed, piece, step, n, row);
    let goes_on = |count: &Lane, sound: &[bool; WIDTH], i: usize| {
        let mut any = false;
        for lane in 0..WIDTH {
            any |= sound[lane] & (count.0[lane] > i as f64);
        }
        any
    };
    let mut i = 0;
    loop {
        let past = i + CHUNK;
        grow(room, outputs, row + past + 1);
        let noted = i;
        while i < past && goes_on(&count, sound, i) {
            see::<F>(room, outputs, n, row + i);
            if free {
                advance_free::<F>(room, n, row + i);
            } else {
                see_load::<F>(room, feed, piece, step, n, row + i);
                advance::<F>(room, piece, step, n, row + i);
            }
            i += 1;
        }
        note(room, outputs, count, row, noted, i);
        if endless {
            settle::<F>(room, rows, n, row, i, used, &mut count, sound);
        }
        if !goes_on(&count, sound, i) {
            break;
        }
    }
    see::<F>(room, outputs, n, row + i);
    if !free {
        see_load::<F>(room, feed, piece, step, n, row + i);
    }
    room.count.push(count);
    row + i + 1
}

/// Greatest y and -y of the rows `from` up to `to` of a piece.
#[inline(always)]
fn note(room: &mut Room, outputs: usize, count: Lane, row: usize, from: usize, to: usize) {
    for o in 0..outputs {
        let [mut high, mut low] = room.reached[o];
        for i in from..to {
            let inside = count - Lane::splat(i as f64);
            let y = room.seen[2 * (outputs * (row + i) + o)];
            high = inside.greater(Lane::ZERO, high.max(y), high);
            low = inside.greater(Lane::ZERO, low.max(-y), low);
        }
        room.reached[o] = [high, low];
    }
}

/// Lanes whose envelope after i steps of the last piece can change no extreme end there; those that
/// do not within [`MOST`] steps are not sound.
#[inline(always)]
#[allow(clippy::too_many_arguments)]
fn settle<const F: bool>(
    room: &mut Room,
    rows: &[Complex],
    n: usize,
    row: usize,
    i: usize,
    used: Lane,
    count: &mut Lane,
    sound: &mut [bool; WIDTH],
) {
    let state = &room.states[(row + i) * room.width..][..2 * n];
    let mut size = [Lane::ZERO; MODES];
    for k in 0..n {
        size[k] = (state[k] * state[k]).plus::<F>(state[n + k], state[n + k]).sqrt();
    }
    let mut holds = [true; WIDTH];
    for (rows, [high, low]) in rows.chunks_exact(n).zip(&room.reached) {
        let mut envelope = Lane::ZERO;
        for k in 0..n {
            envelope = envelope.plus::<F>(norm::<F>(&rows[k]), size[k]);
        }
        let spare = high.min(*low) - envelope;
        for lane in 0..WIDTH {
            holds[lane] &= spare.0[lane] >= 0.0;
        }
    }
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

/// Coefficients of y and of h y' / 6.
#[inline(always)]
fn coefficients<const F: bool>(
    room: &mut Room,
    [roots, inputs, rows]: [&[Complex]; 3],
    outputs: usize,
    step: Lane,
    n: usize,
) {
    let sixth = step * Lane::splat(1.0 / 6.0);
    for o in 0..outputs {
        let mut jump = Lane::ZERO;
        for k in 0..n {
            let r = rows[o * n + k];
            let turned = r.times::<F>(roots[k]).scaled(sixth);
            let at = 4 * (o * n + k);
            room.coefficients[at] = r.re;
            room.coefficients[at + 1] = r.im;
            room.coefficients[at + 2] = turned.re;
            room.coefficients[at + 3] = turned.im;
            jump = jump + r.times::<F>(inputs[k]).re;
        }
        room.jump[o] = jump * sixth;
    }
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

/// Greatest |y''''| h^4 / 384 over the piece from its start, and the size of the parts of y.
#[inline(always)]
fn slack<const F: bool>(
    room: &mut Room,
    [roots, inputs, rows]: [&[Complex]; 3],
    feed: &[Lane],
    piece: &Piece,
    step: Lane,
    n: usize,
    row: usize,
) {
    // Greatest |f''''| h^4.
    let mut load = Lane::ZERO;
    for (amplitude, exponent) in &piece.waves {
        let rate = norm::<F>(exponent) * step;
        let mut part = norm::<F>(amplitude) * rate * rate * rate * rate;
        for lane in 0..WIDTH {
            let growth = exponent.re.0[lane] * piece.length.0[lane];
            if growth > 0.0 {
                part.0[lane] *= growth.exp();
            }
        }
        load = load + part;
    }
    let state = &room.states[row * room.width..(row + 1) * room.width];
    let derivatives = derivatives::<F>(piece, state, step, n);
    let mut fourth = [Lane::ZERO; MODES];
    let mut first = [Lane::ZERO; MODES];
    for k in 0..n {
        let mut z = Complex { re: state[k], im: state[n + k] };
        first[k] = norm::<F>(&z);
        let (sh, bh) = (roots[k].scaled(step), inputs[k].scaled(step));
        for f in derivatives {
            z = plus(z.times::<F>(sh), bh.scaled(f));
        }
        fourth[k] = norm::<F>(&z).plus::<F>(norm::<F>(&inputs[k]) * piece.length, load);
    }
    for (o, rows) in rows.chunks_exact(n).enumerate() {
        let mut bound = feed[o].abs() * load;
        let mut size = Lane::ZERO;
        for k in 0..n {
            let r = norm::<F>(&rows[k]);
            bound = bound.plus::<F>(r, fourth[k]);
            size = size.plus::<F>(r, first[k]);
        }
        room.slack.push(bound * Lane::splat(1.0 / 384.0));
        room.size[o] = room.size[o].max(size);
    }
}

/// h^p f^(p) for p = 0 .. 3 of a state.
#[inline(always)]
fn derivatives<const F: bool>(piece: &Piece, state: &[Lane], step: Lane, n: usize) -> [Lane; 4] {
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

/// y and h y' / 6 of a row, but for the load.
#[inline(always)]
fn see<const F: bool>(room: &mut Room, outputs: usize, n: usize, row: usize) {
    let q = &room.states[row * room.width..row * room.width + 2 * n];
    let coefficients = &room.coefficients[..4 * n * outputs];
    let seen = &mut room.seen[2 * outputs * row..2 * outputs * (row + 1)];
    for (c, seen) in coefficients.chunks_exact(4 * n).zip(seen.chunks_exact_mut(2)) {
        let (mut y, mut slope) = (Lane::ZERO, Lane::ZERO);
        for k in 0..n {
            y = y.plus::<F>(c[4 * k], q[k]).minus::<F>(c[4 * k + 1], q[n + k]);
            slope = slope.plus::<F>(c[4 * k + 2], q[k]).minus::<F>(c[4 * k + 3], q[n + k]);
        }
        seen[0] = y;
        seen[1] = slope;
    }
}

/// What the load adds to them.
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
    let [f, rate, ..] = derivatives::<F>(piece, state, step, n);
    let rate = rate * Lane::splat(1.0 / 6.0);
    let outputs = feed.len();
    for o in 0..outputs {
        let at = 2 * (outputs * row + o);
        room.seen[at] = room.seen[at].plus::<F>(feed[o], f);
        room.seen[at + 1] = room.seen[at + 1].plus::<F>(feed[o], rate).plus::<F>(room.jump[o], f);
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
fn norm<const F: bool>(z: &Complex) -> Lane {
    (z.re * z.re).plus::<F>(z.im, z.im).sqrt()
}
