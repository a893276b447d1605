//! Snap-through of an installation, shocks with contacts, calibration.

use pyo3::prelude::*;

use super::beside_tool::{PyCushion, PyEquivalentPulse, PySlideStop};
use super::convert::{choice, list, scalar};
use super::detached;
use super::error::to_py;
use super::excitation::PyExcitation;
use super::forming::PyBreakThrough;
use super::installation::PyInstallation;
use super::press::{PyPress, Whole};
use super::pulse::pulse as pulse_of;
use super::results::{PyBaseTransmissibility, PyCalibration, PyContactShock, PySnapThrough};
use super::study::{PyStudy, find};
use crate::analysis::contact_shock::{contact_shock, event_loads, pulse_load};
use crate::analysis::hybrid::HybridOptions;
use crate::analysis::snap_through::{
    CalibrationOptions, Gauge, GaugeFilter, SnapThroughOptions, WorkForce, calibrate_snap_through,
    equivalent_pulse, shaken, snap_through,
};
use crate::error::Error;
use crate::installation::Installation;
use crate::study::WorkForceTold;
use crate::system::ContactRule;
use crate::units::Dimension;

const RULES: [(&str, ContactRule); 2] =
    [("force-clipped", ContactRule::ForceClipped), ("geometric", ContactRule::Geometric)];

#[pymethods]
impl PyInstallation {
    /// The press whose crown and slide move inside the machine; None: it is one rigid body.
    #[getter]
    fn press(&self) -> Option<PyPress> {
        let press = self.0.press.clone()?;
        Some(PyPress(Whole { body: self.0.body.clone(), press }))
    }

