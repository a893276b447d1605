//! A foundation as one mass on one spring: frequency, static sag, force on the subgrade.
//!
//! Source: B. M. Das, Z. Luo, Principles of Soil Dynamics, 3rd ed. 2017, problems 2.2 and 2.3
//! (worked solutions, inputs and outputs read). Units kN, t, m; g = 9.81 m/s^2. Undamped.
//!
//! The forces recomputed in the reference pack belong to the mass rounded to 18.145 t; those of
//! 178 kN / 9.81 differ by 3e-5 and print alike.

use nalgebra::{Matrix3, Vector3};
use std::f64::consts::TAU;
use underfoot::analysis::{modes, transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Axis;

use crate::close::{modes_within, printed, stiffened, worst};
use crate::reference::{load, number};

const CASE: &str = "sixdof/pub_11_das_sdof";
const Z: usize = Axis::Z as usize;

/// Weight W on a spring k under its center of mass.
fn foundation(which: &str) -> Installation {
    let inputs = &load(CASE)["inputs"][which];
    on_spring(number(&inputs["W"]) / 9.81, number(&inputs["k"]))
}

fn on_spring(mass: f64, k: f64) -> Installation {
    let inertia = Matrix3::from_diagonal_element(mass);
    let body = RigidBody::new(mass, Vector3::zeros(), inertia).unwrap();
    let spring = Mount::new(Vector3::zeros(), [0.5 * k, 0.6 * k, k])
        .and_then(|m| m.with_rotational_stiffness([2.0 * k, 3.0 * k, 4.0 * k]))
        .unwrap();
    Installation::new(body, vec![spring]).unwrap().with_gravity(9.81).unwrap()
}

fn vertical_hz(inst: &Installation) -> f64 {
    let found = modes(&inst.system().linear()).unwrap();
    found.frequency[modes_within(&found, &[Z])[0]]
}

fn recomputed(key: &str) -> f64 {
    number(&load(CASE)["recomputed"][key])
}

#[test]
fn frequency_period_and_sag_are_those_printed() {
    let a = foundation("a");
    printed(vertical_hz(&a), 7.88, 2);
    printed(1.0 / vertical_hz(&a), 0.127, 3);
    let sag = -a.system().static_stiffness().cholesky().unwrap().solve(&a.weight_of(&a.body))[Z];
    printed(1000.0 * sag, 4.0, 1);
    let b = foundation("b");
    printed(TAU * vertical_hz(&b), 62.11, 2);
    printed(1.0 / vertical_hz(&b), 0.101, 3);

    let found = [vertical_hz(&a), 1.0 / vertical_hz(&a), 1000.0 * sag, TAU * vertical_hz(&b)];
    let expected = ["fn_a", "T_a", "z_static_mm_a", "wn_b"].map(recomputed);
    assert!(worst(&found, &expected) < 1e-10);
}

/// Force on the subgrade over the force of the machine, with its sign.
fn subgrade(inst: &Installation) -> f64 {
    let hz = number(&load(CASE)["inputs"]["b"]["w_exc"]) / TAU;
    let t = transmissibility(&inst.system().linear(), &[hz], None).unwrap().matrix[[0, Z, Z]];
    assert_eq!(t.im, 0.0, "undamped");
    t.re
}

/// Force on the subgrade in step with the machine's, and that of the free motion which starts
/// with it from rest: r times the first, of opposite sign.
fn forced_and_free(inst: &Installation) -> [f64; 2] {
    let inputs = &load(CASE)["inputs"]["b"];
    let forced = number(&inputs["Q0"]) * subgrade(inst);
    let r = number(&inputs["w_exc"]) / (TAU * vertical_hz(inst));
    [forced, -r * forced]
}

#[test]
fn forces_on_the_subgrade_are_those_printed() {
    let published = &load(CASE)["published"];
    let [forced, free] = forced_and_free(&foundation("b"));
    printed(forced, number(&published["F_subgrade_forced_b"]), 2);
    printed(free, number(&published["F_free_b"]), 2);
}

#[test]
fn recomputed_forces_agree_to_ten_digits_at_the_rounded_mass() {
    let rounded = on_spring(18.145, 70e3);
    let expected = ["F_subgrade_forced_b", "F_free_b"].map(recomputed);
    assert!(worst(&forced_and_free(&rounded), &expected) < 1e-10);
    let off = worst(&forced_and_free(&foundation("b")), &expected);
    assert!((2e-5..4e-5).contains(&off), "{off:e}");
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    let system = stiffened(foundation("b").system(), 1.0 + 1e-6);
    let found = modes(&system.linear()).unwrap();
    let hz = found.frequency[modes_within(&found, &[Z])[0]];
    assert!(worst(&[TAU * hz], &[recomputed("wn_b")]) > 1e-7);
}
