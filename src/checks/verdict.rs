//! Does it hold? One question, the demand, the capacity, the margin, the governing case and the
//! source of the limit.

use serde::{Deserialize, Serialize};
use std::fmt;

use crate::error::{Error, Result};

/// Which side of the capacity holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Sense {
    /// The demand must not exceed the capacity.
    AtMost,
    /// The demand must reach the capacity.
    AtLeast,
}

/// The answer, best first.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Verdict {
    /// It holds.
    Ok,
    /// It holds on this condition.
    OkIf(String),
    /// It does not hold.
    No,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Ok => write!(f, "OK"),
            Self::OkIf(condition) => write!(f, "OK IF {condition}"),
            Self::No => write!(f, "NO"),
        }
    }
}

/// One check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Check {
    /// What is asked ("greatest load of mount front left").
    pub question: String,
    /// What the machine asks, in `unit`; infinite where it has no bound.
    pub demand: f64,
    /// What is allowed, in `unit`.
    pub capacity: f64,
    /// Unit of demand and capacity.
    pub unit: String,
    /// Which side holds.
    pub sense: Sense,
    /// Relative margin, positive: holds. (capacity - demand) / |capacity| for [`Sense::AtMost`],
    /// with the other sign for [`Sense::AtLeast`]; relative to the demand if the capacity is zero.
    pub margin: f64,
    /// The answer.
    pub verdict: Verdict,
    /// Least and greatest demand within its tolerance, where given.
    pub band: Option<[f64; 2]>,
    /// Load case the demand comes from; empty if there is only one.
    pub governing_case: String,
    /// Where the limit comes from.
    pub source: String,
}

impl Check {
    /// The demand must not exceed the capacity.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a demand that is not a number or a capacity that is not finite.
    pub fn at_most(
        question: impl Into<String>,
        demand: f64,
        capacity: f64,
        unit: impl Into<String>,
    ) -> Result<Self> {
        Self::new(question.into(), demand, capacity, unit.into(), Sense::AtMost)
    }

    /// The demand must reach the capacity.
    ///
    /// # Errors
    /// As [`Self::at_most`].
    pub fn at_least(
        question: impl Into<String>,
        demand: f64,
        capacity: f64,
        unit: impl Into<String>,
    ) -> Result<Self> {
        Self::new(question.into(), demand, capacity, unit.into(), Sense::AtLeast)
    }

    fn new(
        question: String,
        demand: f64,
        capacity: f64,
        unit: String,
        sense: Sense,
    ) -> Result<Self> {
        if demand.is_nan() || !capacity.is_finite() {
            return Err(Error::invalid(
                format!("check {question:?}"),
                format!("demand {demand} {unit}, capacity {capacity} {unit}"),
                "the demand must be a number and the capacity finite",
                "check what the demand was computed from, and state the limit",
            ));
        }
        let margin = margin(demand, capacity, sense);
        let verdict = if margin >= 0.0 { Verdict::Ok } else { Verdict::No };
        Ok(Self {
            question,
            demand,
            capacity,
            unit,
            sense,
            margin,
            verdict,
            band: None,
            governing_case: String::new(),
            source: String::new(),
        })
    }

    /// The same check with the load case that governs it.
    #[must_use]
    pub fn in_case(mut self, case: impl Into<String>) -> Self {
        self.governing_case = case.into();
        self
    }

    /// The same check with the source of its limit.
    #[must_use]
    pub fn from_source(mut self, source: impl Into<String>) -> Self {
        self.source = source.into();
        self
    }

    /// The same check with the band of its demand: OK becomes OK IF `condition` where the far end
    /// of the band fails.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the band does not hold the demand.
    pub fn with_band(mut self, low: f64, high: f64, condition: impl Into<String>) -> Result<Self> {
        if !(low <= self.demand && self.demand <= high) {
            return Err(Error::invalid(
                format!("band of check {:?}", self.question),
                format!("{low} to {high} {}", self.unit),
                format!("must hold the demand, {} {}", self.demand, self.unit),
                "give the least and the greatest demand",
            ));
        }
        self.band = Some([low, high]);
        if self.verdict == Verdict::Ok && self.margin_at_far_end() < 0.0 {
            self.verdict = Verdict::OkIf(condition.into());
        }
        Ok(self)
    }

    /// The same check, OK only on a condition.
    #[must_use]
    pub fn only_if(mut self, condition: impl Into<String>) -> Self {
        if self.verdict == Verdict::Ok {
            self.verdict = Verdict::OkIf(condition.into());
        }
        self
    }

    /// Margin at the worse end of the band; the margin where there is no band.
    pub fn margin_at_far_end(&self) -> f64 {
        self.band.map_or(self.margin, |[low, high]| {
            let far = if self.sense == Sense::AtMost { high } else { low };
            margin(far, self.capacity, self.sense)
        })
    }
}

impl fmt::Display for Check {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let relation = if self.sense == Sense::AtMost { "at most" } else { "at least" };
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        write!(
            f,
            "{}: {:.4}{unit}, {relation} {:.4}{unit}: {}",
            self.question, self.demand, self.capacity, self.verdict
        )?;
        if self.governing_case.is_empty() {
            Ok(())
        } else {
            write!(f, " (case {})", self.governing_case)
        }
    }
}

