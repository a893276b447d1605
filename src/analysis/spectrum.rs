//! Shock response spectrum: how hard would one degree of freedom of each frequency be hit?
//!
//! The base of a mass on spring and dashpot moves with the acceleration x(t); y is the motion of
//! the mass relative to the base:
//!
//! y'' + 2 zeta omega y' + omega^2 y = -x
//!
//! A sampled record is taken as linear between samples (ramp-invariant filter). With the pole
//! s = -zeta omega + j omega_d, T = 1 / sample rate and z = s T, the exact motion is
//!
//! q_n = e^z q_{n-1} + T (phi_1(z) - phi_2(z)) x_{n-1} + T phi_2(z) x_n,
//! y = -Im(q) / omega_d,   absolute acceleration = -Im(s^2 q) / omega_d,
//!
//! which is the second-order filter of ISO 18431-4 in the form of one complex pole; it keeps its
//! digits where omega T is small, as the usual coefficients do not. Before the record x is zero
//! (x rises to its first sample within one T), after it too, and the free vibration is followed for
//! one period with zero input, so that residual peaks count.
//!
//! Peaks of a record are picked at its samples and are low by up to (pi f / sample rate)^2 / 2:
//! 5 % at ten samples per period, 0.1 % at 70. Peaks of a [`Pulse`] are solved for.
//!
//! Source: D. O. Smallwood, An improved recursive formula for calculating shock response spectra,
//! Shock and Vibration Bulletin 51 (1981), part 2; ISO 18431-4:2007 (coefficients derived here).

use nalgebra::{DMatrix, DVector, Vector3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use super::transient::phi::phi;
use super::transient::{Start, Transient};
use crate::error::{Error, Result, each, finite, positive};
use crate::excitation::Pulse;
use crate::lanes::{filter, instruction_set};
use crate::system::{Axis, Dof, Label, Linear, LinearElement};

/// Fewer samples per period than this bring a warning.
const FEW_SAMPLES: f64 = 10.0;
/// More samples per period than this are an input error: following one period takes too long.
const MOST_SAMPLES: f64 = 1e7;

/// What is read off the single degree of freedom.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Response {
    /// Acceleration of the mass, in the unit of the record.
    AbsoluteAcceleration,
    /// Displacement y of the mass relative to the base, in the unit of the record times s^2.
    RelativeDisplacement,
    /// -omega^2 y, in the unit of the record: the base's acceleration that would do the same if it
    /// stayed.
    PseudoAcceleration,
}

/// Greatest responses against natural frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShockSpectrum {
    /// Natural frequencies, Hz.
    pub frequency: Vec<f64>,
    /// Damping ratio zeta.
    pub damping_ratio: f64,
    /// What was read off.
    pub response: Response,
    /// Greatest response in the positive sense (zero or more).
    pub positive: Vec<f64>,
    /// Greatest response in the negative sense, as a number that is zero or more.
    pub negative: Vec<f64>,
    /// The greater of the two.
    pub maximax: Vec<f64>,
    /// What the reader should know.
    pub warnings: Vec<String>,
}

/// Second-order filter y_n = b0 x_n + b1 x_{n-1} + b2 x_{n-2} - a1 y_{n-1} - a2 y_{n-2}.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecursiveFilter {
    /// b0, b1, b2.
    pub numerator: [f64; 3],
    /// 1, a1, a2.
    pub denominator: [f64; 3],
}

/// One frequency: the recursion of q and what is read off it.
#[derive(Debug, Clone, Copy)]
struct Pole {
    e: Complex64,
    /// Weight of the sample before.
    before: Complex64,
    /// Weight of the sample now.
    now: Complex64,
    /// Response = Im(read q).
    read: Complex64,
}

impl Pole {
    fn new(frequency: f64, sample_rate: f64, zeta: f64, response: Response) -> Self {
        let omega = TAU * frequency;
        let omega_d = omega * ((1.0 - zeta) * (1.0 + zeta)).sqrt();
        let s = Complex64::new(-zeta * omega, omega_d);
        let t = 1.0 / sample_rate;
        let [e, phi1, phi2] = phi(s * t);
        let read = match response {
            Response::AbsoluteAcceleration => -s * s,
            Response::RelativeDisplacement => Complex64::from(-1.0),
            Response::PseudoAcceleration => Complex64::from(omega * omega),
        };
        Self { e, before: (phi1 - phi2) * t, now: phi2 * t, read: read / omega_d }
    }

    /// With the state p = read (q - now x), which knows nothing of the present sample:
    /// p_{n+1} = e p_n + read (before + e now) x_n.
    fn lane(&self, after: usize) -> filter::Pole {
        filter::Pole {
            e: self.e,
            b: self.read * (self.before + self.e * self.now),
            d: (self.read * self.now).im,
            after,
        }
    }
}

