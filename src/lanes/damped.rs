//! How do many damped systems answer a force: which roots, driven how strongly, seen how?
//!
//! M x'' + C x' + (K + jH) x = g f(t), for eight designs at a time, with H in its causal modal
//! continuation: roots s_k above the real axis and their vectors, each with its conjugate.
//!
//! In the real modes Phi (x = Phi eta) the matrix is Z(s) = s^2 + s C + Omega^2 + jH, whose roots are
//! found one by one (`newton`). Designs whose modes are uncoupled keep their closed form. The inputs
//! follow from the start from rest,
//!
//! Re sum eta_k b_k = 0,   2 Re sum s_k eta_k b_k = Phi' g,
//!
//! and are checked by it. A design is left to the caller whose modes may creep (2 Omega - C not
//! positive definite), where something is free to move, or whose roots or inputs do not settle (two
//! roots that are one).
//!
//! Source: as `analysis::roots`.

use super::isa::{Isa, versions};
use super::lane::{Complex, Lane, WIDTH, one_if};
use super::modes::{self, packed, place};
use super::newton::{self, Found, Pencil};
use super::peaks;

/// Least omega^2 over the greatest, below which something is free to move.
const FREE: f64 = 1e-11;
/// Couplings below this are rounding.
const UNCOUPLED: f64 = 1e-14;
/// Residual of the start, relative to its parts, and growth of these that is still trusted.
const RESIDUAL: f64 = 1e-12;
const GROWTH: f64 = 1e4;

/// Eight systems, with room for their solution.
#[derive(Debug, Clone)]
pub struct Block {
    n: usize,
    outputs: usize,
    /// Mass and stiffness, and their modes.
    pub modes: modes::Block,
    /// Loss factor times stiffness, packed; read only if `is_hysteretic`.
    pub h: Vec<Lane>,
    /// Viscous damping, packed; read only if `is_viscous`.
    pub c: Vec<Lane>,
    /// Some design has a loss factor.
    pub is_hysteretic: bool,
    /// Some design has viscous damping.
    pub is_viscous: bool,
    /// Generalized force of the load, g.
    pub direction: Vec<Lane>,
    /// What multiplies x, the lossy part of x, x' and x'' in each output, (output, dof).
    pub rows: Rows,
    /// H and C in modal coordinates, (mode, mode).
    hm: Vec<Lane>,
    cm: Vec<Lane>,
    work: Vec<Lane>,
    /// eta, (dof of the real modes, mode).
    eta: Vec<Complex>,
    phi: Vec<Complex>,
    /// M phi.
    heavy: Vec<Complex>,
    room: Vec<Complex>,
    vector: Vec<Complex>,
    root: Vec<Complex>,
    input: Vec<Complex>,
}

/// Rows of the outputs; one that is empty is nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Rows {
    /// On the displacement, for a force its stiffness.
    pub stiffness: Vec<Lane>,
    /// For a force its loss factor times stiffness.
    pub loss: Vec<Lane>,
    /// On the velocity, for a force its damping.
    pub damping: Vec<Lane>,
    /// On the acceleration.
    pub inertia: Vec<Lane>,
    /// On the generalized force of all springs and dashpots, K x + (lossy part) + C x'.
    pub force: Vec<Lane>,
}

impl Block {
    /// For that many degrees of freedom and outputs, with no rows.
    pub fn new(n: usize, outputs: usize) -> Self {
        let zeros = |count: usize| vec![Lane::ZERO; count];
        let complex = |count: usize| vec![Complex::ZERO; count];
        Self {
            n,
            outputs,
            modes: modes::Block::new(n),
            h: zeros(packed(n)),
            c: zeros(packed(n)),
            is_hysteretic: false,
            is_viscous: false,
            direction: zeros(n),
            rows: Rows::default(),
            hm: zeros(n * n),
            cm: zeros(n * n),
            work: zeros(5 * n * n),
            eta: complex(n * n),
            phi: complex(n * n),
            heavy: complex(n * n),
            room: complex(newton::room(n)),
            vector: complex(n),
            root: complex(n),
            input: complex(n),
        }
    }

