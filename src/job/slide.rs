//! `[slide]`: the slide with its drive, and the stroke rates at which it runs.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::limits::above_zero;
use super::names::find;
use super::node::{Node, Value};
use super::point::at;
use super::shock::case;
use crate::error::{Error, Result};
use crate::excitation::SlideDrive;
use crate::excitation::slide::{Branch, Crank, CrankSide, Link, Profile, Rotation, Shaft};
use crate::installation::{Case, Point};
use crate::support::catalog::{Cell, Table};
use crate::units::{self, Dimension};

/// What a job says of its slide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Slide {
    /// Slide, drive and moving masses; they are part of the machine's mass.
    pub drive: SlideDrive,
    /// Stroke rates of steady running, strokes per minute.
    pub stroke_rates_spm: Vec<f64>,
    /// Number of harmonics; `None`: the usual.
    pub harmonics: Option<usize>,
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
    /// Range of stroke rates that is searched for resonances.
    pub map: Option<RateRange>,
}

/// A range of stroke rates.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RateRange {
    /// First, strokes per minute.
    pub from_spm: f64,
    /// Last, strokes per minute.
    pub to_spm: f64,
    /// How many, both ends included.
    pub points: usize,
    /// Whose motion is watched: its name and place; `None`: the center of mass.
    pub point: Option<(String, Vector3<f64>)>,
}

impl RateRange {
    /// The stroke rates, strokes per minute, ascending.
    pub fn rates(&self) -> Vec<f64> {
        let last = (self.points - 1) as f64;
        let step = |i: usize| self.from_spm + (self.to_spm - self.from_spm) * (i as f64 / last);
        (0..self.points).map(|i| if i + 1 == self.points { self.to_spm } else { step(i) }).collect()
    }
}

/// What a job with a slide and no rotors leaves out.
pub(super) const NEVER_STOPPED: &str = "start, stop and emergency stop are not computed from the \
     slide alone: they follow from the rotors; add [drive_train] (or [[emergency_stop]]), since on \
     many presses they move the machine more than running does";

/// A job shows curves; a million rates are a sweep.
const MOST_RATES: u32 = 20_000;

pub(super) fn slide(
    root: &Node<'_>,
    points: &[Point],
    cases: &[Case],
    machine: f64,
) -> Result<Option<Slide>> {
    let Some(node) = root.table("slide")? else { return Ok(None) };
    let mass = node.quantity("mass", Dimension::MASS)?;
    let mut drive = moved(&node, mass)?;
    let or_zero = |key, dimension: Dimension| -> Result<f64> {
        Ok(node.optional_quantity(key, dimension)?.unwrap_or(0.0))
    };
    drive.upper_die_mass = or_zero("upper_die_mass", Dimension::MASS)?;
    drive.counterbalance = or_zero("counterbalance", Dimension::FORCE)?;
    drive.rod_mass = or_zero("rod_mass", Dimension::MASS)?;
    if let Some(center) = node.optional_quantity("rod_center", Dimension::RATIO)? {
        drive.rod_center = center;
    }
    drive.rod_inertia = node.optional_quantity("rod_inertia", Dimension::INERTIA)?;
    drive.crank_unbalance = or_zero("crank_unbalance", Dimension::MASS_MOMENT)?;
    drive.rotating_balance = or_zero("rotating_balance", Dimension::MASS_MOMENT)?;
    if let Some(place) = at(&node, points)? {
        drive.at = place;
    }
    drive.shaft = named(&node, "shaft", &Shaft::ALL, "y")?;
    drive.rotation = named(&node, "rotation", &Rotation::ALL, "right")?;
    if let Some(counter) = node.table("counter_slide")? {
        let [mass, stroke, ratio] = [
            ("mass", Dimension::MASS),
            ("stroke", Dimension::LENGTH),
            ("rod_ratio", Dimension::RATIO),
        ]
        .map(|(key, dimension)| counter.quantity(key, dimension));
        counter.finish()?;
        let with = drive.with_counter_slide(mass?, stroke?, ratio?);
        drive = with.map_err(|e| node.blame(e))?;
    }
    let drive = drive.checked().map_err(|e| node.blame(e))?;
    let moving = drive.mass + drive.upper_die_mass;
    if moving >= machine {
        let what = format!(
            "{moving} kg of slide and upper die: must be less than the {machine} kg of the machine, \
             which counts them; check the units"
        );
        return Err(node.error("mass", what));
    }
    let stroke_rates_spm = rates(&node)?;
    let harmonics = node.optional("harmonics").map(|v| v.whole(1)).transpose()?;
    let case = case(&node, cases)?;
    let map = node.table("map")?.map(|map| range(&map, points)).transpose()?;
    node.finish()?;
    if stroke_rates_spm.is_empty() && map.is_none() {
        return Err(node.missing(
            "stroke_rates",
            "a list of stroke rates such as [\"25 spm\", \"40 spm\"], or a map, is required",
        ));
    }
    let harmonics = harmonics.map(|n| n as usize);
    Ok(Some(Slide { drive, stroke_rates_spm, harmonics, case, map }))
}

