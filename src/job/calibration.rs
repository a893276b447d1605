//! `calibration` of a `[[break_through]]`: a tonnage record to which the force is fitted.

use serde::{Deserialize, Serialize};

use super::node::Node;
use super::record::scaled_samples;
use crate::analysis::snap_through::{CalibrationOptions, Gauge, GaugeFilter, PARAMETERS};
use crate::error::Result;
use crate::excitation::Record;
use crate::units::Dimension;

/// A tonnage record, and how the force is fitted to it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CalibrationAsked {
    /// Force at the gauge, N.
    pub record: Record,
    /// Where the gauge is, its filter, and what may move.
    pub options: CalibrationOptions,
}

impl CalibrationAsked {
    /// Times of the samples, s.
    pub fn times(&self) -> Vec<f64> {
        (0..self.record.values.len()).map(|i| i as f64 * self.record.interval).collect()
    }
}

/// Parameters that are fitted where none are named (as in Python).
const USUAL: [&str; 2] = ["force", "release"];

pub(super) fn calibration(
    around: &Node<'_>,
    case: Option<&str>,
) -> Result<Option<CalibrationAsked>> {
    let Some(node) = around.table("calibration")? else { return Ok(None) };
    let record = scaled_samples(&node, Dimension::FORCE)?;
    let word = node.choice_or("gauge", &Gauge::NAMED.map(|(name, _)| name), "column")?;
    let gauge = Gauge::NAMED.iter().find(|(name, _)| *name == word).map(|(_, gauge)| *gauge);
    let order = node.optional("filter_order").map(|v| v.whole(1)).transpose()?;
    let cutoff = node.optional_quantity("filter_cutoff", Dimension::FREQUENCY)?;
    let filter = GaugeFilter::of(order, cutoff, node.boolean_or("single_poles", false)?);
    let expected = "a list of names such as [\"force\", \"release\", \"start\"]";
    let fit = match node.optional("fit") {
        None => USUAL.map(str::to_owned).to_vec(),
        Some(list) => {
            let name = |v: &super::node::Value<'_>| v.choice(&PARAMETERS).map(str::to_owned);
            list.items(expected)?.iter().map(name).collect::<Result<_>>()?
        }
    };
    let options = CalibrationOptions {
        case: case.map(str::to_owned),
        gauge: gauge.unwrap_or(Gauge::Column),
        filter: filter.map_err(|e| node.blame(e))?,
        fit,
        error: node.optional_quantity("error", Dimension::FORCE)?,
    };
    node.finish()?;
    Ok(Some(CalibrationAsked { record, options }))
}
