//! Sums over poles against a factorization with pivoting of the same matrices.

use nalgebra::DMatrix;

use super::*;
use crate::lanes::draws::Draws;
use crate::lanes::{instruction_set, solve_pivoted};

/// Greatest difference to the factorization, relative to the greatest value there, at frequencies
/// from rest to far above all modes, some of them on a resonance.
fn apart(omega: &[f64], c: &DMatrix<f64>, h: &DMatrix<f64>) -> Option<f64> {
    let n = omega.len();
    let isa = instruction_set().unwrap();
    let mut draws = Draws(5);
    let poles = Poles::new(isa, omega, c, h)?;
    let square = DMatrix::from_fn(n, n, |i, j| if i == j { omega[i] * omega[i] } else { 0.0 });
    let one = DMatrix::identity(n, n);
    let z = Coefficients::new(&square, h, c, Some(&one));
    let mut entry = |size: f64| DMatrix::from_fn(3, n, |_, _| draws.next() * size);
    let rows = Coefficients::new(&entry(40.0), &entry(3.0), &entry(0.1), None);
    let load = DMatrix::from_fn(n, 2, |_, _| Complex64::new(draws.next(), draws.next()));
    let asked: Vec<f64> = (0..60).map(|i| 0.9 * i as f64).chain(omega.iter().copied()).collect();
    let found = poles.seen(&one, &rows).under(&load);
    let mut lanes = Vec::new();
    found.at(isa, &asked, &mut lanes);
    let mut worst = 0.0_f64;
    for (i, &w) in asked.iter().enumerate() {
        let y = solve_pivoted(&z, w, &[], &load, &rows).unwrap();
        let size = y.iter().map(|x| x.norm()).fold(0.0, f64::max);
        for (at, y) in y.transpose().iter().enumerate() {
            let lane = &lanes[i / WIDTH * found.outputs() + at];
            let sum = Complex64::new(lane.re.0[i % WIDTH], lane.im.0[i % WIDTH]);
            worst = worst.max((sum - y).norm() / size);
        }
    }
    Some(worst)
}

#[test]
fn sums_over_poles_are_the_solution_whatever_couples_the_modes() {
    for n in [1, 2, 3, 6, 8, 12] {
        let mut draws = Draws(17 + n as u64);
        let omega: Vec<f64> = (0..n).map(|i| 3.0 + 2.9 * i as f64 + draws.next()).collect();
        let zero = DMatrix::zeros(n, n);
        for (loss, damping) in [(0.0, 0.0), (0.1, 0.0), (0.0, 0.02), (0.1, 0.02)] {
            let root = DMatrix::from_fn(n, n, |i, j| if i == j { omega[i] } else { 0.0 });
            let h = if loss > 0.0 { &root * draws.matrix(n, loss) * &root } else { zero.clone() };
            let c = draws.matrix(n, 20.0 * damping);
            let apart = apart(&omega, &(c + DMatrix::identity(n, n) * 2e-2), &h).unwrap();
            assert!(apart < 2e-12, "{n} {loss} {damping}: {apart:e}");
        }
    }
}

#[test]
fn modes_of_one_frequency_whose_damping_does_not_couple_them_are_summed_up() {
    let omega = [5.0, 5.0, 5.0, 9.0, 14.0, 14.0];
    let square = DMatrix::from_fn(6, 6, |i, j| if i == j { omega[i] * omega[i] } else { 0.0 });
    let apart = apart(&omega, &DMatrix::identity(6, 6), &(square * 0.1)).unwrap();
    assert!(apart < 2e-12, "{apart:e}");
}

/// A light resonance: zeta = 1e-7 leaves 1e-16/1e-7 of the digits to any method.
#[test]
fn light_damping_costs_no_more_digits_than_it_must() {
    let omega = [5.0, 7.0, 11.0];
    let c = DMatrix::from_diagonal(&DVector::from_fn(3, |i, _| 2e-7 * omega[i]));
    let apart = apart(&omega, &c, &DMatrix::zeros(3, 3)).unwrap();
    assert!(apart < 1e-8, "{apart:e}");
}

#[test]
fn roots_that_lie_on_each_other_and_modes_that_creep_are_left_alone() {
    // Two equal modes whose dashpots couple them with the skew of a defective pair.
    let omega = [5.0, 5.0];
    let h = DMatrix::zeros(2, 2);
    let creeping = DMatrix::from_row_slice(2, 2, &[30.0, 0.0, 0.0, 1.0]);
    assert_eq!(apart(&omega, &creeping, &h), None);
    let critical = DMatrix::from_row_slice(2, 2, &[10.0, 0.0, 0.0, 1.0]);
    assert_eq!(apart(&omega, &critical, &h), None);
    // Equal modes coupled: both start at one root.
    let coupled = DMatrix::from_row_slice(2, 2, &[1.0, 0.5, 0.5, 1.0]);
    let found = apart(&omega, &coupled, &h);
    assert!(found.is_none_or(|apart| apart < 2e-12), "{found:?}");
}
