//! The shapes of shock in common use: what force (or acceleration) acts at time t?
//!
//! Every pulse starts at t = 0, is zero before, and ends at its duration T:
//!
//! - half-sine            P sin(pi t / T)
//! - haversine            P (1 - cos(2 pi t / T)) / 2, also called versed sine
//! - rectangular          P
//! - triangular           P (1 - |2 t / T - 1|), symmetric
//! - initial-peak sawtooth   P (1 - t / T)
//! - terminal-peak sawtooth  P t / T
//! - ramp step            P t / rise, then P for the time hold, then zero
//! - exponential decay    P e^{-t / time_constant}, cut off at T
//!
//! Where a pulse jumps, its value is the one just after the jump: a terminal-peak sawtooth is zero
//! at t = T, a rectangular pulse is P at t = 0. Units are those of the peak: N, or m/s^2 for a
//! motion of the base.
//!
//! Source: textbook shapes, e.g. C. M. Harris and A. G. Piersol, Harris' Shock and Vibration
//! Handbook, 5th ed. 2002, chapter 8 (from memory).

use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

use super::Segment;
use crate::error::{Error, Result, finite, positive};

/// A pulse that starts at t = 0. Make one by the function of the same name
/// ([`Pulse::half_sine`] ...), which checks its arguments.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Pulse {
    /// P sin(pi t / T).
    HalfSine {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// P (1 - cos(2 pi t / T)) / 2.
    Haversine {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// P.
    Rectangular {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// Rises to P at T / 2 and falls again.
    Triangular {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// Jumps to P and falls to zero at T.
    InitialPeakSawtooth {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// Rises to P at T and drops to zero.
    TerminalPeakSawtooth {
        /// Peak P, N.
        peak: f64,
        /// Duration T, s.
        duration: f64,
    },
    /// Rises to P, stays, drops to zero.
    RampStep {
        /// Peak P, N.
        peak: f64,
        /// Time of the rise, s.
        rise: f64,
        /// Time at the peak, s.
        hold: f64,
    },
    /// P e^{-t / time_constant} until T.
    ExponentialDecay {
        /// Peak P, N.
        peak: f64,
        /// Time in which it falls by the factor e, s.
        time_constant: f64,
        /// Duration T, s.
        duration: f64,
    },
}

impl Pulse {
    /// Half-sine of that peak (N, either sign) and duration (s).
    pub fn half_sine(peak: f64, duration: f64) -> Result<Self> {
        Self::HalfSine { peak, duration }.checked()
    }

    /// Haversine (versed sine) of that peak (N, either sign) and duration (s).
    pub fn haversine(peak: f64, duration: f64) -> Result<Self> {
        Self::Haversine { peak, duration }.checked()
    }

    /// Rectangle of that peak (N, either sign) and duration (s).
    pub fn rectangular(peak: f64, duration: f64) -> Result<Self> {
        Self::Rectangular { peak, duration }.checked()
    }

    /// Symmetric triangle of that peak (N, either sign) and duration (s).
    pub fn triangular(peak: f64, duration: f64) -> Result<Self> {
        Self::Triangular { peak, duration }.checked()
    }

    /// Sawtooth that starts at its peak (N, either sign) and lasts the duration (s).
    pub fn initial_peak_sawtooth(peak: f64, duration: f64) -> Result<Self> {
        Self::InitialPeakSawtooth { peak, duration }.checked()
    }

    /// Sawtooth that ends at its peak (N, either sign) after the duration (s).
    pub fn terminal_peak_sawtooth(peak: f64, duration: f64) -> Result<Self> {
        Self::TerminalPeakSawtooth { peak, duration }.checked()
    }

    /// Linear rise to the peak (N, either sign) in the time `rise` (s), held for `hold` (s).
    pub fn ramp_step(peak: f64, rise: f64, hold: f64) -> Result<Self> {
        Self::RampStep { peak, rise, hold }.checked()
    }

    /// Jump to the peak (N, either sign) that decays with the time constant (s), cut off after
    /// the duration (s).
    pub fn exponential_decay(peak: f64, time_constant: f64, duration: f64) -> Result<Self> {
        Self::ExponentialDecay { peak, time_constant, duration }.checked()
    }

    /// The same pulse if its peak is finite and not zero and its times are positive.
    pub fn checked(self) -> Result<Self> {
        if finite("peak", self.peak(), "N")? == 0.0 {
            return Err(Error::invalid(
                "peak",
                "0 N",
                "must not be zero",
                "give the greatest force of the pulse, negative if it acts against the direction",
            ));
        }
        match self {
            Self::RampStep { rise, hold, .. } => {
                positive("rise", rise, "s")?;
                positive("hold", hold, "s")?;
            }
            Self::ExponentialDecay { time_constant, duration, .. } => {
                positive("time_constant", time_constant, "s")?;
                positive("duration", duration, "s")?;
            }
            _ => {
                positive("duration", self.duration(), "s")?;
            }
        }
        self.in_range()?;
        Ok(self)
    }

    /// Peaks and times whose products and powers doubles can hold; far beyond any machine.
    fn in_range(&self) -> Result<()> {
        let within = |argument: &str, value: f64, unit: &str, low: f64, high: f64| {
            if (low..=high).contains(&value.abs()) {
                return Ok(());
            }
            let size = format!("must lie between {low:e} and {high:e} {unit} in size");
            Err(Error::invalid(argument, format!("{value:e} {unit}"), size, "check the unit"))
        };
        within("peak", self.peak(), "N", 1e-50, 1e50)?;
        let time = |argument, value| within(argument, value, "s", 1e-30, 1e30);
        match *self {
            Self::RampStep { rise, hold, .. } => time("rise", rise).and(time("hold", hold)),
            Self::ExponentialDecay { time_constant, duration, .. } => {
                time("time_constant", time_constant).and(time("duration", duration))
            }
            _ => time("duration", self.duration()),
        }
    }

    /// Name of the shape in words.
    pub fn name(&self) -> &'static str {
        match self {
            Self::HalfSine { .. } => "half-sine",
            Self::Haversine { .. } => "haversine",
            Self::Rectangular { .. } => "rectangular",
            Self::Triangular { .. } => "triangular",
            Self::InitialPeakSawtooth { .. } => "initial-peak sawtooth",
            Self::TerminalPeakSawtooth { .. } => "terminal-peak sawtooth",
            Self::RampStep { .. } => "ramp step",
            Self::ExponentialDecay { .. } => "exponential decay",
        }
    }

    /// Peak P with its sign, N.
    pub fn peak(&self) -> f64 {
        match *self {
            Self::HalfSine { peak, .. }
            | Self::Haversine { peak, .. }
            | Self::Rectangular { peak, .. }
            | Self::Triangular { peak, .. }
            | Self::InitialPeakSawtooth { peak, .. }
            | Self::TerminalPeakSawtooth { peak, .. }
            | Self::RampStep { peak, .. }
            | Self::ExponentialDecay { peak, .. } => peak,
        }
    }

    /// Time from start to end, s.
    pub fn duration(&self) -> f64 {
        match *self {
            Self::HalfSine { duration, .. }
            | Self::Haversine { duration, .. }
            | Self::Rectangular { duration, .. }
            | Self::Triangular { duration, .. }
            | Self::InitialPeakSawtooth { duration, .. }
            | Self::TerminalPeakSawtooth { duration, .. }
            | Self::ExponentialDecay { duration, .. } => duration,
            Self::RampStep { rise, hold, .. } => rise + hold,
        }
    }

    /// Area under the pulse (impulse of a force), N s.
    pub fn impulse(&self) -> f64 {
        match *self {
            Self::HalfSine { peak, duration } => 2.0 / PI * peak * duration,
            Self::Rectangular { peak, duration } => peak * duration,
            Self::Haversine { peak, duration }
            | Self::Triangular { peak, duration }
            | Self::InitialPeakSawtooth { peak, duration }
            | Self::TerminalPeakSawtooth { peak, duration } => 0.5 * peak * duration,
            Self::RampStep { peak, rise, hold } => peak * (0.5 * rise + hold),
            Self::ExponentialDecay { peak, time_constant, duration } => {
                -peak * time_constant * (-duration / time_constant).exp_m1()
            }
        }
    }

    /// Force at time t (s), N; just after the jump where the pulse jumps, zero outside it.
    pub fn value(&self, t: f64) -> f64 {
        if !(0.0..self.duration()).contains(&t) {
            return 0.0;
        }
        match *self {
            Self::HalfSine { peak, duration } => peak * (PI * t / duration).sin(),
            Self::Haversine { peak, duration } => peak * (PI * t / duration).sin().powi(2),
            Self::Rectangular { peak, .. } => peak,
            Self::Triangular { peak, duration } => peak * (1.0 - (2.0 * t / duration - 1.0).abs()),
            Self::InitialPeakSawtooth { peak, duration } => peak * (1.0 - t / duration),
            Self::TerminalPeakSawtooth { peak, duration } => peak * (t / duration),
            Self::RampStep { peak, rise, .. } => peak * (t / rise).min(1.0),
            Self::ExponentialDecay { peak, time_constant, .. } => peak * (-t / time_constant).exp(),
        }
    }

    /// The pulse in closed form, for the transient analysis.
    pub fn segments(&self) -> Vec<Segment> {
        let end = self.duration();
        let j = Complex64::I;
        match *self {
            Self::HalfSine { peak, duration } => {
                vec![wave(end, 0.0, -j * peak, j * PI / duration)]
            }
            Self::Haversine { peak, duration } => {
                let amplitude = Complex64::from(-0.5 * peak);
                vec![wave(end, 0.5 * peak, amplitude, j * 2.0 * PI / duration)]
            }
            Self::Rectangular { peak, .. } => vec![line(0.0, end, peak, 0.0)],
            Self::Triangular { peak, duration } => {
                let (half, slope) = (0.5 * duration, 2.0 * peak / duration);
                vec![line(0.0, half, 0.0, slope), line(half, end, peak, -slope)]
            }
            Self::InitialPeakSawtooth { peak, duration } => {
                vec![line(0.0, end, peak, -peak / duration)]
            }
            Self::TerminalPeakSawtooth { peak, duration } => {
                vec![line(0.0, end, 0.0, peak / duration)]
            }
            Self::RampStep { peak, rise, .. } => {
                vec![line(0.0, rise, 0.0, peak / rise), line(rise, end, peak, 0.0)]
            }
            Self::ExponentialDecay { peak, time_constant, .. } => {
                let exponent = Complex64::from(-1.0 / time_constant);
                vec![wave(end, 0.0, Complex64::from(peak), exponent)]
            }
        }
    }
}

fn line(start: f64, end: f64, constant: f64, slope: f64) -> Segment {
    Segment { start, end, constant, slope, exponentials: Vec::new() }
}

fn wave(end: f64, constant: f64, amplitude: Complex64, exponent: Complex64) -> Segment {
    Segment { start: 0.0, end, constant, slope: 0.0, exponentials: vec![(amplitude, exponent)] }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn what_no_machine_does_is_refused_before_powers_overflow() {
        for (pulse, argument) in [
            (Pulse::half_sine(1.0, 1e-77), "duration"),
            (Pulse::half_sine(1e300, 0.01), "peak"),
            (Pulse::triangular(-1e308, 1e4), "peak"),
            (Pulse::ramp_step(1.0, 1e-40, 1.0), "rise"),
            (Pulse::exponential_decay(1.0, 1e-40, 1.0), "time_constant"),
        ] {
            let text = pulse.unwrap_err().to_string();
            assert!(text.starts_with(argument) && text.contains("must lie between"), "{text}");
        }
        assert!(Pulse::haversine(1e50, 1e30).unwrap().impulse().is_finite());
    }

    fn all() -> Vec<Pulse> {
        vec![
            Pulse::half_sine(3.0, 0.7).unwrap(),
            Pulse::haversine(-3.0, 0.7).unwrap(),
            Pulse::rectangular(3.0, 0.7).unwrap(),
            Pulse::triangular(3.0, 0.7).unwrap(),
            Pulse::initial_peak_sawtooth(3.0, 0.7).unwrap(),
            Pulse::terminal_peak_sawtooth(-3.0, 0.7).unwrap(),
            Pulse::ramp_step(3.0, 0.2, 0.5).unwrap(),
            Pulse::exponential_decay(3.0, 0.1, 0.7).unwrap(),
        ]
    }

    #[test]
    fn segments_give_the_same_value_as_the_formula_everywhere() {
        for pulse in all() {
            let segments = pulse.segments();
            assert_eq!(segments[0].start, 0.0);
            assert_eq!(segments[segments.len() - 1].end, pulse.duration());
            for pair in segments.windows(2) {
                assert_eq!(pair[0].end, pair[1].start);
            }
            for i in -10..=110 {
                let t = 0.01 * f64::from(i) * pulse.duration();
                let inside = segments.iter().find(|s| s.start <= t && t < s.end);
                let sum = inside.map_or(0.0, |s| s.value(t));
                assert!((sum - pulse.value(t)).abs() < 1e-14 * 3.0, "{} at {t}", pulse.name());
            }
        }
    }

    #[test]
    fn impulse_is_the_integral_of_the_value() {
        for pulse in all() {
            let n = 700_000;
            let dt = pulse.duration() / f64::from(n);
            let sum: f64 = (0..n).map(|i| pulse.value((f64::from(i) + 0.5) * dt) * dt).sum();
            assert_relative_eq!(sum, pulse.impulse(), max_relative = 1e-10);
        }
    }

    #[test]
    fn the_peak_is_reached_and_not_passed() {
        for pulse in all() {
            let n = 70_000;
            let greatest = (0..n)
                .map(|i| pulse.value(pulse.duration() * f64::from(i) / f64::from(n)).abs())
                .fold(0.0, f64::max);
            assert!(greatest <= pulse.peak().abs() * (1.0 + 1e-15), "{}", pulse.name());
            assert_relative_eq!(greatest, pulse.peak().abs(), max_relative = 2e-5);
        }
    }

    #[test]
    fn values_at_jumps_are_those_just_after() {
        assert_eq!(Pulse::rectangular(2.0, 1.0).unwrap().value(0.0), 2.0);
        assert_eq!(Pulse::terminal_peak_sawtooth(2.0, 1.0).unwrap().value(1.0), 0.0);
        assert_eq!(Pulse::rectangular(2.0, 1.0).unwrap().value(-1e-300), 0.0);
    }

    #[test]
    fn bad_arguments_are_named() {
        let message = |e: Result<Pulse>| e.unwrap_err().to_string();
        assert!(message(Pulse::half_sine(0.0, 1.0)).starts_with("peak = 0 N"));
        assert!(message(Pulse::half_sine(f64::NAN, 1.0)).starts_with("peak = NaN N"));
        assert!(message(Pulse::haversine(1.0, -1.0)).starts_with("duration = -1 s"));
        assert!(message(Pulse::ramp_step(1.0, 0.0, 1.0)).starts_with("rise = 0 s"));
        assert!(message(Pulse::ramp_step(1.0, 1.0, 0.0)).starts_with("hold = 0 s"));
        assert!(
            message(Pulse::exponential_decay(1.0, f64::INFINITY, 1.0))
                .starts_with("time_constant = inf s")
        );
    }
}
