//! The pad itself: its constants resolved once, its stiffnesses, and the mount it makes.

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::compound::{self, Band, Compound};
use super::compression::Bulk;
use super::finite::{self, CompressionLaw};
use super::friction;
use super::hardness::{Moduli, RANGE, Route, moduli};
use super::shape::Shape;
use crate::error::{Error, Result, not_negative, positive};
use crate::law::Curve;
use crate::support::Mount;
use crate::support::column::Column;

/// K of rubber for the forms that need a true bulk modulus, Pa (bearing codes, from memory).
const TRUE_BULK: f64 = 2e9;

/// Hardness tolerance where none is given, IRHD (common practice).
pub const HARDNESS_TOLERANCE: f64 = 5.0;

/// Shape factors between which the formulas are trusted; above, 1/K is over 6 % off (computed).
const TRUSTED_SHAPE_FACTOR: [f64; 2] = [0.25, 10.0];

/// What else a pad may be told; every default is stated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PadOptions {
    /// Friction of sliding faces; `None` for bonded faces.
    pub friction: Option<f64>,
    /// Equal layers of rubber between stiff plates.
    pub layers: u32,
    /// Thickness of a plate between two layers, m.
    pub plate_thickness: f64,
    /// From hardness to E0.
    pub route: Route,
    /// Measured E0, Pa.
    pub young_modulus: Option<f64>,
    /// Measured G, Pa.
    pub shear_modulus: Option<f64>,
    /// Measured phi; 1 for unfilled rubber.
    pub phi: Option<f64>,
    /// K, Pa.
    pub bulk_modulus: Option<f64>,
    /// Modulus in bending, Pa; 3 G for one layer, Ea / 3 for a stack.
    pub bending_modulus: Option<f64>,
    /// How the compressibility enters.
    pub bulk: Bulk,
    /// Load-deflection law.
    pub law: CompressionLaw,
    /// True: the constant of the outline (C/3 phi S^2) in place of 2 phi S^2.
    pub shape_correction: bool,
    /// Kind of rubber, for what its hardness does not say.
    pub compound: Compound,
    /// Dynamic over static stiffness.
    pub dynamic_factor: Option<f64>,
    /// Loss factor.
    pub loss_factor: Option<f64>,
    /// Creep in one decade of time, as a part of the deflection.
    pub creep_per_decade: Option<f64>,
    /// Half-width of the band of the hardness, IRHD.
    pub hardness_tolerance: Option<f64>,
    /// Factor on the dynamic stiffness for a temperature other than 20 C.
    pub temperature_factor: f64,
    /// Age in parts of 30 years, 0 to 1 and beyond.
    pub aging: f64,
    /// Greatest static strain in compression.
    pub strain_limit: f64,
    /// Greatest static strain in shear.
    pub shear_strain_limit: f64,
    /// Greatest static mean pressure, Pa.
    pub stress_limit: Option<f64>,
}

impl Default for PadOptions {
    fn default() -> Self {
        Self {
            friction: None,
            layers: 1,
            plate_thickness: 0.0,
            route: Route::default(),
            young_modulus: None,
            shear_modulus: None,
            phi: None,
            bulk_modulus: None,
            bending_modulus: None,
            bulk: Bulk::default(),
            law: CompressionLaw::default(),
            shape_correction: false,
            compound: Compound::default(),
            dynamic_factor: None,
            loss_factor: None,
            creep_per_decade: None,
            hardness_tolerance: None,
            temperature_factor: 1.0,
            aging: 0.0,
            strain_limit: 0.15,
            shear_strain_limit: 0.5,
            stress_limit: None,
        }
    }
}

/// A rubber pad, or a stack of equal ones.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RubberPad {
    /// Hardness, IRHD.
    pub hardness: f64,
    /// Outline of the loaded faces.
    pub shape: Shape,
    /// Thickness of the rubber of one layer, m.
    pub thickness: f64,
    /// The rest.
    pub options: PadOptions,
    /// Elastic constants it is computed with.
    pub moduli: Moduli,
    constraint: f64,
}

