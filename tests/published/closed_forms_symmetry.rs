//! Machines with planes of symmetry, by the closed forms of the textbook.
//!
//! Source: cases C1 to C6 of the project's reference pack: own derivations there of standard
//! textbook results, each held against a general 6 x 6 eigenvalue program on 200 random draws.
//! C2 and C6 cf. Harris' Shock and Vibration Handbook, 5th ed. 2002, chapter 3 (equation numbers
//! read, the formulas not). Here the formula is written out again beside each number.

use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::analysis::modes;
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::{Axis, Linear};

use crate::cases::machine_of;
use crate::close::{modes_within, omegas, ratio, stiffened, worst};
use crate::reference::{load, number, numbers, triple};

const X: usize = Axis::X as usize;
const Y: usize = Axis::Y as usize;
const Z: usize = Axis::Z as usize;
const RX: usize = Axis::Rx as usize;
const RY: usize = Axis::Ry as usize;
const RZ: usize = Axis::Rz as usize;

fn instance(id: &str) -> Value {
    load(&format!("sixdof/{id}"))["instance"].clone()
}

/// A bar on two springs under its axis, l1 and l2 to either side, in a machine on four mounts.
fn bar(id: &str) -> Installation {
    let case = instance(id);
    let [m, j, k1, l1, k2, l2] = ["m", "J", "k1", "l1", "k2", "l2"].map(|key| number(&case[key]));
    let inertia = Matrix3::from_diagonal(&Vector3::new(0.7 * j, j, 1.2 * j));
    let mounts = [(l1, k1), (-l2, k2)].into_iter().flat_map(|(x, k)| {
        let at = |y: f64| Vector3::new(x, y, 0.0);
        [0.8, -0.8].map(|y| Mount::new(at(y), [0.3 * k, 0.4 * k, 0.5 * k]).unwrap())
    });
    let body = RigidBody::new(m, Vector3::zeros(), inertia).unwrap();
    Installation::new(body, mounts.collect()).unwrap()
}

/// Angular frequencies of the modes that move these degrees of freedom only.
fn within(inst: &Installation, dofs: &[usize]) -> Vec<f64> {
    let found = modes(&inst.system().linear()).unwrap();
    modes_within(&found, dofs).into_iter().map(|mode| found.frequency[mode] * TAU).collect()
}

fn linear(inst: &Installation) -> Linear {
    inst.system().linear()
}

#[test]
fn three_planes_of_symmetry_leave_six_modes_uncoupled() {
    let case = instance("cf_C1");
    let inst = machine_of(&case);
    let found: Vec<_> = (0..6).map(|dof| within(&inst, &[dof])[0]).collect();
    assert!(worst(&found, &numbers(&case["omega_closed_xyz_rxryrz"])) < 1e-10);

    // w_x^2 = sum kx / m, w_rx^2 = sum (ky z^2 + kz y^2) / Jx, and cyclic.
    let sum = |f: &dyn Fn(&Mount) -> f64| inst.mounts.iter().map(f).sum::<f64>();
    for i in 0..3 {
        let (j, l) = ((i + 1) % 3, (i + 2) % 3);
        let shift = sum(&|p| p.stiffness[i]) / inst.body.mass();
        let turn = sum(&|p| {
            p.stiffness[j] * p.position[l].powi(2) + p.stiffness[l] * p.position[j].powi(2)
        }) / inst.body.inertia()[(i, i)];
        assert!(worst(&[found[i], found[3 + i]], &[shift.sqrt(), turn.sqrt()]) < 1e-10);
    }
}

