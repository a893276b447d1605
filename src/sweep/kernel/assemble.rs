//! Stiffness of all mounts about the center of mass, by design:
//!
//! K = sum of [ T, T S'; S T, S T S' ] with T = R diag(k) R' and S v = d x v, d from the center of mass
//! to the mount; rotational stiffness R diag(kappa) R' adds to the lower right.

use super::vector::V;
use super::{MountLanes, Packed, at};

/// sum of B T B', dynamic or at rest; rotational stiffness too.
#[inline(always)]
pub fn stiffness<const F: bool>(mounts: &[MountLanes], center: &[V; 3], at_rest: bool) -> Packed {
    let mut k = [V::ZERO; 21];
    for mount in mounts {
        let values = if at_rest { &mount.static_stiffness } else { &mount.stiffness };
        add::<F>(&mut k, mount, values, center);
        if mount.turns {
            turn::<F>(&mut k, mount, &mount.rotational_stiffness);
        }
    }
    k
}

/// The same of eta k.
#[inline(always)]
pub fn hysteretic<const F: bool>(mounts: &[MountLanes], center: &[V; 3]) -> Packed {
    let mut h = [V::ZERO; 21];
    for mount in mounts {
        let eta = &mount.loss_factor;
        add::<F>(&mut h, mount, &times(&mount.stiffness, eta), center);
        if mount.turns {
            turn::<F>(&mut h, mount, &times(&mount.rotational_stiffness, eta));
        }
    }
    h
}

/// The same of the dashpots.
#[inline(always)]
pub fn dashpots<const F: bool>(mounts: &[MountLanes], center: &[V; 3]) -> Packed {
    let mut c = [V::ZERO; 21];
    for mount in mounts {
        add::<F>(&mut c, mount, &mount.damping, center);
    }
    c
}

#[inline(always)]
fn add<const F: bool>(k: &mut Packed, mount: &MountLanes, values: &[V; 3], center: &[V; 3]) {
    let d = arm(mount, center);
    if mount.aligned { straight::<F>(k, values, &d) } else { inclined::<F>(k, mount, values, &d) }
}

#[inline(always)]
fn times(a: &[V; 3], b: &[V; 3]) -> [V; 3] {
    [a[0] * b[0], a[1] * b[1], a[2] * b[2]]
}

/// From the center of mass to the mount.
#[inline(always)]
pub fn arm(mount: &MountLanes, center: &[V; 3]) -> [V; 3] {
    let r = &mount.position;
    [r[0] - center[0], r[1] - center[1], r[2] - center[2]]
}

/// Axes along x, y, z.
#[inline(always)]
fn straight<const F: bool>(sum: &mut Packed, [kx, ky, kz]: &[V; 3], [x, y, z]: &[V; 3]) {
    sum[at(0, 0)] = sum[at(0, 0)] + *kx;
    sum[at(1, 1)] = sum[at(1, 1)] + *ky;
    sum[at(2, 2)] = sum[at(2, 2)] + *kz;
    let (yz, zy) = (*kz * *y, *ky * *z);
    let (zx, xz) = (*kx * *z, *kz * *x);
    let (xy, yx) = (*ky * *x, *kx * *y);
    sum[at(3, 1)] = sum[at(3, 1)] - zy;
    sum[at(3, 2)] = sum[at(3, 2)] + yz;
    sum[at(4, 0)] = sum[at(4, 0)] + zx;
    sum[at(4, 2)] = sum[at(4, 2)] - xz;
    sum[at(5, 0)] = sum[at(5, 0)] - yx;
    sum[at(5, 1)] = sum[at(5, 1)] + xy;
    sum[at(3, 3)] = zy.fma::<F>(*z, yz.fma::<F>(*y, sum[at(3, 3)]));
    sum[at(4, 4)] = zx.fma::<F>(*z, xz.fma::<F>(*x, sum[at(4, 4)]));
    sum[at(5, 5)] = yx.fma::<F>(*y, xy.fma::<F>(*x, sum[at(5, 5)]));
    sum[at(4, 3)] = xz.fnma::<F>(*y, sum[at(4, 3)]);
    sum[at(5, 3)] = xy.fnma::<F>(*z, sum[at(5, 3)]);
    sum[at(5, 4)] = yx.fnma::<F>(*z, sum[at(5, 4)]);
}

/// R diag(values) R', rows of a full 3 x 3.
#[inline(always)]
pub fn turned<const F: bool>(mount: &MountLanes, values: &[V; 3]) -> [[V; 3]; 3] {
    let mut t = [[V::ZERO; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            for a in 0..3 {
                let r = V::all(mount.axes[i][a] * mount.axes[j][a]);
                t[i][j] = values[a].fma::<F>(r, t[i][j]);
            }
        }
    }
    t
}

#[inline(always)]
fn inclined<const F: bool>(
    sum: &mut Packed,
    mount: &MountLanes,
    values: &[V; 3],
    [x, y, z]: &[V; 3],
) {
    let t = turned::<F>(mount, values);
    // S T, row by row.
    let mut st = [[V::ZERO; 3]; 3];
    for j in 0..3 {
        st[0][j] = z.fnma::<F>(t[1][j], *y * t[2][j]);
        st[1][j] = x.fnma::<F>(t[2][j], *z * t[0][j]);
        st[2][j] = y.fnma::<F>(t[0][j], *x * t[1][j]);
    }
    for i in 0..3 {
        for j in 0..3 {
            if j <= i {
                sum[at(i, j)] = sum[at(i, j)] + t[i][j];
            }
            sum[at(3 + i, j)] = sum[at(3 + i, j)] + st[i][j];
        }
        let columns = [
            z.fnma::<F>(st[i][1], *y * st[i][2]),
            x.fnma::<F>(st[i][2], *z * st[i][0]),
            y.fnma::<F>(st[i][0], *x * st[i][1]),
        ];
        for j in 0..=i {
            sum[at(3 + i, 3 + j)] = sum[at(3 + i, 3 + j)] + columns[j];
        }
    }
}

#[inline(always)]
fn turn<const F: bool>(sum: &mut Packed, mount: &MountLanes, values: &[V; 3]) {
    let t = turned::<F>(mount, values);
    for i in 0..3 {
        for j in 0..=i {
            sum[at(3 + i, 3 + j)] = sum[at(3 + i, 3 + j)] + t[i][j];
        }
    }
}
