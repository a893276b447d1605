//! Nothing wrong is computed with: each refusal names the argument, its value with the unit, and
//! what is required.

use nalgebra::{Matrix3, Vector3};
use num_complex::Complex64;
use std::f64::consts::TAU;
use underfoot::Error;
use underfoot::analysis::response::receptance;
use underfoot::analysis::{modes, response, transmissibility, vertical_transmissibility};
use underfoot::installation::{Case, Installation, Point, Wrench, direction, unit_vector};
use underfoot::machine::RigidBody;
use underfoot::support::{LoadRange, Mount};
use underfoot::system::Linear;

/// The message has every one of these words, and a remedy after the requirement.
#[track_caller]
fn says<T: std::fmt::Debug>(result: Result<T, Error>, words: &[&str]) {
    let error = result.expect_err("this must be refused");
    let text = error.to_string();
    for word in words {
        assert!(text.contains(word), "{word:?} is missing: {text}");
    }
    match error {
        Error::Invalid { argument, value, requirement, remedy } => {
            for part in [argument, value, requirement, remedy] {
                assert!(!part.trim().is_empty(), "an empty part: {text}");
            }
        }
        Error::FreeMotion { remedy, .. } => assert!(!remedy.is_empty(), "{text}"),
        Error::Shape { .. } | Error::Unknown { .. } => {}
        other => panic!("not an error of input: {other:?}"),
    }
}

fn tensor() -> Matrix3<f64> {
    Matrix3::new(900.0, -40.0, 60.0, -40.0, 700.0, 20.0, 60.0, 20.0, 800.0)
}

fn body() -> RigidBody {
    RigidBody::new(2000.0, Vector3::new(0.0, 0.0, 0.8), tensor()).unwrap()
}

fn body_with(change: impl Fn(&mut Matrix3<f64>)) -> Result<RigidBody, Error> {
    let mut inertia = tensor();
    change(&mut inertia);
    RigidBody::new(2000.0, Vector3::zeros(), inertia)
}

fn mount(x: f64, y: f64) -> Mount {
    Mount::new(Vector3::new(x, y, 0.0), [4e5, 5e5, 9e5]).unwrap()
}

fn four() -> Vec<Mount> {
    vec![mount(0.7, 0.5), mount(0.7, -0.5), mount(-0.7, 0.5), mount(-0.7, -0.5)]
}

fn linear() -> Linear {
    let points = vec![Point { name: "bolster".into(), at: Vector3::new(0.1, 0.2, 1.0) }];
    let inst = Installation::new(body(), four()).unwrap().with_points(points).unwrap();
    inst.system().linear()
}

#[test]
fn a_mass_must_be_a_positive_number() {
    let with = |mass: f64| RigidBody::new(mass, Vector3::zeros(), tensor());
    says(with(-5.0), &["mass = -5 kg", "greater than zero"]);
    says(with(0.0), &["mass = 0 kg", "greater than zero"]);
    says(with(f64::NAN), &["mass = NaN kg", "finite"]);
    says(with(f64::INFINITY), &["mass = inf kg", "finite"]);
}

#[test]
fn a_center_of_mass_must_be_finite() {
    let with = |y: f64| RigidBody::new(1.0, Vector3::new(0.0, y, 0.0), tensor());
    says(with(f64::NAN), &["center[1] = NaN m", "finite"]);
    says(with(f64::NEG_INFINITY), &["center[1] = -inf m", "finite"]);
}

#[test]
fn an_inertia_must_be_that_of_a_real_body() {
    says(body_with(|j| j[(0, 2)] = f64::NAN), &["inertia[0][2] = NaN kg m^2", "finite"]);
    says(body_with(|j| j[(2, 1)] = f64::INFINITY), &["inertia[2][1] = inf kg m^2", "finite"]);
    says(body_with(|j| j[(1, 0)] = 40.0), &["inertia", "kg m^2", "symmetric", "80"]);
    says(body_with(|j| j[(1, 1)] = -700.0), &["inertia", "kg m^2", "positive definite"]);
    says(body_with(|j| *j *= 0.0), &["inertia", "kg m^2", "positive definite"]);
    says(body_with(|j| j[(2, 2)] = 1800.0), &["inertia", "kg m^2", "triangle inequality"]);
    let product_too_large = |j: &mut Matrix3<f64>| {
        j[(0, 1)] = -850.0;
        j[(1, 0)] = -850.0;
    };
    says(body_with(product_too_large), &["inertia", "kg m^2", "positive definite"]);
}

