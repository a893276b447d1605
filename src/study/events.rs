//! Events of a job (starts, blows, rotors, records, a floor that moves), computed like its shocks.

use nalgebra::Vector3;

use super::contacts::{by_event, with_contacts};
use super::results::{PointPeak, ShockResult, observed, working_of};
use crate::analysis::modes;
use crate::analysis::statics::StaticsOptions;
use crate::analysis::struck;
use crate::analysis::transient::{
    Extrema, Peak, Quantity, Shock, ShockOptions, floor_by_source, shock_by,
};
use crate::error::Result;
use crate::excitation::Source;
use crate::installation::{AS_IT_RUNS, Installation, port};
use crate::job::{Event, EventLoad, Fact};
use crate::system::Linear;
use crate::units::Dimension;

/// What an event leaves to tell besides its motion.
struct Told {
    sources: Vec<(Source, Vec<Extrema>)>,
    facts: Vec<Fact>,
}

/// Response of an installation to an event, about the working point of its load case.
///
/// # Errors
/// Those of the analyses.
pub fn event_of(
    inst: &Installation,
    statics: &StaticsOptions,
    asked: &Event,
    options: &ShockOptions,
) -> Result<ShockResult> {
    let (body, _) = inst.case(asked.case.as_deref())?;
    let linear = working_of(inst, statics, asked.case.as_deref())?.linear();
    let (mut shock, told) = motion(&linear, &asked.load, options)?;
    shock.warnings.extend(asked.notes.iter().cloned());
    // Of a force its samples are told with the motion.
    if let (Some(record), EventLoad::Floor(_)) = (&asked.record, &asked.load) {
        let highest = modes(&linear)?.frequency.iter().copied().fold(0.0, f64::max);
        shock.warnings.extend(record.warning(highest));
    }
    let mut result = seen(inst, body.center(), &asked.name, asked.case.as_deref(), shock)?;
    result.sources = told.sources;
    result.facts = asked.facts.iter().cloned().chain(told.facts).collect();
    let Some(contacts) = asked.contacts else { return Ok(result) };
    let by = |system: &_| by_event(&asked.load, system);
    with_contacts(inst, asked.case.as_deref(), contacts, options, result, by)
}

fn motion(linear: &Linear, load: &EventLoad, options: &ShockOptions) -> Result<(Shock, Told)> {
    let mut told = Told { sources: Vec::new(), facts: Vec::new() };
    let shock = match load {
        EventLoad::Acting(event) => {
            let shock = shock_by(linear, event, options)?;
            told.sources = match event.sources()[..] {
                [one] => {
                    vec![(one, shock.transient.extrema(&shock.output(Quantity::GroundWrench)))]
                }
                _ => floor_by_source(linear, event, options)?,
            };
            shock
        }
        EventLoad::Struck { blow, interval, .. } => {
            let found = struck(linear, blow, *interval, options)?;
            let speed = found.velocity.abs();
            told.facts.push(Fact::new(OFF, speed, Dimension::VELOCITY));
            if let Some(left) = found.left {
                told.facts.push(Fact::new(LEFT, left, Dimension::RATIO));
            }
            found.shock
        }
        EventLoad::Floor(floor) => Shock::on_floor(linear, floor, options)?,
    };
    Ok((shock, told))
}

/// The struck point's speed.
const OFF: &str = "velocity of the struck point just after the blow";
/// What the next blow meets.
pub const LEFT: &str = "part of the motion left when the next blow falls";

/// Peaks of a motion about a center of mass (m).
pub(super) fn seen(
    inst: &Installation,
    center: &Vector3<f64>,
    name: &str,
    case: Option<&str>,
    shock: Shock,
) -> Result<ShockResult> {
    let motion = &shock.transient;
    let watched = observed(inst, center).collect::<Vec<_>>();
    let mut outputs =
        vec![shock.output(Quantity::MountForce), shock.output(Quantity::GroundWrench)];
    for point in &watched {
        let port = port(point, center);
        outputs.push(motion.point_displacement(&port)?);
        outputs.push(motion.point_velocity(&port)?);
        outputs.push(motion.point_acceleration(&port)?);
    }
    let mut extrema = motion.extrema_of(&outputs.iter().collect::<Vec<_>>()).into_iter();
    let mut next = || extrema.next().unwrap_or_default();
    let (mount_force, ground_wrench) = (next(), next());
    let mut points = Vec::new();
    for point in watched {
        let peaks: [Option<Peak>; 3] = std::array::from_fn(|_| Peak::among(&next()));
        if let [Some(displacement), Some(velocity), Some(acceleration)] = peaks {
            points.push(PointPeak { point: point.name, displacement, velocity, acceleration });
        }
    }
    Ok(ShockResult {
        name: name.to_owned(),
        case: case.unwrap_or(AS_IT_RUNS).to_owned(),
        points,
        sources: Vec::new(),
        facts: Vec::new(),
        mount_force,
        ground_wrench,
        sliding: None,
        contacts: None,
        shock,
    })
}
