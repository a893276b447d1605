//! Which history of the work force does a tonnage record show?
//!
//! The record is the force at a gauge (column or connection) through a filter, on its own clock. The
//! parameters of the work force are moved until the gauge of the model,
//! through the same filter, agrees in the sense of least squares (Levenberg and Marquardt, each
//! parameter by its own size). Then the Jacobian is looked at: a direction in which the parameters can
//! move together without moving the record by more than its own error cannot be told from it. Such
//! parameters are named, not fitted in silence.
//!
//! Source: textbook (nonlinear least squares; singular values of the Jacobian for identifiability,
//! e.g. L. Ljung, System Identification, from memory).

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::gauge::{Gauge, GaugeFilter};
use super::{SnapThroughOptions, press_of, shaken};
use crate::analysis::hybrid::{HybridOptions, Load};
use crate::analysis::motion::Motion;
use crate::error::{Error, Result, each, finite, positive};
use crate::excitation::BreakThrough;
use crate::installation::Installation;
use crate::machine::press::{DRIVE, FRAME};

/// Parameters that can be fitted. The last is when the record's clock starts against the work force.
pub const PARAMETERS: [&str; 8] = [
    "force",
    "rise",
    "softened_to",
    "softening_time",
    "release",
    "residual",
    "residual_time",
    "start",
];
/// Relative change of a parameter below which the fit has ended.
const SETTLED: f64 = 1e-9;
const ROUNDS: usize = 60;
/// A direction is told if moving along it by this part changes the record by more than its error.
const TOLD: f64 = 0.3;
/// Steps of the model's clock in a step of the record, at least; the filter needs them.
const FINER: f64 = 4.0;
/// What is left over by a fit that describes the record, over its greatest force.
const DESCRIBED: f64 = 0.05;

/// What to fit and how.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CalibrationOptions {
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
    /// Where the gauge is.
    pub gauge: Gauge,
    /// Its filter; `None`: none.
    pub filter: Option<GaugeFilter>,
    /// Names of [`PARAMETERS`] that may move; all others stay as in the guess.
    pub fit: Vec<String>,
    /// Standard error of one reading, N; `None`: taken from what the fit leaves over.
    pub error: Option<f64>,
}

/// What a record tells.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// The work force that fits.
    pub force: BreakThrough,
    /// When the record's clock starts on that of the work force, s.
    pub start: f64,
    /// Names of the parameters that were moved.
    pub names: Vec<String>,
    /// Their values.
    pub values: Vec<f64>,
    /// Standard error of each from the record alone; infinite where it does not tell.
    pub errors: Vec<f64>,
    /// Root mean square of what is left over, N.
    pub residual_rms: f64,
    /// The record as the model has it, N.
    pub fitted: Vec<f64>,
    /// Parameters that the record cannot separate, group by group.
    pub not_separated: Vec<Vec<String>>,
    /// What to know before using it.
    pub warnings: Vec<String>,
}

/// Fits a break-through to a tonnage record: force (N) at times (s), which ascend evenly.
///
/// # Errors
/// [`Error::Invalid`] for a record that is too short or uneven, or a name that is no parameter;
/// [`Error::NotConverged`]; those of snap-through.
pub fn calibrate_snap_through(
    inst: &Installation,
    time: &[f64],
    record: &[f64],
    guess: &BreakThrough,
    options: &CalibrationOptions,
) -> Result<Calibration> {
    let dt = check_record(time, record, options)?;
    let fit = Fit { inst, record, first: time[0], dt, options, guess };
    let mut x: Vec<f64> = options.fit.iter().map(|name| get(guess, 0.0, name)).collect();
    // A start of zero has no size of its own: one step of the record.
    let scale: Vec<f64> = x.iter().map(|x| if *x == 0.0 { dt } else { x.abs() }).collect();
    let mut left = fit.residual(&x)?;
    let mut lambda = 1e-3;
    let mut settled = false;
    let mut jacobian = fit.jacobian(&x, &left, &scale)?;
    for _ in 0..ROUNDS {
        let (jtj, jtr) = (jacobian.tr_mul(&jacobian), jacobian.tr_mul(&left));
        let mut damped = jtj.clone();
        for i in 0..x.len() {
            damped[(i, i)] += lambda * jtj[(i, i)].max(1e-12 * jtj.amax());
        }
        let Some(step) = damped.lu().solve(&-jtr) else { break };
        let trial: Vec<f64> =
            x.iter().zip(&scale).zip(step.iter()).map(|((x, s), d)| x + s * d).collect();
        // A trial outside what a work force can be is no step.
        let tried = fit.residual(&trial).ok().filter(|r| r.norm() < left.norm());
        match tried {
            Some(better) => {
                let change = step.amax();
                let gain = 1.0 - better.norm() / left.norm();
                (x, left, lambda) = (trial, better, (lambda * 0.2).max(1e-12));
                jacobian = fit.jacobian(&x, &left, &scale)?;
                settled = change < SETTLED || gain < 1e-12;
            }
            None => {
                lambda *= 5.0;
                settled = lambda > 1e8;
            }
        }
        if settled {
            break;
        }
    }
    if !settled {
        return Err(Error::NotConverged {
            what: "calibration".into(),
            detail: format!("after {ROUNDS} rounds {:.3e} N rms are left", rms(&left)),
            remedy: "give a better guess, or fit fewer parameters".into(),
        });
    }
    fit.told(&x, &left, &jacobian, &scale)
}