fn margin(demand: f64, capacity: f64, sense: Sense) -> f64 {
    let left = match sense {
        Sense::AtMost => capacity - demand,
        Sense::AtLeast => demand - capacity,
    };
    match (capacity.abs(), demand.abs()) {
        (0.0, 0.0) => 0.0,
        (0.0, size) if size.is_infinite() => left.signum(),
        (0.0, size) => left / size,
        (size, _) => left / size,
    }
}

/// Verdict of a list of checks.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Overall {
    /// The worst verdict; conditions of all checks are joined.
    pub verdict: Verdict,
    /// Index of the governing check: worst verdict, then least margin at the far end of its band.
    pub governing: usize,
}

/// Verdict of all checks together; `None` for an empty list.
pub fn overall(checks: &[Check]) -> Option<Overall> {
    let severity = |check: &Check| match check.verdict {
        Verdict::Ok => 0,
        Verdict::OkIf(_) => 1,
        Verdict::No => 2,
    };
    let governing = (0..checks.len()).min_by(|&a, &b| {
        let (a, b) = (&checks[a], &checks[b]);
        severity(b).cmp(&severity(a)).then(a.margin_at_far_end().total_cmp(&b.margin_at_far_end()))
    })?;
    let verdict = match checks[governing].verdict {
        Verdict::OkIf(_) => Verdict::OkIf(conditions(checks).join("; ")),
        ref other => other.clone(),
    };
    Some(Overall { verdict, governing })
}

/// Conditions of all checks, each once, in order.
fn conditions(checks: &[Check]) -> Vec<&str> {
    let mut all: Vec<&str> = Vec::new();
    for check in checks {
        match &check.verdict {
            Verdict::OkIf(condition) if !all.contains(&condition.as_str()) => all.push(condition),
            _ => {}
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(demand: f64) -> Check {
        Check::at_most("greatest load of mount front left", demand, 50e3, "N").unwrap()
    }

    #[test]
    fn margin_is_relative_to_the_capacity_and_positive_where_it_holds() {
        assert_eq!(load(40e3).margin, 0.2);
        assert_eq!(load(40e3).verdict, Verdict::Ok);
        assert_eq!(load(50e3).verdict, Verdict::Ok);
        assert_eq!(load(60e3).margin, -0.2);
        assert_eq!(load(60e3).verdict, Verdict::No);
        let least = Check::at_least("least load", 8e3, 10e3, "N").unwrap();
        assert_eq!((least.margin, least.verdict), (-0.2, Verdict::No));
    }

    #[test]
    fn a_capacity_of_zero_measures_the_margin_by_the_demand() {
        let check = |demand| Check::at_least("least load", demand, 0.0, "N").unwrap().margin;
        assert_eq!(check(300.0), 1.0);
        assert_eq!(check(-300.0), -1.0);
        assert_eq!(check(0.0), 0.0);
        assert_eq!(check(f64::NEG_INFINITY), -1.0);
    }

    #[test]
    fn a_band_whose_far_end_fails_makes_it_conditional() {
        let check = load(48e3).with_band(45e3, 51e3, "the die weighs no more than stated").unwrap();
        assert_eq!(check.verdict.to_string(), "OK IF the die weighs no more than stated");
        assert_eq!(load(48e3).with_band(45e3, 49e3, "x").unwrap().verdict, Verdict::Ok);
        assert_eq!(load(52e3).with_band(45e3, 53e3, "x").unwrap().verdict, Verdict::No);
        let least = Check::at_least("least load", 11e3, 10e3, "N").unwrap();
        let least = least.with_band(9e3, 12e3, "weighed").unwrap();
        assert_eq!(least.verdict, Verdict::OkIf("weighed".into()));
        assert!((least.margin_at_far_end() + 0.1).abs() < 1e-15);
    }

    #[test]
    fn what_is_no_number_is_refused() {
        assert!(Check::at_most("load", f64::NAN, 1.0, "N").is_err());
        assert!(Check::at_most("load", 1.0, f64::INFINITY, "N").is_err());
        assert!(load(40e3).with_band(41e3, 42e3, "x").is_err());
        assert!(load(40e3).with_band(f64::NAN, 42e3, "x").is_err());
        assert_eq!(load(f64::INFINITY).verdict, Verdict::No);
    }

    #[test]
    fn the_worst_verdict_governs_then_the_least_margin() {
        let soft = load(30e3).with_band(30e3, 55e3, "weighed").unwrap();
        let other = load(49e3).with_band(49e3, 51e3, "feet shimmed").unwrap();
        let checks = [load(49.9e3), soft, other, load(10e3)];
        let all = overall(&checks).unwrap();
        assert_eq!(all.governing, 1);
        assert_eq!(all.verdict.to_string(), "OK IF weighed; feet shimmed");
        let with_no = [checks[0].clone(), checks[1].clone(), load(51e3), load(60e3)];
        let all = overall(&with_no).unwrap();
        assert_eq!((all.governing, all.verdict), (3, Verdict::No));
        let fine = [load(40e3), load(45e3)];
        assert_eq!(overall(&fine), Some(Overall { verdict: Verdict::Ok, governing: 1 }));
        assert_eq!(overall(&[]), None);
        assert!(Verdict::Ok < Verdict::OkIf("a".into()) && Verdict::OkIf("z".into()) < Verdict::No);
    }

    #[test]
    fn a_check_reads_as_one_line() {
        let text = load(60e3).in_case("die in").to_string();
        assert_eq!(
            text,
            "greatest load of mount front left: 60000.0000 N, at most 50000.0000 N: NO (case die in)"
        );
    }
}
