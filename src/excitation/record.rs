//! A force, or a motion of the floor, as it was sampled: is the record fit to be used, and what does
//! it stand for between its samples?
//!
//! - Between samples a record is a straight line, so that the motion under it is exact. At a frequency
//!   f, of a record sampled at f_s, straight lines keep sinc^2(f / f_s) of the amplitude: 0.97 at ten
//!   samples a period, 0.99 at twenty. Twenty samples in a period of the highest mode are asked for.
//! - A record of displacement of the floor is a cubic spline through its samples (at rest before, bent
//!   no further after its end); its acceleration, straight between samples, drives the machine.
//! - [`Record::resampled`] brings it to another rate by Fourier interpolation: the same band, no more.
//!   It takes the record less the line between its ends as one period, and says so in its notes.
//!
//! Source: textbook sampling theory; cubic spline e.g. W. H. Press et al., Numerical Recipes, 3rd ed.
//! 2007, section 3.3 (from memory).

use num_complex::Complex64;
use rustfft::FftPlanner;
use serde::{Deserialize, Serialize};

use super::Segment;
use crate::error::{Error, Result, finite, positive};

mod read;

/// Samples in a period of the highest mode that are asked for.
pub const SAMPLES_PER_PERIOD: f64 = 20.0;
/// A step may differ from the mean step by this part: rounding of printed times.
const EVEN: f64 = 1e-3;
const MOST_SAMPLES: f64 = 5e6;

/// An evenly sampled history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Time between samples, s.
    pub interval: f64,
    /// Samples, in the unit of what was measured; the first at t = 0.
    pub values: Vec<f64>,
    /// What was done to it.
    pub notes: Vec<String>,
}

impl Record {
    /// Samples at an interval (s).
    ///
    /// # Errors
    /// [`Error::Invalid`] for an interval that is not positive, fewer than two samples, and a sample
    /// that is not a number, with its place.
    pub fn new(interval: f64, values: Vec<f64>) -> Result<Self> {
        positive("interval", interval, "s")?;
        if values.len() < 2 {
            return Err(Error::invalid(
                "values",
                format!("{} samples", values.len()),
                "must be two or more",
                "give the whole record",
            ));
        }
        for (i, value) in values.iter().enumerate() {
            if !value.is_finite() {
                return Err(Error::invalid(
                    format!("values[{i}]"),
                    format!("{value} at {} s", i as f64 * interval),
                    "must be a number",
                    "cut the record there, or fill the gap by hand: nothing is filled in silence",
                ));
            }
        }
        Ok(Self { interval, values, notes: Vec::new() })
    }

    /// Samples with their times (s), which must be even.
    ///
    /// # Errors
    /// [`Error::Invalid`] for times that do not ascend, gaps and uneven sampling, with the place.
    pub fn from_times(times: &[f64], values: Vec<f64>) -> Result<Self> {
        if times.len() != values.len() {
            return Err(Error::Shape {
                argument: "values".into(),
                found: format!("({},)", values.len()),
                expected: format!("({},), as many as times,", times.len()),
            });
        }
        let [first, .., last] = times else { return Self::new(1.0, values) };
        for (i, t) in times.iter().enumerate() {
            finite(&format!("time[{i}]"), *t, "s")?;
        }
        let interval = (last - first) / (times.len() - 1) as f64;
        let mut steps: Vec<f64> = times.windows(2).map(|pair| pair[1] - pair[0]).collect();
        let wrong = |i: usize, what: String, requirement: &str, remedy: &str| {
            Err(Error::invalid(format!("time[{}]", i + 1), what, requirement, remedy))
        };
        if let Some(i) = steps.iter().position(|step| *step <= 0.0) {
            let what = format!("{} s after {} s", times[i + 1], times[i]);
            return wrong(
                i,
                what,
                "must ascend",
                "sort the record, or cut it where it begins anew",
            );
        }
        let each = steps.clone();
        steps.sort_by(f64::total_cmp);
        // The lower median: of two steps the longer one is the gap.
        let usual = steps[(steps.len() - 1) / 2];
        if let Some(i) = each.iter().position(|step| *step > 1.5 * usual) {
            let what = format!("{} s without a sample after {} s", each[i], times[i]);
            let remedy =
                "cut the record there, or fill the gap by hand: nothing is filled in silence";
            return wrong(i, what, &format!("must follow every {usual} s"), remedy);
        }
        if let Some(i) = each.iter().position(|step| (step - interval).abs() > EVEN * interval) {
            let what = format!("a step of {} s, the mean one is {interval} s", each[i]);
            let remedy = "resample it evenly in the program that recorded it, and say how";
            return wrong(i, what, "must be evenly sampled", remedy);
        }
        Self::new(interval, values)
    }

    /// Samples a second, Hz.
    pub fn sample_rate(&self) -> f64 {
        1.0 / self.interval
    }

    /// From the first to the last sample, s.
    pub fn duration(&self) -> f64 {
        self.interval * (self.values.len() - 1) as f64
    }

    /// The same, each sample times a factor.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a factor that is not finite.
    pub fn scaled(mut self, factor: f64) -> Result<Self> {
        finite("scale", factor, "")?;
        self.values.iter_mut().for_each(|y| *y *= factor);
        Ok(self)
    }

    /// What to know of the record on a machine whose highest mode has a frequency (Hz): too low a
    /// rate, with the needed one.
    pub fn warning(&self, highest_mode: f64) -> Option<String> {
        too_coarse(self.interval, highest_mode)
    }

