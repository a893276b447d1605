//! The steps that can hold the greatest value of an output, solved one after the other.

use super::super::isa::versions;
use super::super::lane::{Complex, Lane, WIDTH};
use super::scan::plus;
use super::{Block, Extreme, MODES};

/// Degree of the polynomial: 0.79^15 / 15! is 2e-14 of the parts of y.
const DEGREE: usize = 14;
/// Steps solved for one extreme before a lane is given up.
const MOST_CLIMBS: usize = 64;
/// A step that could raise the best by less than this part is left.
const TOLERANCE: f64 = 1e-11;
/// Rounding of y relative to the size of its parts.
const ROUNDING: f64 = 1e-14;
/// Steps of Newton's method, and the last of them relative to h: the next would be its square.
const NEWTON: usize = 5;
const SETTLED: f64 = 1e-5;
/// Parts into which a step that resists is cut.
const PARTS: usize = 8;

const NEVER: Lane = Lane([f64::NEG_INFINITY; WIDTH]);

versions! {
    /// Solve the open steps of an output for both extremes; lanes that resist are no longer `sound`.
    pub(super) fn climb(block: &mut Block, output: usize, sound: &mut [bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(block: &mut Block, output: usize, sound: &mut [bool; WIDTH]) {
    for side in 0..2 {
        for turn in 0.. {
            let best = block.best[output][side].value.max(block.room.reached[output][side]);
            let limit = best
                + best.abs() * Lane::splat(TOLERANCE)
                + block.room.size[output] * Lane::splat(ROUNDING);
            let mut row = Lane::ZERO;
            let mut wins = [false; WIDTH];
            let mut any = false;
            for lane in 0..WIDTH {
                if !sound[lane] {
                    continue;
                }
                if let Some(top) = take_top(&mut block.room.open[side][lane], limit.0[lane]) {
                    row.0[lane] = top as f64;
                    wins[lane] = true;
                    any = true;
                }
            }
            if !any {
                break;
            }
            if turn == MOST_CLIMBS {
                for lane in 0..WIDTH {
                    sound[lane] &= !wins[lane];
                }
                break;
            }
            one::<F>(block, output, side, &row, wins, sound);
        }
        at_samples(block, output, side, sound);
    }
}

/// The open step with the greatest bound, if that is above a limit.
fn take_top(open: &mut Vec<(f64, usize)>, limit: f64) -> Option<usize> {
    let top = (0..open.len()).max_by(|&a, &b| open[a].0.total_cmp(&open[b].0))?;
    let (bound, row) = open.swap_remove(top);
    (bound > limit).then_some(row)
}

/// Where no step holds more than the greatest sample, that is the extreme.
fn at_samples(block: &mut Block, output: usize, side: usize, sound: &[bool; WIDTH]) {
    let (outputs, room) = (block.outputs, &block.room);
    let best = &mut block.best[output][side];
    for lane in (0..WIDTH).filter(|lane| sound[*lane]) {
        let known = room.reached[output][side].0[lane];
        if best.value.0[lane] >= known {
            continue;
        }
        let is_it = |row: usize| {
            let y = room.seen[outputs * row + output].0[lane];
            (if side == 0 { y } else { -y }) == known
        };
        'found: for piece in 0..room.count.len() {
            let first = room.first[piece];
            let steps = (room.count[piece].0[lane] as usize).min(room.first[piece + 1] - first - 1);
            for row in (first..=first + steps).take_while(|row| *row < room.past[output]) {
                if is_it(row) {
                    let from = block.pieces[piece].start.0[lane];
                    best.value.0[lane] = known;
                    best.time.0[lane] = from + room.step[piece].0[lane] * (row - first) as f64;
                    break 'found;
                }
            }
        }
    }
}

/// Solve one step of each lane for its greatest value.
#[inline(always)]
fn one<const F: bool>(
    block: &mut Block,
    output: usize,
    side: usize,
    row: &Lane,
    wins: [bool; WIDTH],
    sound: &mut [bool; WIDTH],
) {
    let (mut c, start, step) = match block.modes {
        6 => taylor::<F>(block, output, row, wins, 6),
        n => taylor::<F>(block, output, row, wins, n),
    };
    if side == 1 {
        for c in &mut c {
            *c = -*c;
        }
    }
    let size = Sizes::of(&c);
    let whole = summit::<F>(&c, &size, Lane::ZERO, Lane::splat(1.0));
    let mut found = whole.found;
    let mut proved = whole.proved;
    let mut any = false;
    for lane in 0..WIDTH {
        any |= wins[lane] & !proved[lane];
    }
    if any {
        let best = block.best[output][side].value.max(block.room.reached[output][side]);
        let cut = parts::<F>(&c, &size, best);
        for lane in 0..WIDTH {
            if !whole.proved[lane] {
                found.value.0[lane] = cut.found.value.0[lane];
                found.time.0[lane] = cut.found.time.0[lane];
                proved[lane] = cut.proved[lane];
            }
        }
    }
    let best = &mut block.best[output][side];
    for lane in 0..WIDTH {
        sound[lane] &= proved[lane] | !wins[lane];
        if wins[lane] && found.value.0[lane] > best.value.0[lane] {
            best.value.0[lane] = found.value.0[lane];
            best.time.0[lane] = start.0[lane] + found.time.0[lane] * step.0[lane];
        }
    }
}

/// Coefficients of y over a step of each lane that `wins`, in parts of the step; its start and length,
/// s. Whether a lane's step is free decides how it is computed, and its neighbors do not.
#[inline(always)]
fn taylor<const F: bool>(
    block: &Block,
    output: usize,
    row: &Lane,
    wins: [bool; WIDTH],
    n: usize,
) -> ([Lane; DEGREE + 1], Lane, Lane) {
    let room = &block.room;
    let mut z = [Complex::ZERO; MODES];
    let (mut start, mut step) = (Lane::ZERO, Lane::ZERO);
    let mut pieces = [0; WIDTH];
    let mut is_free = [true; WIDTH];
    let (mut some_free, mut some_loaded) = (false, false);
    for lane in 0..WIDTH {
        let row = row.0[lane] as usize;
        let mut piece = 0;
        while piece + 1 < room.count.len() && room.first[piece + 1] <= row {
            piece += 1;
        }
        pieces[lane] = piece;
        is_free[lane] = block.pieces[piece].is_free();
        some_free |= wins[lane] & is_free[lane];
        some_loaded |= wins[lane] & !is_free[lane];
        step.0[lane] = room.step[piece].0[lane];
        start.0[lane] =
            block.pieces[piece].start.0[lane] + step.0[lane] * (row - room.first[piece]) as f64;
        let state = &room.states[row * room.width..row * room.width + 2 * n];
        for k in 0..n {
            z[k].re.0[lane] = state[k].0[lane];
            z[k].im.0[lane] = state[n + k].0[lane];
        }
    }
    let rows = &block.rows[output * n..(output + 1) * n];
    let mut sh = [Complex::ZERO; MODES];
    for k in 0..n {
        sh[k] = block.roots[k].scaled(step);
    }
    let mut c = [Lane::ZERO; DEGREE + 1];
    if some_free {
        c = free::<F>(rows, &z[..n], &sh[..n]);
    }
    if some_loaded {
        let load = load::<F>(block, row, &pieces, n);
        let loaded = under_load::<F>(block, output, &mut z, &sh, &load, step, n);
        for p in 0..=DEGREE {
            for lane in 0..WIDTH {
                if !is_free[lane] {
                    c[p].0[lane] = loaded[p].0[lane];
                }
            }
        }
    }
    (c, start, step)
}

/// Re sum of r z (s h)^p / p!: each mode by u_p+1 = 2 Re(s h) u_p - |s h|^2 u_p-1.
#[inline(always)]
fn free<const F: bool>(rows: &[Complex], z: &[Complex], sh: &[Complex]) -> [Lane; DEGREE + 1] {
    let mut c = [Lane::ZERO; DEGREE + 1];
    for k in 0..rows.len() {
        let w = rows[k].times::<F>(z[k]);
        let twice = sh[k].re + sh[k].re;
        let square = (sh[k].re * sh[k].re).plus::<F>(sh[k].im, sh[k].im);
        let (mut last, mut now) = (w.re, w.times::<F>(sh[k]).re);
        c[0] = c[0] + last;
        c[1] = c[1] + now;
        for p in 2..=DEGREE {
            let next = (twice * now).minus::<F>(square, last);
            c[p] = c[p] + next;
            (last, now) = (now, next);
        }
    }
    let mut factorial = 1.0;
    for p in 2..=DEGREE {
        factorial *= p as f64;
        c[p] = c[p] * Lane::splat(1.0 / factorial);
    }
    c
}

/// The same where a load acts, by z = h^p q^(p) / p! itself.
#[inline(always)]
fn under_load<const F: bool>(
    block: &Block,
    output: usize,
    z: &mut [Complex; MODES],
    sh: &[Complex; MODES],
    load: &[Lane; DEGREE + 1],
    step: Lane,
    n: usize,
) -> [Lane; DEGREE + 1] {
    let rows = &block.rows[output * n..(output + 1) * n];
    let mut c = [Lane::ZERO; DEGREE + 1];
    for p in 0..=DEGREE {
        if p > 0 {
            let scale = Lane::splat(1.0 / p as f64);
            let fed = load[p - 1] * step * scale;
            for k in 0..n {
                z[k] = z[k].times::<F>(sh[k]).scaled(scale);
                z[k] = plus(z[k], block.inputs[k].scaled(fed));
            }
        }
        let mut sum = load[p] * block.feed[output];
        for k in 0..n {
            sum = sum.plus::<F>(rows[k].re, z[k].re).minus::<F>(rows[k].im, z[k].im);
        }
        c[p] = sum;
    }
    c
}

/// h^p f^(p) / p! at the start of a step of each lane.
#[inline(always)]
fn load<const F: bool>(
    block: &Block,
    row: &Lane,
    pieces: &[usize; WIDTH],
    n: usize,
) -> [Lane; DEGREE + 1] {
    let room = &block.room;
    let mut out = [Lane::ZERO; DEGREE + 1];
    let waves = (room.width - 2 * n - 1) / 2;
    for lane in 0..WIDTH {
        let step = room.step[pieces[lane]].0[lane];
        let at = row.0[lane] as usize * room.width + 2 * n;
        out[0].0[lane] = room.states[at].0[lane];
        out[1].0[lane] = block.pieces[pieces[lane]].slope.0[lane] * step;
    }
    for i in 0..waves {
        let (mut w, mut turn) = (Complex::ZERO, Complex::ZERO);
        for lane in 0..WIDTH {
            let step = room.step[pieces[lane]].0[lane];
            let at = row.0[lane] as usize * room.width + 2 * n + 1 + 2 * i;
            w.re.0[lane] = room.states[at].0[lane];
            w.im.0[lane] = room.states[at + 1].0[lane];
            if let Some((_, exponent)) = block.pieces[pieces[lane]].waves.get(i) {
                turn.re.0[lane] = exponent.re.0[lane] * step;
                turn.im.0[lane] = exponent.im.0[lane] * step;
            }
        }
        for (p, out) in out.iter_mut().enumerate() {
            *out = *out + w.re;
            w = w.times::<F>(turn).scaled(Lane::splat(1.0 / (p + 1) as f64));
        }
    }
    out
}

/// What the third and fourth derivative do not pass anywhere in the step.
struct Sizes {
    third: Lane,
    fourth: Lane,
}

impl Sizes {
    #[inline(always)]
    fn of(c: &[Lane; DEGREE + 1]) -> Self {
        let (mut third, mut fourth) = (Lane::ZERO, Lane::ZERO);
        for p in 3..=DEGREE {
            let times = (p * (p - 1) * (p - 2)) as f64;
            third = third + c[p].abs() * Lane::splat(times);
            fourth = fourth + c[p].abs() * Lane::splat(times * (p - 3) as f64);
        }
        Self { third, fourth }
    }
}

/// The greatest value over a stretch, and whether it is proved to be that.
struct Summit {
    found: Extreme,
    /// What y does not pass there.
    bound: Lane,
    proved: [bool; WIDTH],
}

/// The greatest value between t = a and t = b, parts of a step.
#[inline(always)]
fn summit<const F: bool>(c: &[Lane; DEGREE + 1], size: &Sizes, a: Lane, b: Lane) -> Summit {
    let w2 = (b - a) * (b - a) * Lane::splat(0.125);
    let ([ya, da, ca], [yb, db, cb]) = (at::<F>(c, a), at::<F>(c, b));
    let (steep, bend) = (size.third * w2, size.fourth * w2);
    let falls = da.max(db) + steep;
    let rises = steep - da.min(db);
    let concave = ca.max(cb) + bend;
    let convex = bend - ca.min(cb);
    let curved = ca.abs().max(cb.abs()) + bend;
    let bound = ya.max(yb).plus::<F>(curved, w2);
    let mut proved = [false; WIDTH];
    let mut inside = Lane::ZERO;
    for lane in 0..WIDTH {
        let smooth = concave.0[lane] <= 0.0;
        let turns = da.0[lane] > 0.0 && db.0[lane] < 0.0;
        let ends = falls.0[lane] <= 0.0 || rises.0[lane] <= 0.0 || convex.0[lane] <= 0.0;
        proved[lane] = smooth || ends;
        inside.0[lane] = f64::from(u8::from(smooth && turns));
    }
    let mut found = Extreme { value: yb.greater(ya, yb, ya), time: yb.greater(ya, b, a) };
    if inside.any_above(0.0) {
        let (value, time, last) = newton::<F>(c, a, b, da, db);
        for lane in 0..WIDTH {
            if inside.0[lane] > 0.0 {
                proved[lane] &= last.0[lane].abs() <= SETTLED;
                if value.0[lane] > found.value.0[lane] {
                    found.value.0[lane] = value.0[lane];
                    found.time.0[lane] = time.0[lane];
                }
            }
        }
    }
    Summit { found, bound, proved }
}

/// y and t where y' = 0, and Newton's last step.
#[inline(always)]
fn newton<const F: bool>(
    c: &[Lane; DEGREE + 1],
    a: Lane,
    b: Lane,
    da: Lane,
    db: Lane,
) -> (Lane, Lane, Lane) {
    let mut t = a.plus::<F>(b - a, da / (da - db)).max(a).min(b);
    let mut moved = Lane::splat(f64::INFINITY);
    for _ in 0..NEWTON {
        let [_, first, second] = at::<F>(c, t);
        let next = (t - first / second).max(a).min(b);
        // A lane that has settled stays where it is, whatever its neighbors do.
        for lane in 0..WIDTH {
            if moved.0[lane].abs() > SETTLED {
                moved.0[lane] = next.0[lane] - t.0[lane];
                t.0[lane] = next.0[lane];
            }
        }
        if !moved.abs().any_above(SETTLED) {
            break;
        }
    }
    let [value, ..] = at::<F>(c, t);
    (value, t, moved)
}

/// y, y' and y'' at t.
#[inline(always)]
fn at<const F: bool>(c: &[Lane; DEGREE + 1], t: Lane) -> [Lane; 3] {
    let (mut y, mut first, mut second) = (c[DEGREE], Lane::ZERO, Lane::ZERO);
    for p in (0..DEGREE).rev() {
        second = first.plus::<F>(second, t);
        first = y.plus::<F>(first, t);
        y = c[p].plus::<F>(y, t);
    }
    [y, first, second + second]
}

/// The greatest value by parts; proved if each part is, or cannot pass what is known.
#[inline(always)]
fn parts<const F: bool>(c: &[Lane; DEGREE + 1], size: &Sizes, best: Lane) -> Summit {
    let mut out = Summit {
        found: Extreme { value: NEVER, time: Lane::ZERO },
        bound: NEVER,
        proved: [true; WIDTH],
    };
    let width = 1.0 / PARTS as f64;
    // Bounds of parts that are not proved.
    let mut open = NEVER;
    for part in 0..PARTS {
        let a = part as f64 * width;
        let one = summit::<F>(c, size, Lane::splat(a), Lane::splat(a + width));
        let better = one.found.value;
        out.found.time = better.greater(out.found.value, one.found.time, out.found.time);
        out.found.value = better.greater(out.found.value, better, out.found.value);
        for lane in 0..WIDTH {
            if !one.proved[lane] {
                open.0[lane] = open.0[lane].max(one.bound.0[lane]);
            }
        }
    }
    let known = out.found.value.max(best);
    for lane in 0..WIDTH {
        out.proved[lane] = open.0[lane] <= known.0[lane];
    }
    out.bound = open;
    out
}
