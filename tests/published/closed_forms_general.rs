//! Machines without symmetry: frames, sums, products, principal axes, a moving floor, six struts.
//!
//! Source: cases C8 to C17 of the project's reference pack: own derivations there of standard
//! textbook results, each held against a general 6 x 6 eigenvalue program on 200 random draws.
//! C15 cf. Harris' Shock and Vibration Handbook, 5th ed. 2002, Eqs. (3.55), (3.56) (equation
//! numbers read, the formulas not). C12, C14 and C17 state a law without numbers: they are tried
//! here on the machine of C8 or on struts of our own, and on random machines among the laws.

use nalgebra::{DMatrix, DVector, Matrix3, Matrix6, Vector3};
use num_complex::Complex64;
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::analysis::{modes, response, transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::{RigidBody, body::turned};
use underfoot::support::Mount;
use underfoot::system::{Linear, wrench_transfer};

use crate::cases::{machine_of, tensor};
use crate::close::{omegas, stiffened, worst};
use crate::reference::{load, number, numbers, triple};

fn instance(id: &str) -> Value {
    load(&format!("sixdof/{id}"))["instance"].clone()
}

/// Three turned mounts under a full inertia tensor.
fn lopsided() -> Installation {
    machine_of(&instance("cf_C8"))
}

#[test]
fn equations_about_another_point_have_the_same_frequencies() {
    let case = instance("cf_C8");
    let linear = lopsided().system().linear();
    // Motion of the center of mass from that of P = d: q = T q_P, with T' moving wrenches to P.
    let d = Vector3::from(triple(&case["shift"]));
    let t = wrench_transfer(&Vector3::zeros(), &d);
    let t = DMatrix::from_column_slice(6, 6, t.as_slice());
    let (m, k) = (&t * &linear.m * t.transpose(), &t * &linear.k * t.transpose());
    assert!((&m - &linear.m).amax() > 1.0, "the mass matrix must have changed");
    let found = modes(&Linear { m, k, ..linear }).unwrap().frequency;
    let found: Vec<_> = found.iter().map(|f| f * TAU).collect();
    let expected = numbers(&case["omega"]);
    assert!(worst(&found, &expected) < 1e-10);
    assert!(worst(&omegas(&lopsided().system()), &expected) < 1e-10);
}

#[test]
fn a_machine_seen_from_another_origin_has_the_same_frequencies() {
    let case = instance("cf_C8");
    let offset = Vector3::from(triple(&case["shift"]));
    let mut inst = lopsided();
    inst.body = inst.body.placed(&offset, &Matrix3::identity()).unwrap();
    for mount in &mut inst.mounts {
        mount.position += offset;
    }
    assert!(worst(&omegas(&inst.system()), &numbers(&case["omega"])) < 1e-10);
}

#[test]
fn squared_frequencies_sum_and_multiply_to_trace_and_determinant() {
    let case = instance("cf_C9");
    // The machine of C8, as mass and tensor say.
    let inst = lopsided();
    assert_eq!(inst.body.mass(), number(&case["m"]));
    assert_eq!(*inst.body.inertia(), tensor(&case["J"]));

    let squares: Vec<_> = omegas(&inst.system()).iter().map(|w| w * w).collect();
    let (sum, product) = (squares.iter().sum::<f64>(), squares.iter().product::<f64>());
    assert!(worst(&[sum, product], &[number(&case["sum_w2"]), number(&case["prod_w2"])]) < 1e-10);

    let k = inst.system().linear().k;
    let springs: f64 = inst.mounts.iter().flat_map(|p| p.stiffness).sum();
    let turning = inst.body.inertia().try_inverse().unwrap() * k.fixed_view::<3, 3>(3, 3);
    let masses = inst.body.mass().powi(3) * inst.body.inertia().determinant();
    let formula = [springs / inst.body.mass() + turning.trace(), k.determinant() / masses];
    assert!(worst(&[sum, product], &formula) < 1e-10);
}

/// A full inertia tensor on eight equal springs at the corners of a cube.
fn on_a_cube(scale: f64) -> Installation {
    let case = instance("cf_C11");
    let (k, l) = (number(&case["k"]) * scale, number(&case["half_edge"]));
    let corner = |i: usize| {
        let side = |bit: usize| if i >> bit & 1 == 1 { l } else { -l };
        Mount::new(Vector3::new(side(0), side(1), side(2)), [k; 3]).unwrap()
    };
    let body = RigidBody::new(number(&case["m"]), Vector3::zeros(), tensor(&case["J"])).unwrap();
    Installation::new(body, (0..8).map(corner).collect()).unwrap()
}

#[test]
fn on_a_cubic_support_a_full_tensor_turns_about_its_principal_axes() {
    let case = instance("cf_C11");
    let (k, l) = (number(&case["k"]), number(&case["half_edge"]));
    let mut principal = numbers(&case["principal_J"]);
    let formula = |j: &f64| (16.0 * k * l * l / j).sqrt();
    let mut expected: Vec<_> = principal.iter().map(formula).collect();
    expected.extend([(8.0 * k / number(&case["m"])).sqrt(); 3]);
    expected.sort_by(f64::total_cmp);
    let mut stored = numbers(&case["omega"]);
    stored.sort_by(f64::total_cmp);

    let inst = on_a_cube(1.0);
    let found = omegas(&inst.system());
    assert!(worst(&found, &expected) < 1e-10);
    assert!(worst(&found, &stored) < 1e-10);
    let mut moments: Vec<_> = inst.body.principal().0.iter().copied().collect();
    moments.sort_by(f64::total_cmp);
    principal.sort_by(f64::total_cmp);
    assert!(worst(&moments, &principal) < 1e-12);

    // In principal axes each of the three turning modes is one degree of freedom alone.
    let table = modes(&inst.system().linear()).unwrap().energy;
    let pure = (0..6).filter(|&mode| (3..6).any(|i| table[(mode, i)] > 1.0 - 1e-9)).count();
    assert_eq!(pure, 3);
}

#[test]
fn turning_machine_and_mounts_together_keeps_the_frequencies() {
    let expected = numbers(&instance("cf_C8")["omega"]);
    for axes in [turned(0.3, -1.2, 2.5), turned(-2.0, 0.7, 0.1)] {
        let mut inst = lopsided();
        inst.body = inst.body.placed(&Vector3::zeros(), &axes).unwrap();
        for mount in &mut inst.mounts {
            mount.position = axes * mount.position;
            mount.axes = axes * mount.axes;
        }
        assert!(worst(&omegas(&inst.system()), &expected) < 1e-10);
    }
}

/// Load on the machine from a floor that moves by the unit motions, j-th column, about the center
/// of mass: sum of B D W' with W the mount's wrench on the floor.
fn floor_drive(inst: &Installation, omega: f64) -> DMatrix<Complex64> {
    let linear = inst.system().linear();
    let mut load = DMatrix::zeros(6, 6);
    for (element, foot) in linear.grounded() {
        let d = element.k.map(Complex64::from)
            + (&element.h + &element.c * omega).map(|x| Complex64::new(0.0, x));
        let w = foot.about(&linear.reference);
        load += element.b.map(Complex64::from) * d * w.transpose().map(Complex64::from);
    }
    load
}

#[test]
fn force_transmissibility_is_the_transpose_of_motion_transmissibility() {
    let mut inst = lopsided();
    for (i, mount) in inst.mounts.iter_mut().enumerate() {
        mount.damping = [60.0 + 10.0 * i as f64; 3];
        mount.loss_factor = [0.03 * (i + 1) as f64; 3];
    }
    let linear = inst.system().linear();
    for hz in [2.0, 11.0, 17.0, 60.0] {
        let force = transmissibility(&linear, &[hz], None).unwrap().matrix;
        let drive = floor_drive(&inst, hz * TAU);
        for j in 0..6 {
            let column: Vec<_> = drive.column(j).iter().copied().collect();
            let motion = response(&linear, &[hz], &column).unwrap().displacement;
            for i in 0..6 {
                let error = (motion[[0, i]] - force[[0, j, i]]).norm();
                assert!(error < 1e-12 * (1.0 + force[[0, j, i]].norm()), "{hz} Hz {i} {j}");
            }
        }
    }
}

#[test]
fn a_floor_that_moves_sideways_sways_and_rocks_the_machine() {
    let case = instance("cf_C15");
    let value = |key: &str| number(&case[key]);
    let [m, jy, kx, kz, a, h, w] = ["m", "Jy", "kx", "kz", "a", "h", "w"].map(value);
    let body = |j: f64| {
        RigidBody::new(m, Vector3::zeros(), Matrix3::from_diagonal(&Vector3::new(j, jy, j)))
    };
    let corners = [(a, 0.4), (a, -0.4), (-a, 0.4), (-a, -0.4)];
    let mounts =
        corners.map(|(x, y)| Mount::new(Vector3::new(x, y, -h), [kx, 0.9 * kx, kz]).unwrap());
    let inst = Installation::new(body(0.9 * jy).unwrap(), mounts.to_vec()).unwrap();

    // Both ways: through a moving floor, and as the transpose of the force transmissibility.
    let column: Vec<_> = floor_drive(&inst, w).column(0).iter().copied().collect();
    let motion = response(&inst.system().linear(), &[w / TAU], &column).unwrap().displacement;
    let force = transmissibility(&inst.system().linear(), &[w / TAU], None).unwrap().matrix;

    let (kxx, ktt, kxt) = (4.0 * kx, 4.0 * (kx * h * h + kz * a * a), -4.0 * kx * h);
    let (sway, rock) = (kxx - w * w * m, ktt - w * w * jy);
    let determinant = sway * rock - kxt * kxt;
    let formula = [(kxx * rock - kxt * kxt) / determinant, -w * w * m * kxt / determinant];
    for found in
        [[motion[[0, 0]].re, motion[[0, 4]].re], [force[[0, 0, 0]].re, force[[0, 0, 4]].re]]
    {
        assert!(worst(&found, &[value("x_over_u"), value("ry_over_u")]) < 1e-10);
        assert!(worst(&found, &formula) < 1e-10);
    }
}

/// Six struts that hold a body without redundancy: point, direction and axial stiffness of each.
fn six_struts() -> (Installation, f64) {
    let struts = [
        ([0.9, 0.6, -0.5], [0.3, 0.1, 1.0], 4.0e6),
        ([-0.8, 0.7, -0.4], [-0.2, 0.3, 1.0], 3.0e6),
        ([-0.7, -0.8, -0.6], [0.1, -0.4, 1.0], 5.0e6),
        ([0.8, -0.5, 0.2], [1.0, 0.2, -0.1], 1.5e6),
        ([0.1, 0.9, -0.3], [0.2, 1.0, 0.3], 2.0e6),
        ([-0.9, 0.1, 0.4], [-0.1, 1.0, 0.2], 2.5e6),
    ];
    let inertia = Matrix3::new(310.0, -25.0, 40.0, -25.0, 420.0, 15.0, 40.0, 15.0, 380.0);
    let body = RigidBody::new(1300.0, Vector3::zeros(), inertia).unwrap();
    let mut g = Matrix6::zeros();
    let mut stiffness = 1.0;
    let mut mounts = Vec::new();
    for (i, (at, along, k)) in struts.into_iter().enumerate() {
        let (r, u) = (Vector3::from(at), Vector3::from(along).normalize());
        g.fixed_view_mut::<1, 3>(i, 0).copy_from(&u.transpose());
        g.fixed_view_mut::<1, 3>(i, 3).copy_from(&r.cross(&u).transpose());
        stiffness *= k;
        // Any frame whose third axis is the strut.
        let side = u.cross(&Vector3::new(0.577, 0.577, -0.577)).normalize();
        let axes = Matrix3::from_columns(&[side, u.cross(&side), u]);
        mounts.push(Mount::new(r, [0.0, 0.0, k]).unwrap().with_axes(axes).unwrap());
    }
    let masses = body.mass().powi(3) * inertia.determinant();
    let product = stiffness * g.determinant().powi(2) / masses;
    (Installation::new(body, mounts).unwrap(), product)
}

#[test]
fn on_six_struts_the_product_of_squared_frequencies_is_known() {
    let (inst, product) = six_struts();
    let omega = DVector::from_vec(omegas(&inst.system()));
    assert!(worst(&[omega.map(|w| w * w).product()], &[product]) < 1e-10);
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let stiffer = |inst: &Installation| omegas(&stiffened(inst.system(), 1.0 + 1e-6));
    assert!(worst(&stiffer(&lopsided()), &numbers(&instance("cf_C8")["omega"])) > 1e-7);
    let mut cube = numbers(&instance("cf_C11")["omega"]);
    cube.sort_by(f64::total_cmp);
    assert!(worst(&stiffer(&on_a_cube(1.0)), &cube) > 1e-7);
    assert!(worst(&omegas(&on_a_cube(1.0 + 1e-6).system()), &cube) > 1e-7);
    let (inst, product) = six_struts();
    let found: f64 = stiffer(&inst).iter().map(|w| w * w).product();
    assert!(worst(&[found], &[product]) > 1e-7);
    let squares: Vec<_> = stiffer(&lopsided()).iter().map(|w| w * w).collect();
    let expected = number(&instance("cf_C9")["sum_w2"]);
    assert!(worst(&[squares.iter().sum()], &[expected]) > 1e-7);
}
