//! Coil springs.

use pyo3::prelude::*;

use super::allowed::{PyAllowed, listed};
use super::convert::{choice, name_of, scalar, vector3};
use super::error::to_py;
use super::mount::PyMount;
use super::stored::stored;
use crate::support::{CoilOptions, CoilSpring, EndFixing};
use crate::units::Dimension;

/// A helical compression spring of round wire.
///
/// R = G d^4 / (8 D^3 n); lateral stiffness by EN 13906-1, stress with Wahl's factor.
///
/// Parameters
/// ----------
/// wire_diameter, coil_diameter : float, str or quantity
///     d and the mean diameter D, m.
/// active_coils : float
///     n.
/// free_length : float, str or quantity
///     L0, m.
/// total_coils : float, optional
///     Closed ends included; two more than active by default.
/// ends : {"sway", "fixed", "fixed_hinged", "hinged", "free"}
///     How the ends are held, for buckling; a foot of a machine may sway.
/// shear_modulus, young_modulus : float, str or quantity, optional
///     Pa; spring steel, 78.5 and 206 GPa.
/// density : float, str or quantity, optional
///     kg/m^3; 7850.
/// allowed_stress : float, str or quantity, optional
///     Greatest static shear stress with Wahl's factor, Pa.
/// loss_factor : float, optional
///     0.01, a bare coil.
///
/// Raises
/// ------
/// InvalidError, UnitError, UnknownNameError
#[pyclass(frozen, name = "CoilSpring", module = "underfoot")]
pub struct PyCoilSpring(pub CoilSpring);

