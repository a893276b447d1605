//! Velocity step and acceleration step on a damped isolator.
//!
//! Theory of shock isolation, chapter 31 of C. M. Harris and A. G. Piersol, Harris' Shock and
//! Vibration Handbook, 5th ed. 2002 (from memory); digits of the closed forms in 50-digit
//! arithmetic, see `tests/reference/shock/isolation_steps.json`. A step of the base's velocity is
//! an initial velocity of the mass seen from the base, a step of its acceleration a constant
//! force; the absolute acceleration of the mass is the force of the mount over the mass.

use nalgebra::DVector;
use underfoot::analysis::transient::{Start, Transient};
use underfoot::excitation::Pulse;

use crate::shock_systems::{assert_close, number, reference, single};

/// omega = 1, V = 1.
fn velocity_step(zeta: f64) -> Transient {
    let start = Start { displacement: DVector::zeros(1), velocity: DVector::from_element(1, 1.0) };
    let force = DVector::zeros(1);
    Transient::new(&single(1.0, 1.0, 2.0 * zeta), &[], &force, &start, Some(10.0)).unwrap()
}

/// Greatest displacement and greatest force of the mount.
fn maxima(motion: &Transient) -> [underfoot::analysis::transient::Extreme; 2] {
    let displacement = motion.extrema(&motion.displacement())[0].max;
    [displacement, motion.extrema(&motion.mount_force())[2].max]
}

#[test]
fn velocity_step_on_isolators_of_every_damping_ratio() {
    for row in reference("isolation_steps")["velocity_step"].as_array().unwrap() {
        let [x, a] = maxima(&velocity_step(number(&row["zeta"])));
        let given = |key: &str| number(&row[key]);
        assert_close(x.value, given("delta_max_w_over_V"), 1e-13, "displacement");
        assert_close(a.value, given("a_max_over_wV"), 1e-13, "acceleration");
        assert!((x.time - given("wt_delta")).abs() < 1e-13);
        assert!((a.time - given("wt_a")).abs() < 1e-13);
        assert_close(x.value * a.value, given("product_a_delta_over_V2"), 1e-12, "product");
    }
}

#[test]
fn acceleration_step_on_isolators_of_every_damping_ratio() {
    for row in reference("isolation_steps")["acceleration_step"].as_array().unwrap() {
        let linear = single(1.0, 1.0, 2.0 * number(&row["zeta"]));
        let step = Pulse::rectangular(1.0, 20.0).unwrap().segments();
        let force = DVector::from_element(1, 1.0);
        let motion = Transient::new(&linear, &step, &force, &Start::rest(1), Some(10.0)).unwrap();
        let [x, a] = maxima(&motion);
        let given = |key: &str| number(&row[key]);
        assert_close(x.value, given("delta_max_w2_over_a0"), 1e-13, "displacement");
        assert_close(a.value, given("a_abs_max_over_a0"), 1e-13, "acceleration");
        assert!((a.time - given("wt_a")).abs() < 1e-13);
    }
}

#[test]
fn the_best_damping_ratios_are_0_26_and_0_40() {
    let best = &reference("isolation_steps")["velocity_step_optima"];
    let acceleration = |zeta| maxima(&velocity_step(zeta))[1].value;
    let product = |zeta| maxima(&velocity_step(zeta)).iter().map(|e| e.value).product::<f64>();
    let least = |zeta: f64, value: f64, of: &dyn Fn(f64) -> f64| {
        assert_close(of(zeta), value, 1e-13, "optimum");
        assert!(of(zeta - 1e-3) > of(zeta) && of(zeta + 1e-3) > of(zeta));
    };
    least(number(&best["zeta_min_a"]), number(&best["min_a_over_wV"]), &acceleration);
    least(number(&best["zeta_min_product"]), number(&best["min_product"]), &product);
    // Two digits as printed in the handbook (from memory).
    assert!((acceleration(0.26) - 0.81).abs() < 0.005);
    assert!((product(0.40) - 0.52).abs() < 0.005);
}
