//! `[[record]]`: a force, or a motion of the floor, as it was sampled, in a file beside the job or in
//! the job itself.

use super::event::{Event, EventLoad, Place};
use super::node::Node;
use super::point::at;
use super::shock::{DIRECTIONS, case, contacts, direction};
use crate::analysis::transient::FloorMotion;
use crate::error::Result;
use crate::excitation::{Action, Excitation, Record, Source};
use crate::units::{self, Dimension};

const QUANTITIES: [&str; 3] = ["force", "acceleration", "displacement"];

pub(super) fn record(node: &Node<'_>, place: &Place<'_>, name: String) -> Result<Vec<Event>> {
    let case = case(node, place.cases)?;
    let quantity = node.choice("quantity", &QUANTITIES)?;
    let dimension = match quantity {
        "force" => Dimension::FORCE,
        "acceleration" => Dimension::ACCELERATION,
        _ => Dimension::LENGTH,
    };
    let mut record = scaled_samples(node, dimension)?;
    if let Some(rate) = node.optional_quantity("resample", Dimension::FREQUENCY)? {
        record = record.resampled(rate).map_err(|_| {
            node.error("resample", format!("{rate} Hz: must be positive, and leave fewer samples"))
        })?;
    }
    let direction = direction(&node.required("direction", DIRECTIONS)?)?;
    let place_of = at(node, place.points)?;
    if place_of.is_some() && quantity != "force" {
        return Err(node.error("at", "the floor moves as a whole; leave it out"));
    }
    let load = match quantity {
        "force" => {
            let force = Action::recorded(Source::Other, direction, place_of, &record);
            EventLoad::Acting(Excitation::once(vec![force]))
        }
        "acceleration" => {
            EventLoad::Floor(vec![FloorMotion { direction, acceleration: record.segments() }])
        }
        _ => EventLoad::Floor(vec![FloorMotion {
            direction,
            acceleration: record.spline_acceleration(),
        }]),
    };
    let contacts = if quantity == "force" { contacts(node)? } else { None };
    let notes = record.notes.clone();
    Ok(vec![Event { notes, record: Some(record), contacts, ..Event::new(name, case, load) }])
}

/// The samples in SI: in a `unit`, times a `scale`.
pub(super) fn scaled_samples(node: &Node<'_>, dimension: Dimension) -> Result<Record> {
    let factor = match node.optional_text("unit")? {
        Some(unit) => units::parse("unit", &format!("1 {unit}"), dimension)
            .map_err(|e| node.error("unit", e.to_string()))?,
        None => 1.0,
    };
    let scale = node.optional_quantity("scale", Dimension::RATIO)?.unwrap_or(1.0);
    samples(node)?.scaled(factor * scale).map_err(|e| node.blame(e))
}

/// From the file beside the job, or from the job itself.
fn samples(node: &Node<'_>) -> Result<Record> {
    let interval = node.optional_quantity("interval", Dimension::TIME)?;
    let values = node.optional("values");
    let Some(file) = node.optional_text("file")? else {
        let what = "a file with columns of time and value, or values with their interval,";
        let values = values.ok_or_else(|| node.missing("file", what))?;
        let interval =
            interval.ok_or_else(|| node.missing("interval", "a time between samples"))?;
        let items = values.items("a list of numbers")?;
        let values = items.iter().map(|v| v.unregistered(Dimension::RATIO));
        let values = values.collect::<Result<Vec<f64>>>()?;
        return Record::new(interval, values).map_err(|e| node.blame(e));
    };
    if values.is_some() || interval.is_some() {
        return Err(node.error("file", "holds times and values; leave values and interval out"));
    }
    let column = |key, usual| match node.optional(key) {
        Some(value) => value.whole(0).map(|i| i as usize),
        None => Ok(usual),
    };
    let (time, value) = (column("time_column", 0)?, column("value_column", 1)?);
    if [".uff", ".unv"].iter().any(|end| file.to_lowercase().ends_with(end)) {
        let what = format!(
            "{file:?} is a universal file, which a job does not read: write it as CSV, \
             open(\"record.csv\", \"w\").write(underfoot.read_uff58({file:?}).to_csv()), and name that"
        );
        return Err(node.error("file", what));
    }
    let text = node.context.source.attached(&file).map_err(|e| node.error("file", e))?;
    Record::from_csv(text, &file, time, value).map_err(|e| node.error("file", e.to_string()))
}
