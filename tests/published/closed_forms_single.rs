//! One degree of freedom: the transmissibility every handbook opens with.
//!
//! viscous: |T|^2 = (1 + (2 zeta r)^2) / ((1 - r^2)^2 + (2 zeta r)^2);
//! hysteretic: |T|^2 = (1 + eta^2) / ((1 - r^2)^2 + eta^2).
//!
//! Source: table and peaks of the project's reference pack, from these formulas (textbook); the
//! point |T| = 1/3 at r = 2 without damping was read on a question bank, and 1.2222 at
//! r = 83.75/62.11 in the solution manual of Das & Luo (see `das_foundation`).
//!
//! The library has no formula of one degree of freedom: the numbers come out of a machine with
//! six, on four mounts placed evenly about its center of mass.

use nalgebra::{Matrix3, Vector3};
use serde_json::Value;
use std::f64::consts::TAU;
use underfoot::analysis::{modes, transmissibility, vertical_transmissibility};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::Linear;

use crate::close::worst;
use crate::reference::{load, number};

/// Vertical natural frequency, Hz.
const F0: f64 = 5.0;

/// Damping of every mount.
#[derive(Clone, Copy, Debug)]
enum Damping {
    None,
    Ratio(f64),
    Loss(f64),
}

fn machine(damping: Damping, scale: f64) -> Linear {
    let mass = 8000.0;
    let omega = F0 * TAU;
    let k = mass * omega * omega / 4.0 * scale;
    let inertia = Matrix3::new(9000.0, -800.0, 500.0, -800.0, 7000.0, 300.0, 500.0, 300.0, 8000.0);
    let body = RigidBody::new(mass, Vector3::new(0.0, 0.0, 1.3), inertia).unwrap();
    let corners = [(1.1, 0.8), (1.1, -0.8), (-1.1, 0.8), (-1.1, -0.8)];
    let mounts = corners.map(|(x, y)| {
        let mount = Mount::new(Vector3::new(x, y, 0.0), [0.4 * k, 0.5 * k, k]).unwrap();
        match damping {
            Damping::None => mount,
            // c = 2 zeta k / omega, a quarter of the whole on each.
            Damping::Ratio(zeta) => mount.with_damping([2.0 * zeta * k / omega; 3]).unwrap(),
            Damping::Loss(eta) => mount.with_loss_factor([eta; 3]).unwrap(),
        }
    });
    Installation::new(body, mounts.to_vec()).unwrap().system().linear()
}

fn vertical(linear: &Linear, r: f64) -> f64 {
    let alone = vertical_transmissibility(linear, &[r * F0]).unwrap()[0];
    let full = transmissibility(linear, &[r * F0], None).unwrap();
    assert!((alone - full.vertical[0]).abs() < 1e-14 * alone, "the two must agree");
    alone
}

fn table() -> Value {
    load("sixdof/cf_SDOF_transmissibility")
}

/// Frequency ratio and value of every entry of a row.
fn row(table: &Value) -> Vec<(f64, f64)> {
    let ratio = |key: &str| if key == "sqrt2" { 2f64.sqrt() } else { key.parse().unwrap() };
    table.as_object().unwrap().iter().map(|(key, x)| (ratio(key), number(x))).collect()
}

/// "zeta=0.05" -> 0.05.
fn damping_of(key: &str) -> f64 {
    key.split('=').nth(1).unwrap().parse().unwrap()
}

/// Each row of the table with its damping.
fn rows() -> Vec<(Damping, Vec<(f64, f64)>)> {
    let table = table();
    let all = |key: &str, make: fn(f64) -> Damping| -> Vec<_> {
        let rows = table[key].as_object().unwrap();
        rows.iter().map(|(name, values)| (make(damping_of(name)), row(values))).collect()
    };
    let mut out = all("viscous", Damping::Ratio);
    out.extend(all("hysteretic", Damping::Loss));
    out.push((Damping::None, row(&table["undamped"])));
    out
}

