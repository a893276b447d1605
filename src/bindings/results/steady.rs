//! Steady running and the map of stroke rates.

use ndarray::Array1;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::convert;
use super::super::labeled::{SIX, XYZ, array, labeled};
use crate::analysis::periodic::Range;
use crate::analysis::steady::{SteadyMotion, orbit};
use crate::analysis::stroke_rate::Meeting;
use crate::analysis::{Steady, StrokeRateMap};

labeled! {
    /// Steady running at one stroke rate; see `Installation.steady`.
    ///
    /// Harmonics are peak phasors under e^(+j n omega t), theta = omega t the crank angle; greatest and
    /// least values are solved for, not sampled. Forces are added to the static ones.
    PySteady "Steady" (Steady)
    coords {
        "mount" => |r| r.mounts.clone();
        "dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        harmonic: ["harmonic"] "1" "order of the harmonic" => |r| orders(&r.harmonic);
        applied: ["harmonic", "dof"] "N, N m" "wrench of the moving parts about the center of mass" => |r| r.applied;
        displacement: ["harmonic", "dof"] "m, rad" "motion of the center of mass" => |r| r.displacement;
        mount_force: ["harmonic", "mount", "axis"] "N" "force of each mount on the ground" => |r| r.mount_force;
        ground_wrench: ["harmonic", "dof"] "N, N m" "wrench on the ground about the center of mass" => |r| r.ground_wrench;
        applied_max: ["dof"] "N, N m" "greatest wrench of the moving parts" => |r| greatest(&r.applied_range());
        applied_min: ["dof"] "N, N m" "least wrench of the moving parts" => |r| least(&r.applied_range());
        mount_force_max: ["mount", "axis"] "N" "greatest force of each mount on the ground" => |r| by_mount(&r.mount_range(), |x| x.max.value);
        mount_force_min: ["mount", "axis"] "N" "least force of each mount on the ground" => |r| by_mount(&r.mount_range(), |x| x.min.value);
        ground_wrench_max: ["dof"] "N, N m" "greatest wrench on the ground" => |r| greatest(&r.ground_range());
        ground_wrench_min: ["dof"] "N, N m" "least wrench on the ground" => |r| least(&r.ground_range());
    }
}

#[pymethods]
impl PySteady {
    /// Steady motion of a point of the machine.
    ///
    /// Parameters
    /// ----------
    /// point : (3,) or name of a point
    ///     Coordinates, m, or a named point of the installation.
    ///
    /// Returns
    /// -------
    /// SteadyMotion
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    fn at(&self, point: &Bound<'_, PyAny>) -> PyResult<PySteadyMotion> {
        let point = convert::point(point, "point", &self.0.points)?;
        Ok(PySteadyMotion(self.0.at(&point)))
    }

    /// A wrench over a stroke (count + 1, 6), N and N m, from crank angle zero on in equal steps.
    ///
    /// Parameters
    /// ----------
    /// quantity : "ground_wrench" or "applied"
    ///     On the floor, or of the moving parts on the frame; about the center of mass.
    /// count : int
    ///     Steps.
    ///
    /// Returns
    /// -------
    /// array (count + 1, 6)
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, count=360))]
    fn history<'py>(
        &self,
        py: Python<'py>,
        quantity: &str,
        count: usize,
    ) -> PyResult<Bound<'py, PyAny>> {
        let all = [("ground_wrench", true), ("applied", false)];
        let phasors = match convert::choice("quantity", quantity, &all)? {
            true => &self.0.ground_wrench,
            false => &self.0.applied,
        };
        array(py, orbit(phasors, count))
    }

    /// Strokes per minute.
    #[getter]
    fn stroke_rate_spm(&self) -> f64 {
        self.0.stroke_rate_spm
    }

    /// Greatest horizontal force on the floor, the resultant of x and y, N.
    #[getter]
    fn horizontal_peak(&self) -> f64 {
        self.0.horizontal_peak().value
    }

    /// Where the floor force comes from: "slide inertia".
    #[getter]
    fn source(&self) -> &'static str {
        self.0.source.name()
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