    /// Straight lines between the samples.
    pub fn segments(&self) -> Vec<Segment> {
        let h = self.interval;
        let line = |(i, pair): (usize, &[f64])| {
            let (start, end) = (i as f64 * h, (i + 1) as f64 * h);
            Segment::line(start, end, pair[0], (pair[1] - pair[0]) / h)
        };
        self.values.windows(2).enumerate().map(line).collect()
    }

    /// Second derivative of the cubic spline through the samples, straight between them; for a record
    /// of displacement (m) the acceleration, m/s^2. The spline starts without a slope: the floor was at
    /// rest before.
    pub fn spline_acceleration(&self) -> Vec<Segment> {
        let (h, y) = (self.interval, &self.values);
        let n = y.len();
        // Clamped at the start (2 a_0 + a_1 = 6 (y_1 - y_0)/h^2), free at the end (a_n = 0).
        let right = |i: usize| match i {
            0 => 6.0 * (y[1] - y[0]) / (h * h),
            _ => 6.0 * (y[i + 1] - 2.0 * y[i] + y[i - 1]) / (h * h),
        };
        let (mut above, mut a) = (vec![0.0; n], vec![0.0; n]);
        for i in 0..n - 1 {
            let (lower, diagonal) = if i == 0 { (0.0, 2.0) } else { (1.0, 4.0) };
            let before = if i == 0 { (0.0, 0.0) } else { (above[i - 1], a[i - 1]) };
            let pivot = diagonal - lower * before.0;
            above[i] = 1.0 / pivot;
            a[i] = (right(i) - lower * before.1) / pivot;
        }
        for i in (0..n - 1).rev() {
            a[i] -= above[i] * a[i + 1];
        }
        Self { interval: h, values: a, notes: Vec::new() }.segments()
    }

    /// The same history at another rate (Hz), within the band of both; what was done stands in the
    /// notes.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a rate that is not positive, or leaves less than two samples or too many.
    pub fn resampled(&self, rate: f64) -> Result<Self> {
        positive("rate", rate, "Hz")?;
        let n = self.values.len() - 1;
        let wanted = (n as f64 * rate * self.interval).round();
        let bad =
            |must, remedy: &str| Err(Error::invalid("rate", format!("{rate} Hz"), must, remedy));
        if wanted > MOST_SAMPLES {
            let must = format!("must leave at most {MOST_SAMPLES:.0e} samples");
            return bad(must, "give a lower rate or a shorter record");
        }
        if wanted < 1.0 {
            let duration = n as f64 * self.interval;
            let must = format!("must leave two samples in {duration} s");
            return bad(must, "give a higher rate or a longer record");
        }
        let m = wanted as usize;
        let (first, last) = (self.values[0], self.values[n]);
        let line = |part: f64| first + (last - first) * part;
        let rest = |i: usize| Complex64::from(self.values[i] - line(i as f64 / n as f64));
        let mut spectrum: Vec<Complex64> = (0..n).map(rest).collect();
        let mut planner = FftPlanner::new();
        planner.plan_fft_forward(n).process(&mut spectrum);
        let mut other = vec![Complex64::ZERO; m];
        let kept = n.min(m);
        for k in 0..kept.div_ceil(2) {
            other[k] = spectrum[k];
            if k > 0 {
                other[m - k] = spectrum[n - k];
            }
        }
        if kept.is_multiple_of(2) {
            // The line at half the lower rate belongs to both sides.
            let half = kept / 2;
            let edge = if n <= m {
                spectrum[half] * 0.5
            } else {
                (spectrum[half] + spectrum[n - half]) * 0.5
            };
            other[half] += edge;
            other[m - half] += if n == m { edge } else { edge.conj() };
        }
        planner.plan_fft_inverse(m).process(&mut other);
        let value = |i: usize| match i {
            _ if i == m => last,
            _ => other[i].re / n as f64 + line(i as f64 / m as f64),
        };
        let interval = self.duration() / m as f64;
        let band = 0.5 * self.sample_rate().min(1.0 / interval);
        let mut notes = self.notes.clone();
        notes.push(format!(
            "resampled from {:.6} to {:.6} Hz by Fourier interpolation of the record less the line \
             between its ends, taken as one period; band up to {band:.6} Hz",
            self.sample_rate(),
            1.0 / interval
        ));
        Ok(Self { interval, values: (0..=m).map(value).collect(), notes })
    }
}

/// What to know of samples at an interval (s) on a machine whose highest mode has a frequency (Hz).
pub fn too_coarse(interval: f64, highest_mode: f64) -> Option<String> {
    let (rate, needed) = (interval.recip(), SAMPLES_PER_PERIOD * highest_mode);
    if rate >= needed * (1.0 - 1e-9) {
        return None;
    }
    let lost = if rate < 2.0 * highest_mode {
        "it cannot contain what would shake that mode".to_owned()
    } else {
        let x = std::f64::consts::PI * highest_mode / rate;
        let kept = (x.sin() / x).powi(2);
        format!("straight lines keep {:.1} % of its amplitude there", 100.0 * kept)
    };
    Some(format!(
        "the record has {rate:.4} samples a second; the highest mode, {highest_mode:.3} Hz, asks for \
         {needed:.4}: {lost}; record faster, or resample it where its band is known to be lower"
    ))
}