struct Fit<'a> {
    inst: &'a Installation,
    record: &'a [f64],
    /// Its first time on its own clock, s.
    first: f64,
    dt: f64,
    options: &'a CalibrationOptions,
    guess: &'a BreakThrough,
}

impl Fit<'_> {
    fn force(&self, x: &[f64]) -> Result<(BreakThrough, f64)> {
        let (mut force, mut start) = (self.guess.clone(), 0.0);
        for (name, &value) in self.options.fit.iter().zip(x) {
            set(&mut force, &mut start, name, value);
        }
        Ok((force.checked()?, start))
    }

    /// The gauge of the model at the times of the record.
    fn modeled(&self, x: &[f64]) -> Result<Vec<f64>> {
        let (force, start) = self.force(x)?;
        let mut segments = force.segments();
        // The record's clock is zero where the work force's is `start`; it may begin before it.
        let start = start + self.first;
        let early = (-start).max(0.0);
        for segment in &mut segments {
            segment.start += early;
            segment.end += early;
        }
        let first = start + early;
        let press = press_of(self.inst)?;
        let system =
            shaken(self.inst, self.options.case.as_deref(), &SnapThroughOptions::default())?.hybrid;
        let count = self.record.len();
        let duration = first + self.dt * (count - 1) as f64;
        let load = Load { segments, direction: press.work() };
        let run = HybridOptions { duration: Some(duration.max(self.dt)), ..Default::default() };
        let motion = Motion::new(&system, &[load], &run)?;
        let kind = match self.options.gauge {
            Gauge::Column => FRAME,
            Gauge::Connection => DRIVE,
        };
        let Some(output) = motion.element_force(kind) else { return Ok(Vec::new()) };
        let fine = (motion.at_rest().shortest_period() / 20.0).min(self.dt / FINER);
        let per = (self.dt / fine).ceil();
        let fine = self.dt / per;
        let samples = motion.sample(&[&output], fine)?;
        let signal: Vec<f64> = samples[0].column(0).to_vec();
        let seen = match &self.options.filter {
            Some(filter) => filter.clone().checked()?.apply(&signal, fine),
            None => signal,
        };
        let at = |i: usize| {
            let place = (first + i as f64 * self.dt) / fine;
            let low = (place.floor() as usize).min(seen.len() - 1);
            let high = (low + 1).min(seen.len() - 1);
            seen[low] + (place - low as f64) * (seen[high] - seen[low])
        };
        Ok((0..count).map(at).collect())
    }

    fn residual(&self, x: &[f64]) -> Result<DVector<f64>> {
        let modeled = self.modeled(x)?;
        Ok(DVector::from_iterator(
            modeled.len(),
            modeled.iter().zip(self.record).map(|(a, b)| a - b),
        ))
    }

    /// By the size of each parameter, from both sides.
    fn jacobian(&self, x: &[f64], left: &DVector<f64>, scale: &[f64]) -> Result<DMatrix<f64>> {
        let mut out = DMatrix::zeros(left.len(), x.len());
        for j in 0..x.len() {
            let h = 1e-4;
            let moved = |by: f64| {
                let mut y = x.to_vec();
                y[j] += by * scale[j];
                self.residual(&y)
            };
            // At the edge of what is allowed one side is enough.
            let column = match (moved(h), moved(-h)) {
                (Ok(up), Ok(down)) => (up - down) / (2.0 * h),
                (Ok(up), Err(_)) => (up - left) / h,
                (Err(_), Ok(down)) => (left - down) / h,
                (Err(error), Err(_)) => return Err(error),
            };
            out.set_column(j, &column);
        }
        Ok(out)
    }

    fn told(
        &self,
        x: &[f64],
        left: &DVector<f64>,
        jacobian: &DMatrix<f64>,
        scale: &[f64],
    ) -> Result<Calibration> {
        let (force, start) = self.force(x)?;
        let free = left.len().saturating_sub(x.len()).max(1) as f64;
        let sigma = match self.options.error {
            Some(error) => error,
            None => (left.norm_squared() / free).sqrt(),
        };
        // What is left over may be mere rounding: a record is no better than 1e-4 of its greatest.
        let greatest = self.record.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let sigma = sigma.max(1e-4 * greatest);
        let svd = jacobian.clone().svd(false, true);
        let names = &self.options.fit;
        let mut variance = vec![0.0; x.len()];
        let mut groups = Vec::new();
        if let Some(vt) = &svd.v_t {
            for (i, &value) in svd.singular_values.iter().enumerate() {
                let weak = value * TOLD < sigma;
                if weak {
                    let part = |j: &usize| vt[(i, *j)].abs() > 0.3;
                    let group: Vec<String> =
                        (0..x.len()).filter(part).map(|j| names[j].clone()).collect();
                    groups.push(group);
                }
                for (j, v) in variance.iter_mut().enumerate() {
                    let share = vt[(i, j)] * scale[j] * sigma;
                    *v += if value > 0.0 { (share / value).powi(2) } else { f64::INFINITY };
                }
            }
        }
        let mut warnings: Vec<String> = groups
            .iter()
            .map(|group: &Vec<String>| match group.as_slice() {
                [one] => format!("the record does not tell {one}"),
                many => format!("the record cannot separate {}", many.join(" and ")),
            })
            .collect();
        if rms(left) > DESCRIBED * greatest {
            warnings.push(format!(
                "the fit leaves {:.0} % of the record's greatest force over (rms): it does not describe \
                 the record; check gauge, filter, clock and press, or fit more parameters",
                100.0 * rms(left) / greatest
            ));
        }
        let fitted = left.iter().zip(self.record).map(|(r, y)| r + y).collect();
        Ok(Calibration {
            force,
            start,
            names: names.clone(),
            values: x.to_vec(),
            errors: variance.into_iter().map(f64::sqrt).collect(),
            residual_rms: rms(left),
            fitted,
            not_separated: groups,
            warnings,
        })
    }
}

