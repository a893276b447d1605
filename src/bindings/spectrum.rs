//! Shock response spectra.

use pyo3::prelude::*;

use super::convert::{list, scalar};
use super::detached;
use super::error::to_py;
use super::labeled::labeled;
use super::pulse::pulse;
use crate::analysis::spectrum::{
    Response, ShockSpectrum, pulse_response_spectrum, shock_response_spectrum as spectrum,
};
use crate::error::Error;
use crate::units::Dimension;

labeled! {
    /// Shock response spectrum; see `shock_response_spectrum`.
    PyShockSpectrum "ShockSpectrum" (ShockSpectrum)
    coords {}
    fields {
        frequency: ["frequency"] "Hz" "natural frequency" => |r| r.frequency;
        positive: ["frequency"] "unit of the signal" "greatest response in the positive sense" => |r| r.positive;
        negative: ["frequency"] "unit of the signal" "greatest response in the negative sense" => |r| r.negative;
        maximax: ["frequency"] "unit of the signal" "greatest response in either sense" => |r| r.maximax;
    }
}

#[pymethods]
impl PyShockSpectrum {
    /// Damping ratio.
    #[getter]
    fn damping_ratio(&self) -> f64 {
        self.0.damping_ratio
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

/// Shock response spectrum of a sampled record or of a pulse.
///
/// For each natural frequency, the greatest response of one degree of freedom whose base moves
/// with the acceleration `signal`: y'' + 2 zeta omega y' + omega^2 y = -signal. A record is linear
/// between its samples (ramp-invariant filter, ISO 18431-4) and its peaks are picked at the
/// samples: low by up to (pi f / sample_rate)^2 / 2. The peaks of a pulse are solved for. Free
/// vibration after the record counts.
///
/// Parameters
/// ----------
/// signal : (time,) or a pulse
///     Acceleration of the base in any unit, or HalfSine, ...; a pulse's peak is then read as an
///     acceleration.
/// sample_rate : float, str or quantity
///     Samples per second, Hz; None for a pulse.
/// frequency : (frequency,)
///     Natural frequencies, Hz.
/// damping_ratio : float
///     zeta, from 0 up to below 1.
/// response : "absolute_acceleration", "relative_displacement" or "pseudo_acceleration"
///     What is read off; pseudo-acceleration is -omega^2 y, with the sign of the absolute
///     acceleration.
///
/// Returns
/// -------
/// ShockSpectrum
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError, UnknownNameError
///
/// References
/// ----------
/// D. O. Smallwood, Shock and Vibration Bulletin 51 (1981), part 2; ISO 18431-4:2007.
#[pyfunction]
#[pyo3(signature = (signal, sample_rate, frequency, damping_ratio, response="absolute_acceleration"))]
pub fn shock_response_spectrum(
    py: Python<'_>,
    signal: &Bound<'_, PyAny>,
    sample_rate: Option<&Bound<'_, PyAny>>,
    frequency: &Bound<'_, PyAny>,
    damping_ratio: &Bound<'_, PyAny>,
    response: &str,
) -> PyResult<PyShockSpectrum> {
    let frequency = list(frequency, "frequency", Dimension::FREQUENCY)?;
    let zeta = scalar(damping_ratio, "damping_ratio", Dimension::RATIO)?;
    let response = named(response)?;
    let Some(rate) = sample_rate else {
        let pulse = pulse(signal, "signal")?;
        return detached(py, || pulse_response_spectrum(&pulse, &frequency, zeta, response))
            .map(PyShockSpectrum);
    };
    let rate = scalar(rate, "sample_rate", Dimension::FREQUENCY)?;
    let record = list(signal, "signal", Dimension::RATIO)?;
    detached(py, || spectrum(&record, rate, &frequency, zeta, response)).map(PyShockSpectrum)
}

fn named(response: &str) -> PyResult<Response> {
    match response {
        "absolute_acceleration" => Ok(Response::AbsoluteAcceleration),
        "relative_displacement" => Ok(Response::RelativeDisplacement),
        "pseudo_acceleration" => Ok(Response::PseudoAcceleration),
        other => Err(to_py(Error::Unknown {
            argument: "response".into(),
            value: other.into(),
            allowed: "use absolute_acceleration, relative_displacement or pseudo_acceleration"
                .into(),
        })),
    }
}
