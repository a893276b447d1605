//! Finite compression of a bonded rubber disc, two forms (`mounts/finite_compression`), and a
//! snubbed rebound (`mounts/snubber`).
//!
//! Sources stand in the files; the forms are from memory or derived, the numbers were computed by
//! others, one column twice. Tolerance 1e-10: the for closed forms.

use approx::assert_relative_eq;
use std::f64::consts::PI;
use underfoot::law::Curve;
use underfoot::support::rebound;

use crate::reference::{load, number};

#[test]
fn both_forms_of_finite_compression_give_load_and_tangent() {
    let case = load("mounts/finite_compression");
    let mm = |key: &str| 1e-3 * number(&case[key]);
    let (d, t) = (mm("diameter_mm"), mm("thickness_mm"));
    let (e, phi) = (1e6 * number(&case["E0_MPa"]), number(&case["phi"]));
    let (area, s) = (PI * d * d / 4.0, d / (4.0 * t));
    let a = area * e / 3.0;
    let v1 = Curve::compression(t, vec![(a * (1.0 + 2.0 * phi * s * s), -2.0, 1.0)]).unwrap();
    let bulge = area * e * phi * s * s / 2.0;
    let v2 = Curve::compression(t, vec![(a, -2.0, 1.0), (bulge, -4.0, 0.0)]).unwrap();
    for row in case["rows"].as_array().unwrap() {
        let u = number(&row["eps"]) * t;
        let force = |curve: &Curve| curve.force(u).unwrap();
        let close = |found: f64, key: &str| {
            assert_relative_eq!(found, number(&row[key]), max_relative = 1e-10);
        };
        close(v1.tangent(0.0).unwrap() * u, "F_lin");
        close(force(&v1), "F_var1");
        close(force(&v2), "F_var2");
        close(force(&v2), "F_var2_quad");
        close(v2.tangent(u).unwrap() / v2.tangent(0.0).unwrap(), "tangent_over_initial_v2");
        assert_relative_eq!(v2.deflection(force(&v2)).unwrap(), u, max_relative = 1e-12);
    }
    let stiffer = Curve::compression(t, vec![(a * (1.0 + 1e-6), -2.0, 1.0)]).unwrap();
    let plain = Curve::compression(t, vec![(a, -2.0, 1.0)]).unwrap();
    let ratio = stiffer.force(1e-3).unwrap() / plain.force(1e-3).unwrap();
    assert!((ratio - 1.0).abs() > 1e-7, "a millionth would be seen");
}

#[test]
fn a_snubbed_rebound_ends_where_its_energy_is_stored() {
    let case = load("mounts/snubber");
    let n = |key: &str| number(&case[key]);
    let found = rebound(n("m"), n("k1"), n("k2"), n("gap"), n("v0")).unwrap();
    assert!(found.touches);
    assert_relative_eq!(found.deflection, n("x_max"), max_relative = 1e-10);
    assert_relative_eq!(found.force, n("Fmax"), max_relative = 1e-10);
    assert_relative_eq!(found.force_without_stop, n("Fmax_linear"), max_relative = 1e-10);
    // The motion was integrated to some 4e-12 m.
    assert!((found.deflection - n("x_max_ode")).abs() < 1e-11);
    let slow = rebound(n("m"), n("k1"), n("k2"), n("x_linear") * 1.001, n("v0")).unwrap();
    assert_relative_eq!(slow.deflection, n("x_linear"), max_relative = 1e-10);
    assert!(!slow.touches);
}
