//! Peaks of shocks for eight designs at a time, where one rigid body stands on mounts of constant
//! stiffness: matrices by design and rows of points, mounts and floor for [`crate::lanes::damped`] and
//! [`crate::lanes::peaks`].

use nalgebra::{Matrix3, Vector3};

use super::kernel::vector::{Mask, V, WIDTH};
use super::kernel::{self, Block, BodyLanes, MountLanes, Packed, at};
use super::outputs::Output;
use super::plan::Plan;
use crate::analysis::transient::many::Shape;
use crate::excitation::Segment;
use crate::installation::{AS_IT_RUNS, Wrench};
use crate::job::Shock;
use crate::lanes::{Isa, damped, peaks};

/// Outputs that come from here.
pub const SERVED: [Output; 5] = [
    Output::PeakMotion,
    Output::PeakVelocity,
    Output::PeakAcceleration,
    Output::PeakFloorForce,
    Output::PeakMountForce,
];

/// One shock.
struct One {
    unit: Wrench,
    load: Vec<Segment>,
    shape: Shape,
    /// Which of the bodies it strikes.
    body: usize,
}

/// All shocks of a sweep, with room for eight designs.
pub struct Shocks {
    shocks: Vec<One>,
    points: Vec<Option<Vector3<f64>>>,
    mounts: usize,
    wanted: [bool; 5],
    system: damped::Block,
    /// All that is wanted, kind after kind.
    motion: peaks::Block,
    /// Each kind by itself, so that its bits do not depend on what else is wanted.
    alone: [peaks::Block; 5],
    /// Designs of which each of [`SERVED`] stands as computed.
    pub stands: [Mask; 5],
    /// Peaks of each of [`SERVED`] for every shock, (shock, point or mount).
    pub peaks: [Vec<V>; 5],
}

impl Shocks {
    /// None where nothing of it is asked for.
    pub fn new(plan: &Plan, wanted: [bool; 5]) -> Option<Self> {
        let inst = plan.spec.base.installation();
        let one = |s: &Shock| {
            // What opens and closes, or comes back, is no single transient.
            let is_plain = s.contacts.is_none() && s.every.is_none();
            let load = is_plain.then(|| s.pulse.segments())?;
            let case = s.case.as_deref().unwrap_or(AS_IT_RUNS);
            let body = inst.all_cases().position(|(name, ..)| name == case)?;
            Some(One { unit: s.unit().ok()?, shape: Shape::of(&load, None), load, body })
        };
        let shocks: Vec<One> = plan.spec.base.shocks().iter().map(one).collect::<Option<_>>()?;
        if shocks.is_empty() || !wanted.contains(&true) {
            return None;
        }
        let mut points: Vec<_> = inst.points.iter().map(|p| Some(p.at)).collect();
        if points.is_empty() {
            points.push(None);
        }
        let mounts = inst.mounts.len();
        let p = points.len();
        let mut of_kind = [3 * p, 3 * p, 3 * p, 1, mounts];
        for (count, wanted) in of_kind.iter_mut().zip(wanted) {
            *count = if wanted { *count } else { 0 };
        }
        let outputs = of_kind.iter().sum();
        let lanes = |of_each: usize| vec![V::ZERO; of_each * shocks.len()];
        let peaks = [points.len(), points.len(), points.len(), 1, mounts].map(lanes);
        let mut system = damped::Block::new(6, outputs);
        let zeros = || vec![V::ZERO; 6 * outputs];
        system.rows = damped::Rows {
            stiffness: zeros(),
            loss: zeros(),
            damping: zeros(),
            inertia: if wanted[2] { zeros() } else { Vec::new() },
            force: if wanted[3] { zeros() } else { Vec::new() },
        };
        Some(Self {
            motion: peaks::Block::new(6, outputs),
            alone: of_kind.map(|count| peaks::Block::new(6, count)),
            stands: [[false; WIDTH]; 5],
            system,
            peaks,
            shocks,
            points,
            mounts,
            wanted,
        })
    }

    /// Peaks of a block of designs, of which those that are no designs do not stand; what does not
    /// stand afterwards is left to the analyses.
    pub fn compute(&mut self, isa: Isa, block: &Block, designs: &Mask) {
        self.stands = [*designs; 5];
        let lossy = |m: &MountLanes| m.loss_factor.iter().any(|v| *v != V::ZERO);
        let viscous = |m: &MountLanes| m.damping.iter().any(|v| *v != V::ZERO);
        self.system.is_hysteretic = block.mounts.iter().any(lossy);
        self.system.is_viscous = block.mounts.iter().any(viscous);
        for shock in 0..self.shocks.len() {
            let body = &block.bodies[self.shocks[shock].body];
            let [mut k, mut h, mut c] = [[V::ZERO; 21]; 3];
            kernel::matrices(isa, &block.mounts, &body.center, &mut k, &mut h, &mut c);
            self.put(body, [&k, &h, &c]);
            self.put_rows(block, body);
            self.put_load(shock, body);
            let mut sound = self.system.solve(isa, &mut self.motion);
            for lane in 0..WIDTH {
                sound[lane] &= designs[lane];
            }
            let one = &self.shocks[shock];
            one.shape.lay(&[&one.load; WIDTH], None, &mut self.motion, &mut sound);
            self.search(isa, sound);
            self.take(shock);
        }
    }

