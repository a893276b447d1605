//! Blocks of eight designs from numbers to outputs, where one rigid body stands on mounts of constant
//! stiffness: setters write the numbers of each design, which go to the lanes of the `kernel`.
//!
//! Which designs share a block changes nothing in them. Lanes that do not stand (a rule broken, a
//! doubtful factor, a free motion) are left to the analyses, which find the reason or the numbers.

use nalgebra::{Matrix3, Vector3};
use std::f64::consts::TAU;

use super::axes::{self, FIELDS, MountField};
use super::kernel::vector::V;
use super::kernel::{self, Answers, Asked, Block, BodyLanes, Lasting, MountLanes};
use super::numbers::{BodyNumbers, MountNumbers};
use super::outputs::Output;
use super::plan::Plan;
use super::shocks::{self, Shocks};
use crate::analysis::statics::StaticsOptions;
use crate::installation::{Installation, Wrench};
use crate::law::Law;

/// Designs in a block.
pub const WIDTH: usize = super::kernel::vector::WIDTH;

/// What a block has served.
pub struct Served {
    /// True if every output asked for is among those of the lanes.
    pub all: bool,
    /// Designs that stand as computed; the others are computed again by the analyses.
    stands: [bool; WIDTH],
    /// The same for each of the peaks of shocks.
    peaks: [[bool; WIDTH]; 5],
}

/// Room for blocks of designs.
pub struct Fast<'a> {
    plan: &'a Plan,
    /// Which outputs come from the lanes.
    served: Vec<bool>,
    asked: Asked,
    /// Eight times the base.
    base: Block,
    block: Block,
    answers: Answers,
    shocks: Option<Shocks>,
    place: Vec<u64>,
    values: Vec<f64>,
    /// A value of each column for each lane.
    columns: Vec<V>,
}

impl<'a> Fast<'a> {
    /// Lanes for a sweep; they serve nothing where they cannot.
    pub fn new(plan: &'a Plan) -> Self {
        let inst = plan.spec.base.installation();
        let fits = plan.inputs.is_empty() && !plan.touches.beyond_lanes && constant(inst);
        let even = plan.statics == StaticsOptions::default();
        let asked = |o: &Output| plan.layout.outputs.iter().any(|laid| laid.output == *o);
        let wanted = shocks::SERVED.each_ref().map(|o| fits && even && asked(o));
        let shocks = Shocks::new(plan, wanted);
        let serves = |output: Output| match output {
            Output::ModeFrequency | Output::Transmissibility => fits,
            Output::MountLoad | Output::MountDeflection | Output::Tilt => fits && even,
            _ => shocks.is_some() && shocks::SERVED.contains(&output),
        };
        let served: Vec<bool> = plan.layout.outputs.iter().map(|o| serves(o.output)).collect();
        let asks = |wanted: &[Output]| {
            let laid = plan.layout.outputs.iter().zip(&served);
            laid.into_iter().any(|(o, served)| *served && wanted.contains(&o.output))
        };
        let statics = asks(&[Output::MountLoad, Output::MountDeflection, Output::Tilt]);
        let omega = if asks(&[Output::Transmissibility]) {
            plan.spec.frequencies.iter().map(|f| f * TAU).collect()
        } else {
            Vec::new()
        };
        let asked = Asked {
            modes: asks(&[Output::ModeFrequency]),
            statics,
            dashpots: plan.touches.fields[MountField::Damping as usize]
                || inst.mounts.iter().any(|m| m.damping != [0.0; 3]),
            rules: plan.touches.fields != [false; FIELDS],
            omega,
        };
        let (bodies, mounts) = (plan.base.bodies.len(), plan.base.mounts.len());
        let zeros = |n| vec![V::ZERO; n];
        let answers = Answers {
            frequency: [V::ZERO; 6],
            vertical: zeros(asked.omega.len()),
            load: zeros(bodies * mounts),
            deflection: zeros(bodies * mounts),
            tilt: vec![[V::ZERO; 2]; bodies],
            lawful: [false; WIDTH],
            stands: [false; WIDTH],
        };
        let base = block(plan, inst);
        Self {
            block: base.clone(),
            base,
            served,
            asked,
            answers,
            shocks,
            place: vec![0; plan.spec.dims.len()],
            values: vec![0.0; plan.width],
            columns: vec![V::ZERO; plan.width],
            plan,
        }
    }

