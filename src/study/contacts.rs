//! A shock or an event of a job under which stops strike and mounts lift off: peaks of points, mounts
//! and floor are those of the motion with contacts.

use super::results::{PointPeak, ShockResult, observed};
use crate::analysis::contact_shock::{contact_shock, event_loads, pulse_load};
use crate::analysis::hybrid::{HybridOptions, Load};
use crate::analysis::snap_through::{SnapThroughOptions, shaken};
use crate::analysis::statics::Contacts;
use crate::analysis::struck::set_off;
use crate::analysis::transient::{Extrema, Peak, ShockOptions, Start};
use crate::error::Result;
use crate::installation::{Installation, port};
use crate::job::{EventLoad, Shock};
use crate::system::Hybrid;

/// Loads from t = 0 on, and the motion there; by default none.
pub(super) type Shaken = (Vec<Load>, Option<Start>);

/// The pulse of a shock.
pub(super) fn by_pulse(inst: &Installation, asked: &Shock, system: &Hybrid) -> Result<Shaken> {
    let (body, _) = inst.case(asked.case.as_deref())?;
    let wrench = asked.unit()?.about(body.center());
    Ok((vec![pulse_load(system, &asked.pulse.segments(), &wrench)], None))
}

/// What acts in an event; none for a floor that moves, whose feet stay.
pub(super) fn by_event(load: &EventLoad, system: &Hybrid) -> Result<Option<Shaken>> {
    Ok(match load {
        EventLoad::Acting(event) => Some((event_loads(system, event)?, None)),
        EventLoad::Struck { blow, .. } => {
            let (_, velocity, _) = set_off(&system.base, blow)?;
            Some((Vec::new(), Some(Start { velocity, ..Start::rest(system.base.size()) })))
        }
        EventLoad::Floor(_) => None,
    })
}

/// What a motion with contacts changes in the result of a shock or an event.
pub(super) fn with_contacts(
    inst: &Installation,
    case: Option<&str>,
    contacts: Contacts,
    options: &ShockOptions,
    found: ShockResult,
    shaken_by: impl FnOnce(&Hybrid) -> Result<Option<Shaken>>,
) -> Result<ShockResult> {
    let (body, _) = inst.case(case)?;
    let Contacts { rule, lift_off } = contacts;
    let how = SnapThroughOptions { rule, lift_off, ..SnapThroughOptions::default() };
    let system = shaken(inst, case, &how)?;
    let Some((loads, start)) = shaken_by(&system.hybrid)? else { return Ok(found) };
    let run = HybridOptions { duration: options.duration, start, ..HybridOptions::default() };
    let mut contact = contact_shock(&system.hybrid, &loads, &run, options.dt)?;
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
    // What comes from one source alone is that of the whole; several cannot be told apart.
    let sources = match &found.sources[..] {
        [(one, _)] => vec![(*one, contact.ground_peaks.clone())],
        _ => found.sources.clone(),
    };
    let by_source = if sources.len() > 1 { ", floor force by source" } else { "" };
    let mut found = ShockResult {
        points,
        sources,
        mount_force: contact.mount_peaks.clone(),
        ground_wrench: contact.ground_peaks.clone(),
        ..found
    };
    found.shock.warnings.extend(contact.warnings.iter().cloned());
    if !contact.events.is_empty() {
        found.shock.warnings.push(format!(
            "{} changes of contact: peaks of points, mounts and floor are those with contacts; \
             friction, lateral share{by_source} and swing of interfaces are those of feet that stay",
            contact.events.len()
        ));
    }
    found.contacts = Some(Box::new(contact));
    Ok(found)
}
