//! Coil springs, air springs, dampers.
//!
//! Sources: rate (from memory); Wahl's factor (seen on two pages); EN 13906-1 lateral rate and buckling
//! (from memory, proved from Haringx' column); buckling after Shigley (seen, roymech); surge (seen, after
//! Shigley); air spring factor 1.4 (P. F. Pelz and J. Buttenbender, ISMA 2004, seen); J. E. Shigley,
//! Mechanical Engineering Design, example 10-1 (from memory). Numbers: cases of the reference pack,
//! computed by another program.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use nalgebra::Vector3;
use underfoot::installation::STANDARD_GRAVITY;
use underfoot::support::{AirSpring, CoilOptions, CoilSpring, EndFixing, ViscousDamper};

use crate::close::printed;
use crate::reference::{load, number};

const MM: f64 = 1e-3;
const MPA: f64 = 1e6;

fn coil(free_length: f64, options: CoilOptions) -> CoilSpring {
    CoilSpring::new(20.0 * MM, 100.0 * MM, 6.0, free_length, options).unwrap()
}

#[test]
fn the_spring_of_the_pack_has_its_rate_stress_surge_and_solid_height() {
    let case = &load("mounts/springs")["own_spring"];
    let spring = coil(250.0 * MM, CoilOptions::default());
    let f = number(&case["F"]);
    let near = |found: f64, key: &str| {
        assert_relative_eq!(found, number(&case[key]), max_relative = 1e-10);
    };
    near(spring.axial_stiffness() * MM, "k_N_mm");
    near(spring.spring_index(), "C");
    near(spring.wahl_factor(), "KW");
    near(spring.deflection(f).unwrap() / MM, "s");
    near(spring.uncorrected_stress(f) / MPA, "tau_uncorr");
    near(spring.shear_stress(f) / MPA, "tau_wahl");
    near(spring.active_mass(), "active_mass_kg");
    near(spring.surge_frequency(), "f_surge_Hz");
    near(spring.surge_frequency(), "f_surge_from_half_sqrt_k_m");
    near(spring.solid_height() / MM, "solid_len");
    near(spring.solid_deflection() / MM, "s_to_solid");
    near(spring.lateral_stiffness(0.0).unwrap() / spring.axial_stiffness(), "ratio_P0");
    near(spring.lateral_stiffness(f).unwrap() / spring.axial_stiffness(), "ratio_EN");
    near(spring.lateral_stiffness(f).unwrap() * MM, "k_lat");
    for ends in [EndFixing::Fixed, EndFixing::Sway] {
        let spring = coil(250.0 * MM, CoilOptions { ends, ..CoilOptions::default() });
        assert_eq!(spring.buckling_deflection(), None);
    }
    // Surge by its other form, d / (2 pi n D^2) sqrt(G / 2 rho).
    let other = 0.02 / (2.0 * std::f64::consts::PI * 6.0 * 0.01) * (78.5e9_f64 / 15_700.0).sqrt();
    assert_relative_eq!(spring.surge_frequency(), other, max_relative = 1e-13);
}

#[test]
fn the_slender_spring_buckles_where_its_lateral_stiffness_is_zero() {
    let case = &load("mounts/springs")["slender_spring"];
    let spring = coil(number(&case["L0"]) * MM, CoilOptions::default());
    let sk = spring.buckling_deflection().unwrap();
    assert_relative_eq!(sk / MM, number(&case["sK_nu1"]), max_relative = 1e-10);
    assert_relative_eq!(sk / MM, number(&case["shig1"]), max_relative = 1e-10);
    assert_relative_eq!(sk / MM, number(&case["lateral_zero_s"]), max_relative = 1e-9);
    let at = |s: f64| spring.lateral_stiffness(s * spring.axial_stiffness()).unwrap();
    assert!(at(sk * (1.0 - 1e-9)) > 0.0 && at(sk * (1.0 + 1e-9)) < 0.0);
    let fixed = coil(0.4, CoilOptions { ends: EndFixing::Fixed, ..CoilOptions::default() });
    assert_eq!(fixed.buckling_deflection(), None);
    // Past it the stiffness is returned as it is, and no mount is made of it.
    let past = 1.02 * sk * spring.axial_stiffness();
    assert!(spring.lateral_stiffness(past).unwrap() < 0.0);
    assert!(spring.mount(Vector3::zeros(), Some(past)).is_err());
}

