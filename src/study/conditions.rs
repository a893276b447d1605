//! The job with its mounts cold, warm or aged: every stiffness times a factor, loss factors as
//! they are.

use crate::job::{Condition, Job};
use crate::support::Mount;

/// The job in a state of its mounts.
pub fn job_in(job: &Job, condition: &Condition) -> Job {
    let mut there = job.clone();
    for mount in &mut there.installation.mounts {
        scale(mount, condition.stiffness_factor);
    }
    there
}

fn scale(mount: &mut Mount, factor: f64) {
    let stiffnesses =
        [&mut mount.stiffness, &mut mount.static_stiffness, &mut mount.rotational_stiffness];
    for stiffness in stiffnesses.into_iter().flatten() {
        *stiffness *= factor;
    }
}