    /// Each kind by itself.
    fn search(&mut self, isa: Isa, sound: Mask) {
        let mut first = 0;
        for ((alone, stands), wanted) in
            self.alone.iter_mut().zip(&mut self.stands).zip(self.wanted)
        {
            if !wanted {
                continue;
            }
            let past = first + alone.feed.len();
            alone.roots.copy_from_slice(&self.motion.roots);
            alone.inputs.copy_from_slice(&self.motion.inputs);
            alone.rows.copy_from_slice(&self.motion.rows[6 * first..6 * past]);
            alone.feed.copy_from_slice(&self.motion.feed[first..past]);
            alone.pieces.clone_from(&self.motion.pieces);
            let found = alone.solve(isa, sound);
            for lane in 0..WIDTH {
                stands[lane] &= found[lane];
            }
            first = past;
        }
    }

    fn put(&mut self, body: &BodyLanes, [k, h, c]: [&Packed; 3]) {
        let system = &mut self.system;
        system.modes.m.fill(V::ZERO);
        for i in 0..3 {
            system.modes.m[at(i, i)] = body.mass;
            for j in 0..=i {
                system.modes.m[at(3 + i, 3 + j)] = body.inertia[at(i, j)];
            }
        }
        system.modes.k.copy_from_slice(k);
        system.h.copy_from_slice(h);
        system.c.copy_from_slice(c);
    }

    fn put_load(&mut self, shock: usize, body: &BodyLanes) {
        for lane in 0..WIDTH {
            let g = self.shocks[shock].unit.about(&lane_of(&body.center, lane));
            for i in 0..6 {
                self.system.direction[i].0[lane] = g[i];
            }
        }
    }

    /// Rows in the order in which [`Self::take`] reads them.
    fn put_rows(&mut self, block: &Block, body: &BodyLanes) {
        let rows = &mut self.system.rows;
        let [motion, velocity, acceleration, floor, mount] = self.wanted;
        for lane in 0..WIDTH {
            let center = lane_of(&body.center, lane);
            let mut o = 0;
            for (wanted, rows) in [
                (motion, &mut rows.stiffness),
                (velocity, &mut rows.damping),
                (acceleration, &mut rows.inertia),
            ] {
                if !wanted {
                    continue;
                }
                for point in &self.points {
                    let d = point.map_or(Vector3::zeros(), |p| p - center);
                    for i in 0..3 {
                        put_row(&mut rows[6 * o..6 * o + 6], &Vector3::ith(i, 1.0), &d, lane);
                        o += 1;
                    }
                }
            }
            if floor {
                put_row(&mut rows.force[6 * o..6 * o + 6], &Vector3::z(), &Vector3::zeros(), lane);
                o += 1;
            }
            if !mount {
                continue;
            }
            for m in &block.mounts {
                let d = lane_of(&m.position, lane) - center;
                let (k, eta) = (lane_of(&m.stiffness, lane), lane_of(&m.loss_factor, lane));
                let c = lane_of(&m.damping, lane);
                let axes = Matrix3::from_fn(|i, j| m.axes[i][j]);
                for (values, rows) in [
                    (k, &mut rows.stiffness),
                    (k.component_mul(&eta), &mut rows.loss),
                    (c, &mut rows.damping),
                ] {
                    let along = axes.row(2).transpose().component_mul(&values);
                    put_row(&mut rows[6 * o..6 * o + 6], &(axes * along), &d, lane);
                }
                o += 1;
            }
        }
    }

    fn take(&mut self, shock: usize) {
        for (kind, (peaks, alone)) in self.peaks.iter_mut().zip(&self.alone).enumerate() {
            let size = |o: usize| {
                let (max, min) = (alone.max(o).value, alone.min(o).value);
                max.abs().max(min.abs())
            };
            let mut o = 0;
            if !self.wanted[kind] {
                continue;
            }
            let (each, components) = match kind {
                0..3 => (self.points.len(), 3),
                3 => (1, 1),
                _ => (self.mounts, 1),
            };
            for place in &mut peaks[shock * each..(shock + 1) * each] {
                *place = V::ZERO;
                for _ in 0..components {
                    *place = place.max(size(o));
                    o += 1;
                }
            }
        }
    }
}

fn lane_of(v: &[V; 3], lane: usize) -> Vector3<f64> {
    Vector3::new(v[0].0[lane], v[1].0[lane], v[2].0[lane])
}

/// The row of a number t'(u + theta x d) on (u, theta): t and d x t.
fn put_row(row: &mut [V], t: &Vector3<f64>, d: &Vector3<f64>, lane: usize) {
    let turned = d.cross(t);
    for i in 0..3 {
        row[i].0[lane] = t[i];
        row[3 + i].0[lane] = turned[i];
    }
}
