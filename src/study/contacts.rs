//! A shock of a job under which stops strike and mounts lift off: peaks of points, mounts and floor
//! are those of the motion with contacts.

use super::results::{PointPeak, ShockResult, observed};
use crate::analysis::contact_shock::{contact_shock, pulse_load};
use crate::analysis::hybrid::HybridOptions;
use crate::analysis::snap_through::{SnapThroughOptions, shaken};
use crate::analysis::statics::Contacts;
use crate::analysis::transient::{Extrema, Peak, ShockOptions};
use crate::error::Result;
use crate::installation::{Installation, port};
use crate::job::Shock;

/// What a motion with contacts changes in the result of a shock.
pub(super) fn with_contacts(
    inst: &Installation,
    asked: &Shock,
    contacts: Contacts,
    options: &ShockOptions,
    found: ShockResult,
) -> Result<ShockResult> {
    let case = asked.case.as_deref();
    let (body, _) = inst.case(case)?;
    let Contacts { rule, lift_off } = contacts;
    let how = SnapThroughOptions { rule, lift_off, ..SnapThroughOptions::default() };
    let system = shaken(inst, case, &how)?;
    let load =
        pulse_load(&system.hybrid, &asked.pulse.segments(), &asked.unit()?.about(body.center()));
    let run = HybridOptions { duration: options.duration, ..HybridOptions::default() };
    let mut contact = contact_shock(&system.hybrid, &[load], &run, options.dt)?;
    contact.warnings.extend(system.warnings);
    let motion = &contact.motion;
    let mut points = Vec::new();
    for point in observed(inst, body.center()) {
        let port = port(&point, body.center());
        let peak = |all: Vec<Extrema>| Peak::among(&all);
        let displacement = peak(motion.extrema(&motion.point_displacement(&port)?));
        let velocity = peak(motion.extrema(&motion.point_velocity(&port)?));
        let acceleration = peak(motion.extrema(&motion.point_acceleration(&port)?));
        if let (Some(displacement), Some(velocity), Some(acceleration)) =
            (displacement, velocity, acceleration)
        {
            points.push(PointPeak { point: point.name, displacement, velocity, acceleration });
        }
    }
    let mut found = ShockResult {
        points,
        mount_force: contact.mount_peaks.clone(),
        ground_wrench: contact.ground_peaks.clone(),
        ..found
    };
    found.shock.warnings.extend(contact.warnings.iter().cloned());
    if !contact.events.is_empty() {
        found.shock.warnings.push(format!(
            "{} changes of contact: peaks of points, mounts and floor are those with contacts; \
             friction, lateral share and swing of interfaces are those of feet that stay",
            contact.events.len()
        ));
    }
    found.contacts = Some(Box::new(contact));
    Ok(found)
}
