//! Snap-through of a chain of three masses (bed on mounts, crown on the frame, slide on the drive)
//! with non-proportional damping: force ramps up between slide and bed, then breaks. Peaks,
//! times and states against complex modes in 50-digit arithmetic (source in each file).

use nalgebra::DVector;
use num_complex::Complex64;
use std::f64::consts::TAU;
use underfoot::analysis::transient::{Extrema, Start, Transient};
use underfoot::excitation::Segment;

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
    let load = [line(0.0, rise, 0.0, f / rise), line(rise, rise + release, f, -f / release)];
    let pair = DVector::from_column_slice(&[-1.0, 0.0, 1.0]);
    Transient::new(&linear, &load, &pair, &Start::rest(3), Some(1.0)).unwrap()
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
