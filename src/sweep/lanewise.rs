//! Setters on eight designs at once: the same rules as [`Setter::apply`], to the same bits, on the
//! lanes of a block. Only what moves is touched, and put back to the base before the next block.

use super::axes::{MountField, Part, Setter, Target};
use super::kernel::vector::{V, WIDTH};
use super::kernel::{Block, BodyLanes, MountLanes, at};

impl Setter {
    /// Puts what this setter moves back to the base.
    pub fn restore(&self, base: &Block, block: &mut Block) {
        match &self.target {
            Target::Mass(body)
            | Target::Center(body, _)
            | Target::Inertia(body, ..)
            | Target::MassAndInertia(body) => block.bodies[*body] = base.bodies[*body],
            Target::Gravity => block.gravity = base.gravity,
            Target::Mounts(which, ..) => {
                for &i in which {
                    block.mounts[i] = base.mounts[i];
                }
            }
            Target::Point(..)
            | Target::ShockAt(..)
            | Target::Pulse(..)
            | Target::Press(_)
            | Target::Break(..) => {}
        }
    }

    /// Writes a number into each lane.
    pub fn write(&self, value: V, block: &mut Block) {
        let put = |place: &mut V| *place = if self.factor { *place * value } else { value };
        match &self.target {
            Target::Mass(body) => put(&mut block.bodies[*body].mass),
            Target::Center(body, i) => put(&mut block.bodies[*body].center[*i]),
            Target::Inertia(body, i, j) => {
                put(&mut block.bodies[*body].inertia[at(*i.max(j), *i.min(j))]);
            }
            Target::MassAndInertia(body) => {
                scale(&mut block.bodies[*body], value, self.factor);
            }
            Target::Gravity => put(&mut block.gravity),
            Target::Mounts(which, field, part) => {
                for &i in which {
                    for c in part.components() {
                        put_mount(&mut block.mounts[i], *field, c, &put);
                    }
                }
            }
            Target::Point(..)
            | Target::ShockAt(..)
            | Target::Pulse(..)
            | Target::Press(_)
            | Target::Break(..) => {}
        }
    }
}

fn scale(body: &mut BodyLanes, value: V, is_factor: bool) {
    let factor = if is_factor { value } else { value / body.mass };
    body.mass = body.mass * factor;
    for entry in &mut body.inertia {
        *entry = *entry * factor;
    }
}

fn put_mount(mount: &mut MountLanes, field: MountField, c: usize, put: &impl Fn(&mut V)) {
    let before = mount.stiffness[c];
    put(lanes_of(mount, field, c));
    if field == MountField::Stiffness {
        let after = mount.stiffness[c];
        let at_rest = &mut mount.static_stiffness[c];
        for l in 0..WIDTH {
            at_rest.0[l] = Part::at_rest(before.0[l], after.0[l], at_rest.0[l]);
        }
    }
}

fn lanes_of(mount: &mut MountLanes, field: MountField, c: usize) -> &mut V {
    match field {
        MountField::Stiffness => &mut mount.stiffness[c],
        MountField::StaticStiffness => &mut mount.static_stiffness[c],
        MountField::Damping => &mut mount.damping[c],
        MountField::LossFactor => &mut mount.loss_factor[c],
        MountField::RotationalStiffness => &mut mount.rotational_stiffness[c],
        MountField::Position => &mut mount.position[c],
    }
}
