//! From cells to models, row by row.

use super::Model;
use super::columns::{Head, Kind, heads, two_units};
use super::points::{in_cell, points, written_in};
use super::table::{Cell, Table};
use crate::error::{Error, Result};
use crate::law::Curve;
use crate::support::{Allowed, AllowedQuantity, LoadRange, Mount, Screw};
use crate::units::{self, Dimension};

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
            if head.kind == Kind::Text || *cell == Cell::Empty {
                continue;
            }
            let unit = self.unit(head, cell)?;
            let unit = unit.as_str();
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

    /// The unit in which a cell is written, empty for none.
    fn unit(&self, head: &Head, cell: &Cell) -> Result<String> {
        match (head.kind, cell) {
            (Kind::Curve, cell) => points(cell)
                .and_then(|points| written_in(&points))
                .map_err(|problem| self.error(head.name, problem)),
            (_, Cell::Text(text)) => Ok(unit_of(text).to_owned()),
            _ => Ok(String::new()),
        }
    }

    /// A cell that is not empty, under its head.
    fn filled(&self, column: &str) -> Option<(&Cell, &Head)> {
        let head = self.heads.iter().find(|head| head.name == column)?;
        self.cell(column).map(|cell| (cell, head))
    }

    /// SI value of a cell, `None` where it is empty or has no column.
    fn number(&self, column: &str) -> Result<Option<f64>> {
        let Some((cell, head)) = self.filled(column) else { return Ok(None) };
        let Kind::Quantity(dimension) = head.kind else { return Ok(None) };
        let value = match cell {
            Cell::Number(number) if head.unit.is_none() => self.finite(column, *number),
            Cell::Number(number) => {
                self.quantity(column, &number.to_string(), head.unit.as_deref(), dimension)
            }
            Cell::Text(text) => self.quantity(column, text, head.unit.as_deref(), dimension),
            Cell::Points(_) | Cell::Empty => {
                Err(self.error(column, "holds a list; one number is required"))
            }
        };
        value.map(Some)
    }

    /// SI value of what is written, in the unit of its head, its own, or SI.
    fn quantity(
        &self,
        column: &str,
        text: &str,
        unit: Option<&str>,
        dimension: Dimension,
    ) -> Result<f64> {
        let text = match unit {
            Some(unit) => format!("{text} {unit}"),
            None if unit_of(text).is_empty() => format!("{text} {}", dimension.si),
            None => text.to_owned(),
        };
        units::parse(column, &text, dimension).map_err(|e| self.error(column, e.to_string()))
    }

    /// The curve of the row.
    fn curve(&self) -> Result<Option<Curve>> {
        let Some((cell, head)) = self.filled("curve") else { return Ok(None) };
        let units = head.unit.as_deref().map(two_units);
        let points = points(cell).map_err(|problem| self.error("curve", problem))?;
        let read = |[compression, load]: &[String; 2]| {
            let (length, force) = (units.map(|u| u.0), units.map(|u| u.1));
            Ok((
                self.quantity("curve", compression, length, Dimension::LENGTH)?,
                self.quantity("curve", load, force, Dimension::FORCE)?,
            ))
        };
        let rows = points.iter().map(read).collect::<Result<Vec<_>>>()?;
        let refused = |e: Error| self.error("curve", e.called(in_cell).to_string());
        Curve::table(&rows).map(Some).map_err(refused)
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
        let curve = self.curve()?;
        let [stiffness, at_rest] = self.stiffnesses(curve.is_some())?;
        let ratio = self.dynamic_ratio(curve.is_some())?;
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
            let mount = match curve {
                Some(curve) => mount.with_curve(curve, ratio)?,
                None => mount,
            };
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

    /// Dynamic and static stiffness; along z zero where only a curve tells it.
    fn stiffnesses(&self, has_curve: bool) -> Result<[[f64; 3]; 2]> {
        let [x, y, z] = self.three("stiffness")?;
        let lacking = |axis| move || self.error(axis, "is empty; give it, or stiffness_lateral");
        let vertical = || match has_curve {
            true => Ok(0.0),
            false => Err(self.error("stiffness_z", "is empty; it is required, or a curve")),
        };
        let stiffness = [
            x.ok_or_else(lacking("stiffness_x"))?,
            y.ok_or_else(lacking("stiffness_y"))?,
            z.map_or_else(vertical, Ok)?,
        ];
        let at_rest = self.three("static_stiffness")?;
        Ok([stiffness, std::array::from_fn(|i| at_rest[i].unwrap_or(stiffness[i]))])
    }

    /// The ratio of a curve: as given, `None` where both vertical stiffnesses tell it, else 1.
    fn dynamic_ratio(&self, has_curve: bool) -> Result<Option<f64>> {
        let given = self.number("dynamic_ratio")?;
        let stiff = ["stiffness_z", "static_stiffness_z"].map(|c| self.cell(c).is_some());
        match (has_curve, given, stiff) {
            (false, None, _) | (true, None, [true, true]) => Ok(None),
            (false, Some(_), _) => Err(self.error("dynamic_ratio", "needs a curve beside it")),
            (true, given, [false, false]) => Ok(given.or(Some(1.0))),
            (true, None, [alone, _]) => {
                let column = if alone { "stiffness_z" } else { "static_stiffness_z" };
                let problem = "stands alone beside a curve; give stiffness_z and \
                               static_stiffness_z for their ratio, or dynamic_ratio instead";
                Err(self.error(column, problem))
            }
            (true, Some(_), _) => {
                let problem = "stands beside vertical stiffnesses, which say their own ratio; \
                               give one of both";
                Err(self.error("dynamic_ratio", problem))
            }
        }
    }

    fn load_range(&self) -> Result<LoadRange> {
        let (min, max) = (self.required("load_min")?, self.required("load_max")?);
        LoadRange::new(Some(min), Some(max), self.number("load_dynamic_max")?).map_err(|e| {
            let column = match &e {
                Error::Invalid { argument, .. } if argument.contains("dynamic") => {
                    "load_dynamic_max"
                }
                Error::Invalid { argument, .. } if argument == "min" => "load_min",
                _ => "load_max",
            };
            self.error(column, e.to_string())
        })
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
pub(super) fn unit_of(text: &str) -> &str {
    let number = |c: char| c.is_ascii_digit() || " .,+-/_".contains(c);
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
