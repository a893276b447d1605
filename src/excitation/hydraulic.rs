//! What is stored in the oil of a hydraulic press, and what does its sudden release do to the frame?
//!
//! Oil column of length L under a piston of area A, bulk modulus B:
//!
//! k_oil = B A / L,   energy F^2 / (2 k_oil),   in series with the frame: 1/k = 1/k_oil + 1/k_frame.
//!
//! When the pressure is let off within the time T, the stretched frame closes by X = F / k_frame. The
//! mass m that springs back with it (crown and cylinder) moves as a cycloid,
//! x = X (t/T - sin(2 pi t/T) / (2 pi)), down, and pushes the rest of the machine up and then down:
//!
//! F(t) = m X 2 pi / T^2 sin(2 pi t / T), without impulse in sum: all of it is internal.
//!
//! Assumptions: stiff cylinder and pipes (they lower k_oil), no gas in the oil (bulk modulus of mineral
//! oil 1.2 to 1.6 GPa at working pressure, common practice), a release without ringing. Where the frame
//! rings, use the press with inner masses.
//!
//! Source: textbook hydraulics; pulse derived here.

use nalgebra::Vector3;
use num_complex::Complex64;
use serde::{Deserialize, Serialize};
use std::f64::consts::TAU;

use super::{Action, Segment, Source};
use crate::error::{Result, each, finite, positive};

/// Force, oil column and frame of a hydraulic press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Hydraulic {
    /// Force held before the release, N.
    pub force: f64,
    /// Area of the piston, m^2.
    pub piston_area: f64,
    /// Length of the oil column, m.
    pub column: f64,
    /// Bulk modulus of the oil, Pa.
    pub bulk_modulus: f64,
    /// Stiffness of the frame between cylinder and bed, N/m.
    pub frame_stiffness: f64,
}

impl Hydraulic {
    /// A press that holds a force (N) with a piston (m^2) on an oil column (m) of a bulk modulus (Pa)
    /// in a frame (N/m).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for anything that is not positive.
    pub fn new(
        force: f64,
        piston_area: f64,
        column: f64,
        bulk_modulus: f64,
        frame_stiffness: f64,
    ) -> Result<Self> {
        Ok(Self {
            force: positive("force", force, "N")?,
            piston_area: positive("piston_area", piston_area, "m^2")?,
            column: positive("column", column, "m")?,
            bulk_modulus: positive("bulk_modulus", bulk_modulus, "Pa")?,
            frame_stiffness: positive("frame_stiffness", frame_stiffness, "N/m")?,
        })
    }

    /// Pressure of the oil, Pa.
    pub fn pressure(&self) -> f64 {
        self.force / self.piston_area
    }

    /// k_oil = B A / L, N/m.
    pub fn oil_stiffness(&self) -> f64 {
        self.bulk_modulus * self.piston_area / self.column
    }

    /// Stiffness of oil and frame in series, N/m.
    pub fn series_stiffness(&self) -> f64 {
        1.0 / (1.0 / self.oil_stiffness() + 1.0 / self.frame_stiffness)
    }

    /// How much shorter the oil column is under the force, m.
    pub fn oil_shortening(&self) -> f64 {
        self.force / self.oil_stiffness()
    }

    /// How much longer the frame is under the force, m.
    pub fn frame_stretch(&self) -> f64 {
        self.force / self.frame_stiffness
    }

    /// Energy in the oil, J.
    pub fn oil_energy(&self) -> f64 {
        0.5 * self.force * self.oil_shortening()
    }

    /// Energy in the frame, J.
    pub fn frame_energy(&self) -> f64 {
        0.5 * self.force * self.frame_stretch()
    }

    /// What the release within a time (s) does to the machine, the mass (kg) that springs back at a
    /// point (m; `None`: on the vertical through the center of mass).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a mass or time that is not positive.
    pub fn decompression(
        &self,
        springing_mass: f64,
        time: f64,
        at: Option<Vector3<f64>>,
    ) -> Result<Action> {
        positive("springing_mass", springing_mass, "kg")?;
        positive("time", time, "s")?;
        each(finite, "at", at.iter().flatten(), "m")?;
        let peak = springing_mass * self.frame_stretch() * TAU / (time * time);
        let wave = (Complex64::new(0.0, -peak), Complex64::new(0.0, TAU / time));
        let segment = Segment { exponentials: vec![wave], ..Segment::line(0.0, time, 0.0, 0.0) };
        Ok(Action::force(Source::Other, Vector3::z(), at, vec![segment]))
    }
}