fn rms(left: &DVector<f64>) -> f64 {
    (left.norm_squared() / left.len().max(1) as f64).sqrt()
}

fn get(force: &BreakThrough, start: f64, name: &str) -> f64 {
    match name {
        "force" => force.force,
        "rise" => force.rise,
        "softened_to" => force.softened_to,
        "softening_time" => force.softening_time,
        "release" => force.release,
        "residual" => force.residual,
        "residual_time" => force.residual_time,
        _ => start,
    }
}

fn set(force: &mut BreakThrough, start: &mut f64, name: &str, value: f64) {
    let place = match name {
        "force" => &mut force.force,
        "rise" => &mut force.rise,
        "softened_to" => &mut force.softened_to,
        "softening_time" => &mut force.softening_time,
        "release" => &mut force.release,
        "residual" => &mut force.residual,
        "residual_time" => &mut force.residual_time,
        _ => start,
    };
    *place = value;
}

fn check_record(time: &[f64], record: &[f64], options: &CalibrationOptions) -> Result<f64> {
    if time.len() != record.len() || time.len() < 2 * options.fit.len().max(4) {
        return Err(Error::invalid(
            "record",
            format!("{} times, {} forces", time.len(), record.len()),
            "must have as many times as forces, and more than the parameters need",
            "give the whole stroke",
        ));
    }
    each(finite, "time", time, "s")?;
    each(finite, "record", record, "N")?;
    if record.iter().all(|y| *y == 0.0) {
        return Err(Error::invalid(
            "record",
            "0 N throughout",
            "must show a stroke",
            "check the channel",
        ));
    }
    if let Some(error) = options.error {
        positive("error", error, "N")?;
    }
    let dt = (time[time.len() - 1] - time[0]) / (time.len() - 1) as f64;
    let even = time.windows(2).all(|p| ((p[1] - p[0]) / dt - 1.0).abs() < 1e-3);
    if dt <= 0.0 || !even {
        return Err(Error::invalid(
            "time",
            format!("steps of about {dt} s"),
            "must ascend in even steps",
            "resample the record",
        ));
    }
    if options.fit.is_empty() {
        return Err(Error::invalid("fit", "[]", "must name a parameter", "fit release at least"));
    }
    for name in &options.fit {
        if !PARAMETERS.contains(&name.as_str()) {
            return Err(Error::Unknown {
                argument: "fit".into(),
                value: name.clone(),
                allowed: format!("parameters are {}", PARAMETERS.join(", ")),
            });
        }
    }
    Ok(dt)
}