/// The slide on what moves it: a link drive, a table, or a crank.
fn moved(node: &Node<'_>, mass: f64) -> Result<SlideDrive> {
    let (link, profile) = (node.table("link")?, node.table("profile")?);
    let drive = match (&link, &profile) {
        (Some(link), None) => SlideDrive::link(mass, linkage(link)?),
        (None, Some(table)) => SlideDrive::profile(mass, tabulated(table)?),
        (Some(_), Some(_)) => {
            return Err(node.error("profile", "give either link or profile, not both"));
        }
        (None, None) => SlideDrive::crank(mass, crank(node)?),
    };
    if link.is_some() || profile.is_some() {
        let problem = "must be left out beside link or profile, which says how the slide moves";
        node.without(&["stroke", "rod_ratio", "offset", "crank"], problem)?;
    }
    drive.map_err(|e| node.blame(e))
}

fn crank(node: &Node<'_>) -> Result<Crank> {
    let stroke = node.quantity("stroke", Dimension::LENGTH)?;
    let ratio = node.quantity("rod_ratio", Dimension::RATIO)?;
    let offset = node.optional_quantity("offset", Dimension::LENGTH)?.unwrap_or(0.0);
    let mut crank = Crank::from_stroke(stroke, ratio, offset).map_err(|e| node.blame(e))?;
    crank.side = named(node, "crank", &CrankSide::ALL, "above")?;
    Ok(crank)
}

fn linkage(node: &Node<'_>) -> Result<Link> {
    let length = |key| node.quantity(key, Dimension::LENGTH);
    let coupler_length = length("coupler_length")?;
    let or_zero = |key, dimension: Dimension| -> Result<f64> {
        Ok(node.optional_quantity(key, dimension)?.unwrap_or(0.0))
    };
    let link = Link {
        crank_radius: length("crank_radius")?,
        coupler_length,
        rocker_length: length("rocker_length")?,
        pivot: pair(&node.required("pivot", PAIR)?)?,
        branch: named(node, "branch", &Branch::ALL, "left")?,
        coupler_point: match node.optional("coupler_point") {
            Some(value) => pair(&value)?,
            None => [coupler_length, 0.0],
        },
        rod_length: length("rod_length")?,
        offset: or_zero("offset", Dimension::LENGTH)?,
        crank_pin_mass: or_zero("crank_pin_mass", Dimension::MASS)?,
        rocker_pin_mass: or_zero("rocker_pin_mass", Dimension::MASS)?,
    };
    node.finish()?;
    link.checked().map_err(|e| node.blame(e))
}

const PAIR: &str = "a list of two [to the side, up]";

fn pair(value: &Value<'_>) -> Result<[f64; 2]> {
    let [u, z] = &value.items(PAIR)?[..] else { return Err(value.wrong(PAIR)) };
    Ok([u.quantity(Dimension::LENGTH)?, z.quantity(Dimension::LENGTH)?])
}

/// Rows of a table: they are no uncertain quantities and stay out of the register.
fn tabulated(node: &Node<'_>) -> Result<Profile> {
    let list = |key: &'static str, dimension: Dimension| -> Result<Option<Vec<f64>>> {
        let Some(value) = node.optional(key) else { return Ok(None) };
        let items = value.items("a list of numbers")?;
        items.iter().map(|v| v.unregistered(dimension)).collect::<Result<_>>().map(Some)
    };
    let (angle, time) = (list("angle", Dimension::ANGLE)?, list("time", Dimension::TIME)?);
    let height = list("height", Dimension::LENGTH)?;
    let csv = node.optional_text("csv")?;
    node.finish()?;
    let profile = match (csv, angle, time, height) {
        (Some(file), None, None, None) => from_csv(node, &file),
        (None, Some(angle), None, Some(height)) => Profile::from_angle(&angle, &height),
        (None, None, Some(time), Some(height)) => Profile::from_time(&time, &height),
        _ => {
            let problem = "give height with either angle or time, or csv alone";
            return Err(node.error("height", problem));
        }
    };
    profile.map_err(|e| node.blame(e))
}

