//! A Maxwell law that stands for another over a band of frequencies.
//!
//! Relaxation times are set evenly over the logarithm of time, from a decade below the shortest
//! period of the band to its longest (both over 2 pi, rounded to whole decades); the stiffnesses,
//! none negative, are those of least squares of the relative error of storage and loss,
//!
//! sum over frequencies of ((Re D' - Re D) / Re D)^2 + ((Im D' - Im D) / Im D)^2 -> least.
//!
//! The result is causal and passive by its form, whatever the law was. Source: non-negative least
//! squares after C. L. Lawson and R. J. Hanson, Solving Least Squares Problems, 1974, chapter 23
//! (from memory).

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::{Dynamic, Maxwell, MaxwellTerm};
use crate::error::{Error, Result, positive};

/// Frequencies per decade at which the fit is made and judged.
const POINTS: f64 = 20.0;

/// A Maxwell law and how near it comes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MaxwellFit {
    /// The law.
    pub law: Maxwell,
    /// Band of the fit, Hz.
    pub band: [f64; 2],
    /// Greatest relative error of the storage stiffness in the band.
    pub storage_error: f64,
    /// Greatest relative error of the loss stiffness in the band.
    pub loss_error: f64,
}

/// Maxwell law for a band (Hz), with so many relaxation times per decade.
///
/// # Errors
/// [`Error::Invalid`] for a band upside down, beyond a table, or no relaxation time per decade.
pub fn maxwell_fit(law: &Dynamic, band: [f64; 2], per_decade: usize) -> Result<MaxwellFit> {
    let [low, high] = band;
    positive("band[0]", low, "Hz")?;
    if positive("band[1]", high, "Hz")? <= low {
        return Err(Error::invalid(
            "band",
            format!("{low} to {high} Hz"),
            "must end above its start",
            "give the lower frequency first",
        ));
    }
    if !(1..=10).contains(&per_decade) {
        return Err(Error::invalid(
            "per_decade",
            per_decade,
            "must be 1 to 10 relaxation times",
            "two per decade are enough for most laws",
        ));
    }
    let omega = frequencies(low * TAU, high * TAU);
    let given = omega.iter().map(|&w| law.at(w)).collect::<Result<Vec<_>>>()?;
    let times = times(low * TAU, high * TAU, per_decade);
    let count = omega.len();
    let (mut a, mut y) = (DMatrix::zeros(2 * count, times.len() + 1), DVector::zeros(2 * count));
    for (i, (&w, d)) in omega.iter().zip(&given).enumerate() {
        // Where nothing is lost there is no relative error; the size of D takes its place.
        let weight = [d.re, d.im].map(|part| 1.0 / if part > 0.0 { part } else { d.norm() });
        (y[i], y[count + i]) = (d.re * weight[0], d.im * weight[1]);
        a[(i, 0)] = weight[0];
        for (j, time) in times.iter().enumerate() {
            let z = w * time;
            let share = 1.0 / (1.0 + z * z);
            a[(i, j + 1)] = z * z * share * weight[0];
            a[(count + i, j + 1)] = z * share * weight[1];
        }
    }
    let found = non_negative(&a, &y)?;
    let error = (&a * &found - &y).map(f64::abs);
    let terms = times.iter().zip(found.iter().skip(1)).filter(|(_, k)| **k > 0.0);
    let terms =
        terms.map(|(&time, &k)| MaxwellTerm { stiffness: k, relaxation_time: time }).collect();
    Ok(MaxwellFit {
        law: Maxwell::new(found[0], terms)?,
        band,
        storage_error: error.rows(0, count).max(),
        loss_error: error.rows(count, count).max(),
    })
}

fn frequencies(low: f64, high: f64) -> Vec<f64> {
    let decades = (high / low).log10();
    let steps = (decades * POINTS).ceil().max(4.0);
    let inside = |i: usize| low * 10_f64.powf(decades * i as f64 / steps);
    let mut omega: Vec<f64> = (0..=steps as usize).map(inside).collect();
    // The end itself, not its rounding, which may lie outside a table.
    if let Some(last) = omega.last_mut() {
        *last = high;
    }
    omega
}

fn times(low: f64, high: f64, per_decade: usize) -> Vec<f64> {
    let first = (-high.log10()).floor() - 1.0;
    let last = (-low.log10()).ceil();
    let count = ((last - first) * per_decade as f64).round() as usize;
    (0..=count).map(|i| 10_f64.powf(first + i as f64 / per_decade as f64)).collect()
}

/// x >= 0 with least |A x - y|: columns enter one by one, and leave where they would be negative.
fn non_negative(a: &DMatrix<f64>, y: &DVector<f64>) -> Result<DVector<f64>> {
    let n = a.ncols();
    let mut x = DVector::zeros(n);
    let mut inside = vec![false; n];
    let bound = 1e-12 * a.tr_mul(y).amax();
    for _ in 0..20 * n {
        let pull = a.tr_mul(&(y - a * &x));
        let best = (0..n).filter(|&j| !inside[j]).max_by(|&i, &j| pull[i].total_cmp(&pull[j]));
        let Some(best) = best.filter(|&j| pull[j] > bound) else { return Ok(x) };
        inside[best] = true;
        loop {
            let trial = least_squares(a, y, &inside)?;
            let negative = (0..n).filter(|&j| inside[j] && trial[j] <= 0.0);
            let step = negative.map(|j| x[j] / (x[j] - trial[j])).fold(1.0_f64, f64::min);
            x += (&trial - &x) * step;
            if step == 1.0 {
                break;
            }
            for j in 0..n {
                if inside[j] && (trial[j] <= 0.0 && x[j] <= 1e-14 * x.amax()) {
                    (inside[j], x[j]) = (false, 0.0);
                }
            }
        }
    }
    Err(not_converged("columns kept entering and leaving"))
}

/// Least squares over the columns inside, zero outside.
fn least_squares(a: &DMatrix<f64>, y: &DVector<f64>, inside: &[bool]) -> Result<DVector<f64>> {
    let kept: Vec<usize> = (0..a.ncols()).filter(|&j| inside[j]).collect();
    let svd = a.select_columns(&kept).svd(true, true);
    let part = svd.solve(y, 1e-14).map_err(not_converged)?;
    let mut x = DVector::zeros(a.ncols());
    for (i, &j) in kept.iter().enumerate() {
        x[j] = part[i];
    }
    Ok(x)
}

fn not_converged(detail: &str) -> Error {
    Error::NotConverged {
        what: "the Maxwell fit".into(),
        detail: detail.into(),
        remedy: "fit a narrower band or fewer relaxation times per decade".into(),
    }
}
