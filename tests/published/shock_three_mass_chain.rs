//! Snap-through of a chain of three masses (bed on mounts, crown on the frame, slide on the drive)
//! with non-proportional damping: force ramps up between slide and bed, then breaks. Peaks,
//! times and states against complex modes in 50-digit arithmetic (source in each file).

use nalgebra::{DMatrix, DVector};
use ndarray::{Array2, Array3};
use num_complex::Complex64;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{
    Extrema, ManyRows, ManyShocks, Start, Transient, many_shocks_on,
};
use underfoot::excitation::Segment;
use underfoot::lanes::Isa;
use underfoot::system::Linear;

use crate::shock_systems::{Link, assert_close, chain, number, reference};

fn check(name: &str, stiffness_factor: f64) {
    let case = reference(name);
    let motion = solve(&case, stiffness_factor);
    for (root, mode) in sorted(motion.roots()).iter().zip(case["modes"].as_array().unwrap()) {
        assert_close(root.norm() / TAU, number(&mode["f_Hz"]), 1e-12, "frequency");
        assert_close(-root.re / root.norm(), number(&mode["zeta"]), 1e-12, "damping ratio");
    }
    let (x, v, a) = (motion.displacement(), motion.velocity(), motion.acceleration());
    for (output, letter) in [(&x, "x"), (&v, "v"), (&a, "a")] {
        for (i, body) in ["bed", "crown", "slide"].into_iter().enumerate() {
            let key = format!("{letter}_{body}");
            if !case["results"][&key].is_null() {
                compare(&case, &key, &motion.extrema(output)[i], 1.0);
            }
        }
    }
    // Given are the force of the mount on the bed, and the force in frame and drive.
    for (i, key, sign) in [(0, "mount", -1.0), (1, "frame", 1.0), (2, "drive", 1.0)] {
        compare(&case, key, &motion.extrema(&motion.element_force(i).unwrap())[0], sign);
    }
    for (time, state) in case["probe"].as_object().unwrap() {
        let t: f64 = time.parse().unwrap();
        for (output, key) in [(&x, "x_m"), (&v, "v_m_s"), (&a, "a_m_s2")] {
            let found = motion.at(output, t).unwrap();
            for (dof, place) in [2, 1, 0].into_iter().enumerate() {
                let expected = number(&state[key][place]);
                // Of the size of the states of the chain: digits are lost by cancellation only.
                let size = [8e-4, 0.2, 250.0]
                    [["x_m", "v_m_s", "a_m_s2"].iter().position(|k| *k == key).unwrap()];
                let error = (found[dof] - expected).abs();
                assert!(error < 1e-11 * size, "{key} of {dof} at {t}: {error:e}");
            }
        }
    }
}

fn solve(case: &serde_json::Value, stiffness_factor: f64) -> Transient {
    let (linear, load, pair) = model(case, stiffness_factor);
    Transient::new(&linear, &load, &pair, &Start::rest(3), Some(1.0)).unwrap()
}

fn model(case: &serde_json::Value, stiffness_factor: f64) -> (Linear, Vec<Segment>, DVector<f64>) {
    let input = |key: &str| number(&case["inputs"][key]);
    let link = |name, from, to, k, c| Link {
        name,
        from,
        to,
        stiffness: input(k) * stiffness_factor,
        damping: input(c),
        loss_factor: 0.0,
    };
    let linear = chain(
        &[
            ("bed", input("m_bed_kg")),
            ("crown", input("m_crown_kg")),
            ("slide", input("m_slide_kg")),
        ],
        &[
            link("mount", None, 0, "k_mount_N_m", "c_mount_Ns_m"),
            link("frame", Some(0), 1, "k_frame_N_m", "c_frame_Ns_m"),
            link("drive", Some(1), 2, "k_drive_N_m", "c_drive_Ns_m"),
        ],
    );
    let (f, rise, release) = (input("F0_N"), input("t_rise_s"), input("t_release_s"));
    let line = |start, end, constant, slope| Segment {
        start,
        end,
        constant,
        slope,
        exponentials: Vec::new(),
    };
    let load = vec![line(0.0, rise, 0.0, f / rise), line(rise, rise + release, f, -f / release)];
    let pair = DVector::from_column_slice(&[-1.0, 0.0, 1.0]);
    (linear, load, pair)
}

fn sorted(roots: &[Complex64]) -> Vec<Complex64> {
    let mut roots = roots.to_vec();
    roots.sort_by(|a, b| a.norm().total_cmp(&b.norm()));
    roots
}

