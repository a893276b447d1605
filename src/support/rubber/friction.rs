//! How stiff is a pad whose faces may slide? A disc between plates with friction mu, small strain.
//!
//! With z = radius / t and rho = R / t = 2 S, slip starts at the edge if mu < rho. The radius of the
//! part that sticks solves z_s = mu exp(2 mu (rho - z_s)). Stress over E eps: exp(2 mu (rho - z)) where
//! it slips, plus z_s^2 - z^2 where it sticks, and
//!
//! Ea / E = (2 / rho^2) int_0^rho stress z dz.
//!
//! mu >= 2 S: 1 + 2 S^2, as bonded; mu -> 0: 1. Oil under a pad moves it down there. Assumptions: the
//! pressure of a thin pad plus a uniaxial part, no full contact solution. Source: derived for this
//! project and computed by another program; mu of dry rubber on steel or concrete 0.5 to 1.0, oily
//! 0.05 to 0.2 (common practice).

/// What friction leaves of the constraint, all relative to E eps of unfilled rubber.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Friction {
    /// Radius of the part that sticks, over R.
    pub stick_radius: f64,
    /// Ea / E.
    pub modulus: f64,
    /// Stress in the middle over E eps.
    pub center_stress: f64,
}

/// A disc with shape factor S and friction mu (both positive).
pub fn disc(friction: f64, shape_factor: f64) -> Friction {
    let (mu, rho) = (friction, 2.0 * shape_factor);
    if mu >= rho {
        let square = rho * rho;
        return Friction {
            stick_radius: 1.0,
            modulus: 1.0 + 0.5 * square,
            center_stress: 1.0 + square,
        };
    }
    let zs = stick_radius(mu, rho);
    let a = 2.0 * mu;
    let slip = rho - zs;
    let edge = (a * slip).exp();
    // int_0^zs (edge + zs^2 - z^2) z dz
    let sticking = 0.5 * zs * zs * edge + 0.25 * zs.powi(4);
    // int_zs^rho exp(a (rho - z)) z dz = int_0^slip (rho - u) exp(a u) du
    let sliding = rho * slip * first_moment(a * slip) - slip * slip * second_moment(a * slip);
    Friction {
        stick_radius: zs / rho,
        modulus: 2.0 / (rho * rho) * (sticking + sliding),
        center_stress: edge + zs * zs,
    }
}

/// z in 0..rho with ln z - ln mu - 2 mu (rho - z) = 0: Newton on a concave rising function, from below.
fn stick_radius(mu: f64, rho: f64) -> f64 {
    let (mut low, mut high) = (mu.min(rho), rho);
    let mut z = low;
    for _ in 0..100 {
        let f = (z / mu).ln() - 2.0 * mu * (rho - z);
        if f < 0.0 {
            low = z
        } else {
            high = z
        }
        let newton = z - f / (1.0 / z + 2.0 * mu);
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - z).abs() <= 2.0 * f64::EPSILON * z {
            return next;
        }
        z = next;
    }
    z
}

/// int_0^1 exp(x s) ds.
fn first_moment(x: f64) -> f64 {
    if x == 0.0 { 1.0 } else { x.exp_m1() / x }
}

/// int_0^1 s exp(x s) ds; by its series where the closed form would cancel.
fn second_moment(x: f64) -> f64 {
    if x.abs() > 1.0 {
        return (x.exp() * (x - 1.0) + 1.0) / (x * x);
    }
    let (mut sum, mut power) = (0.0, 1.0);
    for k in 0..25 {
        let k = f64::from(k);
        sum += power / (k + 2.0);
        power *= x / (k + 1.0);
    }
    sum
}