    /// Roots, inputs, rows and feeds of the eight systems into `motion`, from rest; true for those
    /// that can be trusted.
    pub fn solve(&mut self, isa: Isa, motion: &mut peaks::Block) -> [bool; WIDTH] {
        let mut sound = self.modes.solve(isa);
        fill(isa, self, motion, &mut sound);
        sound
    }
}

versions! {
    fn fill(block: &mut Block, motion: &mut peaks::Block, sound: &mut [bool; WIDTH]) = kernel
}

#[inline(always)]
fn kernel<const F: bool>(block: &mut Block, motion: &mut peaks::Block, sound: &mut [bool; WIDTH]) {
    match block.n {
        6 => all::<F>(block, motion, sound, 6),
        n => all::<F>(block, motion, sound, n),
    }
}

#[inline(always)]
fn all<const F: bool>(
    block: &mut Block,
    motion: &mut peaks::Block,
    sound: &mut [bool; WIDTH],
    n: usize,
) {
    let (least, greatest) = (block.modes.square[0], block.modes.square[n - 1]);
    let spare = least - greatest * Lane::splat(FREE);
    for lane in 0..WIDTH {
        sound[lane] &= spare.0[lane] > 0.0 && greatest.0[lane].is_finite();
    }
    if block.is_viscous {
        project::<F>(&block.c, &block.modes.shape, &mut block.work, &mut block.cm, n);
        underdamped::<F>(&block.modes.square, &block.cm, &mut block.work, sound, n);
    }
    if block.is_hysteretic {
        project::<F>(&block.h, &block.modes.shape, &mut block.work, &mut block.hm, n);
    }
    if !block.is_viscous {
        block.cm.fill(Lane::ZERO);
    }
    if !block.is_hysteretic {
        block.hm.fill(Lane::ZERO);
    }
    start(block, sound, n);
    let coupled = coupled(block, sound, n);
    if coupled.any_above(0.0) {
        for k in 0..n {
            newton::<F>(block, k, coupled, sound, n);
        }
    }
    inputs::<F>(block, sound, n);
    motion.roots.copy_from_slice(&block.root);
    motion.inputs.copy_from_slice(&block.input);
    motion.start.fill(Complex::ZERO);
    rows::<F>(block, motion, n);
}

/// Phi' A Phi as a full matrix.
#[inline(always)]
fn project<const F: bool>(a: &[Lane], phi: &[Lane], work: &mut [Lane], out: &mut [Lane], n: usize) {
    for i in 0..n {
        for k in 0..n {
            let mut sum = Lane::ZERO;
            for j in 0..n {
                sum = sum.plus::<F>(a[place(i.max(j), i.min(j))], phi[j * n + k]);
            }
            work[i * n + k] = sum;
        }
    }
    for i in 0..n {
        for k in 0..=i {
            let mut sum = Lane::ZERO;
            for j in 0..n {
                sum = sum.plus::<F>(phi[j * n + i], work[j * n + k]);
            }
            out[i * n + k] = sum;
            out[k * n + i] = sum;
        }
    }
}

/// 2 Omega - C is positive definite, else a mode may creep back.
#[inline(always)]
fn underdamped<const F: bool>(
    square: &[Lane],
    c: &[Lane],
    l: &mut [Lane],
    sound: &mut [bool; WIDTH],
    n: usize,
) {
    for i in 0..n {
        for j in 0..=i {
            let mut sum = -c[i * n + j];
            if i == j {
                sum = sum + square[i].sqrt() * Lane::splat(2.0);
            }
            for p in 0..j {
                sum = sum.minus::<F>(l[i * n + p], l[j * n + p]);
            }
            if i == j {
                for lane in 0..WIDTH {
                    sound[lane] &= sum.0[lane] > 0.0;
                }
                l[i * n + i] = Lane::splat(1.0) / sum.sqrt();
            } else {
                l[i * n + j] = sum * l[j * n + j];
            }
        }
    }
}

