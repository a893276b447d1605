//! `[leveling]`: how the machine is set level, from readings or from settlement.

use super::case::at_place;
use super::names::{Names, find};
use super::node::Node;
use crate::analysis::leveling::request::REST;
use crate::analysis::leveling::tolerance::{COMMON_PRACTICE, SOURCE};
use crate::analysis::leveling::{
    Objective, Reading, ReadingOptions, Request, Start, Subgrade, Surfaces, divisions, plane,
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
        settlement: for_mounts(&node, mounts, "settlement", ("down", Dimension::LENGTH))?
            .map(|settled| settled.into_iter().map(Option::unwrap_or_default).collect()),
        subgrade: subgrade(&node, mounts.len())?,
        target: target(&node, mounts)?,
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

/// Tables such as `[[leveling.settlement]]`: a quantity for each mount that is named, once each;
/// `None` without any.
fn for_mounts(
    node: &Node<'_>,
    mounts: &[Mount],
    table: &'static str,
    (key, dimension): (&'static str, Dimension),
) -> Result<Option<Vec<Option<f64>>>> {
    let mut names = Names::default();
    let mut found = vec![None; mounts.len()];
    let nodes = node.tables(table)?;
    for one in &nodes {
        let value = one.required("mount", "the name of a mount")?;
        let named = mounts.iter().enumerate().map(|(i, m)| (m.name.as_str(), i));
        let mount = find(&value, "mount", named)?;
        names.add(one, "mount", &mounts[mount].name)?;
        found[mount] = Some(one.quantity(key, dimension)?);
        one.finish()?;
    }
    Ok((!nodes.is_empty()).then_some(found))
}

/// `[[leveling.target]]`: the load that each mount is to carry, for all or none.
fn target(node: &Node<'_>, mounts: &[Mount]) -> Result<Option<Vec<f64>>> {
    let Some(loads) = for_mounts(node, mounts, "target", ("load", Dimension::FORCE))? else {
        return Ok(None);
    };
    let without = mounts.iter().zip(&loads).filter(|(_, load)| load.is_none());
    let without: Vec<_> = without.map(|(mount, _)| mount.name.as_str()).collect();
    if !without.is_empty() {
        let what = format!(
            "target loads are given for all mounts or none; add [[leveling.target]] for {}",
            without.join(", ")
        );
        return Err(node.error("target", &what));
    }
    Ok(Some(loads.into_iter().flatten().collect()))
}

/// `subgrade_modulus` and `plate_area`: settlement from load and ground instead of a survey.
fn subgrade(node: &Node<'_>, mounts: usize) -> Result<Option<Subgrade>> {
    let modulus = node.optional_quantity("subgrade_modulus", Dimension::SUBGRADE_MODULUS)?;
    let area = node.optional_quantity("plate_area", Dimension::AREA)?;
    match (modulus, area) {
        (Some(modulus), Some(area)) => {
            Ok(Some(Subgrade { modulus, plate_area: vec![area; mounts] }))
        }
        (None, None) => Ok(None),
        (Some(_), None) => {
            let what = "needs plate_area beside it: the area of the plate under each mount";
            Err(node.error("subgrade_modulus", what))
        }
        (None, Some(_)) => {
            let what = "needs subgrade_modulus beside it, such as \"50 MN/m^3\"";
            Err(node.error("plate_area", what))
        }
    }
}

/// What a level reads, and what it reads reversed: angles, or divisions of the stated level, rad.
fn read(one: &Node<'_>, division: Option<f64>) -> Result<(f64, Option<f64>)> {
    if !one.has("divisions") {
        let value = one.quantity("level", Dimension::ANGLE)?;
        return Ok((value, one.optional_quantity("reversed", Dimension::ANGLE)?));
    }
    let Some(division) = division else {
        let what = "counts divisions of a level that is not stated; add division = \"0.0005 in/ft\" \
                    (of your level) to [leveling], or give level as an angle";
        return Err(one.error("divisions", what));
    };
    let slope = |count: f64| divisions(count, division).map_err(|e| one.blame(e));
    let value = slope(one.quantity("divisions", Dimension::RATIO)?)?;
    let back = one.optional_quantity("reversed_divisions", Dimension::RATIO)?;
    Ok((value, back.map(slope).transpose()?))
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
        let (value, reversed) = read(&one, division)?;
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
