//! Laws that depend on frequency in the frequency response: exact at each frequency, reciprocal,
//! and equal to the mount frozen at that frequency.

use num_complex::Complex64;
use proptest::prelude::*;
use std::f64::consts::TAU;
use underfoot::analysis::{response, transmissibility, vertical_transmissibility};
use underfoot::installation::Installation;
use underfoot::law::{
    AmplitudeReduction, ComplexStiffness, Dynamic, FractionalZener, Maxwell, MaxwellTerm,
    TemperatureShift, Viscous, Wlf, Zener,
};

use crate::random::{config, frequency, load, machine, magnitude};

/// A law of any kind that is known at every frequency.
pub fn law() -> impl Strategy<Value = Dynamic> {
    let simple =
        (0..5_usize, magnitude(5.0, 7.0), magnitude(-0.5, 0.5), magnitude(-3.5, -1.0), 0.2..1.0)
            .prop_map(|(kind, k, ratio, time, order)| match kind {
                0 => Dynamic::Complex(ComplexStiffness::new(k, 0.2 * ratio).unwrap()),
                1 => Dynamic::Viscous(Viscous::new(k, k * 0.1 * time).unwrap()),
                2 => Dynamic::Zener(Zener::new(k, k * ratio, k * ratio * time).unwrap()),
                3 => {
                    let term = |i: i32| MaxwellTerm {
                        stiffness: k * ratio / f64::from(i),
                        relaxation_time: time * f64::from(i * i),
                    };
                    Dynamic::Maxwell(Maxwell::new(k, (1..4).map(term).collect()).unwrap())
                }
                _ => Dynamic::FractionalZener(
                    FractionalZener::new(k, k * (1.0 + 20.0 * ratio), time * 1e-2, order).unwrap(),
                ),
            });
    (simple, 0..4_usize, 0.0..30.0_f64).prop_map(|(law, wrap, cold)| match wrap {
        0 => Dynamic::Shifted(
            TemperatureShift::new(law, Wlf::new(6.1, 146.75, 20.0).unwrap(), 20.0 - cold).unwrap(),
        ),
        1 => Dynamic::Reduced(
            AmplitudeReduction::new(law, 0.01 * cold, 0.1, 0.4, 0.55, Some(2.0)).unwrap(),
        ),
        2 => Dynamic::parallel(vec![law.clone(), law.scaled(0.1).unwrap()]).unwrap(),
        _ => law,
    })
}

/// Any machine, its mounts with laws along some axes; two mounts share theirs.
pub fn lawful() -> impl Strategy<Value = Installation> {
    (machine(), prop::collection::vec([law(), law(), law()], 3), any::<bool>()).prop_map(
        |(mut inst, laws, all)| {
            for (i, mount) in inst.mounts.iter_mut().enumerate() {
                let [x, y, z] = laws[i % laws.len()].clone();
                let some = [all.then_some(x), None, Some(z)];
                let some =
                    if i % 3 == 1 { [some[0].clone(), Some(y), some[2].clone()] } else { some };
                *mount = mount.clone().with_dynamic(some).unwrap();
            }
            inst
        },
    )
}

fn largest<'a>(values: impl IntoIterator<Item = &'a Complex64>) -> f64 {
    values.into_iter().map(|x| x.norm()).fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_law_answers_at_each_frequency_as_the_constant_it_is_there(
        inst in lawful(), f in frequency(), load in load(),
    ) {
        let linear = inst.system().linear();
        // Eleven frequencies fill one block of lanes and part of another.
        let grid: Vec<f64> = (0..11).map(|i| f * (1.0 + 0.1 * f64::from(i))).collect();
        let whole = response(&linear, &grid, &load).unwrap();
        let t = transmissibility(&linear, &grid, Some(nalgebra::Vector3::new(0.1, -0.2, 0.3))).unwrap();
        for (i, &f) in grid.iter().enumerate() {
            let frozen = linear.frozen(f * TAU).unwrap();
            prop_assert!(!frozen.is_frequency_dependent());
            let one = response(&frozen, &[f], &load).unwrap();
            let s = transmissibility(&frozen, &[f], Some(t.source)).unwrap();
            for (a, b) in [
                (whole.displacement.row(i).to_vec(), one.displacement.row(0).to_vec()),
                (whole.ground_wrench().unwrap().row(i).to_vec(), one.ground_wrench().unwrap().row(0).to_vec()),
                (whole.mount_force().unwrap().index_axis(ndarray::Axis(0), i).iter().copied().collect(),
                 one.mount_force().unwrap().iter().copied().collect::<Vec<_>>()),
                (t.matrix.index_axis(ndarray::Axis(0), i).iter().copied().collect(),
                 s.matrix.iter().copied().collect::<Vec<_>>()),
                (t.mount().unwrap().index_axis(ndarray::Axis(0), i).iter().copied().collect(),
                 s.mount().unwrap().iter().copied().collect::<Vec<_>>()),
            ] {
                let scale = largest(&b);
                let error = largest(&a.iter().zip(&b).map(|(a, b)| a - b).collect::<Vec<_>>());
                prop_assert!(error <= 1e-9 * scale, "{error:e} of {scale:e} at {f} Hz");
            }
        }
    }

    #[test]
    fn the_vertical_number_alone_is_that_of_the_whole_matrix_with_laws(
        inst in lawful(), f in frequency(),
    ) {
        let linear = inst.system().linear();
        let whole = transmissibility(&linear, &[f], None).unwrap().vertical[0];
        let alone = vertical_transmissibility(&linear, &[f]).unwrap()[0];
        prop_assert!((whole - alone).abs() <= 1e-10 * whole.max(1.0));
    }

    #[test]
    fn reciprocity_holds_with_laws_that_depend_on_frequency(
        inst in lawful(), f in frequency(), i in 0..6_usize, j in 0..6_usize,
    ) {
        let linear = inst.system().linear();
        let unit = |k: usize| (0..6).map(|l| Complex64::from(f64::from(u8::from(l == k)))).collect::<Vec<_>>();
        let a = response(&linear, &[f], &unit(i)).unwrap().displacement;
        let b = response(&linear, &[f], &unit(j)).unwrap().displacement;
        let scale = (a[[0, i]].norm() * b[[0, j]].norm()).sqrt();
        prop_assert!((a[[0, j]] - b[[0, i]]).norm() <= 1e-9 * scale);
    }

    /// Power in at the load is what the mounts take up, and never negative.
    #[test]
    fn no_law_creates_energy(inst in lawful(), f in frequency(), load in load()) {
        let linear = inst.system().linear();
        let x = response(&linear, &[f], &load).unwrap().displacement;
        let parts = x.row(0).iter().zip(&load).map(|(x, f)| (f.conj() * x).im).collect::<Vec<_>>();
        let (sum, size) = (parts.iter().sum::<f64>(), parts.iter().map(|p| p.abs()).sum::<f64>());
        prop_assert!(sum <= 1e-9 * size, "{sum:e} of {size:e}");
    }
}
