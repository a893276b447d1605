//! The load-deflection curve in one cell: "2 mm: 9 kN; 4 mm: 21 kN".
//!
//! Points are divided by semicolons, compression and load by a colon. A cell of a TOML file or of
//! a data frame holds a list of pairs instead.

use super::read::unit_of;
use super::table::Cell;
use crate::law::point_of;

/// Compression and load of each point, as they were written.
pub(super) fn points(cell: &Cell) -> Result<Vec<[String; 2]>, String> {
    let text = match cell {
        Cell::Points(points) => return Ok(points.clone()),
        Cell::Text(text) => text.clone(),
        Cell::Number(number) => number.to_string(),
        Cell::Empty => String::new(),
    };
    let written = text.split(';').map(str::trim).filter(|point| !point.is_empty());
    written.map(point).collect()
}

fn point(text: &str) -> Result<[String; 2], String> {
    let point = text.split_once(':').map(|(u, f)| [u.trim().to_owned(), f.trim().to_owned()]);
    point.filter(|[u, f]| !u.is_empty() && !f.is_empty() && !f.contains(':')).ok_or_else(|| {
        format!(
            "{text:?} is no point; write compression: load and divide points by semicolons \
             (\"2 mm: 9 kN; 4 mm: 21 kN\")"
        )
    })
}

/// The units of compression and load, "mm: kN", the same in all points; empty for none.
pub(super) fn written_in(points: &[[String; 2]]) -> Result<String, String> {
    let units = |[u, f]: &[String; 2]| [unit_of(u).to_owned(), unit_of(f).to_owned()];
    let Some(first) = points.first().map(units) else { return Ok(String::new()) };
    for (i, point) in points.iter().enumerate() {
        let own = units(point);
        if let Some(j) = (0..2).find(|&j| own[j] != first[j]) {
            return Err(format!(
                "point {} ({}: {}) is in {:?}, point 1 in {:?}; a curve has one unit for \
                 compression and one for load",
                i + 1,
                point[0],
                point[1],
                own[j],
                first[j]
            ));
        }
    }
    let [length, force] = first;
    Ok(if length.is_empty() && force.is_empty() { length } else { format!("{length}: {force}") })
}

/// `curve[1][0]` as "point 2", for those who read the cell.
pub(super) fn in_cell(argument: &str) -> Option<String> {
    point_of(argument).map(|(point, _)| format!("point {}", point + 1))
}
