//! How near is near enough: printed digits, or a documented deviation from them.

use nalgebra::DMatrix;
use underfoot::analysis::{Modes, modes};
use underfoot::law::Law;
use underfoot::system::System;

/// Largest relative error of a list.
pub fn worst(found: &[f64], expected: &[f64]) -> f64 {
    assert_eq!(found.len(), expected.len(), "{found:?} {expected:?}");
    found.iter().zip(expected).map(|(a, b)| ((a - b) / b).abs()).fold(0.0, f64::max)
}

/// `found` is what was printed with so many decimals: off by half a unit of the last at most.
#[track_caller]
pub fn printed(found: f64, published: f64, decimals: i32) {
    let half_unit = 0.5 * 10f64.powi(-decimals);
    assert!(
        (found - published).abs() <= half_unit * (1.0 + 1e-9),
        "{found} was printed as {published} with {decimals} decimals"
    );
}

/// The printed value is off by the documented percentage of the exact one (four decimals), and by
/// more than its last digit allows: a misprint or a rounded step, not ours to reproduce.
#[track_caller]
pub fn misprinted(found: f64, published: f64, decimals: i32, percent: f64) {
    let half_unit = 0.5 * 10f64.powi(-decimals);
    assert!((found - published).abs() > half_unit, "{published} is no misprint of {found}");
    let off = 100.0 * (published - found) / found;
    assert!((off - percent).abs() <= 0.5e-4, "{published} is {off} % off {found}, not {percent} %");
}

/// Undamped angular frequencies, rad/s, ascending.
pub fn omegas(system: &System) -> Vec<f64> {
    let hz = modes(&system.linear()).unwrap().frequency;
    hz.iter().map(|f| f * std::f64::consts::TAU).collect()
}

/// The same system with every stiffness scaled.
pub fn stiffened(mut system: System, factor: f64) -> System {
    for element in &mut system.elements {
        #[allow(irrefutable_let_patterns)]
        let Law::Constant(law) = &mut element.law else {
            panic!("these cases have constant laws only");
        };
        law.stiffness.iter_mut().for_each(|k| *k *= factor);
    }
    system
}

/// Modes (ascending) whose kinetic energy lies in these degrees of freedom; the others have none
/// there, or the test stops.
#[track_caller]
pub fn modes_within(found: &Modes, dofs: &[usize]) -> Vec<usize> {
    let share = |mode: usize| dofs.iter().map(|&i| found.energy[(mode, i)]).sum::<f64>();
    let n = found.frequency.len();
    let inside: Vec<_> = (0..n).filter(|&mode| share(mode) > 0.5).collect();
    assert_eq!(inside.len(), dofs.len(), "modes within {dofs:?}");
    for mode in 0..n {
        let s = share(mode);
        assert!(!(1e-9..=1.0 - 1e-9).contains(&s), "mode {mode} has {s} of its energy in {dofs:?}");
    }
    inside
}

/// Ratio of two entries of a mode shape.
pub fn ratio(shape: &DMatrix<f64>, mode: usize, above: usize, below: usize) -> f64 {
    shape[(above, mode)] / shape[(below, mode)]
}