/// Two columns of a CSV file beside the job: angle or time, and height, with units in the head.
fn from_csv(node: &Node<'_>, file: &str) -> Result<Profile> {
    let text = node.context.source.attached(file).map_err(|e| node.error("csv", e))?;
    let table = Table::from_csv(text, file).map_err(|e| node.error("csv", e.to_string()))?;
    let column = |name: &str, dimension: Dimension| -> Result<Option<Vec<f64>>> {
        let head = |h: &String| h.split(['[', '(']).next().is_some_and(|h| h.trim() == name);
        let Some(index) = table.columns.iter().position(head) else { return Ok(None) };
        let unit = table.columns[index].split(['[', '(']).nth(1).unwrap_or("");
        let unit = unit.trim_end_matches([']', ')']).trim();
        let cells = table.rows.iter().enumerate().map(|(i, row)| {
            let text = match &row[index] {
                Cell::Text(text) => format!("{text} {unit}"),
                Cell::Number(number) => format!("{number} {unit}"),
                Cell::Empty | Cell::Points(_) => String::new(),
            };
            units::parse(&format!("{file} row {}, column {name}", i + 1), text.trim(), dimension)
        });
        let cells = cells.collect::<Result<_>>();
        cells.map(Some).map_err(|e| node.error("csv", e.to_string()))
    };
    let height = column("height", Dimension::LENGTH)?;
    let (angle, time) = (column("angle", Dimension::ANGLE)?, column("time", Dimension::TIME)?);
    let profile = match (angle, time, height) {
        (Some(angle), None, Some(height)) => Profile::from_angle(&angle, &height),
        (None, Some(time), Some(height)) => Profile::from_time(&time, &height),
        _ => {
            let problem = format!(
                "{file:?} has the columns {}; height and either angle or time are required, with \
                 their units: \"angle [deg]\", \"height [mm]\"",
                table.columns.join(", ")
            );
            return Err(node.error("csv", problem));
        }
    };
    profile.map_err(|e: Error| node.error("csv", format!("{file:?}: {e}")))
}

fn rates(node: &Node<'_>) -> Result<Vec<f64>> {
    let Some(value) = node.optional("stroke_rates") else { return Ok(Vec::new()) };
    let mut out: Vec<f64> = Vec::new();
    for item in value.items("a list of stroke rates such as [\"25 spm\"]")? {
        let rate = item.quantity(Dimension::FREQUENCY)?;
        if rate <= 0.0 {
            return Err(item.error(format!("{rate} Hz: must be greater than zero")));
        }
        let rate = strokes(rate);
        if out.contains(&rate) {
            return Err(item.error(format!("{rate} strokes per minute stand here twice")));
        }
        out.push(rate);
    }
    Ok(out)
}

/// Strokes per minute of a frequency; what rounding of the conversion leaves is taken off.
fn strokes(frequency: f64) -> f64 {
    let rate = frequency * 60.0;
    let whole = rate.round();
    if (rate - whole).abs() < 1e-12 * rate { whole } else { rate }
}

fn range(node: &Node<'_>, points: &[Point]) -> Result<RateRange> {
    let rate = |key| {
        let value = node.quantity(key, Dimension::FREQUENCY)?;
        above_zero(node, key, value, "Hz").map(strokes)
    };
    let (from_spm, to_spm) = (rate("from")?, rate("to")?);
    if to_spm <= from_spm {
        let problem = format!(
            "{to_spm} strokes per minute: must be greater than from ({from_spm}); check both"
        );
        return Err(node.error("to", problem));
    }
    let count = node.optional("points").map(|v| v.whole(2)).transpose()?.unwrap_or(101);
    if count > MOST_RATES {
        let problem = format!("{count}: at most {MOST_RATES} are computed in a job");
        return Err(node.error("points", problem));
    }
    let named = points.iter().map(|p| (p.name.as_str(), (p.name.clone(), p.at)));
    let point = node.optional("point").map(|v| find(&v, "point", named)).transpose()?;
    node.finish()?;
    Ok(RateRange { from_spm, to_spm, points: count as usize, point })
}

/// One of the named values of an enum, or the usual one.
fn named<T: Copy, const N: usize>(
    node: &Node<'_>,
    key: &'static str,
    all: &[(&'static str, T); N],
    usual: &'static str,
) -> Result<T> {
    let word = node.choice_or(key, &all.map(|(name, _)| name), usual)?;
    let found = all.iter().find(|(name, _)| *name == word);
    found.map(|(_, value)| *value).ok_or_else(|| node.error(key, "is not known"))
}
