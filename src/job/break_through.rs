//! `[[break_through]]`: work forces that break off, on a press.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::calibration::{CalibrationAsked, calibration};
use super::names::Names;
use super::node::{Node, Value};
use super::point::at;
use super::shock::{case, rule};
use super::slide::Slide;
use super::work::{Stroke, TABLES, under_height, work};
use crate::analysis::SnapThroughOptions;
use crate::error::{Error, Result};
use crate::excitation::{BreakThrough, Cushion, SlideStop, Work};
use crate::installation::{Case, Point};
use crate::machine::Press;
use crate::units::Dimension;

/// A work force that breaks off.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SnapThroughAsked {
    /// Name.
    pub name: String,
    /// The force.
    pub force: Work,
    /// Work that it does, J, where it is known over the way of the slide.
    pub forming_energy: Option<f64>,
    /// A tonnage record to which the force is fitted.
    pub calibration: Option<CalibrationAsked>,
    /// Is it compared with the pulse on a rigid press that stands for it?
    pub equivalent_pulse: bool,
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
        let rate = node.optional("stroke_rate");
        // Under a height it says how fast the slide is there, else only how long a stroke lasts.
        let read = |v: Value<'_>| match under_height(&node)? {
            true => v.quantity(Dimension::FREQUENCY),
            false => v.informational(Dimension::FREQUENCY),
        };
        let rate = rate.map(read).transpose()?;
        let slowest = slide.and_then(|s| s.stroke_rates_spm.iter().copied().reduce(f64::min));
        let rate_spm = rate.map(|rate| 60.0 * rate).or(slowest);
        let (work, forming_energy) = work(&node, &Stroke { slide, rate_spm })?;
        let work = within_stroke(work, at(&node, points)?, rate_spm).map_err(|e| node.blame(e))?;
        let duration = node.optional("duration");
        let options = SnapThroughOptions {
            duration: duration.map(|v| v.informational(Dimension::TIME)).transpose()?,
            overload: node.boolean_or("overload", false)?,
            lift_off: node.boolean_or("lift_off", false)?,
            rule: rule(&node)?,
            cushions: cushions(&node)?,
            slide_stops: slide_stops(&node)?,
            ..SnapThroughOptions::default()
        };
        let rated = press.and_then(|p| p.rated_force).filter(|rated| work.peak() > *rated);
        if let (Some(rated), false) = (rated, options.overload) {
            let what = format!(
                "{} N: must not exceed the rated_force of the press, {rated} N; set overload = true to \
                 compute it all the same",
                work.peak()
            );
            let key = TABLES.into_iter().find(|key| node.has(key)).unwrap_or("force");
            return Err(node.error(key, what));
        }
        let calibration = calibration(&node, case.as_deref())?;
        let equivalent_pulse = node.boolean_or("equivalent_pulse", false)?;
        if work.break_through().is_none() {
            let what = "is known for a force that breaks off; a curve has no such numbers";
            let asked =
                [(calibration.is_some(), "calibration"), (equivalent_pulse, "equivalent_pulse")];
            if let Some((_, key)) = asked.into_iter().find(|(is, _)| *is) {
                return Err(node.error(key, what));
            }
        }
        node.finish()?;
        all.push(SnapThroughAsked {
            name,
            force: work,
            forming_energy,
            calibration,
            equivalent_pulse,
            case,
            options,
        });
    }
    Ok(all)
}

/// The work at its point, if it ends within the stroke.
fn within_stroke(
    work: Work,
    point: Option<Vector3<f64>>,
    stroke_rate_spm: Option<f64>,
) -> Result<Work> {
    match work {
        Work::BreakThrough(force) => {
            BreakThrough { point, stroke_rate_spm, ..force }.checked().map(Work::from)
        }
        Work::Curve { curve, .. } => {
            let end = curve.knots.last().map_or(0.0, |k| k[0]);
            if let Some(stroke) = stroke_rate_spm.map(|rate| 60.0 / rate).filter(|s| end > *s) {
                return Err(Error::invalid(
                    "curve",
                    format!("{end} s"),
                    format!("the force must end within the stroke ({stroke} s)"),
                    "check its times, or the stroke rate",
                ));
            }
            Work::Curve { curve, point }.checked()
        }
    }
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