impl RubberPad {
    /// A pad of a hardness (IRHD), an outline and a thickness of one layer (m).
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the argument: a hardness outside the table (unless all four moduli are
    /// given), a length, modulus or limit that is not positive, the exact bulk term for an outline that
    /// is no disc.
    pub fn new(hardness: f64, shape: Shape, thickness: f64, options: PadOptions) -> Result<Self> {
        positive("thickness", thickness, "m")?;
        let options = checked(options)?;
        if options.bulk == Bulk::Exact && !matches!(shape, Shape::Disc { .. }) {
            return Err(Error::invalid(
                "bulk",
                "exact",
                format!("is known for a disc only, not for a {}", shape.kind()),
                "use \"four_thirds\"",
            ));
        }
        let moduli = resolved(hardness, &options)?;
        positive("hardness", hardness, "IRHD")?;
        let mut pad = Self { hardness, shape, thickness, options, moduli, constraint: 0.0 };
        pad.constraint = pad.constrained();
        if !(pad.compression_stiffness().is_normal() && pad.lateral_stiffness(0.0)?[0].is_normal())
        {
            return Err(Error::invalid(
                "thickness",
                format!("{thickness} m"),
                "makes a stiffness outside the range of numbers",
                "check the units of shape and thickness",
            ));
        }
        Ok(pad)
    }

    /// The same pad of another hardness, IRHD.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn with_hardness(&self, hardness: f64) -> Result<Self> {
        Self::new(hardness, self.shape, self.thickness, self.options.clone())
    }

    /// c of Ea0 = E0 (1 + c).
    fn constrained(&self) -> f64 {
        let s = self.shape_factor();
        let phi = self.moduli.phi;
        if let Some(mu) = self.options.friction {
            return phi * (friction::disc(mu, s).modulus - 1.0);
        }
        let beta =
            if self.options.shape_correction { self.shape.thin_pad_constant() / 3.0 } else { 2.0 };
        beta * phi * s * s
    }

    /// Shape factor S of one layer.
    pub fn shape_factor(&self) -> f64 {
        self.shape.factor(self.thickness)
    }

    /// Rubber in all layers, m.
    pub fn rubber_height(&self) -> f64 {
        f64::from(self.options.layers) * self.thickness
    }

    /// Rubber and plates between the layers, m.
    pub fn height(&self) -> f64 {
        self.rubber_height() + f64::from(self.options.layers - 1) * self.options.plate_thickness
    }

    /// Apparent modulus at rest without the bulk term, Ea0, Pa.
    pub fn incompressible_modulus(&self) -> f64 {
        self.moduli.young * (1.0 + self.constraint)
    }

    /// Apparent modulus in compression at rest, Ea, Pa.
    pub fn apparent_modulus(&self) -> f64 {
        self.options.bulk.apparent(self.moduli.young, self.constraint, self.moduli.bulk)
    }

    /// Static stiffness in compression at rest, N/m.
    pub fn compression_stiffness(&self) -> f64 {
        self.apparent_modulus() * self.shape.area() / self.rubber_height() * self.age()[0]
    }

    /// Factors of age on compression and shear.
    fn age(&self) -> [f64; 2] {
        compound::THIRTY_YEARS.map(|factor| 1.0 + self.options.aging * (factor - 1.0))
    }

    /// Terms (a, p, q) of the static load F = sum a (lam^p - lam^q), N, with lam = 1 - u / h for a
    /// deflection u and the height h of the rubber in all layers; compression positive.
    pub fn compression_terms(&self) -> Vec<(f64, f64, f64)> {
        self.terms_of(self.options.law)
    }

    /// [`Self::compression_terms`] by another law.
    pub fn terms_of(&self, law: CompressionLaw) -> Vec<(f64, f64, f64)> {
        let scale = self.apparent_modulus() / self.incompressible_modulus() * self.age()[0];
        law.terms(self.moduli.young * self.shape.area() * scale, self.constraint)
    }

