//! How values, bands and tables are written in a summary.

use std::fmt::Write as _;

use super::Study;
use crate::job::ReportUnits;
use crate::units::{Dimension, convert, format_rounded};

/// Digits of a value.
const DIGITS: usize = 3;

/// From here on a time is read in days, s.
const DAY: f64 = 86_400.0;

/// What is smaller than this beside its like is written as 0.
const NOTHING: f64 = 1e-4;

/// A value in the report's unit for its kind of quantity.
pub fn show(study: &Study, value: f64, dimension: Dimension) -> String {
    in_unit(study, value, dimension.si)
}

/// A value in SI, in the report's unit.
pub fn in_unit(study: &Study, value: f64, si: &str) -> String {
    quantity(study.units, value, si)
}

/// A value in SI, in the unit in which it is read.
pub fn quantity(units: ReportUnits, value: f64, si: &str) -> String {
    let unit = match si {
        "s" if value.abs() >= DAY => "d",
        "s" if value.abs() >= 10.0 => "s",
        _ => reading_unit(units, si),
    };
    format!("{} {unit}", number(value, unit, DIGITS)).trim_end().to_owned()
}

/// A band in SI, in the report's unit; nothing if its ends read alike.
pub fn range(study: &Study, [low, high]: [f64; 2], si: &str) -> String {
    let unit = reading_unit(study.units, si);
    let [low, high] = [low, high].map(|x| number(x, unit, DIGITS));
    if low == high {
        return String::new();
    }
    format!("{low} ... {high} {unit}").trim_end().to_owned()
}

/// A value and its band to two digits (three from 100 on), without the unit: "0.43 (0.23 ...
/// 0.65)". What is nothing beside `scale` is written as 0.
pub fn brief(study: &Study, [value, low, high]: [f64; 3], scale: f64, si: &str) -> String {
    let unit = reading_unit(study.units, si);
    let short = |x: f64| {
        let nothing = x.abs() <= NOTHING * scale;
        let large = convert(x, unit).is_ok_and(|shown| shown.abs() >= 99.5);
        number(if nothing { 0.0 } else { x }, unit, if large { DIGITS } else { DIGITS - 1 })
    };
    let (value, low, high) = (short(value), short(low), short(high));
    if low == high { value } else { format!("{value} ({low} ... {high})") }
}

/// A number in a unit, without the unit.
fn number(value: f64, unit: &str, digits: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let text = format_rounded(value, unit, digits).unwrap_or_else(|_| format!("{value} {unit}"));
    text.strip_suffix(unit).map_or(text.clone(), |t| t.trim_end().to_owned())
}

/// The unit in which people of the trade read a quantity of that SI unit; empty for a ratio.
pub fn reading_unit(units: ReportUnits, si: &str) -> &str {
    match (units, si) {
        (ReportUnits::Si, "N") => "kN",
        (ReportUnits::Si, "m") => "mm",
        (ReportUnits::Si, "kg") => "t",
        (ReportUnits::Si, "rad") => "mm/m",
        (ReportUnits::Si, "m/s") => "mm/s",
        (ReportUnits::Si, "N m") => "kN m",
        (ReportUnits::Si, "N/m") => "kN/mm",
        (ReportUnits::Us, "N") => "lbf",
        (ReportUnits::Us, "m") => "in",
        (ReportUnits::Us, "kg") => "lb",
        (ReportUnits::Us, "rad") => "in/ft",
        (ReportUnits::Us, "m/s") => "in/s",
        (ReportUnits::Us, "m/s^2") => "g_n",
        (ReportUnits::Us, "N m") => "lbf in",
        (ReportUnits::Us, "N/m") => "lbf/in",
        (_, "s") => "ms",
        (_, other) if convert(1.0, other).is_ok() => other,
        _ => "",
    }
}

/// A Markdown table whose columns line up, so that it reads in a terminal. Columns that are empty
/// in every row are left out.
pub fn table(text: &mut String, header: &[&str], rows: &[Vec<String>]) {
    let clean = |cell: &str| cell.replace('|', "/").replace(['\n', '\r'], " ");
    let kept: Vec<usize> = (0..header.len())
        .filter(|&i| rows.iter().any(|row| row.get(i).is_some_and(|cell| !cell.is_empty())))
        .collect();
    let mut grid: Vec<Vec<String>> = vec![kept.iter().map(|&i| clean(header[i])).collect()];
    for row in rows {
        grid.push(
            kept.iter().map(|&i| row.get(i).map_or_else(String::new, |c| clean(c))).collect(),
        );
    }
    let width: Vec<usize> = (0..kept.len())
        .map(|i| grid.iter().map(|row| row[i].chars().count()).max().unwrap_or(0).max(3))
        .collect();
    grid.insert(1, width.iter().map(|&w| "-".repeat(w)).collect());
    for row in grid {
        let padded: Vec<_> =
            row.iter().zip(&width).map(|(cell, &w)| format!("{cell:<w$}")).collect();
        let _ = writeln!(text, "| {} |", padded.join(" | "));
    }
    text.push('\n');
}
