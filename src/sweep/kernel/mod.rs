//! One rigid body on mounts of constant stiffness, eight designs side by side: from numbers by design
//! to natural frequencies, vertical transmissibility and static loads, without allocation.
//!
//! The arithmetic of a lane does not depend on its neighbors: iterations that a lane no longer needs
//! do not change it. A lane in which anything is doubtful (a small pivot, a check sum that does not
//! hold, an iteration that does not end, a number that is none) is said not to stand, and is computed
//! by the analyses.

mod assemble;
mod modes;
mod solve;
mod statics;
mod transfer;
pub mod vector;

use crate::lanes::versions;
use vector::{Mask, V, WIDTH, each};

/// Pivot, relative to its diagonal, below which a lane is left to the analyses.
const PIVOT: f64 = 1e-6;

/// Packed lower triangle of a symmetric 6 x 6 matrix.
pub type Packed = [V; 21];

/// Place of row i, column j <= i.
#[inline(always)]
pub const fn at(i: usize, j: usize) -> usize {
    i * (i + 1) / 2 + j
}

/// A body by design.
#[derive(Debug, Clone, Copy)]
pub struct BodyLanes {
    /// Mass, kg.
    pub mass: V,
    /// Center of mass, m.
    pub center: [V; 3],
    /// Tensor, kg m^2: xx, yx, yy, zx, zy, zz.
    pub inertia: [V; 6],
}

/// A mount by design.
#[derive(Debug, Clone, Copy)]
pub struct MountLanes {
    /// Where the machine sits on it, m.
    pub position: [V; 3],
    /// Dynamic stiffness, N/m.
    pub stiffness: [V; 3],
    /// Static stiffness, N/m.
    pub static_stiffness: [V; 3],
    /// Viscous damping, N s/m.
    pub damping: [V; 3],
    /// Loss factor.
    pub loss_factor: [V; 3],
    /// Rotational stiffness, N m/rad.
    pub rotational_stiffness: [V; 3],
    /// Principal axes as columns, row by row, the same in every design.
    pub axes: [[f64; 3]; 3],
    /// True if they are x, y, z.
    pub aligned: bool,
    /// True if it has rotational stiffness in some design.
    pub turns: bool,
}

/// Loads that stay on a body, the same in every design: force; moment about the origin of those at a
/// point, and of those at the center of mass about it; force of those at a point.
#[derive(Debug, Clone, Copy, Default)]
pub struct Lasting {
    /// Sum of forces, N.
    pub force: [f64; 3],
    /// Sum of moments, N m, with those of forces at points about the origin.
    pub moment: [f64; 3],
    /// Sum of the forces at points, N.
    pub placed: [f64; 3],
}

/// What is asked, the same for every block.
#[derive(Debug, Clone, Default)]
pub struct Asked {
    /// Natural frequencies.
    pub modes: bool,
    /// Angular frequencies of the transmissibility, rad/s.
    pub omega: Vec<f64>,
    /// Static loads.
    pub statics: bool,
    /// True if some mount has a dashpot in some design.
    pub dashpots: bool,
    /// True if mounts move and their rules have to be tried.
    pub rules: bool,
}

/// Designs of a block.
#[derive(Debug, Clone)]
pub struct Block {
    /// The machine as it runs, then that of each load case.
    pub bodies: Vec<BodyLanes>,
    /// Mounts.
    pub mounts: Vec<MountLanes>,
    /// Gravity, m/s^2.
    pub gravity: V,
    /// Lasting loads of each case.
    pub lasting: Vec<Lasting>,
}

/// Results of a block.
#[derive(Debug, Clone)]
pub struct Answers {
    /// Frequencies of the six modes, ascending, Hz.
    pub frequency: [V; 6],
    /// |T_zz| at each frequency.
    pub vertical: Vec<V>,
    /// Vertical load of each mount, case by case.
    pub load: Vec<V>,
    /// Vertical compression of each mount, case by case.
    pub deflection: Vec<V>,
    /// Tilt about x and y, case by case.
    pub tilt: Vec<[V; 2]>,
    /// Lanes whose mounts keep the rules.
    pub lawful: Mask,
    /// Lanes that stand.
    pub stands: Mask,
}

