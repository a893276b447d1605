//! The kernels that take eight designs at a time, under every instruction set of the processor,
//! against fifty digits.
//!
//! Source: as `sixdof_synthetic`.

use nalgebra::DMatrix;
use underfoot::lanes::{Isa, designs, modes};
use underfoot::system::Linear;

use crate::reference::{complex, load, number, numbers};
use crate::sixdof_synthetic::{Damping, machine};

const ALL: [Isa; 4] = [Isa::Baseline, Isa::Avx2, Isa::Avx512, Isa::Neon];

fn supported() -> impl Iterator<Item = Isa> {
    ALL.into_iter().filter(|isa| isa.is_supported())
}

/// S1 and S3 in turn, eleven designs: a full block and one with lanes left over.
fn eleven(damping: Damping) -> Vec<Linear> {
    let cases = [load("sixdof/syn_S1"), load("sixdof/syn_S3")];
    (0..11).map(|i| machine(&cases[i % 2], damping).system().linear()).collect()
}

/// Packed entries of one matrix of each, (entry, design).
fn packed(all: &[Linear], matrix: impl Fn(&Linear) -> &DMatrix<f64>) -> Vec<f64> {
    let entries = (0..6).flat_map(|i| (0..=i).map(move |j| (i, j)));
    entries.flat_map(|e| all.iter().map(|l| matrix(l)[e]).collect::<Vec<_>>()).collect()
}

#[test]
fn modes_of_eight_designs_at_a_time_agree_to_ten_digits() {
    let cases = [load("sixdof/syn_S1"), load("sixdof/syn_S3")];
    let all = eleven(Damping::None);
    let (m, k) = (packed(&all, |l| &l.m), packed(&all, |l| &l.k));
    for isa in supported() {
        let found = modes::solve(isa, 6, 11, &m, &k);
        assert_eq!((found.failed.len(), found.again), (0, 0), "{isa}");
        for design in 0..11 {
            let outputs = &cases[design % 2]["outputs"];
            for (mode, expected) in numbers(&outputs["undamped_hz"]).into_iter().enumerate() {
                let hz = found.square[mode * 11 + design].sqrt() / std::f64::consts::TAU;
                assert!((hz - expected).abs() < 1e-10 * expected, "{isa}: {hz} {expected}");
                let shape = |i: usize| found.shape[(i * 6 + mode) * 11 + design].abs();
                let largest = (0..6).map(shape).fold(0.0, f64::max);
                for i in 0..6 {
                    let expected =
                        numbers(&outputs["mode_shapes_mass_normalised_rows_dof"][i])[mode].abs();
                    assert!((shape(i) - expected).abs() < 1e-10 * largest, "{isa} {mode} {i}");
                }
            }
        }
    }
}

#[test]
fn vertical_transmissibility_of_eight_designs_at_a_time_agrees_to_ten_digits() {
    let cases = [load("sixdof/syn_S1"), load("sixdof/syn_S3")];
    let all = eleven(Damping::Combined);
    let [m, k] = [packed(&all, |l| &l.m), packed(&all, |l| &l.k)];
    let [h, c] = [packed(&all, |l| &l.h), packed(&all, |l| &l.c)];
    let designs = designs::Designs { count: 11, m: &m, k: &k, h: &h, c: &c };
    for (case, parity) in cases.iter().zip(0..) {
        let names = case["inputs"]["frequencies_hz"].as_array().unwrap();
        let omega: Vec<f64> = names.iter().map(|f| number(f) * std::f64::consts::TAU).collect();
        for isa in supported() {
            let mut found = vec![0.0; 11 * omega.len()];
            designs::vertical(isa, &designs, &omega, &mut found);
            for (f, name) in names.iter().enumerate() {
                let table = &case["outputs"]["force_transmissibility"][name.as_str().unwrap()];
                let expected = complex(&table["combined"][2][2]).norm();
                for design in (parity..11).step_by(2) {
                    let value = found[f * 11 + design];
                    assert!((value - expected).abs() < 1e-10 * expected, "{isa} {name} Hz");
                }
            }
        }
    }
}