    /// What drive, frame, bed, mounts and floor feel when the material breaks; exact, peaks solved for.
    ///
    /// The work force is internal: it acts on the slide's freedom alone, and the floor feels the
    /// inertia of crown and slide as the stretched frame snaps back. Clearance in the drive, mounts
    /// that lift off and stops make the motion piecewise linear; changes of contact are located.
    ///
    /// Parameters
    /// ----------
    /// force : BreakThrough or TimeCurve
    ///     Between slide and bed.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// duration : float, str or quantity, optional
    ///     How long, s; by default until the motion has died away.
    /// dt : float, str or quantity, optional
    ///     Step of the histories, s. Peaks do not depend on it.
    /// overload : bool
    ///     A force above the rated one is a warning, not an error.
    /// rule : "force-clipped" or "geometric"
    ///     When a contact touches.
    /// lift_off : bool
    ///     Mounts only push.
    /// reverse_limit : float, str or quantity, optional
    ///     In place of that of the press, as a part of its rating.
    /// cushions : sequence of Cushion
    ///     Cylinders that push back.
    /// slide_stops : sequence of SlideStop
    ///     Stop blocks and damper cylinders beside the tool.
    ///
    /// Returns
    /// -------
    /// SnapThrough
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     Without a press, above its rating, or for a law that needs a Fourier transform.
    /// NotConvergedError
    ///     If a contact chatters.
    /// UnknownNameError, UnitError
    #[pyo3(signature = (force, *, case=None, duration=None, dt=None, overload=false,
                        rule="force-clipped", lift_off=false, reverse_limit=None,
                        cushions=vec![], slide_stops=vec![]))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn snap_through(
        &self,
        py: Python<'_>,
        force: &Bound<'_, PyAny>,
        case: Option<&str>,
        duration: Option<&Bound<'_, PyAny>>,
        dt: Option<&Bound<'_, PyAny>>,
        overload: bool,
        rule: &str,
        lift_off: bool,
        reverse_limit: Option<&Bound<'_, PyAny>>,
        cushions: Vec<PyRef<'_, PyCushion>>,
        slide_stops: Vec<PyRef<'_, PySlideStop>>,
    ) -> PyResult<PySnapThrough> {
        let work = work_of(force)?;
        let options = SnapThroughOptions {
            duration: optional(duration, "duration", Dimension::TIME)?,
            dt: optional(dt, "dt", Dimension::TIME)?,
            overload,
            rule: choice("rule", rule, &RULES)?,
            lift_off,
            reverse_limit: optional(reverse_limit, "reverse_limit", Dimension::RATIO)?,
            cushions: cushions.iter().map(|c| c.0.clone()).collect(),
            slide_stops: slide_stops.iter().map(|s| s.0.clone()).collect(),
        };
        detached(py, || snap_through(&self.0, case, &work, &options)).map(PySnapThrough)
    }

    /// The net inertial pulse on a rigid press that stands for a break-through, and whether it suffices.
    ///
    /// Parameters
    /// ----------
    /// force : BreakThrough
    ///     Between slide and bed.
    ///
    /// Returns
    /// -------
    /// (EquivalentPulse, bool)
    ///     True where the frame's slowest swing is at least three times the stiffest mode on the mounts, and
    ///     mounts have no loss factor.
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn equivalent_pulse(
        &self,
        py: Python<'_>,
        force: PyRef<'_, PyBreakThrough>,
    ) -> PyResult<(PyEquivalentPulse, bool)> {
        let force = force.0.clone();
        let (pulse, suffices) = detached(py, || equivalent_pulse(&self.0, &force))?;
        Ok((PyEquivalentPulse(pulse), suffices))
    }

    /// The same installation with the machine rigid: crown and slide do not move inside it.
    ///
    /// Returns
    /// -------
    /// Installation
    fn rigid(&self) -> Self {
        let mut rigid = Installation::clone(&self.0);
        rigid.press = None;
        Self(rigid.into())
    }

    /// Response to a pulse under which mounts lift off and stops strike, from rest; exact between changes
    /// of contact, which are located.
    ///
    /// Parameters
    /// ----------
    /// pulse : HalfSine, ..., EquivalentPulse or Excitation
    ///     As for `shock`; an excitation must begin at rest.
    /// direction : "x", "y", "z" or a unit vector (3,), optional
    ///     Of the force; left out for a moment.
    /// point : (3,) or name of a point, optional
    ///     Where the force acts, m; by default the center of mass.
    /// duration : float, str or quantity, optional
    ///     How long, s.
    /// moment : "x", "y", "z" or a unit vector (3,), optional
    ///     Axis of a moment.
    /// dt : float, str or quantity, optional
    ///     Step of the histories, s.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// rule : "force-clipped" or "geometric"
    ///     When a contact touches.
    /// lift_off : bool
    ///     Mounts only push; False: they are bolted and only stops strike.
    ///
    /// Returns
    /// -------
    /// ContactShock
    ///
    /// Raises
    /// ------
    /// InvalidError, NotConvergedError, UnknownNameError
    #[pyo3(signature = (pulse, direction=None, point=None, duration=None, *, moment=None, dt=None,
                        case=None, rule="force-clipped", lift_off=true))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn shock_with_contacts(
        &self,
        py: Python<'_>,
        pulse: &Bound<'_, PyAny>,
        direction: Option<&Bound<'_, PyAny>>,
        point: Option<&Bound<'_, PyAny>>,
        duration: Option<&Bound<'_, PyAny>>,
        moment: Option<&Bound<'_, PyAny>>,
        dt: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        rule: &str,
        lift_off: bool,
    ) -> PyResult<PyContactShock> {
        let event = pulse.cast::<PyExcitation>().ok().map(|e| e.get().0.clone());
        let unit = match &event {
            Some(_) if direction.is_none() && moment.is_none() && point.is_none() => None,
            Some(_) => {
                return Err(to_py(Error::invalid(
                    "direction, moment, point",
                    "given beside an Excitation",
                    "must be left out: it holds where its forces act",
                    "leave them out",
                )));
            }
            None => Some(self.shaking(pulse, direction, moment, point)?),
        };
        let asked = SnapThroughOptions {
            rule: choice("rule", rule, &RULES)?,
            lift_off,
            ..SnapThroughOptions::default()
        };
        let options = HybridOptions {
            duration: optional(duration, "duration", Dimension::TIME)?,
            ..HybridOptions::default()
        };
        let dt = optional(dt, "dt", Dimension::TIME)?;
        detached(py, || {
            let system = shaken(&self.0, case, &asked)?;
            let (body, _) = self.0.case(case)?;
            let loads = match (unit, event) {
                (Some((segments, unit)), _) => {
                    vec![pulse_load(&system.hybrid, &segments, &unit.about(body.center()))]
                }
                (None, Some(event)) => event_loads(&system.hybrid, &event)?,
                (None, None) => Vec::new(),
            };
            let mut found = contact_shock(&system.hybrid, &loads, &options, dt)?;
            found.warnings.extend(system.warnings);
            Ok(found)
        })
        .map(PyContactShock)
    }

    /// Fits a break-through to a tonnage record, and says which parameters the record cannot separate.
    ///
    /// Parameters
    /// ----------
    /// time : (time,)
    ///     s, in even steps.
    /// record : (time,)
    ///     Force at the gauge, N.
    /// guess : BreakThrough
    ///     Where to begin; what is not fitted stays.
    /// gauge : "column" or "connection"
    ///     Where the gauge is.
    /// filter_order : int, optional
    ///     Poles of its low-pass filter; none: no filter.
    /// filter_cutoff : float, str or quantity, optional
    ///     -3 dB point, Hz; of each pole with single poles.
    /// single_poles : bool
    ///     Equal single poles one after the other, in place of Butterworth.
    /// fit : sequence of str
    ///     Names of "force", "rise", "softened_to", "softening_time", "release", "residual",
    ///     "residual_time" and "start" (of the record's clock) that may move.
    /// error : float, str or quantity, optional
    ///     Standard error of one reading, N; by default what the fit leaves over.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Calibration
    ///
    /// Raises
    /// ------
    /// InvalidError, NotConvergedError, UnknownNameError
    #[pyo3(signature = (time, record, guess, *, gauge="column", filter_order=None,
                        filter_cutoff=None, single_poles=false,
                        fit=vec!["force".to_owned(), "release".to_owned()], error=None,
                        case=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn calibrate_snap_through(
        &self,
        py: Python<'_>,
        time: &Bound<'_, PyAny>,
        record: &Bound<'_, PyAny>,
        guess: PyRef<'_, PyBreakThrough>,
        gauge: &str,
        filter_order: Option<u32>,
        filter_cutoff: Option<&Bound<'_, PyAny>>,
        single_poles: bool,
        fit: Vec<String>,
        error: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyCalibration> {
        let time = list(time, "time", Dimension::TIME)?;
        let record = list(record, "record", Dimension::FORCE)?;
        let cutoff = optional(filter_cutoff, "filter_cutoff", Dimension::FREQUENCY)?;
        let filter = GaugeFilter::of(filter_order, cutoff, single_poles).map_err(to_py)?;
        let options = CalibrationOptions {
            case: case.map(str::to_owned),
            gauge: choice("gauge", gauge, &Gauge::NAMED)?,
            filter,
            fit,
            error: optional(error, "error", Dimension::FORCE)?,
        };
        let guess = guess.0.clone();
        detached(py, || calibrate_snap_through(&self.0, &time, &record, &guess, &options))
            .map(PyCalibration)
    }
}