    /// Static load at a strain (compression positive), N.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a strain beyond half the thickness.
    pub fn force(&self, strain: f64) -> Result<f64> {
        Ok(finite::force(&self.compression_terms(), finite::checked_strain("strain", strain)?))
    }

    /// Strain under a static load (N).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load that is negative or squeezes it by more than half.
    pub fn strain(&self, load: f64) -> Result<f64> {
        finite::strain_at(&self.compression_terms(), not_negative("load", load, "N")?)
    }

    /// Static tangent stiffness in compression under a load (N), N/m.
    ///
    /// # Errors
    /// As [`Self::strain`].
    pub fn tangent_stiffness(&self, load: f64) -> Result<f64> {
        Ok(finite::slope(&self.compression_terms(), self.strain(load)?) / self.rubber_height())
    }

    /// Static load over deflection under a load (N), N/m; that at rest for no load.
    ///
    /// # Errors
    /// As [`Self::strain`].
    pub fn secant_stiffness(&self, load: f64) -> Result<f64> {
        let strain = self.strain(load)?;
        if strain == 0.0 {
            return Ok(self.compression_stiffness());
        }
        Ok(load / (strain * self.rubber_height()))
    }

    /// The columns it is sideways, along x and y.
    fn columns(&self) -> [Column; 2] {
        let Moduli { shear, .. } = self.moduli;
        let stacked = self.options.layers > 1;
        let default = if stacked { self.apparent_modulus() / 3.0 } else { 3.0 * shear };
        let bending = self.options.bending_modulus.unwrap_or(default) * self.age()[1];
        let (area, height) = (self.shape.area(), self.height());
        // Plates are stiff: what the rubber yields is spread over the whole height.
        let spread = height / self.rubber_height() * area;
        self.shape.gyration_squared().map(|r2| Column {
            shear: shear * self.age()[1] * spread,
            bending: bending * r2 * spread,
            height,
        })
    }

    /// Static stiffness in shear along x and y under a vertical load (N), N/m; negative above the
    /// sway load of that direction.
    ///
    /// # Errors
    /// As [`Self::strain`].
    pub fn lateral_stiffness(&self, load: f64) -> Result<[f64; 2]> {
        self.strain(load)?;
        Ok(self.columns().map(|column| column.lateral_stiffness(load)))
    }

    /// Static stiffness in shear at rest, along x (the length of a rectangle), N/m.
    pub fn shear_stiffness(&self) -> f64 {
        self.columns()[0].lateral_stiffness(0.0)
    }

    /// Load at which it sways by itself, N.
    pub fn sway_load(&self) -> f64 {
        let [x, y] = self.columns().map(|column| column.sway_load());
        x.min(y)
    }

    /// Greatest pressure on its faces under a load (N), Pa: mean times (1 + n c) / (1 + c), n = 2 for
    /// the parabola of a disc ("nearly twice": A. N. Gent, R. L. Henry and M. L. Roxbury, J. Appl. Mech.
    /// 41 (1974) 855-859, abstract seen).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative load.
    pub fn peak_pressure(&self, load: f64) -> Result<f64> {
        let mean = not_negative("load", load, "N")? / self.shape.area();
        let (c, middle) = match self.options.friction {
            Some(mu) => {
                let held = friction::disc(mu, self.shape_factor());
                (self.constraint, self.moduli.phi * (held.center_stress - 1.0))
            }
            None => (self.constraint, self.shape.peak_over_mean() * self.constraint),
        };
        Ok(mean * (1.0 + middle) / (1.0 + c))
    }

    /// Dynamic over static stiffness, with its band where it is not given.
    pub fn dynamic_factor(&self) -> Band {
        let usual = || self.options.compound.dynamic_factor(self.hardness);
        self.options.dynamic_factor.map_or_else(usual, Band::exactly)
    }

