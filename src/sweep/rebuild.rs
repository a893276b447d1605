//! One design by the analyses themselves: the installation (or the whole job) is built anew, every
//! rule checked, and asked. Serves any output of any base; the lanes (`fast`) serve the common ones.

use std::cell::OnceCell;

use super::numbers::Numbers;
use super::outputs::{Laid, Output};
use super::plan::Plan;
use super::spec::{Base, Loads};
use crate::analysis::snap_through::WorkForce;
use crate::analysis::statics::{Statics, statics};
use crate::analysis::transient::{Extrema, NO_HISTORIES, ShockOptions};
use crate::analysis::{
    Modes, SnapThrough, SnapThroughOptions, modes, snap_through, transmissibility,
    vertical_transmissibility,
};
use crate::error::{Error, Result};
use crate::installation::Installation;
use crate::job::{Job, SnapThroughAsked};
use crate::study::{AsGiven, PointPeak, ShockResult, shock_of, working_of};
use crate::system::Linear;

/// A design built and ready to be asked; each analysis runs once, when first needed.
pub struct Built<'a> {
    plan: &'a Plan,
    inst: Installation,
    loads: Loads,
    job: Option<Job>,
    linear: OnceCell<Result<Linear>>,
    modes: OnceCell<Result<Modes>>,
    statics: OnceCell<Result<Vec<Statics>>>,
    responses: OnceCell<Result<Vec<ShockResult>>>,
    breaks: OnceCell<Result<Vec<SnapThrough>>>,
    study: OnceCell<Result<AsGiven>>,
}

impl<'a> Built<'a> {
    /// The design with these numbers for the columns.
    ///
    /// # Errors
    /// Those of the constructors, for numbers that break their rules.
    pub fn new(plan: &'a Plan, values: &[f64]) -> Result<Self> {
        let (inst, loads, job) = match &plan.spec.base {
            Base::Installation(inst, loads) => {
                let numbers = moved(plan, plan.base.clone(), values);
                (numbers.installation(inst)?, numbers.loads(loads)?, None)
            }
            Base::Job(job) => {
                let replaced: Vec<_> =
                    plan.inputs.iter().map(|(c, path)| (path.as_str(), values[*c])).collect();
                let mut job =
                    if replaced.is_empty() { (**job).clone() } else { job.with_inputs(&replaced)? };
                if !plan.moves.is_empty() {
                    let numbers = moved(plan, Numbers::of(&job.installation, &[], &[]), values);
                    job.installation = numbers.installation(&job.installation)?;
                }
                let (shocks, break_throughs) = (job.shocks.clone(), job.break_throughs.clone());
                (job.installation.clone(), Loads { shocks, break_throughs }, Some(job))
            }
        };
        Ok(Self {
            plan,
            inst,
            loads,
            job,
            linear: OnceCell::new(),
            modes: OnceCell::new(),
            statics: OnceCell::new(),
            responses: OnceCell::new(),
            breaks: OnceCell::new(),
            study: OnceCell::new(),
        })
    }

    /// Its installation.
    pub fn into_installation(self) -> Installation {
        self.inst
    }

    /// One output into its place.
    ///
    /// # Errors
    /// Those of the analyses.
    pub fn write(&self, laid: &Laid, out: &mut [f64]) -> Result<()> {
        // Bridges and stops follow the mounts in results by mount.
        let mounts = self.inst.mounts.len();
        match laid.output {
            Output::ModeFrequency => fill(out, self.modes()?.frequency.clone())?,
            Output::DampingRatio => fill(out, self.modes()?.damping_ratio.clone())?,
            Output::DampedFrequency => fill(out, self.modes()?.damped_frequency.clone())?,
            Output::Transmissibility => {
                let t = vertical_transmissibility(self.linear()?, &self.plan.spec.frequencies)?;
                out.iter_mut().zip(&t).for_each(|(place, value)| *place = *value);
            }
            Output::Transfer => {
                let t = transmissibility(self.linear()?, &self.plan.spec.frequencies, None)?;
                for (place, value) in out.chunks_exact_mut(2).zip(&t.matrix) {
                    place.copy_from_slice(&[value.re, value.im]);
                }
            }
            Output::MountLoad => {
                self.by_mount(out, |s| s.load.column(2).iter().take(mounts).copied().collect())?
            }
            Output::MountDeflection => {
                self.by_mount(out, |s| {
                    s.deflection.column(2).iter().take(mounts).copied().collect()
                })?;
            }
            Output::Tilt => self.by_mount(out, |s| s.tilt.to_vec())?,
            Output::PeakMotion => self.by_point(out, |p| p.displacement.value)?,
            Output::PeakVelocity => self.by_point(out, |p| p.velocity.value)?,
            Output::PeakAcceleration => self.by_point(out, |p| p.acceleration.value)?,
            Output::PeakFloorForce => {
                let peaks =
                    self.responses()?.iter().map(|r| largest(&r.ground_wrench[2])).collect();
                fill(out, peaks)?;
            }
            Output::PeakMountForce => {
                let vertical = |r: &ShockResult| -> Vec<f64> {
                    let vertical = r.mount_force.iter().skip(2).step_by(3);
                    vertical.take(self.inst.mounts.len()).map(largest).collect()
                };
                fill(out, self.responses()?.iter().flat_map(vertical).collect())?;
            }
            Output::ReverseLoad => self.by_break(out, |s| vec![s.reverse_load])?,
            Output::ColumnReverseLoad => self.by_break(out, |s| vec![s.column_reverse_load])?,
            Output::BreakFloorForce => self.by_break(out, |s| vec![largest(&s.ground_peaks[2])])?,
            Output::BreakMountForce => self.by_break(out, |s| {
                let vertical = s.mount_peaks.iter().skip(2).step_by(3);
                vertical.take(mounts).map(largest).collect()
            })?,
            Output::Margin => fill(out, self.study()?.checks.iter().map(|c| c.margin).collect())?,
            Output::Demand => fill(out, self.study()?.checks.iter().map(|c| c.demand).collect())?,
            Output::Figure => fill(out, self.study()?.figures.iter().map(|f| f.value).collect())?,
        }
        Ok(())
    }

