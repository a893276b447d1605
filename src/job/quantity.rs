//! Numbers of a job file: a number (SI), a text with a unit, or a table with value and band.
//!
//! `{ value = "42 t", band = "10 %", source = "nameplate" }`: the band is relative (`"10 %"` or
//! `0.1`), a quantity (`"2 t"`), or given by its ends `low` and `high`. `assumed = true` or
//! `source = "assumed"` marks an assumption, and `confirm` says who can confirm it. A vector with one band counts as one input: a factor
//! that scales its three numbers together.

use toml::de::DeValue;

use super::node::{Node, Value};
use super::register::Input;
use crate::error::{Error, Result};
use crate::units::{self, Dimension};

/// What a table says besides its value.
#[derive(Default)]
struct Note {
    band: Band,
    source: Option<String>,
    assumed: bool,
    confirm: Option<String>,
}

/// The band around a value that the trade knows, and why.
type Usual<'a> = (fn(f64) -> [f64; 2], &'a str);

#[derive(Default)]
enum Band {
    #[default]
    None,
    Relative(f64),
    Around(f64),
    Ends(Option<f64>, Option<f64>),
}

impl Value<'_> {
    /// A quantity in SI, entered in the register.
    pub(super) fn quantity(&self, dimension: Dimension) -> Result<f64> {
        self.entered(dimension, false, None)
    }

    /// A quantity in SI that gets this band where the file gives it none; `usual` says why.
    pub(super) fn quantity_with_usual_band(
        &self,
        dimension: Dimension,
        band: fn(f64) -> [f64; 2],
        usual: &str,
    ) -> Result<f64> {
        self.entered(dimension, false, Some((band, usual)))
    }

    /// A quantity that is only reported.
    pub(super) fn informational(&self, dimension: Dimension) -> Result<f64> {
        self.entered(dimension, true, None)
    }

    fn entered(
        &self,
        dimension: Dimension,
        informational: bool,
        usual: Option<Usual<'_>>,
    ) -> Result<f64> {
        let (value, mut note) = match self.value {
            DeValue::Table(_) => {
                let node = self.table("a table")?;
                let value = node.measured("value", dimension)?.plain(dimension)?;
                (value, node.note(dimension)?)
            }
            _ => (self.plain(dimension)?, Note::default()),
        };
        if let (Band::None, Some((band, why))) = (&note.band, usual) {
            let [low, high] = band(value);
            note.band = Band::Ends(Some(low), Some(high));
            note.source.get_or_insert_with(|| why.into());
        }
        let (low, high) = self.ends(value, &note.band, dimension.si)?;
        Ok(self.enter(value, dimension, (low, high), note, informational, Vec::new()))
    }

    /// Three quantities in SI; with one band they are one input.
    pub(super) fn vector3(&self, dimension: Dimension) -> Result<[f64; 3]> {
        let expected = format!("a list of three [x, y, z], each {}", dimension.words);
        let (list, note) = match self.value {
            DeValue::Table(_) => {
                let node = self.table(&expected)?;
                let list = node.required("value", &expected)?;
                (list, Some(node.note(dimension)?))
            }
            _ => (self.clone(), None),
        };
        let [x, y, z] = &list.items(&expected)?[..] else { return Err(list.wrong(&expected)) };
        let read = |item: &Value<'_>| match note {
            Some(_) => item.plain(dimension),
            None => item.quantity(dimension),
        };
        let values = [read(x)?, read(y)?, read(z)?];
        match note {
            None => Ok(values),
            Some(note) => {
                let factor = self.factor(dimension, note, values.to_vec())?;
                Ok(values.map(|v| v * factor))
            }
        }
    }

    /// Rows [deflection, load] in m and N; one band on the list scales the loads together.
    pub(super) fn curve(&self) -> Result<Vec<(f64, f64)>> {
        let expected = "a list of rows [deflection, load]";
        let (list, note) = match self.value {
            DeValue::Table(_) => {
                let node = self.table(expected)?;
                let list = node.required("value", expected)?;
                (list, Some(node.note(Dimension::FORCE)?))
            }
            _ => (self.clone(), None),
        };
        let read = |item: &Value<'_>, dimension| match note {
            Some(_) => item.plain(dimension),
            None => item.quantity(dimension),
        };
        let mut rows = Vec::new();
        for row in list.items(expected)? {
            let [deflection, load] = &row.items("a row [deflection, load]")?[..] else {
                return Err(row.wrong("a row [deflection, load]"));
            };
            rows.push((read(deflection, Dimension::LENGTH)?, read(load, Dimension::FORCE)?));
        }
        if let Some(note) = note {
            let loads = rows.iter().map(|row| row.1).collect();
            let factor = self.factor(Dimension::FORCE, note, loads)?;
            rows.iter_mut().for_each(|row| row.1 *= factor);
        }
        Ok(rows)
    }

    /// One quantity for all three directions, or three.
    pub(super) fn one_or_three(&self, dimension: Dimension) -> Result<[f64; 3]> {
        let holds_list = |value: &Value<'_>| match value.value {
            DeValue::Array(_) => true,
            DeValue::Table(t) => t.get("value").is_some_and(|v| v.get_ref().is_array()),
            _ => false,
        };
        if holds_list(self) { self.vector3(dimension) } else { Ok([self.quantity(dimension)?; 3]) }
    }

    /// Three moments or a symmetric 3 x 3 tensor (row by row), in SI.
    pub(super) fn tensor(&self, dimension: Dimension) -> Result<[[f64; 3]; 3]> {
        let (list, note) = match self.value {
            DeValue::Table(_) => {
                let node = self.table("a table")?;
                let list = node.required("value", "a list of three moments or three rows")?;
                (list, Some(node.note(dimension)?))
            }
            _ => (self.clone(), None),
        };
        let rows = list.items("a list of three moments or three rows")?;
        let nested = rows.iter().any(|row| row.value.is_array());
        if !nested {
            let [x, y, z] = self.vector3(dimension)?;
            return Ok([[x, 0.0, 0.0], [0.0, y, 0.0], [0.0, 0.0, z]]);
        }
        let mut tensor = list.upper_triangle(dimension, &rows, note.is_some())?;
        if let Some(note) = note {
            let scales = tensor.iter().flatten().copied().collect();
            let factor = self.factor(dimension, note, scales)?;
            tensor = tensor.map(|row| row.map(|v| v * factor));
        }
        Ok(tensor)
    }

    /// The upper triangle is read and mirrored, so that one input moves both elements of a pair.
    fn upper_triangle(
        &self,
        dimension: Dimension,
        rows: &[Value<'_>],
        banded: bool,
    ) -> Result<[[f64; 3]; 3]> {
        let expected = "three rows of three";
        if rows.len() != 3 {
            return Err(self.wrong(expected));
        }
        let mut tensor = [[0.0; 3]; 3];
        let mut elements = Vec::with_capacity(3);
        for row in rows {
            let items = row.items(expected)?;
            if items.len() != 3 {
                return Err(row.wrong(expected));
            }
            elements.push(items);
        }
        for i in 0..3 {
            for j in i..3 {
                let element = &elements[i][j];
                let stated = element.unregistered(dimension)?;
                let mirror = elements[j][i].unregistered(dimension)?;
                if (stated - mirror).abs() > 1e-9 * stated.abs().max(mirror.abs()) {
                    return Err(elements[j][i].error(format!(
                        "{mirror} {unit} differs from element [{i}][{j}], {stated} {unit}: the \
                         tensor must be symmetric; give J_xy = J_yx = minus the product of inertia",
                        unit = dimension.si
                    )));
                }
                let value = if banded { stated } else { element.quantity(dimension)? };
                tensor[i][j] = value;
                tensor[j][i] = value;
            }
        }
        Ok(tensor)
    }

    /// A whole number that is at least 1 and stands in no register: how many there are of a part.
    pub(super) fn pieces(&self) -> Result<u32> {
        let expected = "a whole number of at least 1";
        let DeValue::Integer(number) = self.value else { return Err(self.wrong(expected)) };
        match number.to_string().parse() {
            Ok(pieces) if pieces > 0 => Ok(pieces),
            _ => Err(self.wrong(expected)),
        }
    }

    /// A whole number that is at least `least`, entered in the register.
    pub(super) fn count(&self, least: usize) -> Result<usize> {
        let expected = format!("a whole number of at least {least}");
        let DeValue::Integer(number) = self.value else { return Err(self.wrong(&expected)) };
        let value: u32 = number.to_string().parse().map_err(|_| self.wrong(&expected))?;
        let none = (None, None);
        let entered =
            self.enter(value.into(), Dimension::RATIO, none, Note::default(), false, Vec::new());
        let rounded = entered.round();
        if rounded < least as f64 || rounded > f64::from(u32::MAX) {
            return Err(self.wrong(&expected));
        }
        Ok(rounded as usize)
    }

    /// A whole number that has no band and is not moved: steps of a turn.
    pub(super) fn whole(&self, least: u32) -> Result<u32> {
        let expected = format!("a whole number of at least {least}");
        let DeValue::Integer(number) = self.value else { return Err(self.wrong(&expected)) };
        let value: u32 = number.to_string().parse().map_err(|_| self.wrong(&expected))?;
        if value >= least { Ok(value) } else { Err(self.wrong(&expected)) }
    }

    /// The number without entering it: of the table's `value`, or as it stands.
    pub(super) fn unregistered(&self, dimension: Dimension) -> Result<f64> {
        match self.value {
            DeValue::Table(_) => {
                self.table("a table")?.measured("value", dimension)?.plain(dimension)
            }
            _ => self.plain(dimension),
        }
    }

    /// A number (SI) or a text with a unit.
    fn plain(&self, dimension: Dimension) -> Result<f64> {
        let value = match self.value {
            DeValue::String(text) => {
                return units::parse(&self.path, text, dimension).map_err(|e| self.unit_error(e));
            }
            DeValue::Integer(number) => integer(number.as_str(), number.radix()),
            DeValue::Float(number) => number.as_str().parse().ok(),
            _ => None,
        };
        let unit =
            if dimension.si.is_empty() { String::new() } else { format!(" in {}", dimension.si) };
        let value = value.ok_or_else(|| {
            self.wrong(&format!(
                "{} (a number{unit}, a text such as {}, or {{ value = ..., band = ... }})",
                dimension.words, dimension.example
            ))
        })?;
        if value.is_finite() {
            Ok(value)
        } else {
            Err(self.error(format!("is {value}; {} must be a finite number", dimension.words)))
        }
    }

    fn unit_error(&self, error: Error) -> Error {
        match error {
            Error::Unit { text, problem, remedy, .. } => {
                self.error(format!("{text:?}: {problem}; {remedy}"))
            }
            other => self.error(other.to_string()),
        }
    }

    /// Ends of a band around a value.
    fn ends(&self, value: f64, band: &Band, unit: &str) -> Result<(Option<f64>, Option<f64>)> {
        let (low, high) = match *band {
            Band::None => return Ok((None, None)),
            Band::Relative(_) if value == 0.0 => {
                return Err(self.error(
                    "a relative band of zero says nothing; give the ends as low = ... and high = ...",
                ));
            }
            Band::Relative(r) => (value - r * value.abs(), value + r * value.abs()),
            Band::Around(width) => (value - width, value + width),
            Band::Ends(low, high) => (low.unwrap_or(value), high.unwrap_or(value)),
        };
        if low <= value && value <= high {
            Ok((Some(low), Some(high)))
        } else {
            Err(self.error(format!(
                "the value {value} lies outside its band from {low} to {high} {unit}; check low and high"
            )))
        }
    }

    /// Enters a factor that scales `scales`; returns it.
    fn factor(&self, dimension: Dimension, note: Note, scales: Vec<f64>) -> Result<f64> {
        if matches!(note.band, Band::Around(_) | Band::Ends(..)) {
            return Err(self.error(
                "the band of a list is relative: write band = \"10 %\", or give each element its own band",
            ));
        }
        let ends = match note.band {
            Band::Relative(r) => (Some(1.0 - r), Some(1.0 + r)),
            _ => (None, None),
        };
        Ok(self.enter(1.0, dimension, ends, note, false, scales))
    }

    fn enter(
        &self,
        value: f64,
        dimension: Dimension,
        (low, high): (Option<f64>, Option<f64>),
        note: Note,
        informational: bool,
        scales: Vec<f64>,
    ) -> f64 {
        let value = self.context.overrides.get(&self.path).copied().unwrap_or(value);
        let input = Input {
            path: self.path.clone(),
            label: String::new(),
            value,
            unit: dimension.si.into(),
            low,
            high,
            source: note.source,
            assumed: note.assumed,
            confirm: note.confirm,
            default: None,
            informational,
            scales,
            line: self.context.source.locate(self.at).0,
        };
        self.context.inputs.borrow_mut().push((self.at, input));
        value
    }
}