    /// Loss factor, with its band where it is not given.
    pub fn loss_factor(&self) -> Band {
        let usual = || self.options.compound.loss_factor(self.hardness);
        self.options.loss_factor.map_or_else(usual, Band::exactly)
    }

    /// Creep in one decade of time as a part of the deflection, with its band where it is not given.
    pub fn creep_per_decade(&self) -> Band {
        let usual = || self.options.compound.creep_per_decade(self.hardness);
        self.options.creep_per_decade.map_or_else(usual, Band::exactly)
    }

    /// The mount it is at a position (m), with its load-deflection curve: statics finds its
    /// compression, modes and shocks its tangent under the load of their own case. Sideways it has
    /// the stiffness under its working load (N), at rest where none is given.
    ///
    /// A pad of the linear law has no curve.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load beyond the pad: more than half its height, or its sway load.
    pub fn mount(&self, position: Vector3<f64>, load: Option<f64>) -> Result<Mount> {
        let mount = self.linear_mount(position, load)?;
        if self.options.law == CompressionLaw::Linear {
            return Ok(mount);
        }
        let curve = Curve::compression(self.rubber_height(), self.compression_terms())?;
        mount.with_curve(curve, Some(self.motion_factor()))
    }

    /// Stiffness in motion over that at rest, in the temperature it has.
    fn motion_factor(&self) -> f64 {
        self.dynamic_factor().value * self.options.temperature_factor
    }

    /// The mount it is at a position (m) for small changes about a working load (N), or at rest.
    ///
    /// With a load: stiffness in motion from the tangent there, static stiffness from load over
    /// deflection, both sideways under that load. For parts of a whole, which share the load
    /// otherwise at every load.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load beyond the pad: more than half its height, or its sway load.
    pub fn linear_mount(&self, position: Vector3<f64>, load: Option<f64>) -> Result<Mount> {
        let (tangent, secant) = match load {
            None => (self.compression_stiffness(), self.compression_stiffness()),
            Some(load) => (self.tangent_stiffness(load)?, self.secant_stiffness(load)?),
        };
        let [x, y] = self.lateral_stiffness(load.unwrap_or(0.0))?;
        if let Some(load) = load
            && x.min(y) <= 0.0
        {
            return Err(Error::invalid(
                "load",
                format!("{load} N"),
                format!(
                    "must be below {:.4} N, at which the pad sways by itself",
                    self.sway_load()
                ),
                "take a wider or thinner pad",
            ));
        }
        let factor = self.motion_factor();
        Mount::new(position, [x * factor, y * factor, tangent * factor])?
            .with_static_stiffness([x, y, secant])?
            .with_loss_factor([self.loss_factor().value; 3])?
            .with_load_range(self.load_range()?)
            .with_allowed(self.allowed()?)
            .with_creep_per_decade(self.creep_per_decade().value)
    }

    /// What in it is outside the range of a formula or figure.
    pub fn warnings(&self) -> Vec<String> {
        let mut found = Vec::new();
        let (s, [low, high]) = (self.shape_factor(), TRUSTED_SHAPE_FACTOR);
        if !(low..=high).contains(&s) {
            found.push(format!(
                "shape factor {s:.3} is outside {low} to {high}, where the compression formula is trusted"
            ));
        }
        let bonded = self.options.friction.is_none();
        let off = 6.0 / self.shape.thin_pad_constant() - 1.0;
        if bonded && !self.options.shape_correction && off.abs() > 0.12 {
            found.push(format!(
                "2 S^2 is {:.0} % off for this {}; shape_correction takes its own constant",
                100.0 * off,
                self.shape.kind()
            ));
        }
        if !bonded && self.shape.kind() != "disc" {
            found.push(format!(
                "sliding faces of a {} are taken as those of a disc of the same shape factor",
                self.shape.kind()
            ));
        }
        let given = &self.options;
        let whole = [given.dynamic_factor, given.loss_factor, given.creep_per_decade];
        let [low, high] = given.compound.range();
        if whole.contains(&None) && !(low..=high).contains(&self.hardness) {
            found.push(format!(
                "dynamic factor, loss factor and creep are those of the nearest row: {} IRHD is outside \
                 {low} to {high} IRHD of this kind of rubber",
                self.hardness
            ));
        }
        let ends = hardness_ends(self);
        if self.options.hardness_tolerance.is_none()
            && ends != [self.hardness - HARDNESS_TOLERANCE, self.hardness + HARDNESS_TOLERANCE]
        {
            found.push(format!(
                "the hardness band, {} to {} IRHD, ends with the hardness table",
                ends[0], ends[1]
            ));
        }
        found
    }
}