    /// Does that output of a design stand as computed?
    pub fn stands(&self, served: &Served, output: usize, lane: usize) -> bool {
        let kind = self.plan.layout.outputs[output].output;
        let stands = match shocks::SERVED.iter().position(|o| *o == kind) {
            Some(peak) => &served.peaks[peak],
            None => &served.stands,
        };
        self.served[output] && stands[lane]
    }

    /// Do all outputs of a design?
    pub fn all_stand(&self, served: &Served, lane: usize) -> bool {
        served.all && (0..self.served.len()).all(|output| self.stands(served, output, lane))
    }

    /// Computes `many` designs from `start` on into the rows from `row` on.
    pub fn block(
        &mut self,
        start: u64,
        many: usize,
        row: usize,
        outs: &mut [&mut [f64]],
    ) -> Served {
        let all = self.served.iter().all(|served| *served);
        if !self.served.contains(&true) {
            return Served { all, stands: [false; WIDTH], peaks: [[false; WIDTH]; 5] };
        }
        self.draw(start, many);
        for (_, setter) in &self.plan.moves {
            setter.restore(&self.base, &mut self.block);
        }
        for (column, setter) in &self.plan.moves {
            setter.write(self.columns[*column], &mut self.block);
        }
        let mut sound = self.sound();
        kernel::compute(self.plan.isa, &self.block, &self.asked, &mut self.answers);
        let mut stands = self.answers.stands;
        for lane in 0..WIDTH {
            stands[lane] &= sound[lane];
            sound[lane] &= self.answers.lawful[lane];
        }
        if let Some(shocks) = &mut self.shocks {
            shocks.compute(self.plan.isa, &self.block, &sound);
        }
        self.scatter(many, row, outs);
        let peaks = self.shocks.as_ref().map_or([[false; WIDTH]; 5], |s| s.stands);
        Served { all, stands, peaks }
    }

    /// The values of each design; lanes without a design of their own repeat the last.
    fn draw(&mut self, start: u64, many: usize) {
        for lane in 0..WIDTH {
            if lane < many {
                self.plan.draw(start + lane as u64, &mut self.place, &mut self.values);
            }
            for (column, value) in self.columns.iter_mut().zip(&self.values) {
                column.0[lane] = *value;
            }
        }
    }

    /// Which designs keep the rules of bodies and gravity; the kernel tries those of mounts.
    fn sound(&self) -> [bool; WIDTH] {
        let touches = &self.plan.touches;
        std::array::from_fn(|lane| {
            let gravity = self.block.gravity.0[lane];
            let stands = |body| axes::body_stands(&numbers_of(body, lane), touches.inertia);
            gravity > 0.0
                && gravity.is_finite()
                && (!touches.bodies || self.block.bodies.iter().all(stands))
        })
    }

    fn scatter(&self, many: usize, row: usize, outs: &mut [&mut [f64]]) {
        let answers = &self.answers;
        let laid = self.plan.layout.outputs.iter().zip(outs).zip(&self.served);
        for ((laid, out), _) in laid.filter(|(_, served)| **served) {
            let width = laid.width();
            let out = &mut out[row * width..(row + many) * width];
            match laid.output {
                Output::ModeFrequency => put(out, &answers.frequency),
                Output::Transmissibility => put(out, &answers.vertical),
                Output::MountLoad => put(out, &answers.load),
                Output::MountDeflection => put(out, &answers.deflection),
                Output::Tilt => put(out, answers.tilt.as_flattened()),
                peak => {
                    let kind = shocks::SERVED.iter().position(|o| *o == peak);
                    if let (Some(kind), Some(shocks)) = (kind, &self.shocks) {
                        put(out, &shocks.peaks[kind]);
                    }
                }
            }
        }
    }
}

