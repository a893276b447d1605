//! Snap-through, shocks with contacts, calibration on a tonnage record.

use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::error::to_py;
use super::super::events::by_source;
use super::super::forming::PyBreakThrough;
use super::super::labeled::{SIX, XYZ, array, labeled};
use super::super::stored::stored;
use super::shock::{PyPeak, six};
use crate::analysis::hybrid::Event;
use crate::analysis::snap_through::{Calibration, PEAKS};
use crate::analysis::transient::{Extrema, Peak};
use crate::analysis::{ContactShock, SnapThrough};
use crate::error::Error;

labeled! {
    /// What snap-through does to a press; see `Installation.snap_through`.
    ///
    /// Histories are samples of the exact motion; peaks are solved for. The drive is positive where
    /// the slide pushes the crown up, the column where the frame is stretched: their least values
    /// are the reverse loads. Forces on the ground are added to those at rest.
    PySnapThrough "SnapThrough" (SnapThrough)
    coords {
        "mount" => |r| r.mount_names.clone();
        "dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
        "about" => |_r| vec!["x", "y"];
    }
    fields {
        time: ["time"] "s" "time" => |r| r.time;
        work_force: ["time"] "N" "force of the work between slide and bed" => |r| r.work_force;
        drive_force: ["time"] "N" "force in the drive" => |r| r.drive_force;
        column_force: ["time"] "N" "force in the column" => |r| r.column_force;
        bed_acceleration: ["time"] "m/s^2" "vertical acceleration of the bed at the tool" => |r| r.bed_acceleration;
        crown_acceleration: ["time"] "m/s^2" "vertical acceleration of the crown" => |r| r.crown_acceleration;
        slide_acceleration: ["time"] "m/s^2" "vertical acceleration of the slide" => |r| r.slide_acceleration;
        mount_force: ["time", "mount", "axis"] "N" "force of each mount on the ground" => |r| r.mount_force;
        ground_wrench: ["time", "dof"] "N, N m" "wrench on the ground about the center of mass" => |r| r.ground_wrench;
        bolted_force: ["time"] "N" "vertical force on a rigid floor if it were bolted down" => |r| r.bolted_force;
        guide_moment: ["time", "about"] "N m" "couple of the guides on the body" => |r| r.guide_moment;
    }
}

#[pymethods]
impl PySnapThrough {
    /// Greatest absolute value of a quantity, solved for, not sampled.
    ///
    /// Parameters
    /// ----------
    /// quantity : str
    ///     "drive_force", "column_force", "bed_acceleration", "crown_acceleration",
    ///     "slide_acceleration", "bolted_force", "guide_moment_x", "guide_moment_y", "mount_force" or
    ///     "ground_wrench".
    /// component : str, optional
    ///     Of the last two: "z", or "front left.z" of a mount.
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn peak(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let found = self.extrema(quantity, component)?;
        let all = found.iter().enumerate().map(|(i, e)| e.peak(i));
        largest(all).map(PyPeak)
    }

    /// Least value of a quantity, solved for.
    ///
    /// Parameters
    /// ----------
    /// quantity : str
    ///     As for `peak`.
    /// component : str, optional
    ///     As for `peak`.
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn least(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let found = self.extrema(quantity, component)?;
        let one = found.iter().min_by(|a, b| a.min.value.total_cmp(&b.min.value));
        one.map(|e| PyPeak(end(e, false))).ok_or_else(|| to_py(unknown(quantity)))
    }

    /// Greatest value of a quantity, solved for.
    ///
    /// Parameters
    /// ----------
    /// quantity : str
    ///     As for `peak`.
    /// component : str, optional
    ///     As for `peak`.
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn greatest(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let found = self.extrema(quantity, component)?;
        let one = found.iter().max_by(|a, b| a.max.value.total_cmp(&b.max.value));
        one.map(|e| PyPeak(end(e, true))).ok_or_else(|| to_py(unknown(quantity)))
    }

    /// Greatest work force, N.
    #[getter]
    fn force(&self) -> f64 {
        self.0.force
    }

    /// Energy in frame and drive under it, F^2 / (2 k), J.
    #[getter]
    fn stored_energy(&self) -> f64 {
        self.0.stored_energy
    }

    /// Greatest pull in the drive, N, zero or more.
    #[getter]
    fn reverse_load(&self) -> f64 {
        self.0.reverse_load
    }

    /// The same over the greatest work force.
    #[getter]
    fn reverse_fraction(&self) -> f64 {
        self.0.reverse_fraction()
    }

    /// The same over the rated force.
    #[getter]
    fn reverse_of_rating(&self) -> Option<f64> {
        self.0.reverse_of_rating()
    }

    /// What is left of the reverse load that the press stands, N; negative: too much.
    #[getter]
    fn reverse_margin(&self) -> Option<f64> {
        self.0.reverse_margin()
    }