fn checked(options: PadOptions) -> Result<PadOptions> {
    if options.layers == 0 {
        return Err(Error::invalid("layers", 0, "must be at least 1", "give 1 for a plain pad"));
    }
    not_negative("plate_thickness", options.plate_thickness, "m")?;
    let given = [
        ("friction", options.friction, ""),
        ("young_modulus", options.young_modulus, "Pa"),
        ("shear_modulus", options.shear_modulus, "Pa"),
        ("phi", options.phi, ""),
        ("bulk_modulus", options.bulk_modulus, "Pa"),
        ("bending_modulus", options.bending_modulus, "Pa"),
        ("dynamic_factor", options.dynamic_factor, ""),
        ("stress_limit", options.stress_limit, "Pa"),
        ("temperature_factor", Some(options.temperature_factor), ""),
        ("strain_limit", Some(options.strain_limit), ""),
        ("shear_strain_limit", Some(options.shear_strain_limit), ""),
    ];
    for (name, value, unit) in given {
        if let Some(value) = value {
            positive(name, value, unit)?;
        }
    }
    let given = [
        ("loss_factor", options.loss_factor, ""),
        ("creep_per_decade", options.creep_per_decade, ""),
        ("hardness_tolerance", options.hardness_tolerance, "IRHD"),
        ("aging", Some(options.aging), ""),
    ];
    for (name, value, unit) in given {
        if let Some(value) = value {
            not_negative(name, value, unit)?;
        }
    }
    finite::checked_strain("strain_limit", options.strain_limit)?;
    Ok(options)
}

/// Measured moduli, and those of the hardness for the rest.
fn resolved(hardness: f64, options: &PadOptions) -> Result<Moduli> {
    let PadOptions { young_modulus, shear_modulus, phi, bulk_modulus, .. } = *options;
    let bulk_modulus = match options.bulk {
        Bulk::Reciprocal => bulk_modulus,
        _ => bulk_modulus.or(Some(TRUE_BULK)),
    };
    if let (Some(young), Some(shear), Some(phi), Some(bulk)) =
        (young_modulus, shear_modulus, phi, bulk_modulus)
    {
        return Ok(Moduli { young, shear, phi, bulk });
    }
    let table = moduli(hardness, options.route)?;
    Ok(Moduli {
        young: young_modulus.unwrap_or(table.young),
        shear: shear_modulus.unwrap_or(table.shear),
        phi: phi.unwrap_or(table.phi),
        bulk: bulk_modulus.unwrap_or(table.bulk),
    })
}

/// Hardness at the two ends of its tolerance, IRHD; ends that nobody asked for stay in the table.
pub(super) fn hardness_ends(pad: &RubberPad) -> [f64; 2] {
    if let Some(half) = pad.options.hardness_tolerance {
        return [pad.hardness - half, pad.hardness + half];
    }
    usual_hardness_ends(pad.hardness)
}

/// A hardness plus and minus the usual tolerance, ends within the hardness table, IRHD.
pub fn usual_hardness_ends(hardness: f64) -> [f64; 2] {
    let [low, high] = RANGE;
    [
        (hardness - HARDNESS_TOLERANCE).max(low.min(hardness)),
        (hardness + HARDNESS_TOLERANCE).min(high.max(hardness)),
    ]
}