#[test]
fn corner_mounts_below_the_center_of_mass_couple_sway_and_rocking() {
    let case = instance("cf_C2");
    let inst = machine_of(&case);
    let closed = &case["omega_closed"];
    let [a, b, z] = triple(&case["mounts"][0]["r"]);
    let [kx, ky, kz] = triple(&case["mounts"][0]["k"]);
    let [jx, jy, jz] = triple(&case["J"]);
    let m = number(&case["m"]);
    let heave = (4.0 * kz / m).sqrt();

    let pair = |k_side: f64, inertia: f64, half_spacing: f64| {
        let rho = (inertia / m).sqrt();
        let (kappa, eta, xi) = (k_side / kz, -z / rho, half_spacing / rho);
        let s = kappa * (1.0 + eta * eta) + xi * xi;
        let root = (s * s - 4.0 * kappa * xi * xi).sqrt();
        [heave * ((s - root) / 2.0).sqrt(), heave * ((s + root) / 2.0).sqrt()]
    };
    let yaw = (4.0 * (kx * b * b + ky * a * a) / jz).sqrt();
    let rows: [(&str, &[usize], Vec<f64>); 4] = [
        ("heave", &[Z], vec![heave]),
        ("yaw", &[RZ], vec![yaw]),
        ("x_pitch", &[X, RY], pair(kx, jy, a).to_vec()),
        ("y_roll", &[Y, RX], pair(ky, jx, b).to_vec()),
    ];
    for (name, dofs, formula) in rows {
        let found = within(&inst, dofs);
        let stored = if closed[name].is_array() {
            numbers(&closed[name])
        } else {
            vec![number(&closed[name])]
        };
        assert!(worst(&found, &formula) < 1e-10, "{name}");
        assert!(worst(&found, &stored) < 1e-10, "{name}");
    }
}

#[test]
fn one_plane_of_symmetry_splits_six_modes_into_two_cubics() {
    let case = instance("cf_C3");
    let inst = machine_of(&case);
    let found = modes(&linear(&inst)).unwrap();
    for (dofs, omega_key, cubic_key) in [
        ([X, Z, RY], "omega_in_plane_x_z_ry", "cubic_in_plane"),
        ([Y, RX, RZ], "omega_out_of_plane_y_rx_rz", "cubic_out_of_plane"),
    ] {
        // J_xz joins rx and rz of the other block only, so energies stay within each block.
        let omega: Vec<_> = modes_within(&found, &dofs)
            .into_iter()
            .map(|mode| found.frequency[mode] * TAU)
            .collect();
        assert!(worst(&omega, &numbers(&case[omega_key])) < 1e-10, "{omega_key}");
        // lambda^3 - tr(A) lambda^2 + 1/2 (tr(A)^2 - tr(A^2)) lambda - det A
        let [a, b, c]: [f64; 3] = [0, 1, 2].map(|i| omega[i] * omega[i]);
        let cubic = [1.0, -(a + b + c), a * b + b * c + c * a, -(a * b * c)];
        assert!(worst(&cubic, &numbers(&case[cubic_key])) < 1e-10, "{cubic_key}");
    }
}

#[test]
fn heave_and_pitch_turn_about_conjugate_nodes() {
    let case = instance("cf_C4");
    let [m, j, k1, l1, k2, l2] = ["m", "J", "k1", "l1", "k2", "l2"].map(|key| number(&case[key]));
    let found = modes(&linear(&bar("cf_C4"))).unwrap();
    let pair = modes_within(&found, &[Z, RY]);
    let omega: Vec<_> = pair.iter().map(|&mode| found.frequency[mode] * TAU).collect();
    assert!(worst(&omega, &numbers(&case["omega"])) < 1e-10);

    let (a, b) = ((k1 + k2) / m, (k1 * l1 * l1 + k2 * l2 * l2) / j);
    let moment = k1 * l1 - k2 * l2;
    let root = ((a - b).powi(2) / 4.0 + moment * moment / (m * j)).sqrt();
    let formula = [(a + b) / 2.0 - root, (a + b) / 2.0 + root].map(f64::sqrt);
    assert!(worst(&omega, &formula) < 1e-10);

    // u_z(x) = z - ry x is zero at the node.
    let nodes: Vec<_> = pair.iter().map(|&mode| ratio(&found.shape, mode, Z, RY)).collect();
    assert!(worst(&nodes, &numbers(&case["node_x"])) < 1e-10);
    let formula: Vec<_> = omega.iter().map(|w| moment / (k1 + k2 - m * w * w)).collect();
    // The denominator nearly cancels for the lower mode.
    assert!(worst(&nodes, &formula) < 1e-9);
    assert!(worst(&[nodes[0] * nodes[1]], &[-j / m]) < 1e-10);
    assert!(worst(&[nodes[0] * nodes[1]], &[number(&case["minus_J_over_m"])]) < 1e-10);
}