#[pymethods]
impl PyCoilSpring {
    #[new]
    #[pyo3(signature = (wire_diameter, coil_diameter, active_coils, free_length, *,
                        total_coils=None, ends="sway", shear_modulus=None, young_modulus=None,
                        density=None, allowed_stress=None, loss_factor=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        wire_diameter: &Bound<'_, PyAny>,
        coil_diameter: &Bound<'_, PyAny>,
        active_coils: &Bound<'_, PyAny>,
        free_length: &Bound<'_, PyAny>,
        total_coils: Option<&Bound<'_, PyAny>>,
        ends: &str,
        shear_modulus: Option<&Bound<'_, PyAny>>,
        young_modulus: Option<&Bound<'_, PyAny>>,
        density: Option<&Bound<'_, PyAny>>,
        allowed_stress: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let given = |value: Option<&Bound<'_, PyAny>>, name, dimension| {
            value.map(|v| scalar(v, name, dimension)).transpose()
        };
        let usual = CoilOptions::default();
        let options = CoilOptions {
            shear_modulus: given(shear_modulus, "shear_modulus", Dimension::PRESSURE)?
                .unwrap_or(usual.shear_modulus),
            young_modulus: given(young_modulus, "young_modulus", Dimension::PRESSURE)?
                .unwrap_or(usual.young_modulus),
            density: given(density, "density", Dimension::DENSITY)?.unwrap_or(usual.density),
            total_coils: given(total_coils, "total_coils", Dimension::RATIO)?,
            ends: choice("ends", ends, &EndFixing::ALL)?,
            allowed_stress: given(allowed_stress, "allowed_stress", Dimension::PRESSURE)?,
            loss_factor: given(loss_factor, "loss_factor", Dimension::RATIO)?
                .unwrap_or(usual.loss_factor),
        };
        CoilSpring::new(
            scalar(wire_diameter, "wire_diameter", Dimension::LENGTH)?,
            scalar(coil_diameter, "coil_diameter", Dimension::LENGTH)?,
            scalar(active_coils, "active_coils", Dimension::RATIO)?,
            scalar(free_length, "free_length", Dimension::LENGTH)?,
            options,
        )
        .map(Self)
        .map_err(to_py)
    }

    /// d, m.
    #[getter]
    fn wire_diameter(&self) -> f64 {
        self.0.wire_diameter
    }

    /// Mean diameter D of the coil, m.
    #[getter]
    fn coil_diameter(&self) -> f64 {
        self.0.coil_diameter
    }

    /// n.
    #[getter]
    fn active_coils(&self) -> f64 {
        self.0.active_coils
    }

    /// L0, m.
    #[getter]
    fn free_length(&self) -> f64 {
        self.0.free_length
    }

    /// How the ends are held.
    #[getter]
    fn ends(&self) -> &'static str {
        name_of(self.0.options.ends, &EndFixing::ALL)
    }

    /// Rate R, N/m.
    #[getter]
    fn axial_stiffness(&self) -> f64 {
        self.0.axial_stiffness()
    }

    /// D / d.
    #[getter]
    fn spring_index(&self) -> f64 {
        self.0.spring_index()
    }

    /// Wahl's factor.
    #[getter]
    fn wahl_factor(&self) -> f64 {
        self.0.wahl_factor()
    }

    /// All coils touching, m.
    #[getter]
    fn solid_height(&self) -> f64 {
        self.0.solid_height()
    }

    /// Deflection at which all coils touch, m.
    #[getter]
    fn solid_deflection(&self) -> f64 {
        self.0.solid_deflection()
    }

    /// Deflection at which it buckles, m; None if it does not at any.
    #[getter]
    fn buckling_deflection(&self) -> Option<f64> {
        self.0.buckling_deflection()
    }

    /// Free length below which it does not buckle at any deflection, m.
    #[getter]
    fn stable_length(&self) -> f64 {
        self.0.stable_length()
    }

    /// Lowest surge frequency between parallel plates, Hz.
    #[getter]
    fn surge_frequency(&self) -> f64 {
        self.0.surge_frequency()
    }

    /// Limits of the spring.
    #[getter]
    fn allowed(&self) -> PyResult<Vec<PyAllowed>> {
        self.0.allowed().map(|limits| listed(&limits)).map_err(to_py)
    }

    /// Deflection under a static load, m.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N, below that at which the coils touch.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn deflection(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        self.0.deflection(scalar(load, "load", Dimension::FORCE)?).map_err(to_py)
    }

    /// Lateral stiffness, its ends held parallel, under a static load, N/m; negative past the
    /// deflection at which it sways.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N; none by default.
    ///
    /// Returns
    /// -------
    /// float
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (load=None))]
    fn lateral_stiffness(&self, load: Option<&Bound<'_, PyAny>>) -> PyResult<f64> {
        let load = load.map_or(Ok(0.0), |v| scalar(v, "load", Dimension::FORCE))?;
        self.0.lateral_stiffness(load).map_err(to_py)
    }

    /// Shear stress with Wahl's factor under a load, Pa.
    ///
    /// Parameters
    /// ----------
    /// load : float, str or quantity
    ///     N.
    ///
    /// Returns
    /// -------
    /// float
    fn shear_stress(&self, load: &Bound<'_, PyAny>) -> PyResult<f64> {
        Ok(self.0.shear_stress(scalar(load, "load", Dimension::FORCE)?))
    }

    /// The mount it is, its lateral stiffness that under a static load.
    ///
    /// Parameters
    /// ----------
    /// position : (3,)
    ///     Where the machine sits on it, m.
    /// name : str
    ///     Tag; by default its number.
    /// load : float, str or quantity, optional
    ///     Working load, N; none by default.
    ///
    /// Returns
    /// -------
    /// Mount
    ///
    /// Raises
    /// ------
    /// InvalidError
    ///     For a load that drives the coils together or makes the spring sway by itself.
    #[pyo3(signature = (position, name="", load=None))]
    fn mount(
        &self,
        position: &Bound<'_, PyAny>,
        name: &str,
        load: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyMount> {
        let position = vector3(position, "position", Dimension::LENGTH)?;
        let load = load.map(|v| scalar(v, "load", Dimension::FORCE)).transpose()?;
        let mount = self.0.mount(position, load).map_err(to_py)?;
        Ok(PyMount(mount.with_name(name)))
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        format!(
            "CoilSpring(wire_diameter={} m, coil_diameter={} m, active_coils={}, free_length={} m; \
             axial {:.6e} N/m)",
            s.wire_diameter,
            s.coil_diameter,
            s.active_coils,
            s.free_length,
            s.axial_stiffness()
        )
    }
}
stored!(PyCoilSpring, CoilSpring);