fn compare(case: &serde_json::Value, key: &str, found: &Extrema, sign: f64) {
    let expected = &case["results"][key];
    let (max, min) = if sign > 0.0 { (found.max, found.min) } else { (found.min, found.max) };
    for (end, extreme) in [("max", max), ("min", min)] {
        let what = format!("{key} {end}");
        assert_close(sign * extreme.value, number(&expected[end]), 1e-11, &what);
        let time = number(&expected[format!("t_{end}_s")]);
        assert!((extreme.time - time).abs() < 1e-13, "{what} at {}", extreme.time);
    }
}

#[test]
fn base_case() {
    check("g1_3dof_base", 1.0);
}

#[test]
fn slow_release() {
    check("g2_3dof_slow_release_3ms", 1.0);
}

#[test]
fn soft_mounts() {
    check("g3_3dof_soft_mounts_3hz", 1.0);
}

#[test]
#[should_panic(expected = "frequency")]
fn a_stiffness_wrong_by_one_part_in_a_million_is_found() {
    check("g1_3dof_base", 1.0 + 1e-6);
}

#[test]
fn the_drive_is_loaded_in_reverse_by_the_stated_fraction() {
    for name in ["g1_3dof_base", "g2_3dof_slow_release_3ms", "g3_3dof_soft_mounts_3hz"] {
        let case = reference(name);
        let motion = solve(&case, 1.0);
        let drive = &motion.extrema(&motion.element_force(2).unwrap())[0];
        let fraction = -drive.min.value / number(&case["inputs"]["F0_N"]);
        // Ten digits are printed.
        assert!((fraction - number(&case["reverse_fraction_drive"])).abs() < 1e-10);
    }
}

/// The three cases in turn, eleven designs, each with its own load, eight at a time under every
/// instruction set of the processor.
fn check_lanes(stiffness_factor: f64) {
    let names = ["g1_3dof_base", "g2_3dof_slow_release_3ms", "g3_3dof_soft_mounts_3hz"];
    let cases = names.map(reference);
    let models: Vec<_> = (0..11).map(|i| model(&cases[i % 3], stiffness_factor)).collect();
    let stacked = |of: fn(&Linear) -> &DMatrix<f64>| {
        Array3::from_shape_fn((11, 3, 3), |(d, i, j)| of(&models[d].0)[(i, j)])
    };
    let (m, k, c) = (stacked(|l| &l.m), stacked(|l| &l.k), stacked(|l| &l.c));
    let direction = Array2::from_shape_fn((11, 3), |(d, i)| models[d].2[i]);
    let loads: Vec<_> = models.iter().map(|(_, load, _)| load.clone()).collect();
    let unit = Array3::from_shape_fn((1, 3, 3), |(_, i, j)| f64::from(u8::from(i == j)));
    let all = [Isa::Baseline, Isa::Avx2, Isa::Avx512, Isa::Neon];
    for isa in all.into_iter().filter(|isa| isa.is_supported()) {
        for (kind, letter) in ["x", "v", "a"].into_iter().enumerate() {
            let rows = |wanted| (kind == wanted).then(|| unit.view());
            let asked = ManyShocks {
                mass: m.view(),
                stiffness: k.view(),
                loss: None,
                damping: Some(c.view()),
                direction: direction.view(),
                loads: &loads,
                rows: ManyRows {
                    displacement: rows(0),
                    velocity: rows(1),
                    acceleration: rows(2),
                    force: None,
                },
                duration: Some(1.0),
            };
            let found = many_shocks_on(isa, &asked).unwrap();
            assert_eq!(found.again, 0, "{isa}");
            for design in 0..11 {
                for (o, body) in ["bed", "crown", "slide"].into_iter().enumerate() {
                    let expected = &cases[design % 3]["results"][format!("{letter}_{body}")];
                    if expected.is_null() {
                        continue;
                    }
                    let what = format!("{isa}: {letter}_{body} of {design}");
                    assert_close(found.max[[design, o]], number(&expected["max"]), 1e-10, &what);
                    assert_close(found.min[[design, o]], number(&expected["min"]), 1e-10, &what);
                    for (time, key) in [(&found.max_time, "t_max_s"), (&found.min_time, "t_min_s")]
                    {
                        let error = (time[[design, o]] - number(&expected[key])).abs();
                        assert!(error < 1e-10, "{what}: {key} wrong by {error:e}");
                    }
                }
            }
        }
    }
}

#[test]
fn peaks_of_eight_designs_at_a_time_agree_to_ten_digits() {
    check_lanes(1.0);
}

#[test]
#[should_panic(expected = "is not")]
fn peaks_in_lanes_show_a_stiffness_wrong_by_one_part_in_a_million() {
    check_lanes(1.0 + 1e-6);
}