/// Roots from the diagonals, s = -c/2 + sqrt(c^2/4 - omega^2 - jh) above the real axis; eta = 1.
#[inline(always)]
fn start(block: &mut Block, sound: &mut [bool; WIDTH], n: usize) {
    for i in 0..n {
        for k in 0..n {
            let one = if i == k { 1.0 } else { 0.0 };
            block.eta[i * n + k] = Complex { re: Lane::splat(one), im: Lane::ZERO };
        }
    }
    let Block { root, cm, hm, modes, .. } = block;
    let pencil = Pencil { square: &modes.square, c: cm, h: hm };
    for k in 0..n {
        let (s, swings) = pencil.start(k, n);
        root[k] = s;
        for lane in 0..WIDTH {
            sound[lane] &= swings.0[lane] > 0.0;
        }
    }
}

/// One where couplings are more than rounding.
#[inline(always)]
fn coupled(block: &Block, sound: &[bool; WIDTH], n: usize) -> Lane {
    let mut most = Lane::ZERO;
    for i in 0..n {
        for j in 0..i {
            let product = block.modes.square[i] * block.modes.square[j];
            let h = block.hm[i * n + j];
            let c = block.cm[i * n + j];
            most = most.max(h * h / product).max(c * c / product.sqrt());
        }
    }
    let mut out = Lane::ZERO;
    for lane in 0..WIDTH {
        let more = most.0[lane] > UNCOUPLED * UNCOUPLED;
        out.0[lane] = one_if(more & sound[lane]);
    }
    out
}

/// Root k and its vector, in the lanes that are `coupled`.
#[inline(always)]
fn newton<const F: bool>(
    block: &mut Block,
    k: usize,
    coupled: Lane,
    sound: &mut [bool; WIDTH],
    n: usize,
) {
    let Block { root, eta, vector, room, cm, hm, modes, .. } = block;
    let pencil = Pencil { square: &modes.square, c: cm, h: hm };
    for i in 0..n {
        vector[i] = eta[i * n + k];
    }
    let mut found = Found { root: &mut root[k], vector, slope: Complex::ZERO };
    let active = pencil.settle::<F>(k, &mut found, room, coupled, n);
    for i in 0..n {
        eta[i * n + k] = vector[i];
    }
    for lane in 0..WIDTH {
        sound[lane] &= active.0[lane] == 0.0;
    }
}

/// b of each mode, and the check that they start from rest with the right acceleration.
#[inline(always)]
fn inputs<const F: bool>(block: &mut Block, sound: &mut [bool; WIDTH], n: usize) {
    let Block { root, eta, input, work, modes, direction, .. } = block;
    // P = Re eta, X = P^-1 Im eta, A = Re(eta S) X - Im(eta S), v = Phi' g / 2.
    let (p, rest) = work.split_at_mut(n * n);
    let (x, rest) = rest.split_at_mut(n * n);
    let (a, rest) = rest.split_at_mut(n * n);
    let (v, given) = rest.split_at_mut(n);
    for e in 0..n * n {
        p[e] = eta[e].re;
        x[e] = eta[e].im;
    }
    eliminate::<F>(p, x, n, n);
    for i in 0..n {
        let mut sum = Lane::ZERO;
        for j in 0..n {
            sum = sum.plus::<F>(modes.shape[j * n + i], direction[j]);
        }
        v[i] = sum * Lane::splat(0.5);
        given[i] = v[i];
        for k in 0..n {
            a[i * n + k] = -eta[i * n + k].times::<F>(root[k]).im;
        }
        for m in 0..n {
            let turned = eta[i * n + m].times::<F>(root[m]).re;
            for k in 0..n {
                a[i * n + k] = a[i * n + k].plus::<F>(turned, x[m * n + k]);
            }
        }
    }
    eliminate::<F>(a, v, n, 1);
    for k in 0..n {
        let mut re = Lane::ZERO;
        for m in 0..n {
            re = re.plus::<F>(x[k * n + m], v[m]);
        }
        input[k] = Complex { re, im: v[k] };
    }
    let (mut error, mut parts, mut whole) = (Lane::ZERO, Lane::ZERO, Lane::ZERO);
    for i in 0..n {
        let (mut at_rest, mut starts) = (Lane::ZERO, -given[i]);
        for k in 0..n {
            let z = eta[i * n + k].times::<F>(input[k]);
            let rate = z.times::<F>(root[k]);
            at_rest = at_rest + z.re;
            starts = starts + rate.re;
            parts = parts + rate.norm1();
        }
        error = error.max(at_rest.abs() * root[n - 1].im).max(starts.abs());
        whole = whole + given[i].abs();
    }
    for lane in 0..WIDTH {
        sound[lane] &= error.0[lane] <= RESIDUAL * parts.0[lane].max(whole.0[lane])
            && parts.0[lane] <= GROWTH * whole.0[lane];
    }
}