#[test]
fn at_dynamic_index_one_each_end_vibrates_alone() {
    let case = instance("cf_C4b");
    let [m, k1, l1, k2, l2] = ["m", "k1", "l1", "k2", "l2"].map(|key| number(&case[key]));
    let found = modes(&linear(&bar("cf_C4b"))).unwrap();
    let pair = modes_within(&found, &[Z, RY]);
    let omega: Vec<_> = pair.iter().map(|&mode| found.frequency[mode] * TAU).collect();
    let span = l1 + l2;
    let mut formula = [k1 * span / (m * l2), k2 * span / (m * l1)].map(f64::sqrt);
    let first_is_end_one = formula[0] < formula[1];
    formula.sort_by(f64::total_cmp);
    assert!(worst(&omega, &formula) < 1e-10);
    assert!(worst(&omega, &numbers(&case["omega"])) < 1e-10);
    // End one swings about spring two, and the other way round.
    assert!(first_is_end_one);
    let nodes: Vec<_> = pair.iter().map(|&mode| ratio(&found.shape, mode, Z, RY)).collect();
    assert!(worst(&nodes, &[-l2, l1]) < 1e-10);
}

#[test]
fn a_tilted_mount_couples_horizontal_and_vertical() {
    let case = instance("cf_C5");
    let [axial, shear, theta] = ["kp", "kq", "theta"].map(|key| number(&case[key]));
    let (s, c) = theta.sin_cos();
    let axes = Matrix3::new(c, 0.0, s, 0.0, 1.0, 0.0, -s, 0.0, c);
    let mount = Mount::new(Vector3::zeros(), [shear, shear, axial])
        .and_then(|m| m.with_axes(axes))
        .unwrap();
    let body = RigidBody::new(1.0, Vector3::zeros(), Matrix3::identity()).unwrap();
    let k = linear(&Installation::new(body, vec![mount]).unwrap()).k;
    let found = [k[(X, X)], k[(Y, Y)], k[(Z, Z)], k[(X, Z)]];
    let stored = ["kxx", "kyy", "kzz", "kxz"].map(|key| number(&case[key]));
    assert!(worst(&found, &stored) < 1e-13);
    let formula = [
        shear * c * c + axial * s * s,
        shear,
        axial * c * c + shear * s * s,
        (axial - shear) * s * c,
    ];
    assert!(worst(&found, &formula) < 1e-13);
    let determinant = k[(X, X)] * k[(Z, Z)] - k[(X, Z)] * k[(X, Z)];
    assert!(worst(&[determinant], &[axial * shear]) < 1e-12);
}

/// Height of the elastic center over inclined mounts, in units of their half spacing.
fn focal_height(axial_over_shear: f64, theta: f64) -> f64 {
    let (r, t) = (axial_over_shear, theta.tan());
    (r - 1.0) * t / (1.0 + r * t * t)
}

