//! How much does the machine move, and what does each mount pass on, under a harmonic load?
//!
//! Z(omega) x = f,  Z = K + j H + j omega C - omega^2 M + sum of B d(omega) B',
//!
//! with x and f peak phasors under e^{+j omega t}. The force a mount passes to the ground is its
//! law times the motion of its top, F_i = D_i(omega) B_i' x.
//!
//! Viscous damping, loss factors and laws that depend on frequency act together and are exact here.
//! Each frequency has a factorization of its own, or many of them the sum over the poles of the system
//! (`by_poles`); both agree to rounding.
//!
//! Source: textbook, e.g. D. J. Ewins, Modal Testing, 2nd ed. 2000, chapter 2 (from memory).

use nalgebra::{DMatrix, Vector3};
use ndarray::{Array, Array2, Array3, Axis as Along, Dimension, IntoDimension};
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;
use std::ops::Range;

use super::by_poles::ByPoles;
use super::terms::Terms;
use crate::error::{Error, Result, each, finite, not_negative};
use crate::lanes::poles::{Residues, Seen};
use crate::lanes::{self, Coefficients, Complex, WIDTH};
use crate::system::{Axis, Linear, Port, wrench_transfer};

/// Steady response to a harmonic load; all values are peak phasors.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Response {
    /// Frequency, Hz.
    pub frequency: Vec<f64>,
    /// Motion of the center of mass (frequency, dof), m and rad.
    pub displacement: Array2<Complex64>,
    /// Names of the mounts.
    pub mounts: Vec<String>,
    /// Center of mass, m.
    pub center: Vector3<f64>,
    /// Named points of the machine and where they are, m.
    pub points: Vec<(String, Vector3<f64>)>,
    /// The system, for the forces that follow from the motion.
    pub linear: Linear,
}

impl Response {
    /// Force of each mount on the ground in the axes of the floor (frequency, mount, 3), N.
    ///
    /// # Errors
    /// None that [`response`] would not have met.
    pub fn mount_force(&self) -> Result<Array3<Complex64>> {
        let (names, rows) = mount_force_rows(&self.linear);
        shaped((self.frequency.len(), names.len(), 3), self.seen(&rows, 0..self.frequency.len())?)
    }

    /// Wrench on the ground about the center of mass (frequency, 6), N and N m.
    ///
    /// # Errors
    /// None that [`response`] would not have met.
    pub fn ground_wrench(&self) -> Result<Array2<Complex64>> {
        let rows = ground_rows(&self.linear);
        shaped((self.frequency.len(), 6), self.seen(&rows, 0..self.frequency.len())?)
    }

    /// Force of each mount on the ground (x y z each), then the wrench on the ground, at one of the
    /// frequencies alone.
    ///
    /// # Errors
    /// None that [`response`] would not have met.
    pub(super) fn ground_at(&self, index: usize) -> Result<Vec<Complex64>> {
        let (_, rows) = mount_force_rows(&self.linear);
        self.seen(&rows.stacked(&ground_rows(&self.linear)), index..index + 1)
    }

    /// R(omega) x at some of the frequencies.
    fn seen(&self, rows: &Coefficients, places: Range<usize>) -> Result<Vec<Complex64>> {
        let omega: Vec<f64> = self.frequency[places.clone()].iter().map(|f| f * TAU).collect();
        let values = Terms::new(&self.linear).values(&omega)?;
        let motion = self.displacement.slice_axis(Along(0), places.into());
        let motion = motion.as_standard_layout();
        let motion = motion.as_slice().unwrap_or_default();
        Ok(lanes::see(lanes::instruction_set()?, rows, &omega, &values, motion))
    }

    /// Motion of a point of the first body (frequency, 6), m and rad.
    pub fn at(&self, point: &Vector3<f64>) -> Array2<Complex64> {
        let t = wrench_transfer(point, &self.center).transpose();
        let mut out = Array2::zeros((self.frequency.len(), 6));
        for (x, mut y) in self.displacement.rows().into_iter().zip(out.rows_mut()) {
            for i in 0..6 {
                y[i] = (0..6).map(|j| x[j] * t[(i, j)]).sum();
            }
        }
        out
    }
}

