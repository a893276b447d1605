//! Rubber pads: what they do under a load, over time, and how sure it is.

use ndarray::Array1;
use pyo3::prelude::*;

use super::convert::{list, scalar, vector3};
use super::error::to_py;
use super::labeled::array;
use super::mount::PyMount;
use super::rubber::{PyRubberPad, ends};
use crate::support::rubber::{Route, Spread, creep, hardness};
use crate::units::Dimension;

#[pymethods]
impl PyRubberPad {
    /// Least and greatest stiffness in compression for the tolerance of the hardness, N/m.
    ///
    /// Returns
    /// -------
    /// (low, high)
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If a tolerance that was given leaves the hardness table.
    fn compression_band(&self) -> PyResult<(f64, f64)> {
        self.0.compression_band().map(ends).map_err(to_py)
    }

    /// Least and greatest stiffness in shear for the tolerance of the hardness, N/m.
    ///
    /// Returns
    /// -------
    /// (low, high)
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     If a tolerance that was given leaves the hardness table.
    fn shear_band(&self) -> PyResult<(f64, f64)> {
        self.0.shear_band().map(ends).map_err(to_py)
    }

    /// E0 of the hardness by every route, Pa.
    ///
    /// Returns
    /// -------
    /// dict
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For a hardness outside the table.
    fn moduli_by_route(&self) -> PyResult<std::collections::BTreeMap<&'static str, f64>> {
        let young = |(name, route)| {
            Ok((name, hardness::moduli(self.0.hardness, route).map_err(to_py)?.young))
        };
        Route::ALL.into_iter().map(young).collect()
    }

    /// Static load (strain,) at each strain of a layer, N.
    ///
    /// Parameters
    /// ----------
    /// strain : (strain,)
    ///     Compression positive, -0.5 to 0.5.
    ///
    /// Returns
    /// -------
    /// array (strain,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn force<'py>(
        &self,
        py: Python<'py>,
        strain: &Bound<'py, PyAny>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let strain = list(strain, "strain", Dimension::RATIO)?;
        let force: crate::Result<Array1<f64>> = strain.iter().map(|&e| self.0.force(e)).collect();
        array(py, force.map_err(to_py)?)
    }

    /// Terms (a, p, q) of the load F = sum a (lam^p - lam^q), lam = 1 - deflection / rubber_height.
    ///
    /// Returns
    /// -------
    /// list of (float, float, float)
    fn compression_terms(&self) -> Vec<(f64, f64, f64)> {
        self.0.compression_terms()
    }

    /// Strain under a static load.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, not negative.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn strain(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        self.0.strain(scalar(load, "load", Dimension::FORCE)?).map_err(to_py)
    }

    /// Static tangent stiffness in compression under a load, N/m.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, not negative.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn tangent_stiffness(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        self.0.tangent_stiffness(scalar(load, "load", Dimension::FORCE)?).map_err(to_py)
    }

    /// Static load over deflection under a load, N/m.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, not negative.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn secant_stiffness(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        self.0.secant_stiffness(scalar(load, "load", Dimension::FORCE)?).map_err(to_py)
    }

    /// Static stiffness (2,) in shear along x and y under a vertical load, N/m; negative above the
    /// load at which the pad sways by itself.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, not negative; none by default.
    ///
    /// Returns
    /// -------
    /// array (2,)
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (load=None))]
    fn lateral_stiffness<'py>(
        &self,
        py: Python<'py>,
        load: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let load = load.map_or(Ok(0.0), |v| scalar(v, "load", Dimension::FORCE))?;
        let both = self.0.lateral_stiffness(load).map_err(to_py)?;
        array(py, Array1::from(both.to_vec()))
    }

    /// Load at which the pad sways by itself, N.
    #[getter]
    fn sway_load(&self) -> f64 {
        self.0.sway_load()
    }

    /// Greatest pressure on its faces under a load, Pa; twice the mean for a thin disc.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, not negative.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn peak_pressure(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        self.0.peak_pressure(scalar(load, "load", Dimension::FORCE)?).map_err(to_py)
    }

    /// Static deflection (time,) over that at one minute, 1 + a log10(t / 60 s).
    ///
    /// Parameters
    /// ----------
    /// time : (time,)
    ///     s since the load came on, at least 60 s.
    ///
    /// Returns
    /// -------
    /// array (time,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError
    fn creep<'py>(&self, py: Python<'py>, time: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let rate = self.0.creep_per_decade().value;
        let time = list(time, "time", Dimension::TIME)?;
        let grown: crate::Result<Array1<f64>> =
            time.iter().map(|&t| creep::growth(rate, t)).collect();
        array(py, grown.map_err(to_py)?)
    }

    /// What moves the stiffness, one cause at a time.
    ///
    /// Parameters
    /// ----------
    /// low_celsius, high_celsius : float
    ///     Coldest and warmest temperature, -25 to 70 C; 5 and 40 by default.
    ///
    /// Returns
    /// -------
    /// list of (cause, (low, high) in compression, (low, high) in shear, source)
    ///     Factors on the stiffness.
    ///
    /// Raises
    /// ------
    /// InvalidError
    #[pyo3(signature = (low_celsius=5.0, high_celsius=40.0))]
    #[allow(clippy::type_complexity, reason = "one row of a table")]
    fn spread(
        &self,
        low_celsius: f64,
        high_celsius: f64,
    ) -> PyResult<Vec<(String, (f64, f64), (f64, f64), String)>> {
        let rows = self.0.spread(low_celsius, high_celsius).map_err(to_py)?;
        let row = |r: Spread| (r.cause, ends(r.compression), ends(r.shear), r.source);
        Ok(rows.into_iter().map(row).collect())
    }

    /// The mount it is, with its load-deflection curve: modes and shocks take the tangent under the
    /// load of their own case. Sideways it is as stiff as under the working load.
    ///
    /// Parameters
    /// ----------
    /// position : (3,)
    ///     Where the machine sits on it, m.
    /// name : str
    ///     Tag; by default its number.
    /// load : float, str or quantity, optional
    ///     Working load, N; at rest by default.
    /// linear : bool
    ///     Without the curve: in motion its tangent under the working load, at rest load over
    ///     deflection. For parts of `parallel` and `series`.
    ///
    /// Returns
    /// -------
    /// Mount
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For a load that squeezes it by more than half or makes it sway.
    #[pyo3(signature = (position, name="", load=None, *, linear=false))]
    fn mount(
        &self,
        position: &Bound<'_, PyAny>,
        name: &str,
        load: Option<&Bound<'_, PyAny>>,
        linear: bool,
    ) -> PyResult<PyMount> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let load = load.map(|v| scalar(v, "load", Dimension::FORCE)).transpose()?;
        let mount = match linear {
            true => self.0.linear_mount(position, load),
            false => self.0.mount(position, load),
        };
        let mount = mount.map_err(to_py)?;
        Ok(PyMount(mount.with_name(name)))
    }
}
