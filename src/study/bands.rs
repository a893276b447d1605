//! How sure is each figure? One input at a time to the ends of its band.
//!
//! For figure y and banded inputs i, with y_i- and y_i+ at the ends of input i:
//! up = sqrt(sum over i of max(0, y_i- - y, y_i+ - y)^2), down likewise; band = y - down .. y + up.
//! The load of a mount also gets what an uneven floor does to it: delta sqrt(sum over j of R_ij^2)
//! for feet that are out by plus or minus delta, independently.
//!
//! Limit: only the two ends of an input are tried. A figure that is largest inside a band (a force
//! whose sign turns, a resonance that is crossed) can pass its stated band, and can grow when the
//! band of an input narrows.

use serde::{Deserialize, Serialize};

use super::asks::{Ask, ranked};
use super::figures::{Plain, figures};
use super::parallel::side_by_side;
use super::verdicts::{Asked, Computed, checks};
use crate::checks::Check;
use crate::error::{Error, Result};
use crate::job::{Input, Job};

/// Name of the uneven floor among the inputs that move a figure.
const FLOOR: &str = "floor unevenness";

/// What follows the label of an input in the condition of an OK IF.
pub const CONFIRMED: &str = " is confirmed";

/// A key figure with its band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Group ("static", "modes", ...).
    pub group: String,
    /// What it is.
    pub name: String,
    /// SI value for the inputs as given.
    pub value: f64,
    /// Lower end of the band.
    pub low: f64,
    /// Upper end of the band.
    pub high: f64,
    /// Kind of quantity ("force").
    pub dimension: String,
    /// Inputs that move it by their labels, the strongest first, with its value at the lower and the upper end.
    pub moved_by: Vec<(String, f64, f64)>,
}

/// One input at its two ends.
struct Ends {
    input: Input,
    figures: [Vec<Plain>; 2],
    checks: [Vec<Asked>; 2],
}

/// The job as given, and at the ends of every band.
pub struct Bands {
    figures: Vec<Plain>,
    checks: Vec<Asked>,
    ends: Vec<Ends>,
    /// What the uneven floor does to the load of each mount, N.
    floor: Vec<f64>,
}

/// Values at the two ends of each input, for one figure or check.
struct Spread<'a> {
    value: f64,
    ends: Vec<(&'a str, f64, f64)>,
}

impl Spread<'_> {
    /// [down, up].
    fn reach(&self) -> [f64; 2] {
        let mut squares = [0.0, 0.0];
        for &(_, a, b) in &self.ends {
            let down = (self.value - a).max(self.value - b).max(0.0);
            let up = (a - self.value).max(b - self.value).max(0.0);
            squares[0] += down * down;
            squares[1] += up * up;
        }
        squares.map(f64::sqrt)
    }

    /// The ends, the input that moves the value most first.
    fn ranked(&self) -> Vec<(String, f64, f64)> {
        let mut ends: Vec<_> =
            self.ends.iter().map(|&(label, a, b)| (label.to_owned(), a, b)).collect();
        let size = |a: f64, b: f64| (a - self.value).abs().max((b - self.value).abs());
        ends.retain(|&(_, a, b)| size(a, b) > 0.0);
        ends.sort_by(|x, y| size(y.1, y.2).total_cmp(&size(x.1, x.2)));
        ends
    }
}

impl Bands {
    /// The job as given, and at the ends of the bands of these inputs.
    pub fn of(job: &Job, inputs: &[&Input]) -> Result<Self> {
        let known = Computed::of(job)?;
        let results = &known.results;
        let ends = side_by_side(inputs, |input| ends(job, &known, input))?;
        let delta = job.floor_unevenness.unwrap_or(0.0);
        let influence = &results.unevenness.influence;
        Ok(Self {
            figures: figures(results),
            checks: checks(job, &known)?,
            ends,
            floor: influence.row_iter().map(|r| delta * r.norm()).collect(),
        })
    }

    pub fn figures(&self) -> Vec<Figure> {
        // Of a plan that does not exist there are no figures.
        let known = (0..self.figures.len()).filter(|&i| !self.figures[i].value.is_nan());
        known.map(|i| self.figure(i)).collect()
    }

    fn figure(&self, i: usize) -> Figure {
        let plain = &self.figures[i];
        let value = plain.value;
        let mut spread = Spread {
            value,
            ends: self
                .ends
                .iter()
                .map(|e| (&*e.input.label, e.figures[0][i].value, e.figures[1][i].value))
                .filter(|(_, a, b)| !(a.is_nan() || b.is_nan()))
                .collect(),
        };
        if let Some(change) = self.floor_under(plain.mount) {
            spread.ends.push((FLOOR, value - change, value + change));
        }
        let [down, up] = spread.reach();
        Figure {
            group: plain.group.into(),
            name: plain.name.clone(),
            value,
            low: value - down,
            high: value + up,
            dimension: plain.dimension.name.into(),
            moved_by: spread.ranked(),
        }
    }

    /// Checks with their bands; OK becomes OK IF where the band reaches beyond the limit.
    pub fn checks(&self) -> Result<Vec<Check>> {
        self.checks.iter().enumerate().map(|(i, asked)| self.check(i, asked)).collect()
    }

    fn check(&self, i: usize, asked: &Asked) -> Result<Check> {
        let check = &asked.check;
        let mut spread = Spread {
            value: check.demand,
            ends: self
                .ends
                .iter()
                .map(|e| {
                    (&*e.input.label, e.checks[0][i].check.demand, e.checks[1][i].check.demand)
                })
                .collect(),
        };
        if let Some(change) = self.floor_under(asked.mount) {
            spread.ends.push((FLOOR, check.demand - change, check.demand + change));
        }
        let [down, up] = spread.reach();
        let ranked = spread.ranked();
        let Some((strongest, ..)) = ranked.first() else { return Ok(check.clone()) };
        let condition = format!("{strongest}{CONFIRMED} (its band moves this most)");
        check.clone().with_band(check.demand - down, check.demand + up, condition)
    }

    /// Assumed inputs, those first that move a verdict most.
    pub fn asks(&self) -> Vec<Ask> {
        let assumed = self.ends.iter().filter(|e| e.input.assumed || e.input.default.is_some());
        let ends = |e: &Ends| Ask::of(&e.input, &self.checks, [&e.checks[0], &e.checks[1]]);
        ranked(assumed.map(ends).collect())
    }

    /// What the uneven floor does to the load of a mount, N.
    fn floor_under(&self, mount: Option<usize>) -> Option<f64> {
        mount.map(|m| self.floor[m]).filter(|&change| change > 0.0)
    }
}

fn ends(given: &Job, known: &Computed, input: &Input) -> Result<Ends> {
    let at = |value: Option<f64>| -> Result<(Vec<Plain>, Vec<Asked>)> {
        let value = value.unwrap_or(input.value);
        let job = given.with_input(&input.path, value)?;
        let found = Computed::beside(&job, (given, known)).map_err(|e| blame(e, input, value))?;
        Ok((figures(&found.results), checks(&job, &found)?))
    };
    let (low, high) = (at(input.low)?, at(input.high)?);
    Ok(Ends { input: input.clone(), figures: [low.0, high.0], checks: [low.1, high.1] })
}

/// Says at which end of which band the computation failed.
fn blame(error: Error, input: &Input, value: f64) -> Error {
    Error::invalid(
        format!("band of {}", input.path),
        format!("{value} {}", input.unit),
        format!("the job must stand at both ends of a band, but there {error}"),
        "narrow the band, or mend the job",
    )
}