/// Steady response of a system to a harmonic load on its degrees of freedom (peak phasors, N and
/// N m) at each frequency (Hz). A load of six numbers is one on the machine, none on masses inside it.
///
/// # Errors
/// Bad frequencies, a frequency that meets an undamped resonance, or a load that is not finite or
/// not as long as the list of degrees of freedom.
pub fn response(linear: &Linear, frequency: &[f64], load: &[Complex64]) -> Result<Response> {
    let n = linear.size();
    let mut load = load.to_vec();
    if load.len() == 6 && linear.is_one_machine_with_inner_masses() {
        load.resize(n, Complex64::ZERO);
    }
    check_load(linear, &load)?;
    let load = DMatrix::from_column_slice(n, 1, &load);
    let mut motion = flat(frequency.len(), n);
    solve_each(linear, frequency, &load, &Coefficients::identity(n), |x| {
        motion.extend_from_slice(x);
    })?;
    Ok(Response {
        frequency: frequency.to_vec(),
        displacement: shaped((frequency.len(), n), motion)?,
        mounts: linear.mount_names(),
        center: linear.reference,
        points: linear.ports.iter().map(|p| (p.name.clone(), p.position)).collect(),
        linear: linear.clone(),
    })
}

/// Receptance between ports (frequency, receiver axis, source axis): motion of `receiver` for a
/// unit wrench at `source`, m/N, rad/N, m/(N m) and rad/(N m).
///
/// # Errors
/// As [`response`].
pub fn receptance(
    linear: &Linear,
    frequency: &[f64],
    receiver: &Port,
    source: &Port,
) -> Result<Array3<Complex64>> {
    let n = linear.size();
    let zero = DMatrix::zeros(6, n);
    let rows = Coefficients::new(&receiver.b.transpose(), &zero, &zero, None);
    let mut out = flat(frequency.len(), 36);
    solve_each(linear, frequency, &source.b.map(Complex64::from), &rows, |y| {
        out.extend_from_slice(y);
    })?;
    shaped((frequency.len(), 6, 6), out)
}

/// Rows that give the force of each grounded element on the ground, three per element.
pub fn mount_force_rows(linear: &Linear) -> (Vec<String>, Coefficients) {
    let n = linear.size();
    let count = linear.grounded().count();
    let mut sums = [(); 3].map(|()| DMatrix::zeros(3 * count, n));
    for (i, (element, foot)) in linear.grounded().enumerate() {
        let bt = element.b.transpose();
        let force = foot.wrench.rows(0, 3);
        for (sum, law) in sums.iter_mut().zip([&element.k, &element.h, &element.c]) {
            sum.rows_mut(3 * i, 3).copy_from(&(force * law * &bt));
        }
    }
    let [k, h, c] = sums;
    let parts = linear.grounded().enumerate();
    let parts = parts.map(|(i, (element, foot))| (3 * i, foot.wrench.rows(0, 3).into(), element));
    let terms = Terms::new(linear).rows(3 * count, parts);
    (linear.mount_names(), Coefficients::new(&k, &h, &c, None).with_terms(&terms))
}

/// Rows that give the wrench on the ground about the system's reference.
pub fn ground_rows(linear: &Linear) -> Coefficients {
    ground_rows_seen(linear, &DMatrix::identity(6, 6))
}

/// The same rows through a matrix from the left, q x 6.
pub(super) fn ground_rows_seen(linear: &Linear, left: &DMatrix<f64>) -> Coefficients {
    let [k, h, c] = linear.ground_wrench().map(|m| left * m);
    let parts =
        linear.grounded().map(|(element, foot)| (0, left * foot.about(&linear.reference), element));
    let terms = Terms::new(linear).rows(left.nrows(), parts);
    Coefficients::new(&k, &h, &c, None).with_terms(&terms)
}

