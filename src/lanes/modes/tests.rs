//! The modes of many systems: the pairs of a sweep, equal modes, chains, and designs that fail.

use super::*;

#[test]
fn every_pair_is_turned_once_in_a_sweep_and_pairs_of_a_round_do_not_touch() {
    for n in 1..=9 {
        let pairs = rounds(n);
        assert_eq!(pairs.len(), n * (n - 1) / 2);
        let mut sorted = pairs.clone();
        sorted.sort_unstable();
        sorted.dedup();
        assert_eq!(sorted.len(), pairs.len());
        for round in pairs.chunks((n / 2).max(1)) {
            let mut seen: Vec<u32> = round.iter().flatten().copied().collect();
            seen.sort_unstable();
            seen.dedup();
            assert_eq!(seen.len(), 2 * round.len(), "{round:?}");
        }
    }
}

/// A full mass matrix, positive definite.
fn mass(n: usize) -> Vec<f64> {
    let pairs = (0..n).flat_map(|i| (0..=i).map(move |j| (i, j)));
    pairs.map(|(i, j)| if i == j { 2.0 + i as f64 } else { 0.3 / (1 + i - j) as f64 }).collect()
}

fn supported() -> impl Iterator<Item = Isa> {
    use Isa::{Avx2, Avx512, Baseline, Neon};
    [Baseline, Avx2, Avx512, Neon].into_iter().filter(|isa| isa.is_supported())
}

#[test]
fn six_equal_modes_are_equal_to_rounding_and_orthogonal() {
    let m = mass(6);
    let k: Vec<f64> = m.iter().map(|x| 49.0 * x).collect();
    for isa in supported() {
        let found = solve(isa, 6, 1, &m, &k);
        assert_eq!((found.failed.len(), found.again), (0, 0));
        assert!(found.square.iter().all(|s| (s - 49.0).abs() < 1e-12), "{:?}", found.square);
        for a in 0..6 {
            for b in 0..6 {
                let mut sum = 0.0;
                for i in 0..6 {
                    for j in 0..6 {
                        let m = m[place(i.max(j), i.min(j))];
                        sum += found.shape[i * 6 + a] * m * found.shape[j * 6 + b];
                    }
                }
                let expected = if a == b { 1.0 } else { 0.0 };
                assert!((sum - expected).abs() < 1e-13, "{isa} {a} {b}: {sum}");
            }
        }
    }
}

#[test]
fn a_chain_of_any_length_has_the_modes_of_the_second_method() {
    for n in [1, 2, 3, 5, 8, 18] {
        let m = mass(n);
        let pairs = (0..n).flat_map(|i| (0..=i).map(move |j| (i, j)));
        let k: Vec<f64> = pairs.map(|(i, j)| [2e3, -1e3, 0.0][(i - j).min(2)]).collect();
        let full = |a: &[f64]| DMatrix::from_fn(n, n, |i, j| a[place(i.max(j), i.min(j))]);
        let (square, shape) = scalar(&full(&m), &full(&k)).unwrap();
        for isa in supported() {
            let found = solve(isa, n, 1, &m, &k);
            assert_eq!((found.failed.len(), found.again), (0, 0), "{n}");
            for mode in 0..n {
                assert!((found.square[mode] - square[mode]).abs() < 1e-12 * square[n - 1]);
                for i in 0..n {
                    let error = found.shape[i * n + mode].abs() - shape[(i, mode)].abs();
                    assert!(error.abs() < 1e-9, "{n} {mode} {i}: {error:e}");
                }
            }
        }
    }
}

#[test]
fn a_mass_that_is_not_positive_and_numbers_that_are_none_fail_alone() {
    let n = 3;
    let designs = 10;
    let spread = |a: &[f64]| -> Vec<f64> {
        a.iter().flat_map(|&x| std::iter::repeat_n(x, designs)).collect()
    };
    let (mut m, mut k) = (spread(&mass(n)), spread(&[3.0, -1.0, 3.0, 0.0, -1.0, 3.0]));
    m[place(1, 1) * designs + 4] = -1.0;
    k[place(2, 0) * designs + 9] = f64::NAN;
    let found = solve(Isa::best(), n, designs, &m, &k);
    assert_eq!(found.failed, [4, 9]);
    for design in 0..designs {
        assert_eq!(found.square[design].is_nan(), [4, 9].contains(&design), "{design}");
    }
}