/// B = A^-1 B by elimination without pivoting; B has `columns` columns.
#[inline(always)]
fn eliminate<const F: bool>(a: &mut [Lane], b: &mut [Lane], n: usize, columns: usize) {
    for k in 0..n {
        let inverse = Lane::splat(1.0) / a[k * n + k];
        a[k * n + k] = inverse;
        for i in k + 1..n {
            let factor = a[i * n + k] * inverse;
            for j in k + 1..n {
                a[i * n + j] = a[i * n + j].minus::<F>(factor, a[k * n + j]);
            }
            for j in 0..columns {
                b[i * columns + j] = b[i * columns + j].minus::<F>(factor, b[k * columns + j]);
            }
        }
    }
    for i in (0..n).rev() {
        for j in 0..columns {
            let mut sum = b[i * columns + j];
            for k in i + 1..n {
                sum = sum.minus::<F>(a[i * n + k], b[k * columns + j]);
            }
            b[i * columns + j] = sum * a[i * n + i];
        }
    }
}

/// Residues of the outputs, taken twice, and feeds.
#[inline(always)]
fn rows<const F: bool>(block: &mut Block, motion: &mut peaks::Block, n: usize) {
    let Block { modes, eta, phi, heavy, rows, root, direction, .. } = block;
    for i in 0..n {
        for k in 0..n {
            let mut sum = Complex::ZERO;
            for m in 0..n {
                sum = sum.plus_scaled::<F>(eta[m * n + k], modes.shape[i * n + m]);
            }
            phi[i * n + k] = sum.scaled(Lane::splat(2.0));
        }
    }
    if !rows.force.is_empty() {
        // (K + jH + s C) phi = -s^2 M phi.
        for k in 0..n {
            let square = -root[k].times::<F>(root[k]);
            for i in 0..n {
                let mut sum = Complex::ZERO;
                for j in 0..n {
                    sum = sum.plus_scaled::<F>(phi[j * n + k], modes.m[place(i.max(j), i.min(j))]);
                }
                heavy[i * n + k] = sum.times::<F>(square);
            }
        }
    }
    for o in 0..block.outputs {
        for k in 0..n {
            let column = |rows: &[Lane]| {
                let mut sum = Complex::ZERO;
                if !rows.is_empty() {
                    for i in 0..n {
                        sum = sum.plus_scaled::<F>(phi[i * n + k], rows[o * n + i]);
                    }
                }
                sum
            };
            let (s, lossy) = (root[k], column(&rows.loss));
            let moving = column(&rows.damping).plus::<F>(column(&rows.inertia), s);
            let mut r = column(&rows.stiffness).plus::<F>(moving, s);
            r.re = r.re - lossy.im;
            r.im = r.im + lossy.re;
            if !rows.force.is_empty() {
                for i in 0..n {
                    r = r.plus_scaled::<F>(heavy[i * n + k], rows.force[o * n + i]);
                }
            }
            motion.rows[o * n + k] = r;
        }
        // The part of x'' that follows the load: M^-1 g = Phi Phi' g.
        let mut feed = Lane::ZERO;
        if !rows.inertia.is_empty() {
            for m in 0..n {
                let mut pushed = Lane::ZERO;
                let mut seen = Lane::ZERO;
                for i in 0..n {
                    pushed = pushed.plus::<F>(modes.shape[i * n + m], direction[i]);
                    seen = seen.plus::<F>(modes.shape[i * n + m], rows.inertia[o * n + i]);
                }
                feed = feed.plus::<F>(pushed, seen);
            }
        }
        motion.feed[o] = feed;
    }
}

#[cfg(test)]
mod tests;
