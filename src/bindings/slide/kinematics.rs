//! How a slide moves and what its inertia does, at crank angles and by harmonics.

use ndarray::{Array1, Array2};
use num_complex::Complex64;
use pyo3::prelude::*;

use super::super::convert::{list, scalar};
use super::super::error::to_py;
use super::super::labeled::array;
use super::super::wrench::PyWrench;
use super::{PySlideDrive, rate};
use crate::excitation::SlideDrive;
use crate::installation::{STANDARD_GRAVITY, Wrench};
use crate::units::Dimension;

#[pymethods]
impl PySlideDrive {
    /// Height (angle,) of the slide above bottom dead center, m.
    ///
    /// Parameters
    /// ----------
    /// angle : (angle,)
    ///     Crank angle, rad.
    ///
    /// Returns
    /// -------
    /// array (angle,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn position<'py>(
        &self,
        py: Python<'py>,
        angle: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        each(py, angle, |a| self.0.position(a))
    }

    /// Speed (angle,) of the slide, up positive, m/s.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// angle : (angle,)
    ///     Crank angle, rad.
    ///
    /// Returns
    /// -------
    /// array (angle,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn velocity<'py>(
        &self,
        py: Python<'py>,
        stroke_rate_spm: &Bound<'py, PyAny>,
        angle: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let omega = SlideDrive::crank_speed(rate(stroke_rate_spm)?).map_err(to_py)?;
        each(py, angle, |a| self.0.velocity(a, omega))
    }

    /// Acceleration (angle,) of the slide in steady running, up positive, m/s^2.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// angle : (angle,)
    ///     Crank angle, rad.
    ///
    /// Returns
    /// -------
    /// array (angle,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn acceleration<'py>(
        &self,
        py: Python<'py>,
        stroke_rate_spm: &Bound<'py, PyAny>,
        angle: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let omega = SlideDrive::crank_speed(rate(stroke_rate_spm)?).map_err(to_py)?;
        each(py, angle, |a| self.0.acceleration(a, omega, 0.0))
    }

    /// Force (angle,) of the connecting rods on the slide, down positive, N: inertia and weight of slide
    /// and upper die less the counterbalance, without any forming force.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// angle : (angle,)
    ///     Crank angle, rad.
    /// gravity : float, str or quantity, optional
    ///     m/s^2.
    ///
    /// Returns
    /// -------
    /// array (angle,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    #[pyo3(signature = (stroke_rate_spm, angle, gravity=None))]
    fn drive_force<'py>(
        &self,
        py: Python<'py>,
        stroke_rate_spm: &Bound<'py, PyAny>,
        angle: &Bound<'py, PyAny>,
        gravity: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let omega = SlideDrive::crank_speed(rate(stroke_rate_spm)?).map_err(to_py)?;
        let gravity = gravity
            .map_or(Ok(STANDARD_GRAVITY), |g| scalar(g, "gravity", Dimension::ACCELERATION))?;
        each(py, angle, |a| self.0.drive_force(a, omega, gravity))
    }

    /// Crank angle of the down stroke at which the slide is at a height above bottom dead center, rad.
    ///
    /// Parameters
    /// ----------
    /// height : float, str or quantity
    ///     m, from 0 to the stroke.
    ///
    /// Returns
    /// -------
    /// float
    ///     Less than `bottom_dead_center`, and below zero where that is needed.
    ///
    /// Raises
    /// ------
    /// InvalidError
    fn angle_above_bottom(&self, height: &Bound<'_, PyAny>) -> PyResult<f64> {
        let height = scalar(height, "height", Dimension::LENGTH)?;
        self.0.angle_above_bottom(height).map_err(to_py)
    }

    /// Cosine series (order + 1,) of the slide's acceleration over r omega^2, index = harmonic order.
    ///
    /// a/(r omega^2) = cos phi + B2 cos 2 phi + B4 cos 4 phi + ..., the form in print (J. P. Den
    /// Hartog, Mechanical Vibrations, from memory): phi from the outer dead center (crank and rod
    /// stretched), a toward the crank. That is bottom dead center and upward with the crank above the
    /// slide, top dead center and downward with it below.
    ///
    /// Parameters
    /// ----------
    /// order : int
    ///     Highest harmonic.
    ///
    /// Returns
    /// -------
    /// array (order + 1,)
    ///
    /// Raises
    /// ------
    /// NotConvergedError
    fn acceleration_coefficients<'py>(
        &self,
        py: Python<'py>,
        order: usize,
    ) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.acceleration_coefficients(order).map_err(to_py)?))
    }

    /// Sine series (order + 1,) that goes with `acceleration_coefficients`; zero without offset.
    ///
    /// Parameters
    /// ----------
    /// order : int
    ///     Highest harmonic.
    ///
    /// Returns
    /// -------
    /// array (order + 1,)
    ///
    /// Raises
    /// ------
    /// NotConvergedError
    fn acceleration_sine_coefficients<'py>(
        &self,
        py: Python<'py>,
        order: usize,
    ) -> PyResult<Bound<'py, PyAny>> {
        array(py, Array1::from(self.0.acceleration_sine_coefficients(order).map_err(to_py)?))
    }

    /// Peak phasors (order + 1, 6) of the wrench on the frame about `at` under e^(+j n omega t), N and N m.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// order : int
    ///     Highest harmonic.
    ///
    /// Returns
    /// -------
    /// array (order + 1, 6)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (stroke_rate_spm, order=16))]
    fn harmonics<'py>(
        &self,
        py: Python<'py>,
        stroke_rate_spm: &Bound<'py, PyAny>,
        order: usize,
    ) -> PyResult<Bound<'py, PyAny>> {
        let found = self.0.harmonics(rate(stroke_rate_spm)?, order).map_err(to_py)?;
        let mut out: Array2<Complex64> = Array2::zeros((found.len(), 6));
        for (row, wrench) in out.rows_mut().into_iter().zip(&found) {
            row.into_iter().zip(wrench.iter()).for_each(|(to, from)| *to = *from);
        }
        array(py, out)
    }

    /// Wrench of the moving parts on the frame at a crank angle in steady running, at `at`.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// angle : float, str or quantity
    ///     Crank angle, rad.
    ///
    /// Returns
    /// -------
    /// Wrench
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn wrench(
        &self,
        stroke_rate_spm: &Bound<'_, PyAny>,
        angle: &Bound<'_, PyAny>,
    ) -> PyResult<PyWrench> {
        let angle = scalar(angle, "angle", Dimension::ANGLE)?;
        let found = self.0.wrench(rate(stroke_rate_spm)?, angle).map_err(to_py)?;
        let (force, moment) = (found.fixed_rows::<3>(0).into(), found.fixed_rows::<3>(3).into());
        Wrench::new(force, moment, Some(self.0.at)).map(PyWrench).map_err(to_py)
    }

    /// The same at many angles (angle, 6), N and N m about `at`.
    ///
    /// Parameters
    /// ----------
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// angle : (angle,)
    ///     Crank angle, rad.
    ///
    /// Returns
    /// -------
    /// array (angle, 6)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn wrench_history<'py>(
        &self,
        py: Python<'py>,
        stroke_rate_spm: &Bound<'py, PyAny>,
        angle: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let angle = list(angle, "angle", Dimension::ANGLE)?;
        let omega = SlideDrive::crank_speed(rate(stroke_rate_spm)?).map_err(to_py)?;
        let mut out = Array2::zeros((angle.len(), 6));
        for (row, &a) in out.rows_mut().into_iter().zip(&angle) {
            let wrench = self.0.inertia_wrench(a, omega, 0.0);
            row.into_iter().zip(wrench.iter()).for_each(|(to, from)| *to = *from);
        }
        array(py, out)
    }
}

fn each<'py>(
    py: Python<'py>,
    angle: &Bound<'py, PyAny>,
    f: impl Fn(f64) -> f64,
) -> PyResult<Bound<'py, PyAny>> {
    let angle = list(angle, "angle", Dimension::ANGLE)?;
    array(py, angle.iter().map(|&a| f(a)).collect::<Array1<_>>())
}