/// The coefficients of ISO 18431-4 for one natural frequency (Hz), sample rate (Hz) and damping
/// ratio.
pub fn recursive_filter(
    frequency: f64,
    sample_rate: f64,
    damping_ratio: f64,
    response: Response,
) -> Result<RecursiveFilter> {
    check(&[frequency], sample_rate, damping_ratio)?;
    let pole = Pole::new(frequency, sample_rate, damping_ratio, response);
    // Im(read (now + before / z) / (1 - e / z)) over the product with the conjugate pole.
    let im = |value: Complex64| (pole.read * value).im;
    let turned = pole.e.conj();
    Ok(RecursiveFilter {
        numerator: [im(pole.now), im(pole.before - turned * pole.now), im(-turned * pole.before)],
        denominator: [1.0, -2.0 * pole.e.re, pole.e.norm_sqr()],
    })
}

/// Spectrum of a record of the base's acceleration at natural frequencies (Hz).
///
/// ```
/// use underfoot::analysis::spectrum::{Response, shock_response_spectrum};
/// let record: Vec<f64> = (0..=110).map(|n| (f64::from(n) * 0.01 * 2.855_993).sin()).collect();
/// let response = Response::AbsoluteAcceleration;
/// let spectrum = shock_response_spectrum(&record, 10e3, &[73.6], 0.05, response).unwrap();
/// assert!((spectrum.maximax[0] - 1.65).abs() < 0.01);
/// ```
pub fn shock_response_spectrum(
    signal: &[f64],
    sample_rate: f64,
    frequency: &[f64],
    damping_ratio: f64,
    response: Response,
) -> Result<ShockSpectrum> {
    check(frequency, sample_rate, damping_ratio)?;
    if signal.is_empty() {
        return Err(Error::Shape {
            argument: "signal".to_string(),
            found: "(0,)".to_string(),
            expected: "at least one sample".to_string(),
        });
    }
    each(finite, "signal", signal, "")?;
    let isa = instruction_set()?;
    let mut extremes = Vec::with_capacity(frequency.len());
    for group in frequency.chunks(filter::GROUP) {
        let pole = |&f: &f64| Pole::new(f, sample_rate, damping_ratio, response);
        let after = |&f: &f64| (sample_rate / f).ceil() as usize + 1;
        let poles: Vec<_> = group.iter().map(|f| pole(f).lane(after(f))).collect();
        extremes.extend(filter::extremes(isa, &poles, signal));
    }
    let warnings = sparse(frequency, sample_rate).into_iter().collect();
    Ok(spectrum(frequency, damping_ratio, response, extremes, warnings))
}

/// Spectrum of a pulse of the base's acceleration, with peaks solved for: during the pulse and in
/// one period after it.
pub fn pulse_response_spectrum(
    pulse: &Pulse,
    frequency: &[f64],
    damping_ratio: f64,
    response: Response,
) -> Result<ShockSpectrum> {
    // The highest frequency as sample rate: there are no samples here.
    let highest = frequency.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    check(frequency, highest, damping_ratio)?;
    let pulse = pulse.clone().checked()?;
    let one = |&f: &f64| pulse_extremes(&pulse, f, damping_ratio, response);
    let extremes = frequency.iter().map(one).collect::<Result<Vec<_>>>()?;
    Ok(spectrum(frequency, damping_ratio, response, extremes, Vec::new()))
}

/// Greatest and least response at one frequency.
fn pulse_extremes(pulse: &Pulse, f: f64, zeta: f64, response: Response) -> Result<[f64; 2]> {
    let omega = TAU * f;
    let linear = oscillator(omega, zeta);
    let base = DVector::from_element(1, -1.0);
    let duration = pulse.duration() + 1.0 / f;
    let rest = Start::rest(1);
    let motion = Transient::new(&linear, &pulse.segments(), &base, &rest, Some(duration))?;
    let force = motion.element_force(0).filter(|_| response == Response::AbsoluteAcceleration);
    let (output, factor) = match (force, response) {
        // The spring pulls the mass back.
        (Some(force), _) => (force, -1.0),
        (None, Response::PseudoAcceleration) => (motion.displacement(), -omega * omega),
        (None, _) => (motion.displacement(), 1.0),
    };
    let extrema = &motion.extrema(&output)[0];
    let (a, b) = (factor * extrema.max.value, factor * extrema.min.value);
    Ok([a.max(b), a.min(b)])
}

/// Unit mass on spring and dashpot.
fn oscillator(omega: f64, zeta: f64) -> Linear {
    let one = |x: f64| DMatrix::from_element(1, 1, x);
    let (k, c) = (omega * omega, 2.0 * zeta * omega);
    let element = LinearElement {
        b: one(1.0),
        k: one(k),
        h: one(0.0),
        c: one(c),
        dynamic: Vec::new(),
        label: Label { kind: "spring".to_string(), name: "spring".to_string() },
        ground: None,
    };
    Linear {
        dofs: vec![Dof { body: "mass".to_string(), axis: Axis::Z }],
        m: one(1.0),
        k: one(k),
        h: one(0.0),
        c: one(c),
        dynamic: Vec::new(),
        principal: one(1.0),
        elements: vec![element],
        ports: Vec::new(),
        reference: Vector3::zeros(),
    }
}

