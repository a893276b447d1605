//! At which speed on the way up does a steady load ask the most friction of the feet?
//!
//! A machine that runs faster than its natural frequencies passes them while it runs up. Forces of
//! inertia grow with the square of the speed, F(f) = F (f / f_full)^2, and the response at f is that
//! of the steady vibration there. The worst f is sought near each natural frequency below full
//! speed, then by golden section between its neighbors; full speed itself is always among them.
//!
//! Limits: a run-up that takes many periods at each speed; a quick one builds up less. Source:
//! textbook.

use num_complex::Complex64;

use super::Feet;
use super::walking::friction_estimate;
use crate::analysis::{Response, response};
use crate::error::Result;
use crate::system::Linear;

/// Speeds that are tried about a natural frequency, as parts of it.
const ABOUT: [f64; 5] = [0.9, 0.95, 1.0, 1.05, 1.1];
/// Halvings (by the golden section) of the bracket of the worst speed.
const SECTIONS: usize = 24;
/// An undamped resonance has no response; right beside it there is one.
const BESIDE: f64 = 1.0 + 1e-6;

/// The worst frequency up to `full` (Hz) of a load (peak phasors at full speed), and the response
/// there; `natural` are the natural frequencies, Hz.
///
/// # Errors
/// Those of the response at full speed.
pub fn worst_speed(
    feet: &Feet,
    linear: &Linear,
    load: &[Complex64],
    full: f64,
    natural: &[f64],
) -> Result<(f64, Response)> {
    let at = |f: f64| {
        let part = (f / full).powi(2);
        let load: Vec<Complex64> = load.iter().map(|x| x * part).collect();
        response(linear, &[f], &load)
    };
    let asked = |f: f64| {
        let steady = at(f).and_then(|r| feet.steady(&r, 0));
        steady.map_or(0.0, |s| friction_estimate(feet, &s))
    };
    let mut speeds: Vec<f64> = natural
        .iter()
        .flat_map(|f| ABOUT.map(|part| f * part * BESIDE))
        .filter(|f| *f > 0.0 && *f < full)
        .collect();
    speeds.push(full);
    speeds.sort_by(f64::total_cmp);
    let found: Vec<f64> = speeds.iter().map(|&f| asked(f)).collect();
    let last = speeds.len() - 1;
    let mut worst = last;
    for i in 0..last {
        if found[i] > found[worst] {
            worst = i;
        }
    }
    let mut speed = speeds[worst];
    if worst != last && found[worst].is_finite() {
        let below = if worst == 0 { speeds[0] * ABOUT[0] } else { speeds[worst - 1] };
        let (f, value) = golden(asked, below, speeds[worst + 1]);
        if value > found[worst] {
            speed = f;
        }
    }
    Ok((speed, at(speed)?))
}

/// Where a function with one summit between a and b is greatest, and how great.
fn golden(of: impl Fn(f64) -> f64, mut a: f64, mut b: f64) -> (f64, f64) {
    let part = 0.5 * (5_f64.sqrt() - 1.0);
    let (mut x, mut y) = (b - part * (b - a), a + part * (b - a));
    let (mut at_x, mut at_y) = (of(x), of(y));
    for _ in 0..SECTIONS {
        if at_x > at_y {
            (b, y, at_y) = (y, x, at_x);
            x = b - part * (b - a);
            at_x = of(x);
        } else {
            (a, x, at_x) = (x, y, at_y);
            y = a + part * (b - a);
            at_y = of(y);
        }
    }
    if at_x > at_y { (x, at_x) } else { (y, at_y) }
}