/// Z(omega) of a system.
pub(super) fn stiffness(linear: &Linear) -> Coefficients {
    Coefficients::new(&linear.k, &linear.h, &linear.c, Some(&linear.m))
        .with_terms(&Terms::new(linear).stiffness())
}

/// Frequencies solved at a time: their results stay in the processor's cache while they are put
/// where they belong.
const CHUNK: usize = 64;
/// The same of sums over poles.
const SUMMED: usize = 256;
/// Frequencies from which on it is worth to find the poles of the system first.
const MANY: usize = 512;

/// Room for `width` values at each frequency.
pub(super) fn flat(points: usize, width: usize) -> Vec<Complex64> {
    Vec::with_capacity(points * width)
}

/// Values in row-major order as an array.
pub(super) fn shaped<D: Dimension>(
    shape: impl IntoDimension<Dim = D>,
    values: Vec<Complex64>,
) -> Result<Array<Complex64, D>> {
    let shape = shape.into_dimension();
    let expected = format!("{shape:?}");
    Array::from_shape_vec(shape, values).map_err(|e| Error::Shape {
        argument: "values by frequency".into(),
        found: e.to_string(),
        expected,
    })
}

/// Y(omega) = R(omega) Z(omega)^-1 F, handed to `place` frequency by frequency: the q x p entries
/// row by row.
///
/// # Errors
/// Bad frequencies, a frequency that meets an undamped resonance, or one outside a table.
pub fn solve_each(
    linear: &Linear,
    frequency: &[f64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    place: impl FnMut(&[Complex64]),
) -> Result<()> {
    check_frequencies("frequency", frequency)?;
    solve_any(linear, frequency, load, rows, place)
}

/// The same in any order of frequencies, which the caller knows to be positive and finite.
pub(super) fn solve_any(
    linear: &Linear,
    frequency: &[f64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    place: impl FnMut(&[Complex64]),
) -> Result<()> {
    let seen = poles_seen(linear, frequency, rows)?;
    solve_with(linear, seen.as_ref(), frequency, load, rows, place)
}

/// How rows see the poles of a system, where that is the way for so many frequencies.
pub(super) fn poles_seen(
    linear: &Linear,
    frequency: &[f64],
    rows: &Coefficients,
) -> Result<Option<Seen>> {
    let poles = if frequency.len() < MANY { None } else { ByPoles::new(linear)? };
    Ok(poles.and_then(|poles| poles.seen(rows)))
}

/// The same where it is known how these rows see the poles, if they may be used.
pub(super) fn solve_with(
    linear: &Linear,
    poles: Option<&Seen>,
    frequency: &[f64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    place: impl FnMut(&[Complex64]),
) -> Result<()> {
    match poles {
        Some(seen) => sum_each(linear, frequency, load, rows, &seen.under(load), place),
        None => factor_each(linear, frequency, load, rows, place),
    }
}

/// By the poles of the system; a frequency on one of them is solved with pivoting.
fn sum_each(
    linear: &Linear,
    frequency: &[f64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    residues: &Residues,
    mut place: impl FnMut(&[Complex64]),
) -> Result<()> {
    let mut y = vec![Complex64::ZERO; residues.outputs()];
    sum_blocks(residues, frequency, |places, block| {
        for (lane, index) in places.enumerate() {
            for (y, sum) in y.iter_mut().zip(block) {
                *y = Complex64::new(sum.re.0[lane], sum.im.0[lane]);
            }
            if y.iter().all(|y| y.is_finite()) {
                place(&y);
                continue;
            }
            let omega = frequency[index] * TAU;
            let solved = lanes::solve_pivoted(&stiffness(linear), omega, &[], load, rows)
                .ok_or_else(|| on_resonance(index, frequency[index]))?;
            place(solved.transpose().as_slice());
        }
        Ok(())
    })
}

/// Sums over poles, eight frequencies at a time with their places.
pub(super) fn sum_blocks(
    residues: &Residues,
    frequency: &[f64],
    mut place: impl FnMut(Range<usize>, &[Complex]) -> Result<()>,
) -> Result<()> {
    let isa = lanes::instruction_set()?;
    let mut sums = Vec::new();
    let mut omega = Vec::with_capacity(SUMMED.min(frequency.len()));
    for (chunk, frequency) in frequency.chunks(SUMMED).enumerate() {
        omega.clear();
        omega.extend(frequency.iter().map(|f| f * TAU));
        residues.at(isa, &omega, &mut sums);
        for (i, block) in sums.chunks_exact(residues.outputs()).enumerate() {
            let first = i * WIDTH;
            let past = frequency.len().min(first + WIDTH);
            place(chunk * SUMMED + first..chunk * SUMMED + past, block)?;
        }
    }
    Ok(())
}

/// By a factorization at each frequency.
fn factor_each(
    linear: &Linear,
    frequency: &[f64],
    load: &DMatrix<Complex64>,
    rows: &Coefficients,
    mut place: impl FnMut(&[Complex64]),
) -> Result<()> {
    let isa = lanes::instruction_set()?;
    let terms = Terms::new(linear);
    let z = stiffness(linear);
    let size = rows.rows() * load.ncols();
    let mut buffer = vec![Complex64::ZERO; size * CHUNK.min(frequency.len())];
    for (chunk, frequency) in frequency.chunks(CHUNK).enumerate() {
        let first = chunk * CHUNK;
        let omega: Vec<f64> = frequency.iter().map(|f| f * TAU).collect();
        let values = terms.values(&omega)?;
        let count = values.len() / omega.len();
        let out = &mut buffer[..size * omega.len()];
        for bad in lanes::solve(isa, &z, &omega, &values, load, rows, out) {
            let values = &values[bad * count..(bad + 1) * count];
            let y = lanes::solve_pivoted(&z, omega[bad], values, load, rows)
                .ok_or_else(|| on_resonance(first + bad, frequency[bad]))?;
            let entries = y.transpose();
            out[bad * size..(bad + 1) * size].copy_from_slice(entries.as_slice());
        }
        out.chunks_exact(size).for_each(&mut place);
    }
    Ok(())
}

pub(super) fn on_resonance(index: usize, frequency: f64) -> Error {
    Error::invalid(
        format!("frequency[{index}]"),
        format!("{frequency} Hz"),
        "must not meet an undamped resonance, where the response is infinite",
        "give the mounts damping or a loss factor, or move the frequency",
    )
}

/// One finite number for each degree of freedom.
fn check_load(linear: &Linear, load: &[Complex64]) -> Result<()> {
    if load.len() != linear.size() {
        return Err(Error::Shape {
            argument: "load".into(),
            found: format!("({})", load.len()),
            expected: format!("({}), one for each degree of freedom,", linear.size()),
        });
    }
    for (i, (value, dof)) in load.iter().zip(&linear.dofs).enumerate() {
        let unit = if matches!(dof.axis, Axis::X | Axis::Y | Axis::Z) { "N" } else { "N m" };
        if !value.is_finite() {
            let place = format!("load[{i}]");
            finite(&place, value.re, unit)?;
            finite(&place, value.im, unit)?;
        }
    }
    Ok(())
}

/// Frequencies must be finite, not negative and ascending.
pub fn check_frequencies(argument: &str, frequency: &[f64]) -> Result<()> {
    if frequency.is_empty() {
        return Err(Error::invalid(argument, "[]", "must not be empty", "give frequencies in Hz"));
    }
    let ascending = frequency.windows(2).all(|pair| pair[0] < pair[1]);
    if ascending && frequency[0] >= 0.0 && frequency[frequency.len() - 1] < f64::INFINITY {
        return Ok(());
    }
    each(not_negative, argument, frequency, "Hz")?;
    for (i, &f) in frequency.iter().enumerate() {
        if i > 0 && f <= frequency[i - 1] {
            return Err(Error::invalid(
                format!("{argument}[{i}]"),
                format!("{f} Hz"),
                format!("must be greater than the one before ({} Hz)", frequency[i - 1]),
                "sort the frequencies and drop repeated ones",
            ));
        }
    }
    Ok(())
}
