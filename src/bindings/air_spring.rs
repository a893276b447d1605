//! Air springs.

use pyo3::prelude::*;

use super::convert::{scalar, vector3};
use super::error::to_py;
use super::mount::PyMount;
use super::stored::stored;
use crate::support::AirSpring;
use crate::units::Dimension;

/// A cushion of air: k = n p A^2 / V + p_g dA/dz.
///
/// Parameters
/// ----------
/// gauge_pressure : float, str or quantity
///     p_g, Pa.
/// area : float, str or quantity
///     Effective area A, m^2.
/// volume : float, str or quantity
///     V, m^3.
/// area_slope : float, str or quantity, optional
///     dA/dz with the deflection, m; 0.
/// polytropic, static_polytropic : float, optional
///     n in motion, 1.4, and under a load that stays, 1.
/// ambient_pressure : float, str or quantity, optional
///     Pa; one standard atmosphere.
/// lateral_stiffness : float, str or quantity, optional
///     Of the bellows, N/m; 0.
/// loss_factor : float, optional
///     0.
///
/// Raises
/// ------
/// InvalidError, UnitError
#[pyclass(frozen, name = "AirSpring", module = "underfoot")]
pub struct PyAirSpring(pub AirSpring);

#[pymethods]
impl PyAirSpring {
    #[new]
    #[pyo3(signature = (gauge_pressure, area, volume, *, area_slope=None, polytropic=None,
                        static_polytropic=None, ambient_pressure=None, lateral_stiffness=None,
                        loss_factor=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        gauge_pressure: &Bound<'_, PyAny>,
        area: &Bound<'_, PyAny>,
        volume: &Bound<'_, PyAny>,
        area_slope: Option<&Bound<'_, PyAny>>,
        polytropic: Option<&Bound<'_, PyAny>>,
        static_polytropic: Option<&Bound<'_, PyAny>>,
        ambient_pressure: Option<&Bound<'_, PyAny>>,
        lateral_stiffness: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let or = |value: Option<&Bound<'_, PyAny>>, name, dimension, usual| {
            value.map_or(Ok(usual), |v| scalar(v, name, dimension))
        };
        let usual = AirSpring::new(
            scalar(gauge_pressure, "gauge_pressure", Dimension::PRESSURE)?,
            scalar(area, "area", Dimension::AREA)?,
            scalar(volume, "volume", Dimension::VOLUME)?,
        )
        .map_err(to_py)?;
        AirSpring {
            area_slope: or(area_slope, "area_slope", Dimension::LENGTH, 0.0)?,
            polytropic: or(polytropic, "polytropic", Dimension::RATIO, usual.polytropic)?,
            static_polytropic: or(
                static_polytropic,
                "static_polytropic",
                Dimension::RATIO,
                usual.static_polytropic,
            )?,
            ambient_pressure: or(
                ambient_pressure,
                "ambient_pressure",
                Dimension::PRESSURE,
                usual.ambient_pressure,
            )?,
            lateral_stiffness: or(
                lateral_stiffness,
                "lateral_stiffness",
                Dimension::STIFFNESS,
                0.0,
            )?,
            loss_factor: or(loss_factor, "loss_factor", Dimension::RATIO, 0.0)?,
            ..usual
        }
        .checked()
        .map(Self)
        .map_err(to_py)
    }

    /// p_g, Pa.
    #[getter]
    fn gauge_pressure(&self) -> f64 {
        self.0.gauge_pressure
    }

    /// Effective area, m^2.
    #[getter]
    fn area(&self) -> f64 {
        self.0.area
    }

    /// Volume, m^3.
    #[getter]
    fn volume(&self) -> f64 {
        self.0.volume
    }

    /// Vertical stiffness in motion, N/m.
    #[getter]
    fn stiffness(&self) -> f64 {
        self.0.stiffness()
    }

    /// Vertical stiffness under a load that stays, N/m.
    #[getter]
    fn static_stiffness(&self) -> f64 {
        self.0.static_stiffness()
    }

    /// What it carries, N.
    #[getter]
    fn load(&self) -> f64 {
        self.0.load()
    }

    /// The mount it is.
    ///
    /// Parameters
    /// ----------
    /// position : (3,)
    ///     Where the machine sits on it, m.
    /// name : str
    ///     Tag; by default its number.
    ///
    /// Returns
    /// -------
    /// Mount
    #[pyo3(signature = (position, name=""))]
    fn mount(&self, position: &Bound<'_, PyAny>, name: &str) -> PyResult<PyMount> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let mount = self.0.mount(position).map_err(to_py)?;
        Ok(PyMount(mount.with_name(name)))
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        format!(
            "AirSpring(gauge_pressure={} Pa, area={} m^2, volume={} m^3; dynamic {:.6e} N/m, static \
             {:.6e} N/m)",
            s.gauge_pressure,
            s.area,
            s.volume,
            s.stiffness(),
            s.static_stiffness()
        )
    }
}
stored!(PyAirSpring, AirSpring);
