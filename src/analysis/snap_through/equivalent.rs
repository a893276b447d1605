//! The pulse on a rigid press that stands for the snap-through of one with crown and slide.

use super::press_of;
use crate::analysis::modes;
use crate::analysis::roots::RealModes;
use crate::error::Result;
use crate::excitation::equivalent_pulse::{ENOUGH, Swing};
use crate::excitation::{BreakThrough, EquivalentPulse};
use crate::installation::Installation;
use crate::machine::press::{CROWN, SLIDE};

/// The pulse of a press, and whether it suffices for the force on the floor: the frame's frequency is
/// at least [`ENOUGH`] times that of the stiffest mode on the mounts, which have no loss factor.
///
/// # Errors
/// [`crate::Error::Invalid`] without a press; those of the modes.
pub fn equivalent_pulse(
    inst: &Installation,
    force: &BreakThrough,
) -> Result<(EquivalentPulse, bool)> {
    let press = press_of(inst)?;
    let linear = inst.system().linear();
    let [h_c, h_s] = [
        press.frame.stiffness.recip(),
        press.frame.stiffness.recip() + press.drive.stiffness.recip(),
    ];
    let weights = [press.crown.mass * h_c, press.slide.mass * h_s];
    let mu = weights[0] + weights[1];
    let point = (press.crown.position * weights[0] + press.slide.position * weights[1]) / mu;
    // Mounts taken away: the machine free, with frame and drive alone.
    let mut free = linear.clone();
    free.elements.retain(|e| e.ground.is_none());
    let n = free.size();
    let sum = |of: &dyn Fn(&crate::system::LinearElement) -> nalgebra::DMatrix<f64>| {
        free.elements
            .iter()
            .fold(nalgebra::DMatrix::zeros(n, n), |s, e| s + &e.b * of(e) * e.b.transpose())
    };
    (free.k, free.c, free.h) =
        (sum(&|e| e.k.clone()), sum(&|e| e.c.clone()), sum(&|e| e.h.clone()));
    free.dynamic.clear();
    let real = RealModes::new(&free)?;
    let inner = [(CROWN, press.crown.mass), (SLIDE, press.slide.mass)];
    let swing = |i: usize| {
        let (omega, phi) = (real.omega[i], real.phi.column(i));
        let dashpot = phi.dot(&(&free.c * phi)) / (2.0 * omega);
        let loss = phi.dot(&(&free.h * phi)) / (2.0 * omega * omega);
        Swing {
            frequency: omega / std::f64::consts::TAU,
            damping_ratio: (dashpot + loss).min(0.99),
            share: inner.iter().map(|&(row, mass)| mass * phi[row]).sum::<f64>() * phi[SLIDE],
        }
    };
    // The two fastest: the others are the machine as it floats.
    let swings = (n.saturating_sub(2)..n).filter(|&i| real.omega[i] > 0.0).map(swing).collect();
    let pulse = EquivalentPulse::new(force.knots(), swings, Some(point))?;
    let found = modes(&linear)?;
    let stiffest = found.frequency.iter().take(n.saturating_sub(2)).fold(0.0_f64, |a, &b| a.max(b));
    let mounts_lose = linear.grounded().any(|(e, _)| e.h.iter().any(|&h| h != 0.0));
    let suffices = pulse.frequency() >= ENOUGH * stiffest && !mounts_lose;
    Ok((pulse, suffices))
}