fn spectrum(
    frequency: &[f64],
    damping_ratio: f64,
    response: Response,
    extremes: Vec<[f64; 2]>,
    warnings: Vec<String>,
) -> ShockSpectrum {
    let positive: Vec<f64> = extremes.iter().map(|e| e[0].max(0.0)).collect();
    let negative: Vec<f64> = extremes.iter().map(|e| (-e[1]).max(0.0)).collect();
    let maximax = positive.iter().zip(&negative).map(|(p, n)| p.max(*n)).collect();
    ShockSpectrum {
        frequency: frequency.to_vec(),
        damping_ratio,
        response,
        positive,
        negative,
        maximax,
        warnings,
    }
}

fn check(frequency: &[f64], sample_rate: f64, damping_ratio: f64) -> Result<()> {
    positive("sample_rate", sample_rate, "Hz")?;
    for (i, &f) in frequency.iter().enumerate() {
        let name = format!("frequency[{i}]");
        positive(&name, f, "Hz")?;
        if sample_rate / f > MOST_SAMPLES {
            return Err(Error::invalid(
                name,
                format!("{f} Hz"),
                format!(
                    "must be at least sample_rate / {MOST_SAMPLES:e}, {} Hz",
                    sample_rate / MOST_SAMPLES
                ),
                "leave out the lowest frequencies or thin out the record",
            ));
        }
    }
    if !(0.0..1.0).contains(&damping_ratio) {
        return Err(Error::invalid(
            "damping_ratio",
            damping_ratio,
            "must be at least 0 and less than 1",
            "give a fraction of critical damping: 0.05 for 5 % (Q = 10)",
        ));
    }
    Ok(())
}

/// A warning if the highest frequency has few samples per period.
fn sparse(frequency: &[f64], sample_rate: f64) -> Option<String> {
    let highest = frequency.iter().copied().fold(0.0, f64::max);
    let samples = sample_rate / highest;
    let miss = 50.0 * (PI / samples).powi(2);
    (samples < FEW_SAMPLES).then(|| {
        format!(
            "only {samples:.1} samples per period at {highest} Hz: peaks there may be low by up to \
             {miss:.0} %"
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_recursion_of_one_pole_is_the_second_order_filter() {
        let (fs, f, zeta) = (1000.0, 37.0, 0.05);
        let signal: Vec<f64> = (0..300).map(|n| f64::from(n * n % 17) - 8.0).collect();
        for response in [Response::AbsoluteAcceleration, Response::RelativeDisplacement] {
            let filter = recursive_filter(f, fs, zeta, response).unwrap();
            let [b0, b1, b2] = filter.numerator;
            let [_, a1, a2] = filter.denominator;
            let pole = Pole::new(f, fs, zeta, response);
            let mut q = Complex64::from(0.0);
            let (mut x1, mut x2, mut y1, mut y2) = (0.0, 0.0, 0.0, 0.0);
            let scale: f64 = filter.numerator.iter().map(|b| b.abs()).sum::<f64>() * 100.0;
            for &x in &signal {
                let y = b0 * x + b1 * x1 + b2 * x2 - a1 * y1 - a2 * y2;
                q = pole.e * q + pole.before * x1 + pole.now * x;
                assert!(((pole.read * q).im - y).abs() < 1e-12 * scale);
                (x2, x1, y2, y1) = (x1, x, y1, y);
            }
        }
    }

    #[test]
    fn a_record_that_stays_gives_itself_at_very_low_omega_t() {
        // Twice the base's acceleration after half a period, undamped, and 1e-6 periods per sample.
        let signal = vec![1.0; 600_000];
        let response = Response::PseudoAcceleration;
        let spectrum = shock_response_spectrum(&signal, 1e6, &[1.0], 0.0, response).unwrap();
        assert!((spectrum.positive[0] - 2.0).abs() < 1e-9, "{:?}", spectrum.positive);
        assert_eq!(spectrum.negative.len(), 1);
    }

    #[test]
    fn bad_arguments_are_named() {
        let call = |x: &[f64], fs, f: &[f64], zeta| {
            let response = Response::AbsoluteAcceleration;
            shock_response_spectrum(x, fs, f, zeta, response).unwrap_err().to_string()
        };
        assert!(call(&[], 1.0, &[1.0], 0.05).starts_with("signal has shape (0,)"));
        assert!(call(&[1.0, f64::NAN], 1.0, &[1.0], 0.05).starts_with("signal[1] = NaN"));
        assert!(call(&[1.0], 0.0, &[1.0], 0.05).starts_with("sample_rate = 0 Hz"));
        assert!(call(&[1.0], 1.0, &[1.0, -2.0], 0.05).starts_with("frequency[1] = -2 Hz"));
        assert!(call(&[1.0], 1.0, &[1.0], 1.0).starts_with("damping_ratio = 1"));
        assert!(call(&[1.0], 1e9, &[1.0], 0.1).starts_with("frequency[0] = 1 Hz"));
    }
}
