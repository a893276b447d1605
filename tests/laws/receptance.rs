//! Motion under a harmonic load: reciprocity, power, and a second way to solve for it.

use num_complex::Complex64;
use proptest::prelude::*;
use std::f64::consts::TAU;
use underfoot::analysis::{modes, response, response::receptance};
use underfoot::installation::{Installation, Point};

use crate::random::{
    config, dynamic_stiffness, frequency, load, machine, motion_error, point, undamped_machine,
};

/// The load whose motion the machine would answer with as long as nothing else is said.
fn solved(inst: &Installation, f: f64, load: &[Complex64]) -> Vec<Complex64> {
    response(&inst.system().linear(), &[f], load).unwrap().displacement.row(0).to_vec()
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn receptance_between_two_points_is_reciprocal(
        inst in machine(), f in frequency(), a in point(3.0), b in point(3.0),
    ) {
        let at = |name: &str, at| Point { name: name.into(), at };
        let linear = inst.with_points(vec![at("a", a), at("b", b)]).unwrap().system().linear();
        let [a, b] = ["a", "b"].map(|name| linear.port(name).unwrap());
        let there = receptance(&linear, &[f], a, b).unwrap();
        let back = receptance(&linear, &[f], b, a).unwrap();
        let size = there.iter().map(|x| x.norm()).fold(0.0, f64::max);
        for i in 0..6 {
            for j in 0..6 {
                let error = (there[[0, i, j]] - back[[0, j, i]]).norm();
                prop_assert!(error < 1e-10 * size, "{i} {j}: {error:e} of {size:e}");
            }
        }
    }

    /// Power put in, 1/2 Re(f* v), is what the mounts turn into heat, omega/2 u*(h + omega c) u.
    #[test]
    fn dissipated_power_is_never_negative_and_equals_the_power_put_in(
        inst in machine(), f in frequency(), load in load(),
    ) {
        let linear = inst.system().linear();
        let omega = f * TAU;
        let x = solved(&inst, f, &load);
        let velocity: Vec<_> = x.iter().map(|x| x * Complex64::new(0.0, omega)).collect();
        let put_in: f64 =
            load.iter().zip(&velocity).map(|(f, v)| 0.5 * (f.conj() * v).re).sum();
        let mut heat = 0.0;
        for element in &linear.elements {
            let u = element.b.transpose().map(Complex64::from)
                * nalgebra::DVector::from_column_slice(&x);
            let lost = (&element.h + &element.c * omega).map(Complex64::from) * &u;
            let power = 0.5 * omega * u.dotc(&lost).re;
            prop_assert!(power >= 0.0, "{} gives off {power} W", element.label.name);
            heat += power;
        }
        let apparent: f64 = load.iter().zip(&velocity).map(|(f, v)| 0.5 * f.norm() * v.norm()).sum();
        prop_assert!((put_in - heat).abs() < 1e-10 * apparent, "{put_in} {heat} of {apparent}");
    }

    #[test]
    fn the_lanes_agree_with_pivoted_elimination(
        inst in machine(), f in frequency(), load in load(),
    ) {
        let linear = inst.system().linear();
        let x = solved(&inst, f, &load);
        let z = dynamic_stiffness(&linear, f * TAU);
        let expected = z.lu().solve(&nalgebra::DVector::from_column_slice(&load)).unwrap();
        let error = motion_error(&linear, |i| x[i], |i| expected[i]);
        prop_assert!(error < 1e-10, "{error:e}");
    }

    /// Every position in a block of eight, and blocks that are not full, give the same numbers.
    #[test]
    fn a_frequency_has_the_same_answer_alone_and_among_others(
        inst in machine(), load in load(), count in 1usize..20,
    ) {
        let linear = inst.system().linear();
        let all: Vec<f64> = (0..count).map(|i| 1.0 + 1.7 * i as f64).collect();
        let together = response(&linear, &all, &load).unwrap();
        for (i, f) in all.iter().enumerate() {
            let alone = response(&linear, &[*f], &load).unwrap();
            for dof in 0..6 {
                prop_assert_eq!(together.displacement[[i, dof]], alone.displacement[[0, dof]]);
            }
        }
    }

    /// At f_n (1 + 1e-9) Z is singular to nine digits, so no two methods can agree on the size of
    /// the answer to more than 1e-16 / 1e-9 times a few. They must agree on its shape, and it must
    /// satisfy the equation: |Z x - f| of the order of rounding in |Z| |x|.
    #[test]
    fn next_to_an_undamped_resonance_the_equation_still_holds(
        inst in undamped_machine(), load in load(), mode in 0usize..6,
    ) {
        let linear = inst.system().linear();
        let found = modes(&linear).unwrap();
        let f = found.frequency[mode] * (1.0 + 1e-9);
        let x = solved(&inst, f, &load);
        let z = dynamic_stiffness(&linear, f * TAU);
        for i in 0..6 {
            let mut sum = -load[i];
            let mut size = load[i].norm();
            for j in 0..6 {
                sum += z[(i, j)] * x[j];
                size += (linear.k[(i, j)].abs() + (f * TAU).powi(2) * linear.m[(i, j)].abs())
                    * x[j].norm();
            }
            prop_assert!(sum.norm() < 1e-13 * size, "row {i}: {:e} of {size:e}", sum.norm());
        }

        // The shape, against elimination with pivoting.
        let other = z.lu().solve(&nalgebra::DVector::from_column_slice(&load)).unwrap();
        let weigh = |i: usize| linear.m[(i, i)].sqrt();
        let largest = (0..6).max_by(|&a, &b| {
            (other[a].norm() * weigh(a)).total_cmp(&(other[b].norm() * weigh(b)))
        }).unwrap();
        let ratio = x[largest] / other[largest];
        // Other modes must be far for the shape to be that of this one alone.
        let apart = (0..6).filter(|&m| m != mode)
            .map(|m| (found.frequency[m] / found.frequency[mode] - 1.0).abs())
            .fold(f64::INFINITY, f64::min);
        if apart > 1e-2 {
            let error = motion_error(&linear, |i| x[i], |i| other[i] * ratio);
            prop_assert!(error < 1e-11, "{error:e} {ratio}");
        }
    }
}
