//! Steady running of an installation with a slide drive.

use pyo3::prelude::*;

use super::convert;
use super::detached;
use super::installation::PyInstallation;
use super::results::{PySteady, PyStrokeRateMap};
use super::slide::{PySlideDrive, rate, rates};
use crate::analysis;

#[pymethods]
impl PyInstallation {
    /// Steady running at a stroke rate: the sum of the harmonic responses to the slide's inertia.
    ///
    /// X_n = Z(n omega)^-1 W_n, with loss factors and laws that depend on frequency at each harmonic's own
    /// frequency. Peaks are solved for. Forces are those added to the static ones.
    ///
    /// Parameters
    /// ----------
    /// drive : SlideDrive
    ///     Slide and drive; their mass is part of the machine's.
    /// stroke_rate_spm : float, str or quantity
    ///     Strokes per minute.
    /// harmonics : int, optional
    ///     How many; 16 by default.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Steady
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     A stroke rate that is not positive, or a harmonic that meets an undamped resonance.
    #[pyo3(signature = (drive, stroke_rate_spm, *, harmonics=None, case=None))]
    fn steady(
        &self,
        py: Python<'_>,
        drive: PyRef<'_, PySlideDrive>,
        stroke_rate_spm: &Bound<'_, PyAny>,
        harmonics: Option<usize>,
        case: Option<&str>,
    ) -> PyResult<PySteady> {
        let (drive, rate) = (drive.0.clone(), rate(stroke_rate_spm)?);
        detached(py, || analysis::steady(self.0.linear(case)?.as_ref(), &drive, rate, harmonics))
            .map(PySteady)
    }

    /// Response over a range of stroke rates: which harmonic meets which mode, how far the machine moves,
    /// what reaches the floor, ranked by amplitude.
    ///
    /// Coincidence alone is not trouble: at 40 strokes per minute the lines stand 0.67 Hz apart.
    ///
    /// Parameters
    /// ----------
    /// drive : SlideDrive
    ///     Slide and drive; their mass is part of the machine's.
    /// stroke_rates_spm : (rate,)
    ///     Strokes per minute, ascending.
    /// harmonics : int, optional
    ///     How many; 16 by default.
    /// point : (3,) or name of a point, optional
    ///     Whose motion is given; by default the center of mass.
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// StrokeRateMap
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     Bad stroke rates, or a harmonic that meets an undamped resonance.
    #[pyo3(signature = (drive, stroke_rates_spm, *, harmonics=None, point=None, case=None))]
    fn stroke_rate_map(
        &self,
        py: Python<'_>,
        drive: PyRef<'_, PySlideDrive>,
        stroke_rates_spm: &Bound<'_, PyAny>,
        harmonics: Option<usize>,
        point: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
    ) -> PyResult<PyStrokeRateMap> {
        let (drive, rates) = (drive.0.clone(), rates(stroke_rates_spm)?);
        let points = self.points_list();
        let point = point.map(|p| convert::point(p, "point", &points)).transpose()?;
        detached(py, || {
            analysis::stroke_rate_map(
                self.0.linear(case)?.as_ref(),
                &drive,
                &rates,
                harmonics,
                point,
            )
        })
        .map(PyStrokeRateMap)
    }
}
