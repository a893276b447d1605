//! How does the machine move while it runs, stroke after stroke, and what reaches the floor?
//!
//! The slide drive's wrench on the frame is periodic, w(t) = sum Re(W_n e^{j n omega t}), so the steady
//! motion is the sum of the harmonic responses
//!
//! X_n = Z(n omega)^-1 T W_n,  Z = K + j H + j n omega C - (n omega)^2 M + laws at n omega,
//!
//! T from a wrench at the drive to one at the center of mass; the force of a mount on the floor is
//! its law at n omega times the motion of its top. Loss factors and laws that depend on frequency
//! act exactly, each harmonic at its own frequency. Greatest values are solved for
//! (`super::periodic`).
//!
//! The slide is part of the mass matrix, at its mean position: that its height changes the tensor
//! by a few parts in a thousand is left out. Weight and static loads are left out too: forces are
//! those added to the static ones. Steady means that every start has died away: after the time
//! 1/(zeta omega_1) times ten of the slowest mode.
//!
//! Source: textbook, e.g. L. Meirovitch, Fundamentals of Vibrations, 2001, section 3.9 (from memory).

use nalgebra::{DMatrix, Vector3, Vector6};
use ndarray::{Array2, Array3};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};

use super::periodic::{Range, Turn, Wave, greatest_length};
use super::response::{flat, ground_rows, mount_force_rows, on_resonance, shaped, solve_any};
use crate::error::{Error, Result, positive};
use crate::excitation::{SlideDrive, Source};
use crate::lanes::Coefficients;
use crate::system::{Linear, wrench_transfer};

/// Harmonics taken without being asked: those of a crank fall by the rod ratio squared from one to
/// the next but one, so that 16 are beyond rounding.
pub const HARMONICS: usize = 16;
/// Most harmonics.
const MOST: usize = 512;
/// Amplification that no damping can leave: the harmonic stands on an undamped resonance.
pub(super) const RESONANT: f64 = 1e9;
/// Part of the force left out above which the result says so.
const LEFT_OUT: f64 = 1e-3;

/// Steady running at one stroke rate; all harmonics are peak phasors under e^{+j n omega t}, with
/// the crank angle theta = omega t.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Steady {
    /// Strokes per minute.
    pub stroke_rate_spm: f64,
    /// Orders of the harmonics, 1, 2, ...
    pub harmonic: Vec<usize>,
    /// Wrench of the moving parts on the frame about the center of mass (harmonic, 6), N and N m: what
    /// a rigidly bolted machine would pass on.
    pub applied: Array2<Complex64>,
    /// Motion of the degrees of freedom (harmonic, dof), m and rad.
    pub displacement: Array2<Complex64>,
    /// Force of each mount on the floor (harmonic, mount, 3), N.
    pub mount_force: Array3<Complex64>,
    /// Wrench on the floor about the center of mass (harmonic, 6), N and N m.
    pub ground_wrench: Array2<Complex64>,
    /// Where the force comes from.
    pub source: Source,
    /// Names of the mounts.
    pub mounts: Vec<String>,
    /// Center of mass, m.
    pub center: Vector3<f64>,
    /// Named points of the machine and where they are, m.
    pub points: Vec<(String, Vector3<f64>)>,
    /// What the reader should know.
    pub warnings: Vec<String>,
}

/// Steady motion of one point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SteadyMotion {
    /// Where, m.
    pub point: Vector3<f64>,
    /// Orders of the harmonics.
    pub harmonic: Vec<usize>,
    /// (harmonic, 6), m and rad.
    pub displacement: Array2<Complex64>,
    /// Stroke rate, strokes per minute.
    pub stroke_rate_spm: f64,
}

/// The wrench of a drive as columns of load: the axes it has, and each as a force on the degrees of
/// freedom.
pub(super) struct Spread {
    axes: Vec<usize>,
    /// n x axes.
    pub load: DMatrix<Complex64>,
}

impl Spread {
    /// Axes of the wrench that are not zero in every harmonic.
    pub fn new(linear: &Linear, at: &Vector3<f64>, harmonics: &[Vector6<Complex64>]) -> Self {
        let axes: Vec<usize> =
            (0..6).filter(|&i| harmonics.iter().any(|w| w[i] != Complex64::ZERO)).collect();
        let transfer = wrench_transfer(at, &linear.reference);
        let load = DMatrix::from_fn(linear.size(), axes.len(), |i, j| {
            Complex64::from(if i < 6 { transfer[(i, axes[j])] } else { 0.0 })
        });
        Self { axes, load }
    }

    /// The load of one wrench, n x 1.
    pub fn column(&self, wrench: &Vector6<Complex64>) -> DMatrix<Complex64> {
        let share: Vec<Complex64> = self.axes.iter().map(|&axis| wrench[axis]).collect();
        &self.load * DMatrix::from_column_slice(share.len(), 1, &share)
    }