impl Node<'_> {
    /// Band, source and assumption of a table whose `value` was read.
    fn note(&self, dimension: Dimension) -> Result<Note> {
        let ends = |key| self.optional(key).map(|v| v.plain(dimension)).transpose();
        let (low, high) = (ends("low")?, ends("high")?);
        let band = match self.optional("band") {
            Some(band) if low.is_some() || high.is_some() => {
                return Err(band.error("give either band, or low and high"));
            }
            Some(band) => band.band(dimension)?,
            None if low.is_some() || high.is_some() => Band::Ends(low, high),
            None => Band::None,
        };
        let source = self.optional_text("source")?;
        let says_so = source.as_deref().is_some_and(|s| s.eq_ignore_ascii_case("assumed"));
        let assumed = self.boolean_or("assumed", says_so)?;
        let confirm = self.optional_text("confirm")?;
        self.finish()?;
        Ok(Note { band, source, assumed, confirm })
    }
}

impl Value<'_> {
    fn band(&self, dimension: Dimension) -> Result<Band> {
        let absolute = match self.value {
            DeValue::String(text) => !text.contains('%') && text.trim().parse::<f64>().is_err(),
            _ => false,
        };
        let width = self.plain(if absolute { dimension } else { Dimension::RATIO })?;
        if width < 0.0 {
            return Err(self.error(format!(
                "{width}: a band is a half-width, not negative; write band = \"10 %\""
            )));
        }
        if absolute {
            Ok(Band::Around(width))
        } else if width < 1.0 {
            Ok(Band::Relative(width))
        } else {
            Err(self.error(format!(
                "{} %: a relative band must be below 100 %; give low = ... and high = ...",
                width * 100.0
            )))
        }
    }
}

fn integer(digits: &str, radix: u32) -> Option<f64> {
    if radix == 10 {
        digits.parse().ok()
    } else {
        i128::from_str_radix(digits, radix).ok().map(|n| n as f64)
    }
}