labeled! {
    /// Steady motion of one point of the machine; see `Steady.at`.
    PySteadyMotion "SteadyMotion" (SteadyMotion)
    coords {
        "dof" => |_r| SIX.to_vec();
    }
    fields {
        harmonic: ["harmonic"] "1" "order of the harmonic" => |r| orders(&r.harmonic);
        displacement: ["harmonic", "dof"] "m, rad" "motion of the point" => |r| r.displacement;
        max: ["dof"] "m, rad" "greatest value" => |r| greatest(&r.range());
        min: ["dof"] "m, rad" "least value" => |r| least(&r.range());
        peak: ["dof"] "m, rad" "greatest absolute value" => |r| r.range().map(|x| x.peak());
        peak_to_peak: ["dof"] "m, rad" "greatest minus least value" => |r| r.range().map(|x| x.peak_to_peak());
    }
}

#[pymethods]
impl PySteadyMotion {
    /// The closed path of the point over a stroke (count + 1, 6), m and rad, from crank angle zero on in
    /// equal steps.
    ///
    /// Parameters
    /// ----------
    /// count : int
    ///     Steps.
    ///
    /// Returns
    /// -------
    /// array (count + 1, 6)
    #[pyo3(signature = (count=360))]
    fn orbit<'py>(&self, py: Python<'py>, count: usize) -> PyResult<Bound<'py, PyAny>> {
        array(py, self.0.orbit(count))
    }

    /// Greatest distance from the mean position, m.
    #[getter]
    fn excursion(&self) -> f64 {
        self.0.excursion().value
    }

    /// Strokes per minute.
    #[getter]
    fn stroke_rate_spm(&self) -> f64 {
        self.0.stroke_rate_spm
    }
}

labeled! {
    /// Response over a range of stroke rates; see `Installation.stroke_rate_map`.
    ///
    /// A meeting is a harmonic that meets a mode; meetings are ranked by the amplitude of that harmonic
    /// at the point. `carry_over` is the share q of a mode's free vibration left after a stroke, `gain`
    /// what repeated strokes make of it with the phase as it is, `worst_gain` 1/(1 - q).
    PyStrokeRateMap "StrokeRateMap" (StrokeRateMap)
    coords {
        "mode" => |r| (1..=r.frequency.len()).collect::<Vec<_>>();
        "meeting" => |r| (1..=r.meetings.len()).collect::<Vec<_>>();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        stroke_rate_spm: ["stroke_rate_spm"] "1/min" "strokes per minute" => |r| r.stroke_rate_spm;
        harmonic: ["harmonic"] "1" "order of the harmonic" => |r| orders(&r.harmonic);
        motion: ["stroke_rate_spm", "harmonic", "axis"] "m" "motion of the point" => |r| r.motion;
        floor_force: ["stroke_rate_spm", "harmonic", "axis"] "N" "force on the floor" => |r| r.floor_force;
        applied_force: ["stroke_rate_spm", "harmonic", "axis"] "N" "inertia force of the moving parts" => |r| r.applied_force();
        peak_motion: ["stroke_rate_spm", "axis"] "m" "greatest absolute motion of the point" => |r| r.peak_motion();
        peak_to_peak: ["stroke_rate_spm", "axis"] "m" "greatest minus least position of the point" => |r| r.peak_to_peak();
        peak_floor_force: ["stroke_rate_spm", "axis"] "N" "greatest absolute force on the floor" => |r| r.peak_floor_force();
        peak_applied_force: ["stroke_rate_spm", "axis"] "N" "greatest absolute inertia force" => |r| r.peak_applied_force();
        frequency: ["mode"] "Hz" "undamped natural frequency" => |r| r.frequency;
        damping_ratio: ["mode"] "1" "damping ratio" => |r| r.damping_ratio;
        carry_over: ["stroke_rate_spm", "mode"] "1" "share of a free vibration left after a stroke" => |r| r.carry_over();
        gain: ["stroke_rate_spm", "mode"] "1" "gain of a free vibration that every stroke starts anew" => |r| r.gain();
        meeting_stroke_rate_spm: ["meeting"] "1/min" "stroke rate of the meeting" => |r| of(r, |m| m.stroke_rate_spm);
        meeting_harmonic: ["meeting"] "1" "harmonic" => |r| of(r, |m| m.harmonic as f64);
        meeting_mode: ["meeting"] "1" "mode, from 1" => |r| of(r, |m| m.mode as f64);
        meeting_amplitude: ["meeting"] "m" "amplitude of this harmonic at the point" => |r| of(r, |m| m.amplitude);
        meeting_floor_force: ["meeting"] "N" "floor force of this harmonic" => |r| of(r, |m| m.floor_force);
        meeting_amplification: ["meeting"] "1" "floor force over inertia force of this harmonic" => |r| of(r, |m| m.amplification);
        meeting_peak_motion: ["meeting"] "m" "greatest motion of the point at this rate" => |r| of(r, |m| m.peak_motion());
        meeting_peak_floor_force: ["meeting"] "N" "greatest force on the floor at this rate" => |r| of(r, |m| m.peak_floor_force());
        meeting_carry_over: ["meeting"] "1" "share of the free vibration of the mode left after a stroke" => |r| of(r, |m| m.carry_over);
        meeting_worst_gain: ["meeting"] "1" "greatest gain that carry-over can give" => |r| of(r, |m| m.worst_gain);
        meeting_gain: ["meeting"] "1" "gain with the phase as it is" => |r| of(r, |m| m.gain);
    }
}

