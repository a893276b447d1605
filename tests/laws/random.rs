//! Random machines: full inertia tensors, turned mounts, every mixture of damping.
//!
//! The draws are the same on every run. `UNDERFOOT_LONG=1` takes many more of them;
//! `PROPTEST_CASES` and `PROPTEST_RNG_SEED` set number and seed by hand.

use nalgebra::{DMatrix, Matrix3, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use proptest::test_runner::RngSeed;
use std::env;
use std::f64::consts::PI;
use underfoot::installation::Installation;
use underfoot::machine::{RigidBody, body::turned};
use underfoot::support::Mount;
use underfoot::system::Linear;

/// Forty-eight fixed draws, or thousands.
pub fn config() -> ProptestConfig {
    let given = ProptestConfig::default();
    let long = env::var("UNDERFOOT_LONG").is_ok_and(|v| v == "1");
    let cases = match env::var("PROPTEST_CASES") {
        Ok(_) => given.cases,
        Err(_) if long => 3000,
        Err(_) => 48,
    };
    let rng_seed = match env::var("PROPTEST_RNG_SEED") {
        Ok(_) => given.rng_seed,
        Err(_) => RngSeed::Fixed(0x0f_f007),
    };
    ProptestConfig { cases, rng_seed, failure_persistence: None, ..given }
}

/// A rotation.
pub fn axes() -> impl Strategy<Value = Matrix3<f64>> {
    [-PI..PI, -PI..PI, -PI..PI].prop_map(|[x, y, z]| turned(x, y, z))
}

/// A point in a box of the given half size, m.
pub fn point(half: f64) -> impl Strategy<Value = Vector3<f64>> {
    [-half..half, -half..half, -half..half].prop_map(Vector3::from)
}

/// A number evenly spread over its order of magnitude, 10^low to 10^high.
pub fn magnitude(low: f64, high: f64) -> impl Strategy<Value = f64> {
    (low..high).prop_map(|x| 10f64.powf(x))
}

/// Hz.
pub fn frequency() -> impl Strategy<Value = f64> {
    magnitude(-0.5, 2.0)
}

/// A turned box of 0.1 to 50 t.
pub fn body() -> impl Strategy<Value = RigidBody> {
    (magnitude(2.0, 4.7), [0.4..3.0, 0.4..3.0, 0.4..3.0f64], axes(), point(1.0)).prop_map(
        |(mass, [a, b, c], axes, center)| {
            let moments = Vector3::new(b * b + c * c, c * c + a * a, a * a + b * b);
            let own = Matrix3::from_diagonal(&(moments * (mass / 12.0)));
            RigidBody::new(mass, center, axes * own * axes.transpose()).unwrap()
        },
    )
}

/// A turned mount with three stiffnesses and none, one or both kinds of damping.
pub fn mount() -> impl Strategy<Value = Mount> {
    let triple = |low, high| [magnitude(low, high), magnitude(low, high), magnitude(low, high)];
    let some = || prop::bool::weighted(0.7);
    (point(1.0), axes(), triple(5.0, 7.0), triple(2.0, 4.5), triple(-2.0, -0.5), some(), some())
        .prop_map(|(at, axes, k, c, eta, viscous, hysteretic)| {
            let none = [0.0; 3];
            Mount::new(at, k)
                .and_then(|m| m.with_axes(axes))
                .and_then(|m| m.with_damping(if viscous { c } else { none }))
                .and_then(|m| m.with_loss_factor(if hysteretic { eta } else { none }))
                .unwrap()
        })
}

/// A machine on four to eight mounts, each somewhere about a corner of its own.
pub fn machine() -> impl Strategy<Value = Installation> {
    (body(), prop::collection::vec(mount(), 4..=8)).prop_map(|(body, mut mounts)| {
        for (i, mount) in mounts.iter_mut().enumerate() {
            let side = |bit: usize| if i >> bit & 1 == 1 { 1.2 } else { -1.2 };
            mount.position += Vector3::new(side(0), side(1), side(2));
        }
        Installation::new(body, mounts).unwrap()
    })
}

/// A machine without any damping.
pub fn undamped_machine() -> impl Strategy<Value = Installation> {
    machine().prop_map(|mut inst| {
        for mount in &mut inst.mounts {
            mount.damping = [0.0; 3];
            mount.loss_factor = [0.0; 3];
        }
        inst
    })
}

/// A complex load on six degrees of freedom, N and N m.
pub fn load() -> impl Strategy<Value = Vec<Complex64>> {
    prop::collection::vec((-1e3..1e3, -1e3..1e3), 6)
        .prop_map(|v| v.into_iter().map(|(re, im): (f64, f64)| Complex64::new(re, im)).collect())
}

/// Every stiffness of the mounts times a factor.
pub fn stiffened(inst: &Installation, factor: f64) -> Installation {
    let mut out = inst.clone();
    for mount in &mut out.mounts {
        mount.stiffness = mount.stiffness.map(|k| k * factor);
        mount.static_stiffness = mount.static_stiffness.map(|k| k * factor);
    }
    out
}

/// Z = K + j H + j omega C - omega^2 M, put together anew.
pub fn dynamic_stiffness(linear: &Linear, omega: f64) -> DMatrix<Complex64> {
    let n = linear.size();
    DMatrix::from_fn(n, n, |i, j| {
        Complex64::new(
            linear.k[(i, j)] - omega * omega * linear.m[(i, j)],
            linear.h[(i, j)] + omega * linear.c[(i, j)],
        )
    })
}

/// Largest difference between two sets of motions, relative to the largest motion; rotations count
/// by their inertia, so that meters and radians compare.
pub fn motion_error(
    linear: &Linear,
    found: impl Fn(usize) -> Complex64,
    expected: impl Fn(usize) -> Complex64,
) -> f64 {
    let weigh = |i: usize| linear.m[(i, i)].sqrt();
    let all = 0..linear.size();
    let size = all.clone().map(|i| expected(i).norm() * weigh(i)).fold(0.0, f64::max);
    all.map(|i| (found(i) - expected(i)).norm() * weigh(i)).fold(0.0, f64::max) / size
}
