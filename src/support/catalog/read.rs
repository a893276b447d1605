//! From cells to models: which columns there are, and what may stand in them.

use super::Model;
use super::table::{Cell, Table};
use crate::error::{Error, Result, did_you_mean};
use crate::support::{Allowed, AllowedQuantity, LoadRange, Mount, Screw};
use crate::units::{self, Dimension};

/// Columns of a catalog: name, kind of quantity (`None`: text), and what it is. `lateral` stands
/// for x and y alike.
pub const COLUMNS: &[(&str, Option<Dimension>, &str)] = &[
    ("name", None, "name of the model; required"),
    ("stiffness_x", Some(Dimension::STIFFNESS), "dynamic stiffness left-right"),
    ("stiffness_y", Some(Dimension::STIFFNESS), "dynamic stiffness front-back"),
    (
        "stiffness_lateral",
        Some(Dimension::STIFFNESS),
        "dynamic stiffness left-right and front-back",
    ),
    ("stiffness_z", Some(Dimension::STIFFNESS), "dynamic vertical stiffness; required"),
    ("static_stiffness_x", Some(Dimension::STIFFNESS), "static stiffness left-right"),
    ("static_stiffness_y", Some(Dimension::STIFFNESS), "static stiffness front-back"),
    ("static_stiffness_lateral", Some(Dimension::STIFFNESS), "static stiffness, both"),
    ("static_stiffness_z", Some(Dimension::STIFFNESS), "static vertical stiffness"),
    ("damping_lateral", Some(Dimension::DAMPING), "viscous damping, both ways on the level"),
    ("damping_z", Some(Dimension::DAMPING), "vertical viscous damping"),
    ("loss_factor", Some(Dimension::RATIO), "loss factor, all directions"),
    ("load_min", Some(Dimension::FORCE), "least static load; required"),
    ("load_max", Some(Dimension::FORCE), "greatest static load; required"),
    ("load_dynamic_max", Some(Dimension::FORCE), "greatest static plus dynamic load"),
    ("compression_max", Some(Dimension::LENGTH), "greatest static compression"),
    ("shear_max", Some(Dimension::LENGTH), "greatest static lateral deflection"),
    ("creep_per_decade", Some(Dimension::RATIO), "growth of the deflection in a decade of time"),
    ("screw_pitch", Some(Dimension::LENGTH), "lift of the leveling screw in one turn"),
    ("screw_steps_per_turn", Some(Dimension::RATIO), "steps of one turn that can be set"),
    ("screw_down", Some(Dimension::LENGTH), "travel of the screw downward"),
    ("screw_up", Some(Dimension::LENGTH), "travel of the screw upward"),
    ("height", Some(Dimension::LENGTH), "height unloaded"),
    ("length", Some(Dimension::LENGTH), "length on the floor"),
    ("width", Some(Dimension::LENGTH), "width on the floor"),
    ("price", Some(Dimension::RATIO), "price of one, a plain number"),
];

/// Steps of a turn where the catalog names none: eighth turns (common practice).
const STEPS_PER_TURN: f64 = 8.0;

pub(super) fn models(table: &Table) -> Result<Vec<Model>> {
    let heads = heads(table)?;
    let mut models: Vec<Model> = Vec::with_capacity(table.rows.len());
    let mut same_unit = SameUnit::new(heads.len());
    for (i, cells) in table.rows.iter().enumerate() {
        let row = Row { table, heads: &heads, cells, number: i + 1 };
        row.check_units(&mut same_unit)?;
        let model = row.model()?;
        if let Some(first) = models.iter().position(|m| m.name == model.name) {
            let problem = format!("is also the name of row {}; names must differ", first + 1);
            return Err(row.error("name", format!("{:?} {problem}", model.name)));
        }
        models.push(model);
    }
    if models.is_empty() {
        return Err(Error::table(&table.name, "", "", "holds no model; add a row"));
    }
    Ok(models)
}

/// A column that is known, with the unit of its head.
struct Head {
    name: &'static str,
    dimension: Option<Dimension>,
    unit: Option<String>,
}

fn heads(table: &Table) -> Result<Vec<Head>> {
    let mut heads: Vec<Head> = Vec::with_capacity(table.columns.len());
    for column in &table.columns {
        let (name, unit) = match column.split_once('[') {
            Some((name, unit)) => (name.trim(), Some(unit.trim_end_matches(']').trim().to_owned())),
            None => (column.trim(), None),
        };
        let refused = |problem: String| Error::table(&table.name, "", column, problem);
        let Some((known, dimension, _)) = COLUMNS.iter().find(|(known, ..)| *known == name) else {
            let hint = did_you_mean(name, COLUMNS.iter().map(|(known, ..)| *known));
            return Err(refused(format!("is not a column of a catalog;{hint} {}", listed())));
        };
        if heads.iter().any(|head| head.name == *known) {
            return Err(refused("stands twice; each column is given once".into()));
        }
        if let (Some(unit), Some(dimension)) = (&unit, dimension) {
            units::parse(name, &format!("1 {unit}"), *dimension)
                .map_err(|e| refused(e.to_string()))?;
        }
        heads.push(Head { name: known, dimension: *dimension, unit });
    }
    let has = |name: &str| heads.iter().any(|head| head.name == name);
    for required in ["name", "stiffness_z", "load_min", "load_max"] {
        if !has(required) {
            let problem = "is missing; a catalog needs it".to_owned();
            return Err(Error::table(&table.name, "", required, problem));
        }
    }
    if !(has("stiffness_lateral") || has("stiffness_x") && has("stiffness_y")) {
        let problem = "is missing; give it, or stiffness_x and stiffness_y".to_owned();
        return Err(Error::table(&table.name, "", "stiffness_lateral", problem));
    }
    Ok(heads)
}

