//! What is a helical compression spring as a mount? Rate, lateral stiffness under its load, buckling,
//! surge, stress, solid height.
//!
//! R = G d^4 / (8 D^3 n); spring index w = D / d; stress tau = K 8 F D / (pi d^3), K = (4w-1)/(4w-4) +
//! 0.615/w (A. M. Wahl, seen on two pages); surge f = sqrt(R / m) / 2 = d / (2 pi n D^2) sqrt(G / 2 rho)
//! between parallel plates (seen, after Shigley).
//!
//! Lateral over axial rate, EN 13906-1 (from memory), ends held parallel, xi = s / L0, lam = L0 / D:
//! RQ/R = xi / (xi - 1 + (1/lam) / (1/2 + G/E) Q tan(lam xi Q)),
//! Q = sqrt((1/2 + G/E) (G/E + (1 - xi)/xi)).
//! It is the column of Haringx with B = k l D^2 / (4 (1/2 + G/E)), S = k l E / G, and turns negative
//! past the deflection at which the spring sways: it is returned as it is.
//!
//! Buckling: sK = L0 / (2 (1 - G/E)) (1 - sqrt(1 - (1 - G/E)/(1/2 + G/E) (pi D / (nu L0))^2)), stable at
//! any deflection where the root is not real (EN 13906-1, from memory; equal to Shigley's form, seen).
//! nu: 0.5 both ends held, 0.707 one held and one hinged, 1 both hinged or held but free to sway, 2 one
//! end free (seen). A foot of a machine may sway: nu = 1 there, the default.
//!
//! Limits: close to linear until coils touch; static and below surge.

use std::f64::consts::PI;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};

use super::column::{Column, tan_excess};
use super::{Allowed, AllowedQuantity, Mount};
use crate::error::{Error, Result, not_negative, positive};

/// How the ends are held, for buckling.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum EndFixing {
    /// Both held parallel, the top free to sway: nu = 1, a foot of a machine.
    #[default]
    Sway,
    /// Both held parallel and in line: nu = 0.5.
    Fixed,
    /// One held, one hinged, in line: nu = 0.707.
    FixedHinged,
    /// Both hinged, in line: nu = 1.
    Hinged,
    /// One held, the other free: nu = 2.
    Free,
}

impl EndFixing {
    /// All of them, with their names.
    pub const ALL: [(&'static str, Self); 5] = [
        ("sway", Self::Sway),
        ("fixed", Self::Fixed),
        ("fixed_hinged", Self::FixedHinged),
        ("hinged", Self::Hinged),
        ("free", Self::Free),
    ];

    /// nu: effective over free length.
    pub fn length_factor(self) -> f64 {
        match self {
            Self::Fixed => 0.5,
            Self::FixedHinged => 0.707,
            Self::Sway | Self::Hinged => 1.0,
            Self::Free => 2.0,
        }
    }
}

/// What else a coil may be told.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CoilOptions {
    /// G, Pa; 78.5 GPa, spring steel.
    pub shear_modulus: f64,
    /// E, Pa; 206 GPa, spring steel.
    pub young_modulus: f64,
    /// rho, kg/m^3; 7850, steel.
    pub density: f64,
    /// All coils, closed ends included; two more than the active ones where not given.
    pub total_coils: Option<f64>,
    /// How the ends are held.
    pub ends: EndFixing,
    /// Greatest static shear stress with Wahl's factor, Pa.
    pub allowed_stress: Option<f64>,
    /// Loss factor; 0.01, a bare coil (damping ratio 0.005, common practice).
    pub loss_factor: f64,
}

impl Default for CoilOptions {
    fn default() -> Self {
        Self {
            shear_modulus: 78.5e9,
            young_modulus: 206e9,
            density: 7850.0,
            total_coils: None,
            ends: EndFixing::default(),
            allowed_stress: None,
            loss_factor: 0.01,
        }
    }
}

/// A helical compression spring of round wire.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoilSpring {
    /// d, m.
    pub wire_diameter: f64,
    /// Mean diameter D of the coil, m.
    pub coil_diameter: f64,
    /// n.
    pub active_coils: f64,
    /// L0, m.
    pub free_length: f64,
    /// The rest.
    pub options: CoilOptions,
}

