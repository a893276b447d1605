//! The job with its mounts cold, warm or aged: every stiffness, load-deflection curves
//! included, times a factor, loss factors as they are.

use crate::error::Result;
use crate::job::{Condition, Job};
use crate::support::Mount;

/// The job in a state of its mounts.
///
/// # Errors
/// Those of a law that the factor makes unsound.
pub fn job_in(job: &Job, condition: &Condition) -> Result<Job> {
    let mut there = job.clone();
    for mount in &mut there.installation.mounts {
        scale(mount, condition.stiffness_factor)?;
    }
    Ok(there)
}

fn scale(mount: &mut Mount, factor: f64) -> Result<()> {
    let stiffnesses =
        [&mut mount.stiffness, &mut mount.static_stiffness, &mut mount.rotational_stiffness];
    for stiffness in stiffnesses.into_iter().flatten() {
        *stiffness *= factor;
    }
    for law in mount.dynamic.iter_mut().flatten() {
        *law = law.scaled(factor)?;
    }
    mount.curve = mount.curve.take().map(|curve| curve.scaled(factor)).transpose()?;
    Ok(())
}