    fn by_mount(&self, out: &mut [f64], values: impl Fn(&Statics) -> Vec<f64>) -> Result<()> {
        fill(out, self.statics()?.iter().flat_map(values).collect())
    }

    fn by_break(&self, out: &mut [f64], values: impl Fn(&SnapThrough) -> Vec<f64>) -> Result<()> {
        fill(out, self.breaks()?.iter().flat_map(values).collect())
    }

    fn by_point(&self, out: &mut [f64], value: impl Fn(&PointPeak) -> f64) -> Result<()> {
        fill(out, self.responses()?.iter().flat_map(|r| r.points.iter().map(&value)).collect())
    }

    fn linear(&self) -> Result<&Linear> {
        let at_work = || Ok(working_of(&self.inst, &self.plan.statics, None)?.linear());
        by_reference(self.linear.get_or_init(at_work))
    }

    fn modes(&self) -> Result<&Modes> {
        by_reference(self.modes.get_or_init(|| modes(self.linear()?)))
    }

    fn statics(&self) -> Result<&Vec<Statics>> {
        let solve = || {
            self.inst
                .all_cases()
                .map(|(_, body, loads)| {
                    let load = self.inst.static_load(body, loads);
                    statics(&self.inst.system_of(body), &load, &self.plan.statics)
                })
                .collect()
        };
        by_reference(self.statics.get_or_init(solve))
    }

    fn responses(&self) -> Result<&Vec<ShockResult>> {
        let options = ShockOptions { dt: Some(NO_HISTORIES), ..ShockOptions::default() };
        let solve = || {
            let respond = |s| shock_of(&self.inst, &self.plan.statics, s, &options);
            self.loads.shocks.iter().map(respond).collect()
        };
        by_reference(self.responses.get_or_init(solve))
    }

    fn breaks(&self) -> Result<&Vec<SnapThrough>> {
        let respond = |asked: &SnapThroughAsked| {
            let options = SnapThroughOptions { dt: Some(NO_HISTORIES), ..asked.options.clone() };
            let work = WorkForce::from(&asked.force);
            snap_through(&self.inst, asked.case.as_deref(), &work, &options)
        };
        let solve = || self.loads.break_throughs.iter().map(respond).collect();
        by_reference(self.breaks.get_or_init(solve))
    }

    fn study(&self) -> Result<&AsGiven> {
        let solve = || match &self.job {
            Some(job) => AsGiven::of(job),
            None => Ok(AsGiven { figures: Vec::new(), checks: Vec::new() }),
        };
        by_reference(self.study.get_or_init(solve))
    }
}

/// The numbers with all moves made.
fn moved(plan: &Plan, mut numbers: Numbers, values: &[f64]) -> Numbers {
    for (column, setter) in &plan.moves {
        setter.apply(values[*column], &mut numbers);
    }
    numbers
}

fn by_reference<T>(result: &Result<T>) -> Result<&T> {
    result.as_ref().map_err(Error::clone)
}

fn largest(e: &Extrema) -> f64 {
    e.max.value.abs().max(e.min.value.abs())
}

/// Values into their place, if there are as many as in the base.
fn fill(out: &mut [f64], values: Vec<f64>) -> Result<()> {
    if values.len() != out.len() {
        return Err(Error::Shape {
            argument: "the output".into(),
            found: format!("({},)", values.len()),
            expected: format!("({},), as in the base,", out.len()),
        });
    }
    out.copy_from_slice(&values);
    Ok(())
}
