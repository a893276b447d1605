//! Static equilibrium of every load case, by design: K_static x = f, refined once with its residual;
//! loads and compressions of the mounts from x.

use super::vector::{V, and};
use super::{Answers, Block, BodyLanes, Lasting, assemble, solve};

#[inline(always)]
pub fn all<const F: bool, const A: bool>(block: &Block, answers: &mut Answers) {
    let mounts = &block.mounts;
    for (case, (body, lasting)) in block.bodies.iter().zip(&block.lasting).enumerate() {
        let k = assemble::stiffness::<F>(mounts, &body.center, true);
        let (l, good) = solve::factor::<F, A>(&k);
        and(&mut answers.stands, &good);
        let f = load(body, block.gravity, lasting);
        let mut x = solve::substitute::<F, A>(&l, &f);
        let more = solve::substitute::<F, A>(&l, &solve::residual::<F>(&k, &x, &f));
        for i in 0..6 {
            x[i] = x[i] + more[i];
        }
        for (m, mount) in mounts.iter().enumerate() {
            let [dx, dy, dz] = assemble::arm(mount, &body.center);
            // u = t + theta x d
            let u = [
                x[0] + x[4] * dz - x[5] * dy,
                x[1] + x[5] * dx - x[3] * dz,
                x[2] + x[3] * dy - x[4] * dx,
            ];
            let place = case * mounts.len() + m;
            answers.deflection[place] = -u[2];
            answers.load[place] = if mount.aligned {
                -(mount.static_stiffness[2] * u[2])
            } else {
                let t = assemble::turned::<F>(mount, &mount.static_stiffness);
                -(t[2][0] * u[0] + t[2][1] * u[1] + t[2][2] * u[2])
            };
        }
        answers.tilt[case] = [x[3], x[4]];
    }
}

/// Weight and lasting loads about the center of mass.
#[inline(always)]
fn load(body: &BodyLanes, gravity: V, lasting: &Lasting) -> [V; 6] {
    let [[fx, fy, fz], [mx, my, mz], [px, py, pz]] =
        [all3(&lasting.force), all3(&lasting.moment), all3(&lasting.placed)];
    let [cx, cy, cz] = body.center;
    [
        fx,
        fy,
        fz - body.mass * gravity,
        mx - (cy * pz - cz * py),
        my - (cz * px - cx * pz),
        mz - (cx * py - cy * px),
    ]
}

#[inline(always)]
fn all3(v: &[f64; 3]) -> [V; 3] {
    [V::all(v[0]), V::all(v[1]), V::all(v[2])]
}
