//! What plane do the readings say, and how much of them is no plane?
//!
//! Levels read slopes, dials and optics read heights. Over the plan, about the middle of the
//! stations,
//!
//! z = q0 + qx x + qy y + tau x y + bx x^2 / 2 + by y^2 / 2,
//!
//! a level along the unit direction d reads dz/dx dx + dz/dy dy. The plane (qx, qy) is the
//! least-squares one; twist tau and bow bx, by are then fitted with it wherever the stations tell
//! them apart. Standard errors follow from the stated uncertainty of one reading, or from what the
//! fit leaves (GUM, JCGM 100:2008, section 4.2, from memory).
//!
//! A level turned end for end reads minus the slope plus the same own error:
//! slope = (r - r') / 2, error = (r + r') / 2. Source: standard practice of reversal (US Army TM
//! 38-260, 7-6, quoted in the reference pack: remove half the error).
//!
//! tilt about x = qy, about y = -qx. Twist is told as the difference of level between opposite
//! ends, tau times the length of the stations' rectangle; above its limit it is reported, never
//! averaged away.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::nnls::tall;
use crate::error::{Error, Result, each, finite, not_negative, positive};

/// What a reading is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Quantity {
    /// A level along a unit direction of the plan.
    Level {
        /// Unit direction in the plan along which a positive reading rises.
        along: [f64; 2],
        /// What it reads, rad.
        value: f64,
        /// What it reads turned end for end on the same spot, in its own sense, rad.
        reversed: Option<f64>,
    },
    /// A height over a common datum, m, up positive.
    Height(f64),
}

/// One reading at a station.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Name of the station.
    pub station: String,
    /// Where it is, m.
    pub at: [f64; 3],
    /// What was read.
    pub quantity: Quantity,
}

impl Reading {
    /// A level reading, rad.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a direction that is not of unit length, or values not finite.
    pub fn level(
        station: impl Into<String>,
        at: [f64; 3],
        along: [f64; 2],
        value: f64,
        reversed: Option<f64>,
    ) -> Result<Self> {
        each(finite, "at", &at, "m")?;
        finite("value", value, "rad")?;
        each(finite, "reversed", reversed.iter(), "rad")?;
        let length = along[0].hypot(along[1]);
        if (length - 1.0).abs() > 1e-9 || length.is_nan() {
            return Err(Error::invalid(
                "along",
                format!("({}, {})", along[0], along[1]),
                format!("must be a unit direction in the plan (its length is {length})"),
                "give \"x\", \"y\" or a unit vector (cos, sin)",
            ));
        }
        let quantity = Quantity::Level { along, value, reversed };
        Ok(Self { station: station.into(), at, quantity })
    }

    /// A height reading, m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for values not finite.
    pub fn height(station: impl Into<String>, at: [f64; 3], height: f64) -> Result<Self> {
        each(finite, "at", &at, "m")?;
        finite("height", height, "m")?;
        Ok(Self { station: station.into(), at, quantity: Quantity::Height(height) })
    }
}

/// Slope (rad) of a number of divisions of a level whose division is given, rad.
///
/// # Errors
/// [`Error::Invalid`] if the division is not positive.
pub fn divisions(count: f64, division: f64) -> Result<f64> {
    Ok(finite("divisions", count, "")? * positive("division", division, "rad")?)
}

/// A fitted value and its standard error, where one can be told.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fitted {
    /// The value.
    pub value: f64,
    /// Its standard error; `None` without a stated uncertainty or readings to spare.
    pub standard_error: Option<f64>,
}

/// What the readings say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plane {
    /// Tilt about x and about y, rad.
    pub tilt: [Fitted; 2],
    /// Difference of level between opposite ends by twist, rad; `None` if the stations cannot tell.
    pub twist: Option<Fitted>,
    /// Difference of level between opposite ends by bow along x and along y, rad.
    pub bow: [Option<Fitted>; 2],
    /// The readings, reversal and the level's own error taken out: rad or m.
    pub corrected: Vec<f64>,
    /// What each reading leaves of the plane, rad or m.
    pub residual: Vec<f64>,
    /// Standard deviation of one reading, stated or from the fit, rad or m.
    pub uncertainty: Option<f64>,
    /// The level's own error from reversed readings, rad.
    pub own_error: Option<f64>,
    /// Twist above which the readings contradict a plane, rad.
    pub twist_limit: Option<f64>,
    /// True if twist, or a reading against the fit, passes the stated limit.
    pub contradictory: bool,
    /// The readings.
    pub readings: Vec<Reading>,
    /// What to know before using the plane.
    pub warnings: Vec<String>,
}