/// One rigid body on mounts whose stiffness depends on nothing.
fn constant(inst: &Installation) -> bool {
    let system = inst.system();
    system.dofs.len() == 6
        && system.elements.len() == inst.mounts.len()
        && system.elements.iter().all(|e| matches!(e.law, Law::Constant(_)))
        && inst.mounts.iter().all(|m| m.curve.is_none() && m.dynamic.iter().all(Option::is_none))
}

/// Lanes to rows.
fn put(out: &mut [f64], values: &[V]) {
    for (lane, row) in out.chunks_exact_mut(values.len()).enumerate() {
        for (place, value) in row.iter_mut().zip(values) {
            *place = value.0[lane];
        }
    }
}

/// Every design as in the base.
fn block(plan: &Plan, inst: &Installation) -> Block {
    let body = |b: &BodyNumbers| {
        let mut lanes = BodyLanes { mass: V::ZERO, center: [V::ZERO; 3], inertia: [V::ZERO; 6] };
        (0..WIDTH).for_each(|lane| put_body(&mut lanes, b, lane));
        lanes
    };
    let turns = plan.touches.fields[MountField::RotationalStiffness as usize];
    let mounts = inst.mounts.iter().zip(&plan.base.mounts).map(|(mount, numbers)| {
        let mut lanes = MountLanes {
            position: [V::ZERO; 3],
            stiffness: [V::ZERO; 3],
            static_stiffness: [V::ZERO; 3],
            damping: [V::ZERO; 3],
            loss_factor: [V::ZERO; 3],
            rotational_stiffness: [V::ZERO; 3],
            axes: std::array::from_fn(|i| std::array::from_fn(|j| mount.axes[(i, j)])),
            aligned: mount.axes == nalgebra::Matrix3::identity(),
            turns: turns || mount.rotational_stiffness != [0.0; 3],
        };
        (0..WIDTH).for_each(|lane| put_mount(&mut lanes, numbers, lane));
        lanes
    });
    Block {
        bodies: plan.base.bodies.iter().map(body).collect(),
        mounts: mounts.collect(),
        gravity: V::all(plan.base.gravity),
        lasting: inst.all_cases().map(|(_, _, loads)| lasting(loads)).collect(),
    }
}

fn lasting(loads: &[Wrench]) -> Lasting {
    let mut sum = Lasting::default();
    for wrench in loads {
        let about_origin =
            wrench.at.map_or(wrench.moment, |at| wrench.moment + at.cross(&wrench.force));
        for i in 0..3 {
            sum.force[i] += wrench.force[i];
            sum.moment[i] += about_origin[i];
            sum.placed[i] += if wrench.at.is_some() { wrench.force[i] } else { 0.0 };
        }
    }
    sum
}

/// The body of one design.
fn numbers_of(lanes: &BodyLanes, lane: usize) -> BodyNumbers {
    let entry = |i: usize, j: usize| lanes.inertia[kernel::at(i.max(j), i.min(j))].0[lane];
    BodyNumbers {
        mass: lanes.mass.0[lane],
        center: Vector3::from_fn(|i, _| lanes.center[i].0[lane]),
        inertia: Matrix3::from_fn(entry),
    }
}

fn put_body(to: &mut BodyLanes, from: &BodyNumbers, lane: usize) {
    to.mass.0[lane] = from.mass;
    for i in 0..3 {
        to.center[i].0[lane] = from.center[i];
        for j in 0..=i {
            to.inertia[kernel::at(i, j)].0[lane] = from.inertia[(i, j)];
        }
    }
}

fn put_mount(to: &mut MountLanes, from: &MountNumbers, lane: usize) {
    let pairs = [
        (&mut to.stiffness, &from.stiffness),
        (&mut to.static_stiffness, &from.static_stiffness),
        (&mut to.damping, &from.damping),
        (&mut to.loss_factor, &from.loss_factor),
        (&mut to.rotational_stiffness, &from.rotational_stiffness),
        (&mut to.position, &from.position),
    ];
    for (to, from) in pairs {
        for i in 0..3 {
            to[i].0[lane] = from[i];
        }
    }
}