    /// Reverse load that the press stands as a part of its rating.
    #[getter]
    fn reverse_limit(&self) -> f64 {
        self.0.reverse_limit
    }

    /// Greatest push in the column, N, zero or more.
    #[getter]
    fn column_reverse_load(&self) -> f64 {
        self.0.column_reverse_load
    }

    /// The same over the greatest work force.
    #[getter]
    fn column_reverse_fraction(&self) -> f64 {
        self.0.column_reverse_fraction()
    }

    /// N.
    #[getter]
    fn rated_force(&self) -> Option<f64> {
        self.0.rated_force
    }

    /// Peak force of dashpots on the floor over that of all, vertical.
    #[getter]
    fn dashpot_share(&self) -> f64 {
        self.0.dashpot_share
    }

    /// Greatest force of a pair at the ends of the gibs, N, where their length is known.
    #[getter]
    fn guide_force(&self) -> Option<f64> {
        self.0.guide_force
    }

    /// Changes of contact: (time in s, part, from, to, rate in m/s).
    #[getter]
    fn events(&self) -> Vec<(f64, String, &'static str, &'static str, f64)> {
        events(&self.0.events)
    }

    /// When contacts touch: "force-clipped" or "geometric".
    #[getter]
    fn rule(&self) -> &'static str {
        self.0.rule.name()
    }

    /// What stands for the damping in time.
    #[getter]
    fn time_model(&self) -> String {
        self.0.time_model.to_string()
    }

    /// Greatest relative error of its dynamic stiffness over its band.
    #[getter]
    fn time_model_error(&self) -> f64 {
        self.0.time_model_error
    }

    /// Peak dynamic forces on the floor by source, "contact" (cushions) and "break-through", each as if
    /// the other were silent: a dict of "down", "up", "x" and "y", N.
    #[getter]
    fn floor_force_by_source<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        by_source(py, &self.0.sources)
    }

    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.mount_names.clone()
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

impl PySnapThrough {
    fn extrema(&self, quantity: &str, component: Option<&str>) -> PyResult<Vec<Extrema>> {
        let all = match quantity {
            "mount_force" => &self.0.mount_peaks[..],
            "ground_wrench" => &self.0.ground_peaks[..],
            other => {
                let one = self.0.peak(other).ok_or_else(|| to_py(unknown(quantity)))?;
                return Ok(vec![one.clone()]);
            }
        };
        chosen(all, component)
    }
}

labeled! {
    /// Response to a shock under which mounts lift off and stops strike; see
    /// `Installation.shock_with_contacts`.
    ///
    /// Histories are samples of the exact motion; peaks are solved for. `mount_force` is that of each mount
    /// and stop on the ground, added to the one at rest: a mount that has lifted carries minus that.
    PyContactShock "ContactShock" (ContactShock)
    coords {
        "mount" => |r| r.mount_names.clone();
        "dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        time: ["time"] "s" "time" => |r| r.time;
        displacement: ["time", "dof"] "m, rad" "displacement of the center of mass" => |r| six(&r.displacement);
        velocity: ["time", "dof"] "m/s, rad/s" "velocity of the center of mass" => |r| six(&r.velocity);
        acceleration: ["time", "dof"] "m/s^2, rad/s^2" "acceleration of the center of mass" => |r| six(&r.acceleration);
        mount_force: ["time", "mount", "axis"] "N" "force of each mount on the ground" => |r| r.mount_force;
        ground_wrench: ["time", "dof"] "N, N m" "wrench on the ground about the center of mass" => |r| r.ground_wrench;
    }
}

#[pymethods]
impl PyContactShock {
    /// Greatest absolute value of a quantity, solved for, not sampled.
    ///
    /// Parameters
    /// ----------
    /// quantity : "displacement", "velocity", "acceleration", "mount_force" or "ground_wrench"
    ///     What is sought.
    /// component : str, optional
    ///     One component ("z", or "front left.z" of a mount); by default the greatest of those in the
    ///     first one's unit.
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn peak(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let all = match quantity {
            "displacement" => &self.0.displacement_peaks,
            "velocity" => &self.0.velocity_peaks,
            "acceleration" => &self.0.acceleration_peaks,
            "mount_force" => &self.0.mount_peaks,
            "ground_wrench" => &self.0.ground_peaks,
            other => {
                return Err(to_py(Error::Unknown {
                    argument: "quantity".into(),
                    value: other.into(),
                    allowed:
                        "use displacement, velocity, acceleration, mount_force or ground_wrench"
                            .into(),
                }));
            }
        };
        let found = chosen(all, component)?;
        largest(found.iter().enumerate().map(|(i, e)| e.peak(i))).map(PyPeak)
    }