#[test]
fn inclined_mounts_put_their_elastic_center_at_the_center_of_mass() {
    let case = instance("cf_C6");
    let inst = machine_of(&case);
    let found = modes(&linear(&inst)).unwrap();
    let [m, axial, shear, degrees, a] =
        ["m", "kp", "kq", "theta_deg", "a"].map(|key| number(&case[key]));
    let height = a * focal_height(axial / shear, degrees.to_radians());
    assert!(worst(&[height], &[number(&case["elastic_centre_height_above_mounts"])]) < 1e-12);
    let center = found.elastic_center.unwrap();
    assert!((center.height_x - inst.body.center().z).abs() < 1e-12);

    let alone = |dof: usize| {
        let mode = (0..6).find(|&mode| found.energy[(mode, dof)] > 1.0 - 1e-9).unwrap();
        found.frequency[mode] * TAU
    };
    let omega = [alone(X), alone(RY), alone(Z)];
    let stored = ["omega_x", "omega_ry", "omega_z"].map(|key| number(&case[key]));
    assert!(worst(&omega, &stored) < 1e-10);
    let (s, c) = degrees.to_radians().sin_cos();
    let kxx = shear * c * c + axial * s * s;
    let pitch = 4.0 * a * a * axial * shear / kxx;
    let jy = triple(&case["J"])[1];
    assert!(worst(&omega[..2], &[(4.0 * kxx / m).sqrt(), (pitch / jy).sqrt()]) < 1e-10);
    assert!(worst(&omegas(&inst.system()), &numbers(&case["omega_6x6"])) < 1e-10);
}

#[test]
fn the_elastic_center_is_highest_at_the_stated_angle() {
    let case = instance("cf_C6");
    let [axial, shear, a] = ["kp", "kq", "a"].map(|key| number(&case[key]));
    let height = |degrees: f64| {
        let turn = |angle: f64| {
            let (s, c) = angle.to_radians().sin_cos();
            Matrix3::new(c, 0.0, s, 0.0, 1.0, 0.0, -s, 0.0, c)
        };
        let mount = |x: f64, y: f64| {
            let axes = turn(-degrees * x.signum());
            Mount::new(Vector3::new(x, y, 0.0), [shear, shear, axial]).unwrap().with_axes(axes)
        };
        let corners = [(a, 0.3), (a, -0.3), (-a, 0.3), (-a, -0.3)];
        let mounts = corners.iter().map(|&(x, y)| mount(x, y).unwrap()).collect();
        let body = RigidBody::new(800.0, Vector3::new(0.0, 0.0, 1.0), Matrix3::identity());
        let inst = Installation::new(body.unwrap(), mounts).unwrap();
        modes(&linear(&inst)).unwrap().elastic_center.unwrap().height_x / a
    };
    let best = number(&case["theta_for_max_deg"]);
    let r: f64 = axial / shear;
    assert!(worst(&[best], &[(1.0 / r.sqrt()).atan().to_degrees()]) < 1e-12);
    let highest = height(best);
    assert!(worst(&[highest], &[number(&case["max_e_over_a"])]) < 1e-10);
    assert!(worst(&[highest], &[(r - 1.0) / (2.0 * r.sqrt())]) < 1e-10);
    assert!(height(best - 0.1) < highest && height(best + 0.1) < highest);
}

#[test]
fn all_six_frequencies_agree_and_a_stiffness_changed_by_a_millionth_would_be_seen() {
    for id in ["cf_C1", "cf_C2", "cf_C3", "cf_C6"] {
        let case = instance(id);
        let (inst, expected) = (machine_of(&case), numbers(&case["omega_6x6"]));
        assert!(worst(&omegas(&inst.system()), &expected) < 1e-10, "{id}");
        let changed = omegas(&stiffened(inst.system(), 1.0 + 1e-6));
        assert!(worst(&changed, &expected) > 1e-7, "{id}");
    }
    for id in ["cf_C4", "cf_C4b"] {
        let linear = stiffened(bar(id).system(), 1.0 + 1e-6).linear();
        let found = modes(&linear).unwrap();
        let pair = modes_within(&found, &[Z, RY]);
        let changed: Vec<_> = pair.iter().map(|&mode| found.frequency[mode] * TAU).collect();
        assert!(worst(&changed, &numbers(&instance(id)["omega"])) > 1e-7, "{id}");
    }
}
