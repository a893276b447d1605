//! `[leveling]`: how the machine is set level, from readings or from settlement.

use super::case::at_place;
use super::names::{Names, find};
use super::node::Node;
use crate::analysis::leveling::request::REST;
use crate::analysis::leveling::tolerance::{COMMON_PRACTICE, SOURCE};
use crate::analysis::leveling::{
    Objective, Reading, ReadingOptions, Request, Start, Surfaces, divisions, plane,
};
use crate::error::Result;
use crate::installation::{Case, Point};
use crate::support::Mount;
use crate::units::Dimension;

/// What the job asks of a leveling plan, and the twist its readings may show, rad.
pub(super) fn leveling(
    root: &Node<'_>,
    mounts: &[Mount],
    points: &[Point],
    cases: &[Case],
    gravity_stiffness: bool,
) -> Result<Option<Request>> {
    let Some(node) = root.table("leveling")? else { return Ok(None) };
    let quantity = |key, dimension| node.optional_quantity(key, dimension);
    let level_tolerance =
        node.quantity_or("tolerance", Dimension::ANGLE, COMMON_PRACTICE, SOURCE)?;
    if level_tolerance < 0.0 {
        let what =
            format!("{level_tolerance} rad: must not be negative; zero asks for exactly level");
        return Err(node.error("tolerance", &what));
    }
    let case = match node.optional("case") {
        Some(value) => {
            Some(find(&value, "case", cases.iter().map(|c| (c.name.as_str(), c.name.clone())))?)
        }
        None => None,
    };
    let start = match node.choice_or("start", &["level", "even"], "level")? {
        "even" => Start::Even,
        _ => Start::Level,
    };
    let objective =
        match node.choice_or("objective", &["least motion", "least travel"], "least motion")? {
            "least travel" => Objective::LeastTravel,
            _ => Objective::LeastMotion,
        };
    // Exactly level is asked of the screws, not of the readings.
    let own = if level_tolerance > 0.0 { level_tolerance } else { COMMON_PRACTICE };
    let options = ReadingOptions {
        level_uncertainty: quantity("level_uncertainty", Dimension::ANGLE)?,
        height_uncertainty: quantity("height_uncertainty", Dimension::LENGTH)?,
        twist_limit: Some(quantity("twist_limit", Dimension::ANGLE)?.unwrap_or(own)),
    };
    let (readings, surfaces) = readings(&node, points)?;
    let plane = match readings.is_empty() {
        true => None,
        false => Some(plane(&readings, &options).map_err(|e| node.blame(e))?),
    };
    let reason = "not given: no travel is kept back";
    let request = Request {
        case,
        gravity_stiffness,
        frame_twist_stiffness: quantity("frame_twist_stiffness", Dimension::STIFFNESS)?,
        start,
        settlement: settlement(&node, mounts)?,
        plane,
        level_tolerance,
        surfaces,
        load_band: quantity("load_band", Dimension::RATIO)?,
        raise_only: node.boolean_or("raise_only", false)?,
        reserve: node.quantity_or("reserve", Dimension::LENGTH, 0.0, reason)?,
        objective,
        tilt_on_the_way: quantity("tilt_on_the_way", Dimension::ANGLE)?,
        age: node.quantity_or("age", Dimension::TIME, REST, "not given: 48 h under load")?,
        ..Request::default()
    };
    node.finish()?;
    request.check(mounts.len()).map_err(|e| node.blame(e))?;
    Ok(Some(request))
}

/// `[[leveling.settlement]]`: how far each mount went down.
fn settlement(node: &Node<'_>, mounts: &[Mount]) -> Result<Option<Vec<f64>>> {
    let mut names = Names::default();
    let mut settled = vec![0.0; mounts.len()];
    let nodes = node.tables("settlement")?;
    for one in &nodes {
        let value = one.required("mount", "the name of a mount")?;
        let named = mounts.iter().enumerate().map(|(i, m)| (m.name.as_str(), i));
        let mount = find(&value, "mount", named)?;
        names.add(one, "mount", &mounts[mount].name)?;
        settled[mount] = one.quantity("down", Dimension::LENGTH)?;
        one.finish()?;
    }
    Ok((!nodes.is_empty()).then_some(settled))
}

/// `[[leveling.reading]]` and `[[leveling.height]]`.
fn readings(node: &Node<'_>, points: &[Point]) -> Result<(Vec<Reading>, Surfaces)> {
    let limit = |key| match node.optional_quantity(key, Dimension::ANGLE)? {
        Some(value) => super::limits::above_zero(node, key, value, "rad").map(Some),
        None => Ok(None),
    };
    let mut surfaces = Surfaces {
        bed_tolerance: limit("bed_tolerance")?,
        slide_parallelism: limit("slide_parallelism")?,
        ..Surfaces::default()
    };
    let division = node.optional_quantity("division", Dimension::ANGLE)?;
    let mut readings = Vec::new();
    for one in node.tables("reading")? {
        let station = one.text("station")?;
        let at = at_place(&one, points)?;
        let along = match one.choice("along", &["x", "y"])? {
            "x" => [1.0, 0.0],
            _ => [0.0, 1.0],
        };
        let (value, reversed) = match division {
            Some(division) if one.has("divisions") => {
                let slope = |count: f64| divisions(count, division).map_err(|e| one.blame(e));
                let value = slope(one.quantity("divisions", Dimension::RATIO)?)?;
                let back = one.optional_quantity("reversed_divisions", Dimension::RATIO)?;
                (value, back.map(slope).transpose()?)
            }
            _ => {
                let value = one.quantity("level", Dimension::ANGLE)?;
                (value, one.optional_quantity("reversed", Dimension::ANGLE)?)
            }
        };
        let reading = Reading::level(&station, at, along, value, reversed);
        let reading = reading.map_err(|e| one.blame(e))?;
        match one.choice_or("surface", &["rail", "bed", "slide"], "rail")? {
            "slide" => {
                // Where it was read does not count: only along what.
                one.context.mark_informational(&one.join("at"));
                surfaces.slide.push(reading);
            }
            surface => {
                if surface == "bed" {
                    surfaces.bed.push(station);
                }
                readings.push(reading);
            }
        }
        one.finish()?;
    }
    for one in node.tables("height")? {
        let station = one.text("station")?;
        let at = at_place(&one, points)?;
        let height = one.quantity("height", Dimension::LENGTH)?;
        readings.push(Reading::height(station, at, height).map_err(|e| one.blame(e))?);
        one.finish()?;
    }
    let lacks = |key, limit: Option<f64>, empty| limit.is_some() && empty && node.has(key);
    if lacks("bed_tolerance", surfaces.bed_tolerance, surfaces.bed.is_empty()) {
        let what = "judges readings of the bed; give them surface = \"bed\"";
        return Err(node.error("bed_tolerance", what));
    }
    let alone = surfaces.slide.is_empty() || readings.is_empty();
    if lacks("slide_parallelism", surfaces.slide_parallelism, alone) {
        let what = "compares readings of the slide with the plane of the others; give both";
        return Err(node.error("slide_parallelism", what));
    }
    Ok((readings, surfaces))
}