impl CoilSpring {
    /// A spring by wire and mean coil diameter (m), active coils and free length (m).
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the argument: not positive, a coil too small for its wire, coils that
    /// do not fit into the free length, E not above G.
    pub fn new(
        wire_diameter: f64,
        coil_diameter: f64,
        active_coils: f64,
        free_length: f64,
        options: CoilOptions,
    ) -> Result<Self> {
        for (name, value, unit) in [
            ("wire_diameter", wire_diameter, "m"),
            ("coil_diameter", coil_diameter, "m"),
            ("active_coils", active_coils, ""),
            ("free_length", free_length, "m"),
            ("shear_modulus", options.shear_modulus, "Pa"),
            ("young_modulus", options.young_modulus, "Pa"),
            ("density", options.density, "kg/m^3"),
        ] {
            positive(name, value, unit)?;
        }
        not_negative("loss_factor", options.loss_factor, "")?;
        if let Some(stress) = options.allowed_stress {
            positive("allowed_stress", stress, "Pa")?;
        }
        if coil_diameter <= wire_diameter {
            return Err(Error::invalid(
                "coil_diameter",
                format!("{coil_diameter} m"),
                format!("must exceed wire_diameter ({wire_diameter} m)"),
                "give the mean diameter of the coil, outer diameter less the wire",
            ));
        }
        if options.shear_modulus >= options.young_modulus {
            return Err(Error::invalid(
                "young_modulus",
                format!("{} Pa", options.young_modulus),
                format!("must exceed shear_modulus ({} Pa)", options.shear_modulus),
                "swap the moduli",
            ));
        }
        if let Some(total) = options.total_coils
            && !(total >= active_coils && total.is_finite())
        {
            return Err(Error::invalid(
                "total_coils",
                total,
                format!("must not be less than active_coils ({active_coils})"),
                "count the closed end coils too",
            ));
        }
        let spring = Self { wire_diameter, coil_diameter, active_coils, free_length, options };
        if spring.solid_height() >= free_length {
            return Err(Error::invalid(
                "free_length",
                format!("{free_length} m"),
                format!("must exceed the solid height, {} m", spring.solid_height()),
                "check active_coils, total_coils and wire_diameter",
            ));
        }
        positive("axial_stiffness", spring.axial_stiffness(), "N/m")?;
        Ok(spring)
    }

    /// Rate R, N/m.
    pub fn axial_stiffness(&self) -> f64 {
        let (d, big_d) = (self.wire_diameter, self.coil_diameter);
        self.options.shear_modulus * d.powi(4) / (8.0 * big_d.powi(3) * self.active_coils)
    }

    /// w = D / d.
    pub fn spring_index(&self) -> f64 {
        self.coil_diameter / self.wire_diameter
    }

    /// Wahl's factor.
    pub fn wahl_factor(&self) -> f64 {
        let w = self.spring_index();
        (4.0 * w - 1.0) / (4.0 * w - 4.0) + 0.615 / w
    }

    /// Shear stress under a load (N) with Wahl's factor, Pa.
    pub fn shear_stress(&self, load: f64) -> f64 {
        self.wahl_factor() * self.uncorrected_stress(load)
    }

    /// Shear stress of a straight bar under the torsion of a load (N), Pa.
    pub fn uncorrected_stress(&self, load: f64) -> f64 {
        8.0 * load * self.coil_diameter / (PI * self.wire_diameter.powi(3))
    }

    /// All coils touching, m.
    pub fn solid_height(&self) -> f64 {
        self.options.total_coils.unwrap_or(self.active_coils + 2.0) * self.wire_diameter
    }

    /// Deflection at which all coils touch, m.
    pub fn solid_deflection(&self) -> f64 {
        self.free_length - self.solid_height()
    }

    /// Mass of the active coils, kg.
    pub fn active_mass(&self) -> f64 {
        let wire = PI * self.wire_diameter.powi(2) / 4.0;
        self.options.density * wire * PI * self.coil_diameter * self.active_coils
    }

    /// Lowest surge frequency between parallel plates, Hz.
    pub fn surge_frequency(&self) -> f64 {
        0.5 * (self.axial_stiffness() / self.active_mass()).sqrt()
    }

    /// Deflection under a static load (N), m.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load that is negative or drives the coils together.
    pub fn deflection(&self, load: f64) -> Result<f64> {
        let deflection = not_negative("load", load, "N")? / self.axial_stiffness();
        let solid = self.solid_deflection();
        if deflection < solid {
            return Ok(deflection);
        }
        Err(Error::invalid(
            "load",
            format!("{load} N"),
            format!(
                "must be below {:.4} N, at which the coils touch",
                solid * self.axial_stiffness()
            ),
            "take a stiffer or longer spring",
        ))
    }