/// How readings are judged.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct ReadingOptions {
    /// Standard uncertainty of one level reading, rad.
    pub level_uncertainty: Option<f64>,
    /// Standard uncertainty of one height reading, m.
    pub height_uncertainty: Option<f64>,
    /// Twist (rad, between opposite ends) above which the readings contradict a plane.
    pub twist_limit: Option<f64>,
}

/// The plane of the readings.
///
/// # Errors
/// [`Error::Invalid`] for fewer than three stations, stations on a line, readings along one
/// direction only, or levels and heights mixed without their uncertainties.
pub fn plane(readings: &[Reading], options: &ReadingOptions) -> Result<Plane> {
    for (name, value, unit) in [
        ("level_uncertainty", options.level_uncertainty, "rad"),
        ("height_uncertainty", options.height_uncertainty, "m"),
    ] {
        if let Some(value) = value {
            positive(name, value, unit)?;
        }
    }
    if let Some(limit) = options.twist_limit {
        not_negative("twist_limit", limit, "rad")?;
    }
    stations(readings)?;
    let mut warnings = Vec::new();
    let (corrected, own_error) = corrected(readings, &mut warnings);
    let geometry = Geometry::of(readings);
    let weights = weights(readings, options)?;
    let scaled = |columns: &[Term]| {
        DMatrix::from_fn(readings.len(), columns.len(), |i, j| {
            weights[i] * geometry.term(columns[j], &readings[i])
        })
    };
    let right =
        DVector::from_iterator(readings.len(), corrected.iter().zip(&weights).map(|(v, w)| v * w));
    let mut terms = vec![Term::SlopeX, Term::SlopeY];
    if readings.iter().any(|r| matches!(r.quantity, Quantity::Height(_))) {
        terms.push(Term::Height);
    }
    let flat = fit(&scaled(&terms), &right).ok_or_else(one_direction)?;
    let residual: Vec<f64> = (&right - scaled(&terms) * &flat.value)
        .iter()
        .zip(&weights)
        .map(|(rest, w)| rest / w)
        .collect();
    let mut full = terms.clone();
    for term in [Term::Twist, Term::BowX, Term::BowY] {
        let with: Vec<Term> = full.iter().copied().chain([term]).collect();
        if fit(&scaled(&with), &right).is_some() {
            full = with;
        }
    }
    let all = fit(&scaled(&full), &right).ok_or_else(one_direction)?;
    let rest = &right - scaled(&full) * &all.value;
    let spare = readings.len() - full.len();
    let stated = options.level_uncertainty.is_some() || options.height_uncertainty.is_some();
    let unit_error = if stated {
        Some(1.0)
    } else if spare > 0 {
        Some((rest.norm_squared() / spare as f64).sqrt())
    } else {
        warnings.push(
            "no uncertainty: as many unknowns as readings, and none is stated for one reading"
                .into(),
        );
        None
    };
    let of = |fit: &Fit, columns: &[Term], term: Term, scale: f64| {
        let j = columns.iter().position(|t| *t == term)?;
        let error = unit_error.map(|s| s * fit.covariance[(j, j)].max(0.0).sqrt() * scale.abs());
        Some(Fitted { value: scale * fit.value[j], standard_error: error })
    };
    let none = Fitted { value: 0.0, standard_error: None };
    let [lx, ly] = geometry.side;
    let twist = of(&all, &full, Term::Twist, lx.max(ly));
    let mut plane = Plane {
        tilt: [
            of(&flat, &terms, Term::SlopeY, 1.0).unwrap_or(none),
            of(&flat, &terms, Term::SlopeX, -1.0).unwrap_or(none),
        ],
        twist,
        bow: [of(&all, &full, Term::BowX, lx), of(&all, &full, Term::BowY, ly)],
        residual,
        uncertainty: unit_error.map(|s| s / weights.first().copied().unwrap_or(1.0)),
        own_error,
        twist_limit: options.twist_limit,
        contradictory: false,
        readings: readings.to_vec(),
        corrected,
        warnings,
    };
    plane.judge(options.twist_limit);
    Ok(plane)
}