#[pymethods]
impl PyStudy {
    /// The pulse that stands for a work force on a rigid press, and whether it suffices for the floor.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     Of a break_through with `equivalent_pulse = true`.
    ///
    /// Returns
    /// -------
    /// (EquivalentPulse, bool), or None
    ///     None where the job does not ask.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn equivalent_pulse(&self, name: &str) -> PyResult<Option<(PyEquivalentPulse, bool)>> {
        let found = told(self, name)?.and_then(|told| told.equivalent.as_ref());
        Ok(found.map(|e| (PyEquivalentPulse(e.pulse.clone()), e.suffices)))
    }

    /// Motion of a point by that of the floor; None where the job does not ask (`floor_motion_at`).
    #[getter]
    fn base_transmissibility(&self) -> Option<PyBaseTransmissibility> {
        self.0.results.base_transmissibility.clone().map(PyBaseTransmissibility)
    }

    /// The motion of a shock under which stops strike and mounts lift off.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     Of a shock with `lift_off` or `stops`.
    ///
    /// Returns
    /// -------
    /// ContactShock, or None
    ///     None where all contacts stay as at rest.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn contact_shock(&self, name: &str) -> PyResult<Option<PyContactShock>> {
        let shock = find("shock", name, &self.0.results.shocks, |s| &s.name)?;
        Ok(shock.contacts.as_ref().map(|c| PyContactShock((**c).clone())))
    }

    /// What the tonnage record of a work force tells.
    ///
    /// Parameters
    /// ----------
    /// name : str
    ///     Of a break_through with a `calibration`.
    ///
    /// Returns
    /// -------
    /// Calibration, or None
    ///     None where the job has no record.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn calibration(&self, name: &str) -> PyResult<Option<PyCalibration>> {
        let found = told(self, name)?.and_then(|told| told.calibration.clone());
        Ok(found.map(PyCalibration))
    }
}

/// What is told of a work force; `None`: the job does not ask.
fn told<'a>(study: &'a PyStudy, name: &str) -> PyResult<Option<&'a WorkForceTold>> {
    // A name that is none is refused, not answered with None.
    find("snap_through", name, &study.0.results.snap_throughs, |s| &s.name)?;
    Ok(study.0.work_forces.iter().find(|told| told.name == name))
}

fn optional(
    value: Option<&Bound<'_, PyAny>>,
    name: &str,
    dimension: Dimension,
) -> PyResult<Option<f64>> {
    value.map(|v| scalar(v, name, dimension)).transpose()
}

pub(super) fn work_of(force: &Bound<'_, PyAny>) -> PyResult<WorkForce> {
    if let Some(work) = super::forming::work_of(force) {
        return Ok(WorkForce::from(&work));
    }
    Err(to_py(Error::invalid(
        "force",
        force.repr()?,
        "must be a BreakThrough or a TimeCurve",
        "build it with one of these",
    )))
}

/// Segments of a pulse of any class, and where an equivalent pulse acts.
pub(super) fn segments_of(
    pulse: &Bound<'_, PyAny>,
) -> PyResult<(Vec<crate::excitation::Segment>, Option<nalgebra::Vector3<f64>>)> {
    if let Ok(pulse) = pulse.cast::<PyEquivalentPulse>() {
        let pulse = &pulse.get().0;
        return Ok((pulse.segments(), pulse.point));
    }
    Ok((pulse_of(pulse, "pulse")?.segments(), None))
}
