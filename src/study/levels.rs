//! How the named points stand in each load case: steps of the rails, and rises.

use super::results::CaseResult;
use crate::analysis::statics::{RailStep, Rise, Standing, rail_step, rises};
use crate::error::{Result, by_name};
use crate::installation::{Point, port};
use crate::job::StepAsked;
use crate::system::Port;

/// The steps that are asked for, and the levels of every named point over the cases.
pub fn levels(
    cases: &[CaseResult],
    points: &[Point],
    steps: &[StepAsked],
) -> Result<(Vec<RailStep>, Vec<Rise>)> {
    let ports: Vec<Vec<Port>> =
        cases.iter().map(|c| points.iter().map(|p| port(p, &c.center)).collect()).collect();
    let standing: Vec<Standing<'_>> = cases
        .iter()
        .zip(&ports)
        .map(|(c, points)| Standing { case: &c.name, statics: &c.statics, points })
        .collect();
    let find = |name: &str| {
        let named = standing.iter().map(|s| (s.case, s));
        by_name("case", name, named, ["load cases are", "there are no load cases"])
    };
    let steps = steps
        .iter()
        .map(|asked| rail_step(&asked.point, find(&asked.from)?, find(&asked.to)?))
        .collect::<Result<_>>()?;
    Ok((steps, rises(&standing)?))
}