#[test]
fn a_flat_plate_is_still_a_body() {
    let plate = Matrix3::from_diagonal(&Vector3::new(1.0, 2.0, 3.0));
    assert!(RigidBody::new(1.0, Vector3::zeros(), plate).is_ok());
}

#[test]
fn axes_must_be_orthonormal_and_right_handed() {
    let with = |axes: Matrix3<f64>| mount(0.0, 0.0).with_axes(axes);
    let mirror = Matrix3::from_diagonal(&Vector3::new(1.0, 1.0, -1.0));
    says(with(mirror), &["axes", "right-handed", "determinant"]);
    let skew = Matrix3::new(1.0, 0.1, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0);
    says(with(skew), &["axes", "orthogonal unit vectors", "0.1"]);
    says(with(Matrix3::identity() * 2.0), &["axes", "orthogonal unit vectors"]);
    says(with(Matrix3::from_element(f64::NAN)), &["axes", "NaN", "finite"]);
    says(body().placed(&Vector3::zeros(), &mirror), &["axes", "right-handed"]);
    says(body().in_frame(&Vector3::zeros(), &skew), &["axes", "orthogonal"]);
}

#[test]
fn a_mount_must_stand_somewhere() {
    let with = |z: f64| Mount::new(Vector3::new(0.0, 0.0, z), [1.0; 3]);
    says(with(f64::NAN), &["position[2] = NaN m", "finite"]);
    says(with(f64::INFINITY), &["position[2] = inf m", "finite"]);
}

#[test]
fn no_property_of_a_mount_may_be_negative_or_infinite() {
    let one = |i: usize, x: f64| {
        let mut values = [1.0; 3];
        values[i] = x;
        values
    };
    let base = || mount(0.0, 0.0);
    says(Mount::new(Vector3::zeros(), one(2, -3.0)), &["stiffness[2] = -3 N/m", "not be negative"]);
    says(base().with_stiffness(one(0, f64::NAN)), &["stiffness[0] = NaN N/m", "finite"]);
    says(
        base().with_static_stiffness(one(1, -2.0)),
        &["static_stiffness[1] = -2 N/m", "not be negative"],
    );
    says(base().with_damping(one(1, -0.5)), &["damping[1] = -0.5 N s/m", "not be negative"]);
    says(base().with_damping(one(0, f64::INFINITY)), &["damping[0] = inf N s/m", "finite"]);
    says(base().with_loss_factor(one(2, -0.1)), &["loss_factor[2] = -0.1", "not be negative"]);
    says(base().with_loss_factor(one(2, f64::NAN)), &["loss_factor[2] = NaN", "finite"]);
    says(
        base().with_rotational_stiffness(one(0, -4.0)),
        &["rotational_stiffness[0] = -4 N m/rad", "not be negative"],
    );
}

#[test]
fn a_mount_cannot_hold_at_rest_only_or_in_motion_only() {
    says(
        mount(0.0, 0.0).with_static_stiffness([4e5, 0.0, 9e5]),
        &["static_stiffness[1] = 0 N/m", "zero exactly where stiffness is", "500000 N/m"],
    );
}

#[test]
fn limits_of_load_must_be_in_order() {
    says(LoadRange::new(Some(-1.0), None, None), &["min = -1 N", "not be negative"]);
    says(LoadRange::new(Some(50.0), Some(20.0), None), &["max = 20 N", "less than min (50 N)"]);
    says(
        LoadRange::new(None, Some(20.0), Some(10.0)),
        &["dynamic_max = 10 N", "less than max (20 N)"],
    );
    says(LoadRange::new(None, Some(f64::NAN), None), &["max = NaN N", "finite"]);
}

#[test]
fn an_installation_needs_mounts_that_hold_and_names_that_differ() {
    says(Installation::new(body(), vec![]), &["mounts = []", "at least one mount"]);
    let mut limp = four();
    limp[2] = Mount::new(Vector3::zeros(), [0.0; 3]).unwrap();
    says(Installation::new(body(), limp), &["mounts[2].stiffness = 0 N/m", "greater than zero"]);
    let mut twins = four();
    twins[0].name = "left".into();
    twins[3].name = "left".into();
    says(Installation::new(body(), twins), &["mounts", "\"left\" twice", "must differ"]);
}

