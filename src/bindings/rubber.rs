//! Rubber pads: what they are made of and what they are at rest.

use pyo3::prelude::*;

use super::allowed::{PyAllowed, listed};
use super::convert::{choice, name_of, scalar};
use super::error::to_py;
use super::mount::PyLoadRange;
use super::shape::{outline, shown};
use super::stored::stored;
use crate::error::Error;
use crate::support::rubber::{Band, Bulk, Compound, CompressionLaw, PadOptions, Route, RubberPad};
use crate::units::Dimension;

/// A rubber pad by hardness and shape, or a stack of equal layers between stiff plates.
///
/// Compression k = Ea A / t, Ea0 = E0 (1 + 2 phi S^2), 1/Ea = 1/Ea0 + 1/K; shear
/// G A / t / (1 + t^2 / 36 r^2) at rest, less under load (Haringx). Static values, unless they say
/// dynamic.
///
/// Parameters
/// ----------
/// hardness : float
///     IRHD, 30 to 75; outside only with all of young_modulus, shear_modulus, phi, bulk_modulus.
/// shape : Disc, Rectangle or Ring
///     Outline of the loaded faces.
/// thickness : float, str or quantity
///     Rubber of one layer, m.
/// bonded : bool, optional
///     True unless friction is given.
/// friction : float, optional
///     Friction of faces that may slide.
/// layers : int
///     Layers of rubber.
/// plate_thickness : float, str or quantity
///     Of the plates between layers, m.
/// route : {"table", "gent", "ruess", "probit"}
///     From hardness to E0.
/// young_modulus, shear_modulus, bulk_modulus, bending_modulus : float, str or quantity, optional
///     Measured, Pa; those of the hardness by default, in bending 3 G (stacks: Ea / 3).
/// phi : float, optional
///     What the filler leaves of the effect of the shape factor; 1 for unfilled rubber.
/// bulk : {"reciprocal", "four_thirds", "exact", "incompressible"}
///     1/K with the K of the table, 4/(3K) with a true one, the exact disc, or none.
/// law : {"constant_shape", "growing_shape", "linear"}
///     Load against strain.
/// shape_correction : bool
///     The constant of the outline in place of 2.
/// compound : {"natural", "chloroprene", "nitrile", "butyl"}
///     Kind of rubber, for what its hardness does not say.
/// dynamic_factor, loss_factor, creep_per_decade : float, optional
///     Dynamic over static stiffness; loss factor; growth of the deflection in a decade of time. By
///     default the middle of the band of the trade.
/// hardness_tolerance : float, optional
///     Half-width of the band of the hardness, IRHD; 5, within the table.
/// temperature_factor : float
///     On the dynamic stiffness; 1 at 20 C.
/// aging : float
///     In parts of 30 years.
/// strain_limit, shear_strain_limit : float
///     Greatest static strains.
/// stress_limit : float, str or quantity, optional
///     Greatest static mean pressure, Pa.
///
/// Raises
/// ------
/// InvalidError, UnitError, UnknownNameError
#[pyclass(frozen, name = "RubberPad", module = "underfoot")]
pub struct PyRubberPad(pub RubberPad);