#[test]
fn the_lateral_ratio_is_that_of_the_standard_in_the_whole_table() {
    let file = load("mounts/springs");
    let rows = file["lateral_ratio_table"].as_array().unwrap();
    let mut negative = 0;
    for row in rows {
        let (lam, xi) = (number(&row["L0_D"]), number(&row["xi"]));
        // Thin wire, so that every deflection of the table is reached; E/G = 2.6 there.
        let options = CoilOptions {
            shear_modulus: 206e9 / 2.6,
            total_coils: Some(1.0),
            ..CoilOptions::default()
        };
        let spring = CoilSpring::new(0.1 * MM, 0.1, 1.0, lam * 0.1, options).unwrap();
        let load = xi * spring.free_length * spring.axial_stiffness();
        let ratio = spring.lateral_stiffness(load).unwrap() / spring.axial_stiffness();
        let expected = number(&row["RQ_over_R"]);
        negative += usize::from(expected < 0.0);
        // Relative to the terms whose difference it is.
        assert_abs_diff_eq!(ratio, expected, epsilon = 1e-10 * expected.abs().max(0.1));
        // Wahl's fit of an unloaded spring, 1 / (1.44 (0.204 (h/D)^2 + 0.265)): within 0.7 % at xi = 0.
        if xi == 0.0 {
            assert_relative_eq!(ratio, number(&row["wahl_unloaded"]), max_relative = 0.007);
        }
    }
    assert!(negative >= 3, "negative stiffnesses are in the table and are not clipped");
}

#[test]
fn the_lateral_formula_of_the_standard_is_haringx_column() {
    for (lam, e_over_g) in [(1.0, 2.6), (1.7, 2.4), (2.5, 2.62), (3.3, 2.6), (4.0, 2.9)] {
        let options = CoilOptions {
            shear_modulus: 206e9 / e_over_g,
            total_coils: Some(3.0),
            ..CoilOptions::default()
        };
        let spring = CoilSpring::new(0.5 * MM, 0.1, 3.0, lam * 0.1, options).unwrap();
        for xi in [0.0, 1e-6, 0.01, 0.07, 0.15, 0.24, 0.31, 0.4] {
            let load = xi * spring.free_length * spring.axial_stiffness();
            let standard = spring.lateral_stiffness(load).unwrap() / spring.axial_stiffness();
            let column =
                spring.column(load).unwrap().lateral_stiffness(load) / spring.axial_stiffness();
            // Near the pole and the zero only the difference counts.
            assert_abs_diff_eq!(standard, column, epsilon = 1e-12 * standard.abs().max(1.0));
            if xi >= 0.01 {
                // The formula as it is printed.
                let g: f64 = 1.0 / e_over_g;
                let q = ((0.5 + g) * (g + (1.0 - xi) / xi)).sqrt();
                let printed = xi / (xi - 1.0 + (1.0 / lam) / (0.5 + g) * q * (lam * xi * q).tan());
                assert_abs_diff_eq!(standard, printed, epsilon = 1e-11 * standard.abs().max(1.0));
            }
        }
    }
}

#[test]
fn the_textbook_spring_has_the_quoted_rate_and_critical_length() {
    // Shigley, example 10-1 (from memory): music wire 0.037 in, outer diameter 7/16 in, 10.5 coils.
    let case = &load("mounts/springs")["shigley_10_1"];
    const INCH: f64 = 0.0254;
    const LBF: f64 = 4.448_221_615_260_5;
    const PSI: f64 = LBF / (INCH * INCH);
    let options = CoilOptions {
        shear_modulus: 11.85e6 * PSI,
        young_modulus: 28.5e6 * PSI,
        ends: EndFixing::Fixed,
        ..CoilOptions::default()
    };
    let d = 0.037;
    let mean = 0.4375 - d;
    let spring = CoilSpring::new(d * INCH, mean * INCH, 10.5, 3.0 * INCH, options).unwrap();
    assert_relative_eq!(mean, number(&case["D"]), max_relative = 1e-12);
    assert_relative_eq!(spring.spring_index(), number(&case["C"]), max_relative = 1e-12);
    assert_relative_eq!(spring.wahl_factor(), number(&case["KW"]), max_relative = 1e-10);
    let rate = spring.axial_stiffness() / (LBF / INCH);
    assert_relative_eq!(rate, number(&case["k_lbf_in"]), max_relative = 1e-10);
    // Quoted 4.13, with D rounded to 0.400 in.
    printed(rate, 4.12, 2);
    assert_relative_eq!(
        rate * (mean / 0.400).powi(3),
        number(&case["expected_k"]),
        max_relative = 0.002
    );
    let critical = spring.stable_length() / INCH;
    assert_relative_eq!(critical, number(&case["L0cr_fixed"]), max_relative = 1e-10);
    // Quoted 2.10 with a rounded 2.63 D / alpha.
    assert_relative_eq!(2.63 * mean / 0.5, number(&case["expected_L0cr"]), max_relative = 0.004);
    // The load at yield goes by Bergstrasser's factor there.
    let w = spring.spring_index();
    let bergstrasser = (4.0 * w + 2.0) / (4.0 * w - 3.0);
    assert_relative_eq!(bergstrasser, number(&case["KB"]), max_relative = 1e-10);
    let yields =
        number(&case["Ssy_psi"]) * PSI / (bergstrasser * spring.uncorrected_stress(1.0)) / LBF;
    assert_relative_eq!(yields, number(&case["F_lbf"]), max_relative = 1e-10);
    printed(yields, 6.45, 2);
    assert_relative_eq!(yields / rate, number(&case["y"]), max_relative = 1e-10);
}