#[test]
fn gravity_must_be_positive() {
    let with = |g: f64| Installation::new(body(), four()).unwrap().with_gravity(g);
    says(with(0.0), &["gravity = 0 m/s^2", "greater than zero"]);
    says(with(-9.81), &["gravity = -9.81 m/s^2", "greater than zero"]);
    says(with(f64::NAN), &["gravity = NaN m/s^2", "finite"]);
}

#[test]
fn points_and_cases_must_be_known_and_differ() {
    let inst = || Installation::new(body(), four()).unwrap();
    let point = |name: &str, x: f64| Point { name: name.into(), at: Vector3::new(x, 0.0, 0.0) };
    says(inst().point("bolster"), &["point", "\"bolster\"", "no named points"]);
    let named = inst().with_points(vec![point("crown", 0.0)]).unwrap();
    says(named.point("bolster"), &["\"bolster\"", "named points are \"crown\""]);
    says(
        inst().with_points(vec![point("crown", 0.0), point("crown", 1.0)]),
        &["points", "\"crown\" twice", "must differ"],
    );
    says(
        inst().with_points(vec![point("crown", f64::NAN)]),
        &["points[\"crown\"][0] = NaN m", "finite"],
    );
    let case = |name: &str| Case { name: name.into(), body: body(), loads: vec![] };
    says(
        inst().with_cases(vec![case("die out"), case("die out")]),
        &["cases", "\"die out\" twice", "must differ"],
    );
    let cases = inst().with_cases(vec![case("die out")]).unwrap();
    says(cases.case(Some("die in")), &["case", "\"die in\"", "\"die out\""]);
}

#[test]
fn a_wrench_must_be_finite() {
    let zero = Vector3::zeros();
    let bad = |i: usize, x: f64| {
        let mut v = zero;
        v[i] = x;
        v
    };
    says(Wrench::new(bad(1, f64::NAN), zero, None), &["force[1] = NaN N", "finite"]);
    says(Wrench::new(zero, bad(2, f64::INFINITY), None), &["moment[2] = inf N m", "finite"]);
    says(Wrench::new(zero, zero, Some(bad(0, f64::NAN))), &["at[0] = NaN m", "finite"]);
}

#[test]
fn a_direction_is_never_normalized_in_silence() {
    says(direction("direction", "up"), &["direction", "\"up\"", "x, y, z"]);
    says(
        unit_vector("direction", Vector3::new(0.0, 3.0, 4.0)),
        &["direction = (0, 3, 4)", "length 1 (it has 5)", "(0, 0.6, 0.8)"],
    );
    says(unit_vector("direction", Vector3::zeros()), &["direction = (0, 0, 0)", "length 1"]);
    says(unit_vector("direction", Vector3::new(f64::NAN, 0.0, 0.0)), &["NaN", "length 1"]);
}

/// Every analysis over frequency, with these frequencies.
fn over(frequency: &[f64]) -> Vec<Result<(), Error>> {
    let linear = linear();
    let port = linear.port("bolster").unwrap();
    vec![
        transmissibility(&linear, frequency, None).map(|_| ()),
        vertical_transmissibility(&linear, frequency).map(|_| ()),
        response(&linear, frequency, &[Complex64::ONE; 6]).map(|_| ()),
        receptance(&linear, frequency, port, port).map(|_| ()),
    ]
}

#[test]
fn frequencies_must_be_finite_not_negative_and_ascending() {
    let cases: [(&[f64], [&str; 2]); 6] = [
        (&[], ["frequency = []", "not be empty"]),
        (&[1.0, -2.0], ["frequency[1] = -2 Hz", "not be negative"]),
        (&[1.0, 2.0, f64::NAN], ["frequency[2] = NaN Hz", "finite"]),
        (&[f64::INFINITY], ["frequency[0] = inf Hz", "finite"]),
        (&[1.0, 3.0, 2.5], ["frequency[2] = 2.5 Hz", "greater than the one before (3 Hz)"]),
        (&[1.0, 3.0, 3.0], ["frequency[2] = 3 Hz", "greater than the one before (3 Hz)"]),
    ];
    for (frequency, words) in cases {
        for result in over(frequency) {
            says(result, &words);
        }
    }
    assert!(over(&[0.0, 1.0, 30.0]).into_iter().all(|result| result.is_ok()));
}