    /// Row i of the answers to all columns, weighted by a wrench.
    pub fn combine(
        &self,
        answers: &[Complex64],
        row: usize,
        wrench: &Vector6<Complex64>,
    ) -> Complex64 {
        let p = self.axes.len();
        self.axes.iter().zip(&answers[row * p..]).map(|(&axis, y)| y * wrench[axis]).sum()
    }
}

/// Number of harmonics, checked.
pub(super) fn checked_order(harmonics: Option<usize>) -> Result<usize> {
    match harmonics.unwrap_or(HARMONICS) {
        n @ 1..=MOST => Ok(n),
        other => Err(Error::invalid(
            "harmonics",
            other,
            format!("must be between 1 and {MOST}"),
            format!("leave it out for {HARMONICS}, which is plenty for a crank"),
        )),
    }
}

/// A slide is a part of the machine.
pub(super) fn lighter_than(linear: &Linear, drive: &SlideDrive) -> Result<()> {
    let (moving, whole) = (drive.mass + drive.upper_die_mass, linear.m[(0, 0)]);
    if moving < whole {
        return Ok(());
    }
    Err(Error::invalid(
        "mass",
        format!("{moving} kg of slide and upper die"),
        format!("must be less than the {whole} kg of the machine they belong to"),
        "the mass of the machine counts slide and die; check the units",
    ))
}

/// Steady running of a machine with a slide drive at a stroke rate, up to so many harmonics
/// ([`HARMONICS`] by default).
///
/// # Errors
/// A stroke rate that is not positive, a harmonic that meets an undamped resonance or lies outside a
/// table.
pub fn steady(
    linear: &Linear,
    drive: &SlideDrive,
    stroke_rate_spm: f64,
    harmonics: Option<usize>,
) -> Result<Steady> {
    positive("stroke_rate_spm", stroke_rate_spm, "strokes per minute")?;
    lighter_than(linear, drive)?;
    let order = checked_order(harmonics)?;
    let wrench = drive.harmonics(stroke_rate_spm, looked_at(order))?;
    let spread = Spread::new(linear, &drive.at, &wrench);
    let n = linear.size();
    let (mounts, force_rows) = mount_force_rows(linear);
    let rows = Coefficients::identity(n).stacked(&force_rows).stacked(&ground_rows(linear));
    let count = mounts.len();
    let active: Vec<usize> = (1..=order).filter(|&k| !nothing(wrench[k].as_slice())).collect();
    let frequency: Vec<f64> = active.iter().map(|&k| k as f64 * stroke_rate_spm / 60.0).collect();
    let widths = [n, 3 * count, 6];
    let [mut motion, mut forces, mut ground] = widths.map(|w| zeros(order, w));
    let mut next = active.iter();
    solve_any(linear, &frequency, &spread.load, &rows, |y| {
        let Some(&k) = next.next() else { return };
        let mut row = 0;
        for (out, width) in [&mut motion, &mut forces, &mut ground].into_iter().zip(widths) {
            for value in &mut out[(k - 1) * width..k * width] {
                *value = spread.combine(y, row, &wrench[k]);
                row += 1;
            }
        }
    })
    .map_err(|e| at_rate(e, stroke_rate_spm, &active))?;
    let transfer = wrench_transfer(&drive.at, &linear.reference).map(Complex64::from);
    let mut applied = flat(order, 6);
    wrench[1..=order].iter().for_each(|w| applied.extend_from_slice((transfer * w).as_slice()));
    for (i, &k) in active.iter().enumerate() {
        let row = (k - 1) * 6..k * 6;
        if size(&ground[row.clone()]) > RESONANT * size(&applied[row]) {
            let error = on_resonance(i, frequency[i]);
            return Err(at_rate(error, stroke_rate_spm, &active));
        }
    }
    Ok(Steady {
        stroke_rate_spm,
        harmonic: (1..=order).collect(),
        applied: shaped((order, 6), applied)?,
        displacement: shaped((order, n), motion)?,
        mount_force: shaped((order, count, 3), forces)?,
        ground_wrench: shaped((order, 6), ground)?,
        source: Source::SlideInertia,
        mounts,
        center: linear.reference,
        points: linear.ports.iter().map(|p| (p.name.clone(), p.position)).collect(),
        warnings: left_out(&wrench, order)
            .into_iter()
            .chain(drive.notes().iter().cloned())
            .collect(),
    })
}

/// Sum of absolute values.
pub(super) fn size(values: &[Complex64]) -> f64 {
    values.iter().map(|v| v.norm()).sum()
}

fn zeros(order: usize, width: usize) -> Vec<Complex64> {
    vec![Complex64::ZERO; order * width]
}