#[pymethods]
impl PyRubberPad {
    #[new]
    #[pyo3(signature = (hardness, shape, thickness, bonded=None, friction=None, *, layers=1,
                        plate_thickness=None, route="table", young_modulus=None,
                        shear_modulus=None, phi=None, bulk_modulus=None, bending_modulus=None,
                        bulk="reciprocal", law="constant_shape", shape_correction=false,
                        compound="natural", dynamic_factor=None, loss_factor=None,
                        creep_per_decade=None, hardness_tolerance=None, temperature_factor=None,
                        aging=None, strain_limit=None, shear_strain_limit=None,
                        stress_limit=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        hardness: &Bound<'_, PyAny>,
        shape: &Bound<'_, PyAny>,
        thickness: &Bound<'_, PyAny>,
        bonded: Option<bool>,
        friction: Option<&Bound<'_, PyAny>>,
        layers: i64,
        plate_thickness: Option<&Bound<'_, PyAny>>,
        route: &str,
        young_modulus: Option<&Bound<'_, PyAny>>,
        shear_modulus: Option<&Bound<'_, PyAny>>,
        phi: Option<&Bound<'_, PyAny>>,
        bulk_modulus: Option<&Bound<'_, PyAny>>,
        bending_modulus: Option<&Bound<'_, PyAny>>,
        bulk: &str,
        law: &str,
        shape_correction: bool,
        compound: &str,
        dynamic_factor: Option<&Bound<'_, PyAny>>,
        loss_factor: Option<&Bound<'_, PyAny>>,
        creep_per_decade: Option<&Bound<'_, PyAny>>,
        hardness_tolerance: Option<&Bound<'_, PyAny>>,
        temperature_factor: Option<&Bound<'_, PyAny>>,
        aging: Option<&Bound<'_, PyAny>>,
        strain_limit: Option<&Bound<'_, PyAny>>,
        shear_strain_limit: Option<&Bound<'_, PyAny>>,
        stress_limit: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let given = |value: Option<&Bound<'_, PyAny>>, name, dimension| {
            value.map(|v| scalar(v, name, dimension)).transpose()
        };
        let ratio = |value, name| given(value, name, Dimension::RATIO);
        let modulus = |value, name| given(value, name, Dimension::PRESSURE);
        let usual = PadOptions::default();
        let friction = ratio(friction, "friction")?;
        if let Some(bonded) = bonded
            && bonded == friction.is_some()
        {
            let remedy = if bonded { "leave out one of them" } else { "give friction" };
            return Err(to_py(Error::invalid(
                "bonded",
                if bonded { "True" } else { "False" },
                if bonded { "excludes friction" } else { "needs the friction of the faces" },
                remedy,
            )));
        }
        let options = PadOptions {
            friction,
            // What is no number of layers is refused as zero is.
            layers: u32::try_from(layers).unwrap_or(0),
            plate_thickness: given(plate_thickness, "plate_thickness", Dimension::LENGTH)?
                .unwrap_or(0.0),
            route: choice("route", route, &Route::ALL)?,
            young_modulus: modulus(young_modulus, "young_modulus")?,
            shear_modulus: modulus(shear_modulus, "shear_modulus")?,
            phi: ratio(phi, "phi")?,
            bulk_modulus: modulus(bulk_modulus, "bulk_modulus")?,
            bending_modulus: modulus(bending_modulus, "bending_modulus")?,
            bulk: choice("bulk", bulk, &Bulk::ALL)?,
            law: choice("law", law, &CompressionLaw::ALL)?,
            shape_correction,
            compound: choice("compound", compound, &Compound::ALL)?,
            dynamic_factor: ratio(dynamic_factor, "dynamic_factor")?,
            loss_factor: ratio(loss_factor, "loss_factor")?,
            creep_per_decade: ratio(creep_per_decade, "creep_per_decade")?,
            hardness_tolerance: ratio(hardness_tolerance, "hardness_tolerance")?,
            temperature_factor: ratio(temperature_factor, "temperature_factor")?
                .unwrap_or(usual.temperature_factor),
            aging: ratio(aging, "aging")?.unwrap_or(usual.aging),
            strain_limit: ratio(strain_limit, "strain_limit")?.unwrap_or(usual.strain_limit),
            shear_strain_limit: ratio(shear_strain_limit, "shear_strain_limit")?
                .unwrap_or(usual.shear_strain_limit),
            stress_limit: modulus(stress_limit, "stress_limit")?,
        };
        let hardness = scalar(hardness, "hardness", Dimension::RATIO)?;
        let thickness = scalar(thickness, "thickness", Dimension::LENGTH)?;
        RubberPad::new(hardness, outline(shape)?, thickness, options).map(Self).map_err(to_py)
    }

    /// The same pad of another hardness.
    ///
    /// Parameters
    /// ----------
    /// hardness : float
    ///     IRHD.
    ///
    /// Returns
    /// -------
    /// RubberPad
    fn with_hardness(&self, hardness: &Bound<'_, PyAny>) -> PyResult<Self> {
        let hardness = scalar(hardness, "hardness", Dimension::RATIO)?;
        self.0.with_hardness(hardness).map(Self).map_err(to_py)
    }

    /// Hardness, IRHD.
    #[getter]
    fn hardness(&self) -> f64 {
        self.0.hardness
    }

    /// Outline of the loaded faces.
    #[getter]
    fn shape<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        shown(py, self.0.shape)
    }

    /// Rubber of one layer, m.
    #[getter]
    fn thickness(&self) -> f64 {
        self.0.thickness
    }

    /// Layers of rubber.
    #[getter]
    fn layers(&self) -> u32 {
        self.0.options.layers
    }

    /// Rubber in all layers, m.
    #[getter]
    fn rubber_height(&self) -> f64 {
        self.0.rubber_height()
    }

    /// True unless its faces may slide.
    #[getter]
    fn bonded(&self) -> bool {
        self.0.options.friction.is_none()
    }

    /// Friction of sliding faces; None if bonded.
    #[getter]
    fn friction(&self) -> Option<f64> {
        self.0.options.friction
    }

    /// Load-deflection law.
    #[getter]
    fn law(&self) -> &'static str {
        name_of(self.0.options.law, &CompressionLaw::ALL)
    }

    /// E0, Pa.
    #[getter]
    fn young_modulus(&self) -> f64 {
        self.0.moduli.young
    }

    /// G, Pa.
    #[getter]
    fn shear_modulus(&self) -> f64 {
        self.0.moduli.shear
    }

    /// phi.
    #[getter]
    fn phi(&self) -> f64 {
        self.0.moduli.phi
    }

    /// K, Pa.
    #[getter]
    fn bulk_modulus(&self) -> f64 {
        self.0.moduli.bulk
    }

    /// Shape factor of one layer.
    #[getter]
    fn shape_factor(&self) -> f64 {
        self.0.shape_factor()
    }

    /// Apparent modulus in compression at rest, Pa.
    #[getter]
    fn apparent_modulus(&self) -> f64 {
        self.0.apparent_modulus()
    }

    /// Static stiffness in compression at rest, N/m.
    #[getter]
    fn compression_stiffness(&self) -> f64 {
        self.0.compression_stiffness()
    }

    /// Static stiffness in shear at rest, along x (the length of a rectangle), N/m.
    #[getter]
    fn shear_stiffness(&self) -> f64 {
        self.0.shear_stiffness()
    }

    /// Dynamic over static stiffness.
    #[getter]
    fn dynamic_factor(&self) -> f64 {
        self.0.dynamic_factor().value
    }

    /// Band of the dynamic factor.
    #[getter]
    fn dynamic_factor_band(&self) -> (f64, f64) {
        ends(self.0.dynamic_factor())
    }

    /// Loss factor.
    #[getter]
    fn loss_factor(&self) -> f64 {
        self.0.loss_factor().value
    }

    /// Band of the loss factor.
    #[getter]
    fn loss_factor_band(&self) -> (f64, f64) {
        ends(self.0.loss_factor())
    }

    /// Growth of the static deflection in one decade of time, as a part of it.
    #[getter]
    fn creep_per_decade(&self) -> f64 {
        self.0.creep_per_decade().value
    }

    /// Band of the creep.
    #[getter]
    fn creep_per_decade_band(&self) -> (f64, f64) {
        ends(self.0.creep_per_decade())
    }

    /// Greatest static mean pressure, Pa.
    #[getter]
    fn stress_limit(&self) -> f64 {
        self.0.stress_limit().0
    }

    /// Static load it may carry, by strain, pressure and sway.
    #[getter]
    fn load_range(&self) -> PyResult<PyLoadRange> {
        self.0.load_range().map(PyLoadRange).map_err(to_py)
    }

    /// Limits of the pad.
    #[getter]
    fn allowed(&self) -> PyResult<Vec<PyAllowed>> {
        self.0.allowed().map(|limits| listed(&limits)).map_err(to_py)
    }

    /// What is outside the range of a formula or figure.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings()
    }

    fn __repr__(&self) -> String {
        let p = &self.0;
        format!(
            "RubberPad(hardness={} IRHD, {}, thickness={} m, layers={}, {}; compression {:.6e} N/m, \
             shear {:.6e} N/m)",
            p.hardness,
            p.shape.kind(),
            p.thickness,
            p.options.layers,
            p.options.friction.map_or("bonded".into(), |mu| format!("friction={mu}")),
            p.compression_stiffness(),
            p.shear_stiffness()
        )
    }
}
stored!(PyRubberPad, RubberPad);

pub fn ends(band: Band) -> (f64, f64) {
    (band.low, band.high)
}
