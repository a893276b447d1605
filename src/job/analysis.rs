//! `[transmissibility]`, `[[harmonic]]` and `[statics]`: what is computed.

use nalgebra::{DVector, Vector3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::case::wrench;
use super::limits::above_zero;
use super::names::{Names, find};
use super::node::Node;
use crate::analysis::statics::StaticsOptions;
use crate::error::Result;
use crate::installation::{Point, Wrench};
use crate::machine::FirstAnswer;
use crate::system::Axis;
use crate::units::Dimension;

/// Frequencies at which the transmissibility is computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrequencyRange {
    /// First frequency, Hz.
    pub from: f64,
    /// Last frequency, Hz.
    pub to: f64,
    /// Number of frequencies, both ends included.
    pub points: usize,
    /// True for equal ratios, false for equal steps.
    pub logarithmic: bool,
    /// A named point whose motion by that of the floor is computed too, and where it is, m.
    pub floor_motion_at: Option<(String, Vector3<f64>)>,
}

impl FrequencyRange {
    /// The frequencies, Hz, ascending.
    pub fn frequencies(&self) -> Vec<f64> {
        let last = self.points - 1;
        let at = |i: usize| {
            let part = i as f64 / last as f64;
            if self.logarithmic {
                self.from * (self.to / self.from).powf(part)
            } else {
                self.from + (self.to - self.from) * part
            }
        };
        (0..self.points).map(|i| if i == last { self.to } else { at(i) }).collect()
    }
}

/// A steady load whose response is computed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Harmonic {
    /// Name.
    pub name: String,
    /// Frequency, Hz.
    pub frequency: f64,
    /// Peak force and moment.
    pub wrench: Wrench,
    /// Axis about which what lies across it rotates, either way round; `None`: all swings in place.
    pub rotates_about: Option<Axis>,
}

impl Harmonic {
    /// Phasors of the load about a point, N and N m; and of the other sense of rotation, if it
    /// rotates. A vector V that rotates right-handed about a is Re((V - j a x V) e^{j omega t}).
    pub fn loads(&self, center: &Vector3<f64>) -> (DVector<Complex64>, Option<DVector<Complex64>>) {
        let there = self.wrench.about(center);
        let Some(axis) = self.rotates_about else { return (there.map(Complex64::from), None) };
        let axis = Vector3::ith(axis as usize, 1.0);
        let Wrench { force, moment, at } = &self.wrench;
        let ahead = Wrench { force: axis.cross(force), moment: axis.cross(moment), at: *at };
        let ahead = ahead.about(center);
        let turning = |s: f64| there.zip_map(&ahead, |v, a| Complex64::new(v, s * a));
        (turning(-1.0), Some(turning(1.0)))
    }

    /// First harmonic of the slide's inertia as a few facts give it.
    pub(super) fn of_slide(first: &FirstAnswer) -> Result<Self> {
        let up = Vector3::new(0.0, 0.0, first.slide_force);
        Ok(Self {
            name: "slide inertia, first harmonic".into(),
            frequency: first.stroke_rate,
            wrench: Wrench::new(up, Vector3::zeros(), Some(first.slide_at))?,
            rotates_about: None,
        })
    }
}

pub(super) fn transmissibility(
    root: &Node<'_>,
    points: &[Point],
) -> Result<Option<FrequencyRange>> {
    let Some(node) = root.table("transmissibility")? else { return Ok(None) };
    let frequency = |key| {
        let value = node.quantity(key, Dimension::FREQUENCY)?;
        above_zero(&node, key, value, "Hz")
    };
    let (from, to) = (frequency("from")?, frequency("to")?);
    if to <= from {
        let problem = format!("{to} Hz: must be greater than from ({from} Hz); check both");
        return Err(node.error("to", problem));
    }
    let named = points.iter().map(|p| (p.name.as_str(), (p.name.clone(), p.at)));
    let watched = node.optional("floor_motion_at");
    let floor_motion_at = watched.map(|v| find(&v, "point", named)).transpose()?;
    let points = node.required("points", "a whole number")?.count(2)?;
    if points > MOST_POINTS {
        let problem = format!("{points}: at most {MOST_POINTS} are computed in a job");
        return Err(node.error("points", problem));
    }
    let logarithmic = node.choice_or("spacing", &["log", "linear"], "log")? == "log";
    node.finish()?;
    Ok(Some(FrequencyRange { from, to, points, logarithmic, floor_motion_at }))
}

/// A job prints curves; a million points are a sweep.
const MOST_POINTS: usize = 100_000;

pub(super) fn harmonics(root: &Node<'_>, points: &[Point]) -> Result<Vec<Harmonic>> {
    let mut names = Names::default();
    let mut harmonics = Vec::new();
    for node in root.tables("harmonic")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let frequency = node.quantity("frequency", Dimension::FREQUENCY)?;
        let frequency = above_zero(&node, "frequency", frequency, "Hz")?;
        let wrench = wrench(&node, points)?;
        let rotates_about = rotation(&node, &wrench)?;
        node.finish()?;
        harmonics.push(Harmonic { name, frequency, wrench, rotates_about });
    }
    Ok(harmonics)
}

/// Axis of rotation: some of the load must lie across it; what lies along it swings in place.
fn rotation(node: &Node<'_>, wrench: &Wrench) -> Result<Option<Axis>> {
    if !node.has("rotates_about") {
        return Ok(None);
    }
    let name = node.choice("rotates_about", &["x", "y", "z"])?;
    let axes = [Axis::X, Axis::Y, Axis::Z];
    let Some(axis) = axes.into_iter().find(|axis| axis.name() == name) else { return Ok(None) };
    let unit = Vector3::ith(axis as usize, 1.0);
    if unit.cross(&wrench.force).norm() == 0.0 && unit.cross(&wrench.moment).norm() == 0.0 {
        let problem = format!("no force or moment lies across {name}, so nothing rotates about it");
        return Err(node.error("rotates_about", problem));
    }
    Ok(Some(axis))
}

/// Options of the statics, and the unevenness of the floor (m) for which foot loads get a band.
pub(super) fn statics(root: &Node<'_>) -> Result<(StaticsOptions, Option<f64>)> {
    let Some(node) = root.table("statics")? else { return Ok(Default::default()) };
    let unevenness = match node.optional_quantity("floor_unevenness", Dimension::LENGTH)? {
        Some(value) => Some(above_zero(&node, "floor_unevenness", value, "m")?),
        None => None,
    };
    let options = StaticsOptions {
        unilateral: node.boolean_or("unilateral", false)?,
        gravity_stiffness: node.boolean_or("gravity_stiffness", false)?,
        floor_height: None,
    };
    node.finish()?;
    Ok((options, unevenness))
}