versions! {
    /// Computes a block.
    pub fn compute(block: &Block, asked: &Asked, answers: &mut Answers) = either
}

versions! {
    /// Stiffness, loss factor times stiffness, and damping of all mounts about a center of mass.
    pub fn matrices(
        mounts: &[MountLanes],
        center: &[V; 3],
        k: &mut Packed,
        h: &mut Packed,
        c: &mut Packed,
    ) = all_matrices
}

#[inline(always)]
fn all_matrices<const F: bool>(
    mounts: &[MountLanes],
    center: &[V; 3],
    k: &mut Packed,
    h: &mut Packed,
    c: &mut Packed,
) {
    *k = assemble::stiffness::<F>(mounts, center, false);
    *h = assemble::hysteretic::<F>(mounts, center);
    *c = assemble::dashpots::<F>(mounts, center);
}

#[inline(always)]
fn either<const F: bool>(block: &Block, asked: &Asked, answers: &mut Answers) {
    if block.mounts.iter().all(|m| m.aligned) {
        all::<F, true>(block, asked, answers);
    } else {
        all::<F, false>(block, asked, answers);
    }
}

#[inline(always)]
fn all<const F: bool, const A: bool>(block: &Block, asked: &Asked, answers: &mut Answers) {
    answers.stands = [true; WIDTH];
    if asked.rules {
        rules(block, &mut answers.stands);
    }
    answers.lawful = answers.stands;
    let body = &block.bodies[0];
    if asked.modes || !asked.omega.is_empty() {
        let k = assemble::stiffness::<F>(&block.mounts, &body.center, false);
        if asked.modes {
            let (frequency, good) = modes::frequencies::<F, A>(&k, body);
            answers.frequency = frequency;
            vector::and(&mut answers.stands, &good);
        }
        if !asked.omega.is_empty() {
            let h = assemble::hysteretic::<F>(&block.mounts, &body.center);
            let c = if asked.dashpots {
                assemble::dashpots::<F>(&block.mounts, &body.center)
            } else {
                [V::ZERO; 21]
            };
            for (omega, out) in asked.omega.iter().zip(&mut answers.vertical) {
                let (t, good) = transfer::vertical::<F, A>(&k, &h, &c, body, *omega);
                *out = t;
                vector::and(&mut answers.stands, &good);
            }
        }
    }
    if asked.statics {
        statics::all::<F, A>(block, answers);
    }
}

/// The rules of [`crate::support::Mount`]: numbers finite and not negative, a static stiffness exactly
/// where there is a dynamic one, some stiffness at all. What fails is told by the analyses.
#[inline(always)]
fn rules(block: &Block, stands: &mut Mask) {
    for m in &block.mounts {
        let (mut least, mut sum) = (V::ZERO, V::ZERO);
        let (mut total, mut unlike) = (V::ZERO, V::ZERO);
        each!(I in [0 1 2] {
            let (k, at_rest) = (m.stiffness[I], m.static_stiffness[I]);
            let turn = m.rotational_stiffness[I];
            for part in [k, at_rest, turn, m.damping[I], m.loss_factor[I]] {
                least = least.min(part);
                sum = sum + part;
            }
            sum = sum + m.position[I].abs();
            total = total + k + turn;
            let there = k.pick(V::ONE, V::ZERO) - at_rest.pick(V::ONE, V::ZERO);
            unlike = unlike + there.abs();
        });
        for l in 0..WIDTH {
            // What is no number or infinite makes the sum so.
            let sound = least.0[l] >= 0.0 && sum.0[l] < f64::INFINITY;
            stands[l] &= sound && total.0[l] > 0.0 && unlike.0[l] == 0.0;
        }
    }
}
