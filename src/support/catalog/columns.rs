//! Which columns a catalog has, and what may stand in them.

use super::table::Table;
use crate::error::{Error, Result, did_you_mean};
use crate::units::{self, Dimension};

/// What may stand in the cells of a column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// Words.
    Text,
    /// A number with its unit.
    Quantity(Dimension),
    /// Points of compression and load.
    Curve,
}

impl Kind {
    /// Its SI unit, as it stands in the head of a column.
    pub fn si(self) -> &'static str {
        match self {
            Self::Text => "",
            Self::Quantity(dimension) => dimension.si,
            Self::Curve => "m: N",
        }
    }
}

/// Columns of a catalog: name, what may stand there, and what it is. `lateral` stands for x and y
/// alike.
pub const COLUMNS: &[(&str, Kind, &str)] = &[
    ("name", Kind::Text, "name of the model; required"),
    ("stiffness_x", Kind::Quantity(Dimension::STIFFNESS), "dynamic stiffness left-right"),
    ("stiffness_y", Kind::Quantity(Dimension::STIFFNESS), "dynamic stiffness front-back"),
    (
        "stiffness_lateral",
        Kind::Quantity(Dimension::STIFFNESS),
        "dynamic stiffness left-right and front-back",
    ),
    (
        "stiffness_z",
        Kind::Quantity(Dimension::STIFFNESS),
        "dynamic vertical stiffness; required unless a curve tells it",
    ),
    ("static_stiffness_x", Kind::Quantity(Dimension::STIFFNESS), "static stiffness left-right"),
    ("static_stiffness_y", Kind::Quantity(Dimension::STIFFNESS), "static stiffness front-back"),
    ("static_stiffness_lateral", Kind::Quantity(Dimension::STIFFNESS), "static stiffness, both"),
    ("static_stiffness_z", Kind::Quantity(Dimension::STIFFNESS), "static vertical stiffness"),
    ("curve", Kind::Curve, "vertical load over compression, \"2 mm: 9 kN; 4 mm: 21 kN\""),
    (
        "dynamic_ratio",
        Kind::Quantity(Dimension::RATIO),
        "dynamic over static stiffness along the curve; 1 where it is empty",
    ),
    (
        "damping_lateral",
        Kind::Quantity(Dimension::DAMPING),
        "viscous damping, both ways on the level",
    ),
    ("damping_z", Kind::Quantity(Dimension::DAMPING), "vertical viscous damping"),
    ("loss_factor", Kind::Quantity(Dimension::RATIO), "loss factor, all directions"),
    ("load_min", Kind::Quantity(Dimension::FORCE), "least static load; required"),
    ("load_max", Kind::Quantity(Dimension::FORCE), "greatest static load; required"),
    ("load_dynamic_max", Kind::Quantity(Dimension::FORCE), "greatest static plus dynamic load"),
    ("compression_max", Kind::Quantity(Dimension::LENGTH), "greatest static compression"),
    ("shear_max", Kind::Quantity(Dimension::LENGTH), "greatest static lateral deflection"),
    (
        "creep_per_decade",
        Kind::Quantity(Dimension::RATIO),
        "growth of the deflection in a decade of time",
    ),
    ("screw_pitch", Kind::Quantity(Dimension::LENGTH), "lift of the leveling screw in one turn"),
    ("screw_steps_per_turn", Kind::Quantity(Dimension::RATIO), "steps of one turn that can be set"),
    ("screw_down", Kind::Quantity(Dimension::LENGTH), "travel of the screw downward"),
    ("screw_up", Kind::Quantity(Dimension::LENGTH), "travel of the screw upward"),
    ("height", Kind::Quantity(Dimension::LENGTH), "height unloaded"),
    ("length", Kind::Quantity(Dimension::LENGTH), "length on the floor"),
    ("width", Kind::Quantity(Dimension::LENGTH), "width on the floor"),
    ("price", Kind::Quantity(Dimension::RATIO), "price of one, a plain number"),
];

/// A column that is known, with the unit of its head.
pub(super) struct Head {
    pub(super) name: &'static str,
    pub(super) kind: Kind,
    pub(super) unit: Option<String>,
}

pub(super) fn heads(table: &Table) -> Result<Vec<Head>> {
    let mut heads: Vec<Head> = Vec::with_capacity(table.columns.len());
    for column in &table.columns {
        let (name, unit) = match column.split_once('[') {
            Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches(']').trim().to_owned())),
            None => (column.trim(), None),
        };
        let refused = |problem: String| Error::table(&table.name, "", column, problem);
        let Some((known, kind, _)) = COLUMNS.iter().find(|(known, ..)| *known == name) else {
            let hint = did_you_mean(name, COLUMNS.iter().map(|(known, ..)| *known));
            return Err(refused(format!("is not a column of a catalog;{hint} {}", listed())));
        };
        if heads.iter().any(|head| head.name == *known) {
            return Err(refused("stands twice; each column is given once".into()));
        }
        if let Some(unit) = &unit {
            check_unit(name, *kind, unit).map_err(|e| refused(e.to_string()))?;
        }
        heads.push(Head { name: known, kind: *kind, unit });
    }
    let has = |name: &str| heads.iter().any(|head| head.name == name);
    let missing =
        |column: &str, problem: &str| Error::table(&table.name, "", column, problem.to_owned());
    for required in ["name", "load_min", "load_max"] {
        if !has(required) {
            return Err(missing(required, "is missing; a catalog needs it"));
        }
    }
    if !(has("stiffness_z") || has("curve")) {
        return Err(missing("stiffness_z", "is missing; a catalog needs it, or a curve"));
    }
    if !(has("stiffness_lateral") || has("stiffness_x") && has("stiffness_y")) {
        let problem = "is missing; give it, or stiffness_x and stiffness_y";
        return Err(missing("stiffness_lateral", problem));
    }
    Ok(heads)
}

/// The unit in a head must be one of its column: `kN/mm`, for a curve `mm: kN`.
fn check_unit(name: &str, kind: Kind, unit: &str) -> Result<()> {
    let check =
        |unit: &str, dimension| units::parse(name, &format!("1 {unit}"), dimension).map(|_| ());
    match kind {
        Kind::Text => Ok(()),
        Kind::Quantity(dimension) => check(unit, dimension),
        Kind::Curve => {
            let (length, force) = two_units(unit);
            check(length, Dimension::LENGTH)?;
            check(force, Dimension::FORCE)
        }
    }
}

/// Units of compression and load in the head of a curve.
pub(super) fn two_units(unit: &str) -> (&str, &str) {
    let (length, force) = unit.split_once(':').unwrap_or((unit, ""));
    (length.trim(), force.trim())
}

fn listed() -> String {
    let names: Vec<&str> = COLUMNS.iter().map(|(name, ..)| *name).collect();
    format!("columns are {}", names.join(", "))
}