    /// RQ / R at a relative deflection xi = s / L0. With x = lam xi Q the formula of the standard is
    /// 1 / (G/E + lam^2 (1/2 + G/E) (1 - xi + xi G/E)^2 (tan x / x - 1) / x^2), which loses nothing near
    /// xi = 0.
    fn lateral_ratio(&self, xi: f64) -> f64 {
        let g = self.options.shear_modulus / self.options.young_modulus;
        let lam = self.free_length / self.coil_diameter;
        let left = 1.0 - xi + g * xi;
        let x = lam * ((0.5 + g) * xi * left).sqrt();
        1.0 / (g + lam * lam * (0.5 + g) * left * left * tan_excess(x))
    }

    /// Lateral stiffness with its ends held parallel under a static load (N), N/m; negative past the
    /// deflection at which it sways.
    ///
    /// # Errors
    /// As [`Self::deflection`].
    pub fn lateral_stiffness(&self, load: f64) -> Result<f64> {
        let xi = self.deflection(load)? / self.free_length;
        Ok(self.axial_stiffness() * self.lateral_ratio(xi))
    }

    /// The column of Haringx it is under a static load (N).
    ///
    /// # Errors
    /// As [`Self::deflection`].
    pub fn column(&self, load: f64) -> Result<Column> {
        let g = self.options.shear_modulus / self.options.young_modulus;
        let height = self.free_length - self.deflection(load)?;
        let rigidity = self.axial_stiffness() * height;
        Ok(Column {
            shear: rigidity / g,
            bending: rigidity * self.coil_diameter.powi(2) / (4.0 * (0.5 + g)),
            height,
        })
    }

    /// Deflection sK at which it buckles, m; `None` if it does not at any.
    pub fn buckling_deflection(&self) -> Option<f64> {
        let g = self.options.shear_modulus / self.options.young_modulus;
        let slender =
            PI * self.coil_diameter / (self.options.ends.length_factor() * self.free_length);
        let root = 1.0 - (1.0 - g) / (0.5 + g) * slender * slender;
        // Not real: stable. Beyond the free length: out of reach.
        (root >= 0.0).then(|| self.free_length * 0.5 / (1.0 - g) * (1.0 - root.sqrt()))
    }

    /// Free length below which it does not buckle at any deflection, m.
    pub fn stable_length(&self) -> f64 {
        let g = self.options.shear_modulus / self.options.young_modulus;
        PI * self.coil_diameter / self.options.ends.length_factor() * ((1.0 - g) / (0.5 + g)).sqrt()
    }

    /// Limits of the spring: solid height, buckling, stress.
    ///
    /// # Errors
    /// [`Error::Invalid`] if a limit is no positive number.
    pub fn allowed(&self) -> Result<Vec<Allowed>> {
        let mut limits = vec![
            Allowed::new(
                "coils do not touch",
                AllowedQuantity::Compression,
                self.solid_deflection(),
                "free length less solid height",
            )?
            .in_motion(),
        ];
        if let Some(buckling) = self.buckling_deflection() {
            limits.push(Allowed::new(
                "spring does not buckle",
                AllowedQuantity::Compression,
                buckling,
                "EN 13906-1 (from memory)",
            )?);
        }
        if let Some(stress) = self.options.allowed_stress {
            limits.push(Allowed::new(
                format!("shear stress within {} N/mm^2", (stress / 1e6 * 1e4).round() / 1e4),
                AllowedQuantity::Load,
                stress / self.shear_stress(1.0),
                "Wahl's factor; stress given with the spring",
            )?);
        }
        Ok(limits)
    }

    /// The mount it is at a position (m), its lateral stiffness that under a static load (N).
    ///
    /// # Errors
    /// [`Error::Invalid`] for a load that drives the coils together or makes the spring sway by itself.
    pub fn mount(&self, position: Vector3<f64>, load: Option<f64>) -> Result<Mount> {
        let lateral = self.lateral_stiffness(load.unwrap_or(0.0))?;
        if lateral <= 0.0 {
            return Err(Error::invalid(
                "load",
                format!("{} N", load.unwrap_or(0.0)),
                format!(
                    "leaves a lateral stiffness of {lateral:.4} N/m: the spring sways by itself"
                ),
                "take a wider or shorter spring, or guide it",
            ));
        }
        Mount::new(position, [lateral, lateral, self.axial_stiffness()])?
            .with_loss_factor([self.options.loss_factor; 3])
            .and_then(|mount| Ok(mount.with_allowed(self.allowed()?)))
    }
}