impl Plane {
    /// Tilt about x and about y, rad.
    pub fn tilt(&self) -> [f64; 2] {
        [self.tilt[0].value, self.tilt[1].value]
    }

    fn judge(&mut self, limit: Option<f64>) {
        let Some(limit) = limit else { return };
        if let Some(twist) = self.twist
            && twist.value.abs() > limit
        {
            self.contradictory = true;
            self.warnings.push(format!(
                "twist of {:.4} mm/m between opposite ends is above its limit of {:.4} mm/m: no plane \
                 levels every station; look for a soft foot, a twisted bed or a misread station \
                 before turning screws",
                1e3 * twist.value.abs(),
                1e3 * limit
            ));
        }
        let levels = self.residual.iter().zip(&self.readings);
        let worst = levels
            .filter(|(_, r)| matches!(r.quantity, Quantity::Level { .. }))
            .max_by(|a, b| a.0.abs().total_cmp(&b.0.abs()));
        if let Some((residual, reading)) = worst
            && residual.abs() > limit
        {
            self.contradictory = true;
            self.warnings.push(format!(
                "station {:?} is {:.4} mm/m off the plane of the readings, more than the limit of \
                 {:.4} mm/m: read it again",
                reading.station,
                1e3 * residual,
                1e3 * limit
            ));
        }
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Term {
    SlopeX,
    SlopeY,
    Height,
    Twist,
    BowX,
    BowY,
}

/// Middle and sides of the stations' rectangle, m.
struct Geometry {
    center: [f64; 2],
    side: [f64; 2],
}

impl Geometry {
    fn of(readings: &[Reading]) -> Self {
        let end = |axis: usize, fold: fn(f64, f64) -> f64, start: f64| {
            readings.iter().map(|r| r.at[axis]).fold(start, fold)
        };
        let low = [0, 1].map(|axis| end(axis, f64::min, f64::INFINITY));
        let high = [0, 1].map(|axis| end(axis, f64::max, f64::NEG_INFINITY));
        Self {
            center: [0, 1].map(|i| 0.5 * (low[i] + high[i])),
            side: [0, 1].map(|i| high[i] - low[i]),
        }
    }

    fn term(&self, term: Term, reading: &Reading) -> f64 {
        let [x, y] = [0, 1].map(|i| reading.at[i] - self.center[i]);
        match reading.quantity {
            Quantity::Height(_) => match term {
                Term::SlopeX => x,
                Term::SlopeY => y,
                Term::Height => 1.0,
                Term::Twist => x * y,
                Term::BowX => 0.5 * x * x,
                Term::BowY => 0.5 * y * y,
            },
            Quantity::Level { along: [dx, dy], .. } => match term {
                Term::SlopeX => dx,
                Term::SlopeY => dy,
                Term::Height => 0.0,
                Term::Twist => y * dx + x * dy,
                Term::BowX => x * dx,
                Term::BowY => y * dy,
            },
        }
    }
}

/// Three stations that are not on a line.
fn stations(readings: &[Reading]) -> Result<()> {
    let mut places: Vec<[f64; 2]> = Vec::new();
    for reading in readings {
        let at = [reading.at[0], reading.at[1]];
        if !places.contains(&at) {
            places.push(at);
        }
    }
    let remedy = "read at three stations or more that span the bed in both directions";
    if places.len() < 3 {
        let requirement = "at least three stations are required";
        let found = format!("{} stations", places.len());
        return Err(Error::invalid("readings", found, requirement, remedy));
    }
    let n = places.len() as f64;
    let mean = [0, 1].map(|i| places.iter().map(|p| p[i]).sum::<f64>() / n);
    let sum = |i: usize, j: usize| {
        places.iter().map(|p| (p[i] - mean[i]) * (p[j] - mean[j])).sum::<f64>()
    };
    let (a, b, c) = (sum(0, 0), sum(0, 1), sum(1, 1));
    let spread = (0.25 * (a - c) * (a - c) + b * b).sqrt();
    let (most, least) = (0.5 * (a + c) + spread, 0.5 * (a + c) - spread);
    if least <= 1e-12 * most {
        let requirement = "the stations stand on a line: they say nothing about the tilt across it";
        return Err(Error::invalid("readings", format!("{n} stations"), requirement, remedy));
    }
    Ok(())
}

fn one_direction() -> Error {
    Error::invalid(
        "readings",
        "no plane follows",
        "a plane needs levels along two directions, or heights, of sensible size",
        "read along the other direction too; check the units",
    )
}

/// Values with reversal taken out, and with the level's own error where only one way was read.
fn corrected(readings: &[Reading], warnings: &mut Vec<String>) -> (Vec<f64>, Option<f64>) {
    let both: Vec<f64> = readings
        .iter()
        .filter_map(|r| match r.quantity {
            Quantity::Level { value, reversed: Some(reversed), .. } => {
                Some(0.5 * (value + reversed))
            }
            _ => None,
        })
        .collect();
    let own = (!both.is_empty()).then(|| both.iter().sum::<f64>() / both.len() as f64);
    let one_way = |r: &&Reading| matches!(r.quantity, Quantity::Level { reversed: None, .. });
    let single = readings.iter().filter(one_way).count();
    if let Some(own) = own
        && single > 0
    {
        warnings.push(format!(
            "the level's own error of {:.4} mm/m, from reversed readings, is taken out of {single} \
             readings that were not reversed",
            1e3 * own
        ));
    }
    if own.is_none() && single > 0 {
        warnings.push(
            "no level reading was reversed: the level's own error is not known and stands in the tilt"
                .into(),
        );
    }
    let values = readings
        .iter()
        .map(|r| match r.quantity {
            Quantity::Height(height) => height,
            Quantity::Level { value, reversed: Some(reversed), .. } => 0.5 * (value - reversed),
            Quantity::Level { value, reversed: None, .. } => value - own.unwrap_or(0.0),
        })
        .collect();
    (values, own)
}

/// One over the uncertainty of each reading; one where it is not stated.
fn weights(readings: &[Reading], options: &ReadingOptions) -> Result<Vec<f64>> {
    let heights = readings.iter().filter(|r| matches!(r.quantity, Quantity::Height(_))).count();
    let mixed = heights > 0 && heights < readings.len();
    let both = options.level_uncertainty.is_some() && options.height_uncertainty.is_some();
    if mixed && !both {
        return Err(Error::invalid(
            "readings",
            "levels and heights",
            "mixed readings need the uncertainty of each kind to be weighed against each other",
            "give level_uncertainty and height_uncertainty, or fit each kind by itself",
        ));
    }
    Ok(readings
        .iter()
        .map(|r| match r.quantity {
            // A reversed reading is the mean of two.
            Quantity::Level { reversed: Some(_), .. } => {
                options.level_uncertainty.map_or(1.0, |u| std::f64::consts::SQRT_2 / u)
            }
            Quantity::Level { .. } => options.level_uncertainty.map_or(1.0, |u| 1.0 / u),
            Quantity::Height(_) => options.height_uncertainty.map_or(1.0, |u| 1.0 / u),
        })
        .collect())
}

struct Fit {
    value: DVector<f64>,
    covariance: DMatrix<f64>,
}

/// Least squares, `None` if the columns do not tell the unknowns apart.
fn fit(columns: &DMatrix<f64>, right: &DVector<f64>) -> Option<Fit> {
    // Places and readings beyond all sense may overflow, and a decomposition must not see that.
    let sound = columns.iter().chain(right.iter()).all(|x| x.abs() < 1e100);
    if columns.nrows() < columns.ncols() || !sound {
        return None;
    }
    let scale: Vec<f64> = columns.column_iter().map(|c| c.norm()).collect();
    let longest = scale.iter().fold(0.0_f64, |a, &b| a.max(b));
    if scale.iter().any(|&s| s <= 1e-12 * longest) {
        return None;
    }
    let unit =
        DMatrix::from_fn(columns.nrows(), columns.ncols(), |i, j| columns[(i, j)] / scale[j]);
    let (_, r) = unit.clone().qr().unpack();
    let own = r.diagonal().abs();
    if own.min() <= 1e-9 * own.max() {
        return None;
    }
    let value = tall(&unit, right)?;
    let normal = (unit.transpose() * &unit).try_inverse()?;
    let covariance =
        DMatrix::from_fn(scale.len(), scale.len(), |i, j| normal[(i, j)] / (scale[i] * scale[j]));
    Some(Fit { value: DVector::from_fn(scale.len(), |j, _| value[j] / scale[j]), covariance })
}
