//! `[drive_train]`: rotors, clutch and brake. Start and emergency stop are load cases by default.

use super::event::{Event, EventLoad, Place};
use super::names::Names;
use super::node::Node;
use super::shock::{DIRECTIONS, case, contacts, direction};
use crate::error::Result;
use crate::excitation::{DriveEvent, DriveTrain, Rotor, Side, Source};
use crate::units::Dimension;

/// What to remember of a drive train.
const SCOPE: &str = "start and stop: torques of clutch and brake as given, constant after their rise; \
shafts are stiff, and the flywheel's recovery is left out";

/// Said of an event that begins in running where contacts are asked for.
const FEET_STAY: &str = "it begins in steady running, and contacts are followed from rest alone: \
feet do not lift off here and stops do not strike";

pub(super) fn events(root: &Node<'_>, place: &Place<'_>, names: &mut Names) -> Result<Vec<Event>> {
    let Some(node) = root.table("drive_train")? else { return Ok(Vec::new()) };
    let train = train(&node, place)?;
    let mut all = Vec::new();
    let case = case(&node, place.cases)?;
    let no_rise = "not given: the torque is there at once";
    let torque_rise = node.quantity_or("torque_rise", Dimension::TIME, 0.0, no_rise)?;
    let has_flywheel = train.rotors.iter().any(|r| r.side == Side::Driving);
    let mut notes = vec![SCOPE.to_owned()];
    if has_flywheel {
        let clutch_time = node.quantity("clutch_time", Dimension::TIME)?;
        all.push((
            node.path.clone(),
            "start of the drive",
            DriveEvent::Start { clutch_time, torque_rise },
        ));
    } else {
        notes.push("no rotor on the driving side is given: the start is not computed".into());
    }
    let brake_time = node.quantity("brake_time", Dimension::TIME)?;
    let as_usual = "not given: as in a usual stop";
    let emergency =
        node.quantity_or("emergency_brake_time", Dimension::TIME, brake_time, as_usual)?;
    let quarter = std::f64::consts::FRAC_PI_2;
    let after_top = node.optional_quantity("emergency_angle", Dimension::ANGLE)?.unwrap_or(quarter);
    let stop = |brake_time, angle| DriveEvent::Stop { brake_time, torque_rise, angle };
    let at = Some(train.top() + after_top);
    all.push((node.path.clone(), "emergency stop of the drive", stop(emergency, at)));
    if node.boolean_or("usual_stop", true)? {
        all.push((node.path.clone(), "stop of the drive", stop(brake_time, None)));
    }
    more(&node, &mut all)?;
    let contacts = contacts(&node)?;
    let mut events = Vec::new();
    for (path, name, event) in all {
        names.add(&node, "speed", name)?;
        let blame = |e: crate::Error| match path == node.path {
            true => node.blame(e),
            false => root.context.source.error(node.at, &path, e.to_string()),
        };
        let motion = train.motion(&event).map_err(blame)?;
        let actions = motion.excitation.actions.iter();
        let torque = actions.filter(|a| a.source == Source::StartStop);
        let ends =
            torque.flat_map(|a| &a.segments).flat_map(|s| [s.value(s.start), s.value(s.end)]);
        let greatest = ends.fold(0.0_f64, |a, b| if b.abs() > a.abs() { b } else { a });
        let from_rest = motion.excitation.before.is_none();
        let mut notes = notes.clone();
        if contacts.is_some() && !from_rest {
            notes.push(FEET_STAY.into());
        }
        let contacts = contacts.filter(|_| from_rest);
        let load = EventLoad::Acting(motion.excitation);
        let found = Event::new(name.into(), case.clone(), load);
        let what = "torque on the frame, in the sense of the crank's rotation";
        let found = found.with(what, greatest, Dimension::MOMENT);
        events.push(Event { notes, contacts, ..found });
    }
    node.finish()?;
    Ok(events)
}

fn train(node: &Node<'_>, place: &Place<'_>) -> Result<DriveTrain> {
    let axis = direction(&node.required("axis", DIRECTIONS)?)?;
    let speed = node.quantity("speed", Dimension::FREQUENCY)?;
    let mut rotors = Vec::new();
    for rotor in node.tables("rotor")? {
        let side = match rotor.choice("side", &["driving", "driven"])? {
            "driving" => Side::Driving,
            _ => Side::Driven,
        };
        let found = Rotor::new(
            &rotor.text("name")?,
            rotor.quantity("inertia", Dimension::INERTIA)?,
            rotor.optional_quantity("ratio", Dimension::RATIO)?.unwrap_or(1.0),
            side,
        );
        rotors.push(found.map_err(|e| rotor.blame(e))?);
        rotor.finish()?;
    }
    let slide = match node.boolean_or("slide", place.slide.is_some())? {
        true => match place.slide {
            Some(slide) => Some(slide.clone()),
            None => return Err(node.error("slide", "there is no slide drive in this job")),
        },
        false => None,
    };
    DriveTrain::new(axis, speed, rotors, slide).map_err(|e| node.blame(e))
}

/// Inching, stuck and freed: asked for by tables of their own.
fn more(node: &Node<'_>, all: &mut Vec<(String, &'static str, DriveEvent)>) -> Result<()> {
    let time = |table: &Node<'_>, key| table.quantity(key, Dimension::TIME);
    if let Some(table) = node.table("inching")? {
        let event = DriveEvent::Inch {
            speed_share: table.quantity("speed_share", Dimension::RATIO)?,
            clutch_time: time(&table, "clutch_time")?,
            brake_time: time(&table, "brake_time")?,
            pause: time(&table, "pause")?,
            count: table.required("count", "a whole number")?.whole(1)?,
        };
        table.finish()?;
        all.push((table.path.clone(), "inching", event));
    }
    if let Some(table) = node.table("stuck")? {
        let event = DriveEvent::Stick {
            stop_time: time(&table, "stop_time")?,
            clutch_torque: table.quantity("clutch_torque", Dimension::MOMENT)?,
            slip_time: time(&table, "slip_time")?,
        };
        table.finish()?;
        all.push((table.path.clone(), "stuck at the bottom", event));
    }
    if let Some(table) = node.table("freed")? {
        let event = DriveEvent::Free {
            clutch_torque: table.quantity("clutch_torque", Dimension::MOMENT)?,
            rise: time(&table, "rise")?,
            hold: time(&table, "hold")?,
        };
        table.finish()?;
        all.push((table.path.clone(), "freed at the bottom", event));
    }
    Ok(())
}