fn listed() -> String {
    let names: Vec<&str> = COLUMNS.iter().map(|(name, ..)| *name).collect();
    format!("columns are {}", names.join(", "))
}

/// The unit in which the cells of each column are written, and the row that said so first.
struct SameUnit(Vec<Option<(String, usize)>>);

impl SameUnit {
    fn new(columns: usize) -> Self {
        Self(vec![None; columns])
    }
}

/// One row under its heads.
struct Row<'a> {
    table: &'a Table,
    heads: &'a [Head],
    cells: &'a [Cell],
    number: usize,
}

impl Row<'_> {
    fn error(&self, column: &str, problem: impl Into<String>) -> Error {
        let name = match self.cell("name") {
            Some(Cell::Text(name)) => format!(" ({name})"),
            _ => String::new(),
        };
        Error::table(&self.table.name, format!("{}{name}", self.number), column, problem)
    }

    fn cell(&self, column: &str) -> Option<&Cell> {
        let at = self.heads.iter().position(|head| head.name == column)?;
        self.cells.get(at).filter(|cell| **cell != Cell::Empty)
    }

    /// Every cell in the unit of its column.
    fn check_units(&self, same: &mut SameUnit) -> Result<()> {
        for ((head, cell), seen) in self.heads.iter().zip(self.cells).zip(&mut same.0) {
            if head.dimension.is_none() || *cell == Cell::Empty {
                continue;
            }
            let unit = match cell {
                Cell::Text(text) => unit_of(text),
                _ => "",
            };
            if let (Some(column), false) = (&head.unit, unit.is_empty()) {
                let problem = format!(
                    "is in {unit}, but the head of the column says {column}; state the unit once"
                );
                return Err(self.error(head.name, problem));
            }
            let (first, row) = seen.get_or_insert_with(|| (unit.to_owned(), self.number));
            if first != unit {
                let problem = format!(
                    "is in {}, row {row} in {}; a column has one unit",
                    in_words(unit),
                    in_words(first)
                );
                return Err(self.error(head.name, problem));
            }
        }
        Ok(())
    }

    /// SI value of a cell, `None` where it is empty or has no column.
    fn number(&self, column: &str) -> Result<Option<f64>> {
        let head = self.heads.iter().find(|head| head.name == column);
        let (Some(cell), Some(head)) = (self.cell(column), head) else { return Ok(None) };
        let dimension = head.dimension.unwrap_or(Dimension::RATIO);
        let text = match (cell, &head.unit) {
            (Cell::Number(number), None) => return self.finite(column, *number).map(Some),
            (Cell::Number(number), Some(unit)) => format!("{number} {unit}"),
            (Cell::Text(text), Some(unit)) => format!("{text} {unit}"),
            (Cell::Text(text), None) if unit_of(text).is_empty() => {
                format!("{text} {}", dimension.si)
            }
            (Cell::Text(text), None) => text.clone(),
            (Cell::Empty, _) => return Ok(None),
        };
        let value = units::parse(column, &text, dimension);
        value.map(Some).map_err(|e| self.error(column, e.to_string()))
    }

    fn finite(&self, column: &str, value: f64) -> Result<f64> {
        crate::error::finite(column, value, "").map_err(|e| self.error(column, e.to_string()))
    }

    fn required(&self, column: &str) -> Result<f64> {
        self.number(column)?.ok_or_else(|| self.error(column, "is empty; it is required"))
    }

    /// x, y, z from `<stem>_x`, `_y`, `_z` and `_lateral`.
    fn three(&self, stem: &str) -> Result<[Option<f64>; 3]> {
        let lateral = self.number(&format!("{stem}_lateral"))?;
        let own = |axis: &str| self.number(&format!("{stem}_{axis}"));
        Ok([own("x")?.or(lateral), own("y")?.or(lateral), own("z")?])
    }

    fn model(&self) -> Result<Model> {
        let name = match self.cell("name") {
            Some(Cell::Text(name)) => name.clone(),
            Some(Cell::Number(number)) => number.to_string(),
            _ => return Err(self.error("name", "is empty; each model needs a name")),
        };
        self.required("stiffness_z")?;
        let [x, y, z] = self.three("stiffness")?;
        let lacking = |axis| move || self.error(axis, "is empty; give it, or stiffness_lateral");
        let stiffness = [
            x.ok_or_else(lacking("stiffness_x"))?,
            y.ok_or_else(lacking("stiffness_y"))?,
            z.ok_or_else(lacking("stiffness_z"))?,
        ];
        let at_rest = self.three("static_stiffness")?;
        let at_rest = std::array::from_fn(|i| at_rest[i].unwrap_or(stiffness[i]));
        let damping = self.three("damping")?.map(Option::unwrap_or_default);
        let loss_factor = [self.number("loss_factor")?.unwrap_or(0.0); 3];
        let creep = self.number("creep_per_decade")?.unwrap_or(0.0);
        // What a mount refuses (a negative stiffness, damping below zero) is refused here by row.
        let build = || {
            let mount = Mount::new(nalgebra::Vector3::zeros(), stiffness)?
                .with_static_stiffness(at_rest)?
                .with_damping(damping)?
                .with_loss_factor(loss_factor)?
                .with_creep_per_decade(creep)?;
            mount.require_stiffness().map(|()| mount)
        };
        let mount = build().map_err(|e| self.place(&e))?;
        Ok(Model {
            name,
            mount: Mount {
                load_range: self.load_range()?,
                allowed: self.allowed()?,
                screw: self.screw()?,
                ..mount
            },
            height: self.above_zero("height")?,
            footprint: self.footprint()?,
            price: self.number("price")?,
        })
    }

    fn load_range(&self) -> Result<LoadRange> {
        let (min, max) = (self.required("load_min")?, self.required("load_max")?);
        LoadRange::new(Some(min), Some(max), self.number("load_dynamic_max")?)
            .map_err(|e| self.error("load_max", e.to_string()))
    }

    fn allowed(&self) -> Result<Vec<Allowed>> {
        let limits = [
            ("compression_max", "compression within the catalog's", AllowedQuantity::Compression),
            ("shear_max", "lateral deflection within the catalog's", AllowedQuantity::Shear),
        ];
        let mut allowed = Vec::new();
        for (column, question, quantity) in limits {
            if let Some(max) = self.number(column)? {
                let source = format!("catalog {}", self.table.name);
                let limit = Allowed::new(question, quantity, max, source);
                allowed.push(limit.map_err(|e| self.error(column, e.to_string()))?);
            }
        }
        Ok(allowed)
    }

    fn screw(&self) -> Result<Option<Screw>> {
        let Some(pitch) = self.number("screw_pitch")? else {
            let lone = ["screw_steps_per_turn", "screw_down", "screw_up"]
                .into_iter()
                .find(|column| self.cell(column).is_some());
            return match lone {
                Some(column) => Err(self.error(column, "needs screw_pitch beside it")),
                None => Ok(None),
            };
        };
        let steps = self.number("screw_steps_per_turn")?.unwrap_or(STEPS_PER_TURN);
        if steps < 1.0 || steps.fract() != 0.0 || steps > 1e4 {
            let problem = format!("{steps} is no number of steps; give 8 for eighth turns");
            return Err(self.error("screw_steps_per_turn", problem));
        }
        let [down, up] = [self.number("screw_down")?, self.number("screw_up")?];
        let [down, up] = [down, up].map(Option::unwrap_or_default);
        Screw::new(pitch, steps as u32, down, up)
            .map(Some)
            .map_err(|e| self.error("screw_pitch", e.to_string()))
    }

    fn above_zero(&self, column: &str) -> Result<Option<f64>> {
        match self.number(column)? {
            Some(value) if value <= 0.0 => {
                Err(self.error(column, format!("{value} m must be greater than zero")))
            }
            value => Ok(value),
        }
    }

    fn footprint(&self) -> Result<Option<[f64; 2]>> {
        match (self.above_zero("length")?, self.above_zero("width")?) {
            (Some(length), Some(width)) => Ok(Some([length, width])),
            (None, None) => Ok(None),
            (Some(_), None) => Err(self.error("width", "is empty beside a length")),
            (None, Some(_)) => Err(self.error("length", "is empty beside a width")),
        }
    }

    /// An error of a mount at the column where it stands.
    fn place(&self, error: &Error) -> Error {
        let column = match error {
            Error::Invalid { argument, .. } => {
                let (stem, axis) = argument.split_once('[').unwrap_or((argument, ""));
                match axis.trim_end_matches(']') {
                    "2" => format!("{stem}_z"),
                    "" => stem.to_owned(),
                    _ => format!("{stem}_lateral"),
                }
            }
            _ => String::new(),
        };
        self.error(&column, error.to_string())
    }
}

/// The text behind the number of a cell.
fn unit_of(text: &str) -> &str {
    let number = |c: char| c.is_ascii_digit() || " .+-/_".contains(c);
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let exponent = matches!(c, 'e' | 'E')
            && chars.peek().is_some_and(|(_, next)| next.is_ascii_digit() || "+-".contains(*next));
        if !number(c) && !exponent {
            return &text[at..];
        }
    }
    ""
}

fn in_words(unit: &str) -> &str {
    if unit.is_empty() { "SI (no unit)" } else { unit }
}