    /// Changes of contact: (time in s, part, from, to, rate in m/s).
    #[getter]
    fn events(&self) -> Vec<(f64, String, &'static str, &'static str, f64)> {
        events(&self.0.events)
    }

    /// When contacts touch: "force-clipped" or "geometric".
    #[getter]
    fn rule(&self) -> &'static str {
        self.0.rule.name()
    }

    /// What stands for the damping in time.
    #[getter]
    fn time_model(&self) -> String {
        self.0.time_model.to_string()
    }

    /// Names of the mounts and stops.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.mount_names.clone()
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

/// The work force that a tonnage record shows; see `Installation.calibrate_snap_through`.
#[pyclass(frozen, name = "Calibration", module = "underfoot")]
pub struct PyCalibration(pub Calibration);

#[pymethods]
impl PyCalibration {
    /// The work force that fits.
    #[getter]
    fn force(&self) -> PyBreakThrough {
        PyBreakThrough(self.0.force.clone())
    }

    /// When the record's clock starts on that of the work force, s.
    #[getter]
    fn start(&self) -> f64 {
        self.0.start
    }

    /// Value of each parameter that was moved, in SI.
    #[getter]
    fn values(&self) -> std::collections::BTreeMap<String, f64> {
        self.0.names.iter().cloned().zip(self.0.values.iter().copied()).collect()
    }

    /// Standard error of each from the record alone, in SI.
    #[getter]
    fn standard_errors(&self) -> std::collections::BTreeMap<String, f64> {
        self.0.names.iter().cloned().zip(self.0.errors.iter().copied()).collect()
    }

    /// Root mean square of what is left over, N.
    #[getter]
    fn residual_rms(&self) -> f64 {
        self.0.residual_rms
    }

    /// The record as the model has it (time,), N.
    #[getter]
    fn fitted<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.fitted.iter().copied().collect::<ndarray::Array1<f64>>())
    }

    /// Parameters that the record cannot separate, group by group.
    #[getter]
    fn not_separated(&self) -> Vec<Vec<String>> {
        self.0.not_separated.clone()
    }

    /// What to know before using it.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }

    fn __repr__(&self) -> String {
        let told: Vec<String> = self
            .0
            .names
            .iter()
            .zip(self.0.values.iter().zip(&self.0.errors))
            .map(|(name, (value, error))| format!("{name}={value:.6e}+-{error:.1e}"))
            .collect();
        format!("Calibration({}, residual_rms={:.4e} N)", told.join(", "), self.0.residual_rms)
    }
}
stored!(PyCalibration, Calibration);

fn events(all: &[Event]) -> Vec<(f64, String, &'static str, &'static str, f64)> {
    all.iter().map(|e| (e.time, e.part.clone(), e.from.name(), e.to.name(), e.rate)).collect()
}

fn end(e: &Extrema, greatest: bool) -> Peak {
    let at = if greatest { e.max } else { e.min };
    Peak {
        value: at.value.abs(),
        signed_value: at.value,
        time: at.time,
        component: 0,
        name: e.name.clone(),
        unit: e.unit.clone(),
    }
}

fn largest(all: impl Iterator<Item = Peak>) -> PyResult<Peak> {
    let mut all = all.peekable();
    let unit = all.peek().map(|p| p.unit.clone()).unwrap_or_default();
    all.filter(|p| p.unit == unit)
        .reduce(|best, p| if p.value > best.value { p } else { best })
        .ok_or_else(|| {
            to_py(Error::invalid("quantity", "no components", "at least one", "add mounts"))
        })
}

/// The components of that name, or all.
fn chosen(all: &[Extrema], component: Option<&str>) -> PyResult<Vec<Extrema>> {
    let Some(component) = component else { return Ok(all.to_vec()) };
    // "z" stands for "machine.z" where there is only one body.
    let exact: Vec<_> = all.iter().filter(|e| e.name == component).cloned().collect();
    let short = || all.iter().filter(|e| e.name.rsplit('.').next() == Some(component));
    let found = if exact.is_empty() { short().cloned().collect() } else { exact };
    if found.len() == 1 {
        return Ok(found);
    }
    let machine = format!("machine.{component}");
    if let Some(one) = all.iter().find(|e| e.name == machine) {
        return Ok(vec![one.clone()]);
    }
    let names: Vec<_> = all.iter().map(|e| e.name.as_str()).collect();
    Err(to_py(Error::Unknown {
        argument: "component".into(),
        value: component.into(),
        allowed: format!("components are {}", names.join(", ")),
    }))
}

fn unknown(quantity: &str) -> Error {
    Error::Unknown {
        argument: "quantity".into(),
        value: quantity.into(),
        allowed: format!("use {}, mount_force or ground_wrench", PEAKS.join(", ")),
    }
}