pub(super) fn nothing(values: &[Complex64]) -> bool {
    values.iter().all(|v| *v == Complex64::ZERO)
}

/// A frequency of the solver as the harmonic of a stroke rate.
fn at_rate(error: Error, stroke_rate_spm: f64, active: &[usize]) -> Error {
    let Error::Invalid { argument, value, requirement, .. } = &error else { return error };
    let index = argument.strip_prefix("frequency[").and_then(|i| i.strip_suffix(']')?.parse().ok());
    let Some(&harmonic) = index.and_then(|i: usize| active.get(i)) else { return error };
    Error::invalid(
        "stroke_rate_spm",
        format!("{stroke_rate_spm} strokes per minute (harmonic {harmonic}: {value})"),
        requirement,
        "give the mounts damping or a loss factor, or move the stroke rate",
    )
}

/// Harmonics that are looked at to judge what those beyond `order` would add.
pub(super) fn looked_at(order: usize) -> usize {
    (2 * order).max(2 * HARMONICS)
}

/// What the harmonics beyond `order` would add, if it is worth a word, from [`looked_at`] of them.
pub(super) fn left_out(unit: &[Vector6<Complex64>], order: usize) -> Vec<String> {
    let forces =
        |w: &[Vector6<Complex64>]| -> f64 { w.iter().map(|w| size(&[w[0], w[1], w[2]])).sum() };
    let share = forces(&unit[order + 1..]) / forces(unit);
    if !share.is_finite() || share <= LEFT_OUT {
        return Vec::new();
    }
    vec![format!(
        "harmonics above {order} hold {:.1} % of the inertia force of this slide motion and are left \
         out; ask for more harmonics",
        100.0 * share
    )]
}

impl Steady {
    /// Steady motion of a point of the first body.
    pub fn at(&self, point: &Vector3<f64>) -> SteadyMotion {
        let t = wrench_transfer(point, &self.center).transpose();
        let displacement = Array2::from_shape_fn((self.harmonic.len(), 6), |(n, i)| {
            (0..6).map(|j| self.displacement[(n, j)] * t[(i, j)]).sum()
        });
        SteadyMotion {
            point: *point,
            harmonic: self.harmonic.clone(),
            displacement,
            stroke_rate_spm: self.stroke_rate_spm,
        }
    }

    /// Greatest and least value of each component of each mount's force on the floor, N.
    pub fn mount_range(&self) -> Vec<[Range; 3]> {
        let mounts = self.mount_force.axis_iter(ndarray::Axis(1));
        mounts.map(|force| [0, 1, 2].map(|i| range(force.column(i).iter()))).collect()
    }

    /// Greatest and least value of each component of the wrench on the floor, N and N m.
    pub fn ground_range(&self) -> [Range; 6] {
        ranges(&self.ground_wrench)
    }

    /// Greatest and least value of each component of the wrench of the moving parts, N and N m.
    pub fn applied_range(&self) -> [Range; 6] {
        ranges(&self.applied)
    }

    /// Greatest horizontal force on the floor: the resultant of x and y, N.
    pub fn horizontal_peak(&self) -> Turn {
        let [x, y] = [0, 1].map(|i| self.ground_wrench.column(i).to_vec());
        greatest_length(&[&x, &y])
    }
}

impl SteadyMotion {
    /// Greatest and least value of each component, m and rad.
    pub fn range(&self) -> [Range; 6] {
        ranges(&self.displacement)
    }

    /// Greatest distance of the point from its mean position, m.
    pub fn excursion(&self) -> Turn {
        let [x, y, z] = [0, 1, 2].map(|i| self.displacement.column(i).to_vec());
        greatest_length(&[&x, &y, &z])
    }

    /// The closed path of the point over a stroke: (count + 1, 6) from crank angle zero on, m and rad.
    pub fn orbit(&self, count: usize) -> Array2<f64> {
        orbit(&self.displacement, count)
    }
}

/// Six components over a period, (count + 1, 6), from angle zero on in equal steps.
pub fn orbit(harmonics: &Array2<Complex64>, count: usize) -> Array2<f64> {
    let mut out = Array2::zeros((count + 1, 6));
    for i in 0..6 {
        let samples = Wave::new(harmonics.column(i).to_vec()).samples(count.max(1));
        for (k, value) in samples.iter().chain(&samples[..1]).take(count + 1).enumerate() {
            out[(k, i)] = *value;
        }
    }
    out
}

fn range<'a>(harmonics: impl Iterator<Item = &'a Complex64>) -> Range {
    Wave::new(harmonics.copied().collect()).range()
}

/// Range of each of six columns.
pub(super) fn ranges(phasors: &Array2<Complex64>) -> [Range; 6] {
    [0, 1, 2, 3, 4, 5].map(|i| range(phasors.column(i).iter()))
}
