//! Pulse shapes.

use ndarray::Array1;
use pyo3::prelude::*;

use super::convert::{list, scalar};
use super::error::to_py;
use super::labeled::array;
use super::stored::stored;
use crate::excitation::pulse::Pulse;
use crate::units::Dimension;

/// One class per shape: constructor arguments with their dimensions.
macro_rules! pulses {
    ($(
        $(#[doc = $doc:literal])+
        $class:ident $name:literal = $make:ident ($($argument:ident: $dimension:ident),+);
    )+) => {
        $(
            $(#[doc = $doc])+
            #[pyclass(frozen, name = $name, module = "underfoot")]
            pub struct $class(pub Pulse);

            #[pymethods]
            impl $class {
                #[new]
                fn new($($argument: &Bound<'_, PyAny>),+) -> PyResult<Self> {
                    Pulse::$make(
                        $(scalar($argument, stringify!($argument), Dimension::$dimension)?),+
                    )
                    .map(Self)
                    .map_err(to_py)
                }

                /// Greatest value, N.
                #[getter]
                fn peak(&self) -> f64 {
                    self.0.peak()
                }

                /// When it ends, s.
                #[getter]
                fn duration(&self) -> f64 {
                    self.0.duration()
                }

                /// Area, N s.
                #[getter]
                fn impulse(&self) -> f64 {
                    self.0.impulse()
                }

                /// Force (time,) at each time, N; zero outside the pulse.
                ///
                /// Parameters
                /// ----------
                /// time : (time,)
                ///     s, from the start of the pulse.
                ///
                /// Returns
                /// -------
                /// array (time,)
                ///
                /// Raises
                /// ------
                /// InvalidError, ShapeError, UnitError
                fn value<'py>(
                    &self,
                    py: Python<'py>,
                    time: &Bound<'py, PyAny>,
                ) -> PyResult<Bound<'py, PyAny>> {
                    let time = list(time, "time", Dimension::TIME)?;
                    array(py, time.iter().map(|&t| self.0.value(t)).collect::<Array1<_>>())
                }

                fn __repr__(&self) -> String {
                    format!(
                        "{}(peak={} N, duration={} s)", $name, self.0.peak(), self.0.duration()
                    )
                }
            }
            stored!($class, Pulse);
        )+

        /// The pulse behind any of these classes.
        pub fn pulse(value: &Bound<'_, PyAny>, argument: &str) -> PyResult<Pulse> {
            $(
                if let Ok(pulse) = value.cast::<$class>() {
                    return Ok(pulse.get().0.clone());
                }
            )+
            Err(to_py(crate::Error::invalid(
                argument,
                value.repr()?,
                concat!("must be one of" $(, " ", $name)+),
                "build it with one of these",
            )))
        }
    };
}

pulses! {
    /// P sin(pi t / T) for 0 <= t < T.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyHalfSine "HalfSine" = half_sine(peak: FORCE, duration: TIME);

    /// P (1 - cos(2 pi t / T)) / 2 for 0 <= t < T.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyHaversine "Haversine" = haversine(peak: FORCE, duration: TIME);

    /// P for 0 <= t < T.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyRectangular "Rectangular" = rectangular(peak: FORCE, duration: TIME);

    /// Rises to P at T / 2 and falls to zero at T.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyTriangular "Triangular" = triangular(peak: FORCE, duration: TIME);

    /// Jumps to P and falls to zero at T.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyInitialPeakSawtooth "InitialPeakSawtooth" =
        initial_peak_sawtooth(peak: FORCE, duration: TIME);

    /// Rises to P at T and drops to zero.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// duration : float, str or quantity
    ///     T, s.
    PyTerminalPeakSawtooth "TerminalPeakSawtooth" =
        terminal_peak_sawtooth(peak: FORCE, duration: TIME);

    /// Rises to P in `rise` and stays there for `hold`.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// rise, hold : float, str or quantity
    ///     s.
    PyRampStep "RampStep" = ramp_step(peak: FORCE, rise: TIME, hold: TIME);

    /// P exp(-t / time_constant), cut off at `duration`.
    ///
    /// Parameters
    /// ----------
    /// peak : float, str or quantity
    ///     P, N.
    /// time_constant, duration : float, str or quantity
    ///     s.
    PyExponentialDecay "ExponentialDecay" =
        exponential_decay(peak: FORCE, time_constant: TIME, duration: TIME);
}
