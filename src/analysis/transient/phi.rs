//! The functions by which an exponential answers a constant, a ramp and another exponential.
//!
//! phi_1(z) = (e^z - 1) / z,   phi_2(z) = (e^z - 1 - z) / z^2,
//! psi(s, sigma, tau) = (e^{s tau} - e^{sigma tau}) / (s - sigma)
//!
//! q' = s q + b (c + d tau + a e^{sigma tau}), q(0) = 0 has the solution
//! q(tau) = b (c tau phi_1(s tau) + d tau^2 phi_2(s tau) + a psi(s, sigma, tau)).
//!
//! All three stay accurate at z = 0 and at s = sigma (undamped resonance), where the quotients are
//! 0/0. Source: M. Hochbruck and A. Ostermann, Exponential integrators, Acta Numerica 19 (2010),
//! section 2.1 (from memory).

use num_complex::Complex64;

/// 1 / (k + 2)!, the series of phi_2; for |z| < 1 the first term left out is below the rounding of
/// a double, for |z| < 0.1 ten terms are enough.
const SERIES: [f64; 19] = {
    let mut series = [0.5; 19];
    let mut k = 1;
    while k < 19 {
        series[k] = series[k - 1] / (k + 2) as f64;
        k += 1;
    }
    series
};

/// e^z, phi_1(z), phi_2(z).
pub(in crate::analysis) fn phi(z: Complex64) -> [Complex64; 3] {
    if z.norm_sqr() < 1.0 {
        let terms = if z.norm_sqr() < 0.01 { 10 } else { SERIES.len() };
        let horner = |sum: Complex64, c: &f64| sum * z + c;
        let phi2 = SERIES[..terms].iter().rev().fold(Complex64::ZERO, horner);
        let phi1 = 1.0 + z * phi2;
        [1.0 + z * phi1, phi1, phi2]
    } else {
        let e = z.exp();
        let phi1 = (e - 1.0) / z;
        [e, phi1, (phi1 - 1.0) / z]
    }
}

/// psi(s, sigma, tau); the greater exponential is taken out first, so that nothing overflows that
/// need not.
pub(in crate::analysis) fn psi(s: Complex64, sigma: Complex64, tau: f64) -> Complex64 {
    let (greater, less) = if s.re >= sigma.re { (s, sigma) } else { (sigma, s) };
    tau * (greater * tau).exp() * phi((less - greater) * tau)[1]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// phi_2 by its series in steps, far more terms than needed; good for |z| up to about 3.
    fn slow_series(z: Complex64, first: u32) -> Complex64 {
        let mut term = Complex64::from(1.0 / (1..=first).map(f64::from).product::<f64>());
        let mut sum = term;
        for k in 1..60 {
            term = term * z / f64::from(first + k);
            sum += term;
        }
        sum
    }

    #[test]
    fn both_forms_agree_with_the_long_series_on_both_sides_of_the_switch() {
        for &r in &[0.0, 1e-9, 1e-3, 0.5, 0.999_999, 1.000_001, 2.0, 3.0] {
            for i in 0..24 {
                let z = Complex64::from_polar(r, f64::from(i) * 0.261_8);
                let [e, phi1, phi2] = phi(z);
                assert!((e - slow_series(z, 0)).norm() < 1e-14 * e.norm().max(1.0), "e^{z}");
                assert!((phi1 - slow_series(z, 1)).norm() < 2e-15 * phi1.norm().max(1.0));
                assert!((phi2 - slow_series(z, 2)).norm() < 2e-15 * phi2.norm().max(0.5));
            }
        }
    }

    #[test]
    fn phi_of_far_negative_numbers_is_minus_one_over_z() {
        let [e, phi1, phi2] = phi(Complex64::from(-1e6));
        assert_eq!(e.re, 0.0);
        assert_eq!(phi1.re, 1e-6);
        assert!((phi2.re - (1e-6 - 1e-12)).abs() < 1e-21);
    }

    #[test]
    fn psi_is_symmetric_and_has_the_limit_t_times_e_to_the_s_t_at_resonance() {
        let s = Complex64::new(-0.3, 40.0);
        let limit = 0.7 * (s * 0.7).exp();
        assert!((psi(s, s, 0.7) - limit).norm() < 1e-15);
        let near = s + Complex64::new(1e-9, -1e-9);
        assert!((psi(s, near, 0.7) - limit).norm() < 1e-9);
        let far = Complex64::new(-5.0, 3.0);
        let quotient = ((s * 0.7).exp() - (far * 0.7).exp()) / (s - far);
        assert!((psi(s, far, 0.7) - quotient).norm() < 1e-16);
        assert_eq!(psi(s, far, 0.7), psi(far, s, 0.7));
    }

    #[test]
    fn psi_does_not_overflow_when_one_exponential_is_enormously_damped() {
        let value = psi(Complex64::new(-1.0, 2.0), Complex64::from(-1e9), 1.0);
        assert!(value.is_finite() && value.norm() > 1e-10);
    }
}