#[test]
fn a_load_must_be_finite_and_cover_every_degree_of_freedom() {
    let with = |load: &[Complex64]| response(&linear(), &[5.0], load);
    says(with(&[Complex64::ONE; 5]), &["load", "5", "6"]);
    says(with(&[Complex64::ONE; 7]), &["load", "7", "6"]);
    let mut load = [Complex64::ONE; 6];
    load[4] = Complex64::new(0.0, f64::NAN);
    says(with(&load), &["load[4]", "NaN", "N m", "finite"]);
    load[4] = Complex64::ONE;
    load[1] = Complex64::new(f64::INFINITY, 0.0);
    says(with(&load), &["load[1]", "inf", "N", "finite"]);
}

#[test]
fn a_source_must_be_finite() {
    let at = Vector3::new(0.0, f64::NAN, 0.0);
    says(transmissibility(&linear(), &[5.0], Some(at)), &["source[1] = NaN m", "finite"]);
}

#[test]
fn a_motion_that_no_mount_resists_is_named() {
    let with = |k: [f64; 3]| {
        let mounts = four().into_iter().map(|m| m.with_stiffness(k).unwrap()).collect();
        modes(&Installation::new(body(), mounts).unwrap().system().linear())
    };
    says(with([4e5, 0.0, 9e5]), &["free to slide along y", "mount"]);
    says(
        with([0.0, 0.0, 9e5]),
        &["free to slide along x", "free to slide along y", "free to turn about z"],
    );
    let two = vec![mount(0.7, 0.3), mount(-0.7, 0.3)];
    says(
        modes(&Installation::new(body(), two).unwrap().system().linear()),
        &["free to turn about a line through (0, 0.3, 0) m along x"],
    );
    let one = vec![mount(0.2, -0.1)];
    let all = modes(&Installation::new(body(), one).unwrap().system().linear()).unwrap_err();
    assert_eq!(all.to_string().matches("free to turn").count(), 3, "{all}");
}

/// k = omega^2 m to the last bit, along z alone.
fn resonant_at(hz: f64) -> Linear {
    let omega = hz * TAU;
    let k = omega * omega;
    let inertia = Matrix3::identity();
    let body = RigidBody::new(1.0, Vector3::zeros(), inertia).unwrap();
    let spring = Mount::new(Vector3::zeros(), [2.0 * k, 3.0 * k, k])
        .and_then(|m| m.with_rotational_stiffness([5.0 * k; 3]))
        .unwrap();
    Installation::new(body, vec![spring]).unwrap().system().linear()
}

#[test]
fn an_undamped_resonance_that_is_hit_exactly_is_refused_by_its_frequency() {
    let linear = resonant_at(3.0);
    let words = ["frequency[1] = 3 Hz", "undamped resonance", "damping or a loss factor"];
    says(transmissibility(&linear, &[1.0, 3.0, 9.0], None), &words);
    says(vertical_transmissibility(&linear, &[1.0, 3.0, 9.0]), &words);
    says(response(&linear, &[1.0, 3.0, 9.0], &[Complex64::ONE; 6]), &words);
    // A hair beside it there is an answer, and it is huge.
    let beside = vertical_transmissibility(&linear, &[3.0 * (1.0 + 1e-9)]).unwrap()[0];
    assert!((beside * 2e-9 - 1.0).abs() < 1e-6, "{beside}");
}

#[test]
fn a_direction_without_stiffness_has_no_answer_at_rest() {
    let mounts = four().into_iter().map(|m| m.with_stiffness([4e5, 0.0, 9e5]).unwrap()).collect();
    let linear = Installation::new(body(), mounts).unwrap().system().linear();
    says(transmissibility(&linear, &[0.0], None), &["frequency[0] = 0 Hz", "infinite"]);
    // In motion its inertia answers, and nothing of a force along y reaches the floor.
    let t = transmissibility(&linear, &[5.0], None).unwrap().matrix;
    assert!(t[[0, 1, 1]].norm() < 1e-12);
}

#[test]
fn an_error_tells_its_place_inside_what_it_is_part_of() {
    let error = mount(0.0, 0.0).with_damping([-1.0; 3]).unwrap_err().within("mounts[3]");
    assert!(error.to_string().starts_with("mounts[3].damping[0] = -1 N s/m"), "{error}");
}