#[test]
fn the_handbook_table_agrees_to_ten_digits() {
    let mut checked = 0;
    for (damping, values) in rows() {
        let linear = machine(damping, 1.0);
        for (r, expected) in values {
            let found = vertical(&linear, r);
            assert!(worst(&[found], &[expected]) < 1e-10, "{damping:?} r = {r}: {found}");
            checked += 1;
        }
    }
    assert_eq!(checked, 7 * 7 + 5 * 7 + 5);
}

#[test]
fn without_damping_a_third_passes_at_twice_the_natural_frequency() {
    assert!(worst(&[vertical(&machine(Damping::None, 1.0), 2.0)], &[1.0 / 3.0]) < 1e-12);
}

#[test]
fn at_resonance_damping_alone_limits_what_passes() {
    for x in [0.01, 0.05, 0.2, 1.0] {
        let viscous = vertical(&machine(Damping::Ratio(x), 1.0), 1.0);
        assert!(worst(&[viscous], &[(1.0 + 0.25 / (x * x)).sqrt()]) < 1e-10);
        let hysteretic = vertical(&machine(Damping::Loss(x), 1.0), 1.0);
        assert!(worst(&[hysteretic], &[(1.0 + 1.0 / (x * x)).sqrt()]) < 1e-10);
    }
}

#[test]
fn far_above_resonance_each_kind_of_damping_has_its_own_slope() {
    // Leading terms 2 zeta / r and sqrt(1 + eta^2) / r^2; the next are of relative order
    // 1/r^2 and 1/(2 zeta r)^2.
    let viscous = vertical(&machine(Damping::Ratio(0.1), 1.0), 1e4);
    assert!(worst(&[viscous], &[2.0 * 0.1 / 1e4]) < 2e-7);
    let hysteretic = vertical(&machine(Damping::Loss(0.2), 1.0), 1e4);
    assert!(worst(&[hysteretic], &[1.04f64.sqrt() / 1e8]) < 2e-8);
}

#[test]
fn the_viscous_peak_stands_where_and_as_high_as_tabulated() {
    for (name, peak) in table()["peak_viscous"].as_object().unwrap() {
        let (r, highest) = (number(&peak["r_peak"]), number(&peak["TR_peak"]));
        let zeta = damping_of(name);
        let linear = machine(Damping::Ratio(zeta), 1.0);
        assert!(worst(&[vertical(&linear, r)], &[highest]) < 1e-10, "{name}");
        let step = 1e-3 * zeta;
        for beside in [r - step, r + step] {
            assert!(vertical(&linear, beside) < highest, "{name} at {beside}");
        }
    }
}

#[test]
fn the_hysteretic_peak_stands_at_the_natural_frequency() {
    for eta in [0.02, 0.1, 0.4] {
        let linear = machine(Damping::Loss(eta), 1.0);
        let peak = vertical(&linear, 1.0);
        for beside in [1.0 - 1e-3 * eta, 1.0 + 1e-3 * eta] {
            assert!(vertical(&linear, beside) < peak, "eta = {eta} at {beside}");
        }
    }
}

#[test]
fn modes_give_the_damping_back() {
    // One loss factor: s^2 = -omega^2 (1 + j eta), so zeta = sin(atan(eta) / 2).
    let vertical_ratio = |damping: Damping| {
        let found = modes(&machine(damping, 1.0)).unwrap();
        let mode = (0..6).find(|&mode| found.energy[(mode, 2)] > 1.0 - 1e-9).unwrap();
        assert!(worst(&[found.frequency[mode]], &[F0]) < 1e-12);
        found.damping_ratio[mode]
    };
    for zeta in [0.01, 0.1, 0.5] {
        assert!(worst(&[vertical_ratio(Damping::Ratio(zeta))], &[zeta]) < 1e-10);
    }
    for eta in [0.02f64, 0.1, 0.4] {
        let expected = (eta.atan() / 2.0).sin();
        assert!(worst(&[vertical_ratio(Damping::Loss(eta))], &[expected]) < 1e-10);
    }
}

#[test]
fn a_stiffness_changed_by_a_millionth_would_be_seen() {
    for (damping, values) in rows() {
        let linear = machine(damping, 1.0 + 1e-6);
        let off = values.iter().map(|&(r, x)| worst(&[vertical(&linear, r)], &[x]));
        assert!(off.fold(0.0, f64::max) > 1e-7, "{damping:?}");
    }
}