#[test]
fn a_spring_shorter_than_the_stable_length_does_not_buckle() {
    for (_, ends) in EndFixing::ALL {
        let options = CoilOptions { ends, total_coils: Some(3.0), ..CoilOptions::default() };
        let of = |length: f64| CoilSpring::new(1.0 * MM, 0.1, 3.0, length, options).unwrap();
        let limit = of(0.2).stable_length();
        assert!(of(limit * (1.0 - 1e-9)).buckling_deflection().is_none(), "{ends:?}");
        let slender = of(limit * (1.0 + 1e-9)).buckling_deflection().unwrap();
        assert!(slender > 0.0);
        // Shigley's form: y = L0 C1 (1 - sqrt(1 - C2 / lam_eff^2)) (seen, roymech).
        let spring = of(1.3 * limit);
        let (e, g) = (206.0, 78.5);
        let (c1, c2) =
            (e / (2.0 * (e - g)), 2.0 * std::f64::consts::PI.powi(2) * (e - g) / (2.0 * g + e));
        let slenderness = ends.length_factor() * spring.free_length / 0.1;
        let y = spring.free_length * c1 * (1.0 - (1.0 - c2 / slenderness.powi(2)).sqrt());
        assert_relative_eq!(spring.buckling_deflection().unwrap(), y, max_relative = 1e-9);
    }
}

#[test]
fn an_air_spring_has_the_stiffness_and_frequency_of_the_pack() {
    let file = load("mounts/springs");
    let spring = AirSpring::new(0.5 * MPA, 0.02, 0.01).unwrap();
    for (case, k) in [
        (&file["air_isothermal"], spring.static_stiffness()),
        (&file["air_adiabatic"], spring.stiffness()),
    ] {
        assert_relative_eq!(k, number(&case["k_N_m"]), max_relative = 1e-10);
        assert_relative_eq!(spring.load(), number(&case["load_N"]), max_relative = 1e-12);
        assert_relative_eq!(
            spring.gauge_pressure + spring.ambient_pressure,
            number(&case["p_abs"]),
            max_relative = 1e-14
        );
        assert_relative_eq!(spring.volume, number(&case["V"]), max_relative = 1e-14);
        assert_relative_eq!(spring.area, number(&case["A"]), max_relative = 1e-14);
        let mass = spring.load() / STANDARD_GRAVITY;
        assert_relative_eq!(mass, number(&case["mass"]), max_relative = 1e-12);
        let f = (k / mass).sqrt() / std::f64::consts::TAU;
        assert_relative_eq!(f, number(&case["f_Hz"]), max_relative = 1e-10);
    }
    let mount = spring.mount(Vector3::zeros()).unwrap();
    assert_eq!([mount.static_stiffness[2], mount.stiffness[2]], [24_053.0, 33_674.2]);
}

#[test]
fn a_damper_beside_a_spring_has_twice_its_damping_ratio_as_loss_factor_at_resonance() {
    let case = &load("mounts/springs")["damping"];
    let (zeta, m, k) = (number(&case["zeta"]), 1200.0_f64, 3.4e6_f64);
    let damper = ViscousDamper::new([0.0, 0.0, 2.0 * zeta * (k * m).sqrt()]).unwrap();
    let f = (k / m).sqrt() / std::f64::consts::TAU;
    let eta = damper.loss_factor([k; 3], f).unwrap()[2];
    assert_relative_eq!(eta, number(&case["eta"]), max_relative = 1e-12);
    let x = 0.7 * MM;
    let loop_energy = damper.energy_per_cycle(f, x).unwrap()[2];
    assert_relative_eq!(loop_energy, std::f64::consts::PI * eta * k * x * x, max_relative = 1e-12);
    // The loop by quadrature of force times velocity over one period.
    let omega = std::f64::consts::TAU * f;
    let n = 400;
    let quadrature: f64 = (0..n)
        .map(|i| {
            let v = omega * x * (std::f64::consts::TAU * f64::from(i) / f64::from(n)).cos();
            damper.damping[2] * v * v / f / f64::from(n)
        })
        .sum();
    assert_relative_eq!(loop_energy, quadrature, max_relative = 1e-12);
}
