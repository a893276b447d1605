//! `[machine.facts]`: a machine of which only a few facts are known.
//!
//! Tonnage, mass (or not), outline, stroke rate, stroke, heaviest die. What is not given is what is
//! usual for the kind of press, and stands in the register as an assumption with its band and who
//! can confirm it; each may be given instead under its own key.

use toml::de::DeValue;

use super::node::{Node, Value};
use crate::error::Result;
use crate::installation::STANDARD_GRAVITY;
use crate::machine::{Assumption, Facts, FirstAnswer, Practice, PressKind, first_answer};
use crate::units::{self, Dimension};

pub(super) fn facts(node: &Node<'_>) -> Result<FirstAnswer> {
    let names = PressKind::NAMES.map(|(name, _)| name);
    let kind = PressKind::from_name(node.choice("kind", &names)?).map_err(|e| node.blame(e))?;
    let facts = Facts {
        kind,
        tonnage: tonnage(&node.required("tonnage", TONNAGE)?)?,
        mass: node.optional_quantity("mass", Dimension::MASS)?,
        outline: node.vector3("outline", Dimension::LENGTH)?,
        stroke_rate: node.quantity("stroke_rate", Dimension::FREQUENCY)?,
        stroke: node.quantity("stroke", Dimension::LENGTH)?,
        heaviest_die: node.optional_quantity("heaviest_die", Dimension::MASS)?.unwrap_or_default(),
    };
    let practice = practice(node, &facts)?;
    let first = first_answer(&facts, &practice).map_err(|e| node.blame(e))?;
    if facts.mass.is_some() {
        // The weight says more than the tonnage, which is then only reported.
        node.context.mark_informational(&node.join("tonnage"));
    }
    node.finish()?;
    Ok(first)
}

/// The factors as given, or as usual.
fn practice(node: &Node<'_>, facts: &Facts) -> Result<Practice> {
    let usual = Practice::of(facts.kind);
    let ratio = |key, usual: Assumption| -> Result<Assumption> {
        let value = node.quantity_or_usual(key, Dimension::RATIO, &usual)?;
        Ok(Assumption { value, ..usual })
    };
    let mass_per_kn = match facts.mass {
        Some(_) if node.has("mass_per_kN") => {
            return Err(node.error("mass_per_kN", "give either mass or mass_per_kN, not both"));
        }
        Some(_) => usual.mass_per_kn,
        None => ratio("mass_per_kN", usual.mass_per_kn)?,
    };
    let center_back = match usual.center_back {
        Some(usual) => Some(ratio("center_back", usual)?),
        None => None,
    };
    let with_die = facts.heaviest_die > 0.0;
    let of_die = |key, usual| if with_die { ratio(key, usual) } else { Ok(usual) };
    Ok(Practice {
        mass_per_kn,
        center_height: ratio("center_height", usual.center_height)?,
        center_back,
        gyration: ratio("gyration", usual.gyration)?,
        slide_share: ratio("slide_share", usual.slide_share)?,
        upper_die_share: of_die("upper_die_share", usual.upper_die_share)?,
        die_height: of_die("die_height", usual.die_height)?,
    })
}

const TONNAGE: &str =
    "a rated force with its unit (\"4000 kN\", \"400 tonf\" short tons, \"400 tf\" metric tons)";

/// Rated force, N. Tons are often written as a mass ("400 short_ton"): its weight is meant.
fn tonnage(value: &Value<'_>) -> Result<f64> {
    let text = match value.value {
        DeValue::String(text) => Some(text),
        DeValue::Table(table) => match table.get("value").map(|v| v.get_ref()) {
            Some(DeValue::String(text)) => Some(text),
            _ => None,
        },
        _ => None,
    };
    if text.is_some_and(|t| units::parse("tonnage", t, Dimension::MASS).is_ok()) {
        return Ok(value.quantity(Dimension::MASS)? * STANDARD_GRAVITY);
    }
    value.quantity(Dimension::FORCE)
}
