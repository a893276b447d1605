//! `[[break_through]]`: work forces that break off, on a press.

use serde::{Deserialize, Serialize};

use super::names::Names;
use super::node::Node;
use super::point::at;
use super::shock::case;
use super::slide::Slide;
use crate::analysis::SnapThroughOptions;
use crate::error::Result;
use crate::excitation::{Blanking, BreakThrough, Cushion, SlideStop};
use crate::installation::{Case, Point};
use crate::machine::Press;
use crate::system::ContactRule;
use crate::units::Dimension;

/// A work force that breaks off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SnapThroughAsked {
    /// Name.
    pub name: String,
    /// The force.
    pub force: BreakThrough,
    /// Load case of the machine; `None`: as it runs.
    pub case: Option<String>,
    /// How it is computed, and what stands beside the tool.
    pub options: SnapThroughOptions,
}

pub(super) fn break_throughs(
    root: &Node<'_>,
    press: Option<&Press>,
    slide: Option<&Slide>,
    points: &[Point],
    cases: &[Case],
    names: &mut Names,
) -> Result<Vec<SnapThroughAsked>> {
    let mut all = Vec::new();
    for node in root.tables("break_through")? {
        if press.is_none() {
            let problem = "a work force is internal and a rigid machine does not feel it; add a \
                           [press] section with crown and slide";
            return Err(root.error("break_through", problem));
        }
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let case = case(&node, cases)?;
        let mut force = match node.table("blank")? {
            Some(blank) => of_blank(&blank)?,
            None => BreakThrough::new(
                node.quantity("force", Dimension::FORCE)?,
                node.quantity("rise", Dimension::TIME)?,
                node.quantity("release", Dimension::TIME)?,
            )
            .map_err(|e| node.blame(e))?,
        };
        let time = |key| node.optional_quantity(key, Dimension::TIME);
        let part = |key| node.optional_quantity(key, Dimension::RATIO);
        force.dwell = time("dwell")?.unwrap_or(force.dwell);
        force.softened_to = part("softened_to")?.unwrap_or(force.softened_to);
        force.softening_time = time("softening_time")?.unwrap_or(force.softening_time);
        force.residual = part("residual")?.unwrap_or(0.0);
        force.residual_time = time("residual_time")?.unwrap_or(0.0);
        force.point = at(&node, points)?;
        let rate = node.optional("stroke_rate");
        let rate = rate.map(|v| v.informational(Dimension::FREQUENCY)).transpose()?;
        let slowest = slide.and_then(|s| s.stroke_rates_spm.iter().copied().reduce(f64::min));
        force.stroke_rate_spm = rate.map(|rate| 60.0 * rate).or(slowest);
        let duration = node.optional("duration");
        let rule = match node.choice_or("rule", &ContactRule::NAMES, ContactRule::NAMES[0])? {
            "geometric" => ContactRule::Geometric,
            _ => ContactRule::ForceClipped,
        };
        let options = SnapThroughOptions {
            duration: duration.map(|v| v.informational(Dimension::TIME)).transpose()?,
            overload: node.boolean_or("overload", false)?,
            lift_off: node.boolean_or("lift_off", false)?,
            rule,
            cushions: cushions(&node)?,
            slide_stops: slide_stops(&node)?,
            ..SnapThroughOptions::default()
        };
        let force = force.checked().map_err(|e| node.blame(e))?;
        let rated = press.and_then(|p| p.rated_force).filter(|rated| force.force > *rated);
        if let (Some(rated), false) = (rated, options.overload) {
            let what = format!(
                "{} N: must not exceed the rated_force of the press, {rated} N; set overload = true to \
                 compute it all the same",
                force.force
            );
            return Err(node.error(if node.has("blank") { "blank" } else { "force" }, what));
        }
        node.finish()?;
        all.push(SnapThroughAsked { name, force, case, options });
    }
    Ok(all)
}

/// A cut under a slide that comes down at a speed.
fn of_blank(node: &Node<'_>) -> Result<BreakThrough> {
    let mut blank = Blanking::new(
        node.quantity("perimeter", Dimension::LENGTH)?,
        node.quantity("thickness", Dimension::LENGTH)?,
        node.quantity("shear_strength", Dimension::PRESSURE)?,
        node.quantity("penetration", Dimension::RATIO)?,
    )
    .map_err(|e| node.blame(e))?;
    blank.shear_height = node.optional_quantity("shear_height", Dimension::LENGTH)?.unwrap_or(0.0);
    if let Some(tear) = node.optional_quantity("tear", Dimension::RATIO)? {
        blank.tear = tear;
    }
    let speed = node.quantity("speed", Dimension::VELOCITY)?;
    let force = blank.checked().and_then(|b| BreakThrough::at_speed(&b, speed));
    let force = force.map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(force)
}

fn cushions(node: &Node<'_>) -> Result<Vec<Cushion>> {
    let mut all = Vec::new();
    for node in node.tables("cushion")? {
        let force = node.quantity("force", Dimension::FORCE)?;
        let last = node.optional_quantity("final_force", Dimension::FORCE)?;
        let cushion = Cushion {
            name: node.optional_text("name")?.unwrap_or_default(),
            force,
            final_force: last.unwrap_or(force),
            contact: node.quantity("contact", Dimension::TIME)?,
            release: node.quantity("release", Dimension::TIME)?,
        };
        all.push(cushion.checked().map_err(|e| node.blame(e))?);
        node.finish()?;
    }
    Ok(all)
}

fn slide_stops(node: &Node<'_>) -> Result<Vec<SlideStop>> {
    let mut all = Vec::new();
    for node in node.tables("slide_stop")? {
        let name = node.optional_text("name")?.unwrap_or_default();
        let height = node.quantity("height", Dimension::LENGTH)?;
        let k = node.optional_quantity("stiffness", Dimension::STIFFNESS)?.unwrap_or(0.0);
        let c = node.optional_quantity("damping", Dimension::DAMPING)?.unwrap_or(0.0);
        all.push(SlideStop::new(&name, height, k, c).map_err(|e| node.blame(e))?);
        node.finish()?;
    }
    Ok(all)
}