#[pymethods]
impl PyStrokeRateMap {
    /// Number of all meetings in the range; the twenty worst are kept.
    #[getter]
    fn meetings_found(&self) -> usize {
        self.0.meetings_found
    }

    /// Where harmonics meet modes, the greatest amplitude first: a list of dicts, the twenty worst.
    #[getter]
    fn meetings<'py>(&self, py: Python<'py>) -> PyResult<Vec<Bound<'py, PyDict>>> {
        let row = |m: &Meeting| {
            let out = PyDict::new(py);
            out.set_item("stroke_rate_spm", m.stroke_rate_spm)?;
            out.set_item("harmonic", m.harmonic)?;
            out.set_item("mode", m.mode)?;
            out.set_item("frequency", m.frequency)?;
            out.set_item("damping_ratio", m.damping_ratio)?;
            out.set_item("amplitude", m.amplitude)?;
            out.set_item("floor_force", m.floor_force)?;
            out.set_item("amplification", m.amplification)?;
            out.set_item("peak_motion", m.peak_motion())?;
            out.set_item("peak_floor_force", m.peak_floor_force())?;
            out.set_item("carry_over", m.carry_over)?;
            out.set_item("worst_gain", m.worst_gain)?;
            out.set_item("gain", m.gain)?;
            Ok(out)
        };
        self.0.meetings.iter().map(row).collect()
    }

    /// Point whose motion is given (3,), m.
    #[getter]
    fn point<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let p = self.0.point;
        array(py, ndarray::arr1(&[p.x, p.y, p.z]))
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

fn of(map: &StrokeRateMap, f: impl Fn(&Meeting) -> f64) -> Vec<f64> {
    map.meetings.iter().map(f).collect()
}

fn orders(harmonic: &[usize]) -> Array1<f64> {
    harmonic.iter().map(|&n| n as f64).collect()
}

fn greatest(ranges: &[Range; 6]) -> [f64; 6] {
    ranges.map(|r| r.max.value)
}

fn least(ranges: &[Range; 6]) -> [f64; 6] {
    ranges.map(|r| r.min.value)
}

fn by_mount(ranges: &[[Range; 3]], f: impl Fn(&Range) -> f64) -> ndarray::Array2<f64> {
    let rows = ranges.iter().flatten().map(f).collect();
    // Three numbers for each mount fill the array.
    ndarray::Array2::from_shape_vec((ranges.len(), 3), rows).unwrap_or_default()
}
