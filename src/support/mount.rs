//! What does one mount do? Three principal stiffnesses along its own axes, at its position.
//!
//! In its own axes (columns of R), with the motion u of its top and the rotation w of the machine:
//!
//! force on the floor = R diag(k_i (1 + j eta_i) + j omega c_i) R' u,
//! moment on the floor = R diag(kappa_i (1 + j eta_i)) R' w   (rotational stiffness, often zero).
//!
//! An axis may have a law of its own in place of k, eta and c: D_i(omega), see [`Dynamic`].
//!
//! Static stiffness is kept apart: rubber is 1.1 to 2.4 times stiffer in motion than under a load
//! that stays (common practice). Where none is given the dynamic one is used.
//!
//! A load-deflection [`Curve`] may take the place of the static stiffness along the third axis; the
//! ratio of dynamic to static stiffness then multiplies its tangent.
//!
//! Assumptions: small motion about the working point, no mass of its own (spring surge and floor
//! mobility govern above some 30 to 50 Hz, common practice). A rotational stiffness shares the
//! loss factor of the axis about which it turns.

use nalgebra::{DMatrix, Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, each, finite, not_negative, positive};
use crate::law::{Constant, Curve, Curved, Dynamic, Law, PerCoordinate};
use crate::machine::body::check_axes;
use crate::support::{Allowed, Screw};
use crate::system::{Element, Footprint, Label, wrench_transfer};

/// The vertical load a mount may carry, N. `None` where no limit is stated.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct LoadRange {
    /// Least static load, N: below it the mount is unloaded and loses its grip.
    pub min: Option<f64>,
    /// Greatest static load, N.
    pub max: Option<f64>,
    /// Greatest static plus dynamic load, N.
    pub dynamic_max: Option<f64>,
}

impl LoadRange {
    /// Checks signs and order.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative or infinite limit, or limits out of order.
    pub fn new(min: Option<f64>, max: Option<f64>, dynamic_max: Option<f64>) -> Result<Self> {
        for (name, value) in [("min", min), ("max", max), ("dynamic_max", dynamic_max)] {
            if let Some(value) = value {
                not_negative(name, value, "N")?;
            }
        }
        let ordered = |low: (&str, Option<f64>), high: (&str, Option<f64>)| match (low.1, high.1) {
            (Some(a), Some(b)) if a > b => Err(Error::invalid(
                high.0,
                format!("{b} N"),
                format!("must not be less than {} ({a} N)", low.0),
                "swap the limits",
            )),
            _ => Ok(()),
        };
        ordered(("min", min), ("max", max))?;
        ordered(("max", max), ("dynamic_max", dynamic_max))?;
        ordered(("min", min), ("dynamic_max", dynamic_max))?;
        Ok(Self { min, max, dynamic_max })
    }
}

/// A mount: where it stands, which way its axes point, how stiff and how damped it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mount {
    /// Tag ("front left"), the same from quotation to re-leveling.
    pub name: String,
    /// Where the machine sits on it, m.
    pub position: Vector3<f64>,
    /// Principal axes as columns, in the axes of the floor.
    pub axes: Matrix3<f64>,
    /// Dynamic stiffness along the principal axes, N/m; of an axis with a law of its own its static
    /// limit, which the motion does not use.
    pub stiffness: [f64; 3],
    /// Static stiffness along the principal axes, N/m.
    pub static_stiffness: [f64; 3],
    /// Viscous damping along the principal axes, N s/m.
    pub damping: [f64; 3],
    /// Loss factor along the principal axes.
    pub loss_factor: [f64; 3],
    /// Law of motion of each principal axis that has one; it takes the place of stiffness, damping
    /// and loss factor of that axis.
    pub dynamic: [Option<Dynamic>; 3],
    /// Rotational stiffness about the principal axes, N m/rad.
    pub rotational_stiffness: [f64; 3],
    /// Vertical load it may carry, N.
    pub load_range: LoadRange,
    /// Limits of the part itself: strain, stress, solid height.
    pub allowed: Vec<Allowed>,
    /// Growth of the static deflection in one decade of time, as a part of it.
    pub creep_per_decade: f64,
    /// Leveling screw, if it has one.
    pub screw: Option<Screw>,
    /// Static load over compression along the third axis; of the third entries of `stiffness` and
    /// `static_stiffness` (those of the unloaded curve) only the ratio is used then.
    pub curve: Option<Curve>,
}

impl Mount {
    /// Mount at a position (m) with dynamic stiffness (N/m) along x, y, z, undamped.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a stiffness that is negative or not finite.
    pub fn new(position: Vector3<f64>, stiffness: [f64; 3]) -> Result<Self> {
        let mount = Self {
            name: String::new(),
            position,
            axes: Matrix3::identity(),
            stiffness,
            static_stiffness: stiffness,
            damping: [0.0; 3],
            loss_factor: [0.0; 3],
            dynamic: [None, None, None],
            rotational_stiffness: [0.0; 3],
            load_range: LoadRange::default(),
            allowed: Vec::new(),
            creep_per_decade: 0.0,
            screw: None,
            curve: None,
        };
        mount.checked()
    }

    /// The same mount with a name.
    #[must_use]
    pub fn with_name(mut self, name: impl Into<String>) -> Self {
        self.name = name.into();
        self
    }

    /// The same mount with its principal axes turned (columns, in the axes of the floor).
    ///
    /// # Errors
    /// [`Error::Invalid`] if they are not orthonormal and right-handed.
    pub fn with_axes(mut self, axes: Matrix3<f64>) -> Result<Self> {
        self.axes = axes;
        self.checked()
    }

    /// The same mount with viscous damping, N s/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_damping(mut self, damping: [f64; 3]) -> Result<Self> {
        self.damping = damping;
        self.checked()
    }

    /// The same mount with loss factors.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_loss_factor(mut self, loss_factor: [f64; 3]) -> Result<Self> {
        self.loss_factor = loss_factor;
        self.checked()
    }

    /// The same mount with laws of motion along some principal axes. Stiffness, static stiffness,
    /// damping and loss factor of those axes give way to the law; its static limit is the static
    /// stiffness, unless [`Self::with_static_stiffness`] follows.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a law that is not sound.
    pub fn with_dynamic(mut self, laws: [Option<Dynamic>; 3]) -> Result<Self> {
        for (i, law) in laws.iter().enumerate() {
            if let Some(law) = law {
                self.stiffness[i] = law.static_stiffness();
                self.static_stiffness[i] = law.static_stiffness();
                (self.damping[i], self.loss_factor[i]) = (0.0, 0.0);
            }
        }
        self.dynamic = laws;
        self.checked()
    }

    /// The same mount with another dynamic stiffness, which is also the static one, N/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_stiffness(mut self, stiffness: [f64; 3]) -> Result<Self> {
        self.stiffness = stiffness;
        self.static_stiffness = stiffness;
        self.checked()
    }

    /// The same mount with a static stiffness of its own, N/m.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_static_stiffness(mut self, stiffness: [f64; 3]) -> Result<Self> {
        self.static_stiffness = stiffness;
        self.checked()
    }

    /// The same mount with rotational stiffness, N m/rad.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_rotational_stiffness(mut self, stiffness: [f64; 3]) -> Result<Self> {
        self.rotational_stiffness = stiffness;
        self.checked()
    }

    /// The same mount with limits on its load.
    #[must_use]
    pub fn with_load_range(mut self, range: LoadRange) -> Self {
        self.load_range = range;
        self
    }

    /// The same mount with limits of the part itself.
    #[must_use]
    pub fn with_allowed(mut self, allowed: Vec<Allowed>) -> Self {
        self.allowed = allowed;
        self
    }

    /// The same mount with creep: its static deflection grows by this part of it in each decade
    /// of time.
    ///
    /// # Errors
    /// [`Error::Invalid`] if negative or not finite.
    pub fn with_creep_per_decade(mut self, creep_per_decade: f64) -> Result<Self> {
        self.creep_per_decade = creep_per_decade;
        self.checked()
    }

    /// The same mount with a leveling screw.
    #[must_use]
    pub fn with_screw(mut self, screw: Screw) -> Self {
        self.screw = Some(screw);
        self
    }

    /// The same mount with a load-deflection curve along its third axis. Its dynamic stiffness
    /// there is `dynamic_ratio` times the tangent; by default the ratio of the stiffnesses along
    /// that axis, which then become those of the unloaded curve.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a ratio that is not greater than zero, or none to be had.
    pub fn with_curve(mut self, curve: Curve, dynamic_ratio: Option<f64>) -> Result<Self> {
        let own = self.stiffness[2] / self.static_stiffness[2];
        if dynamic_ratio.is_none() && !(own > 0.0 && own.is_finite()) {
            return Err(Error::invalid(
                "dynamic_ratio",
                "none",
                "a mount with a curve needs the ratio of its dynamic to its static stiffness",
                "give dynamic_ratio (1 if they are alike), or the stiffness along the third axis",
            ));
        }
        let ratio = positive("dynamic_ratio", dynamic_ratio.unwrap_or(own), "")?;
        self.static_stiffness[2] = curve.tangent(0.0)?;
        self.stiffness[2] = ratio * self.static_stiffness[2];
        self.curve = Some(curve);
        self.checked()
    }

    /// Refuses a mount that holds nothing.
    ///
    /// # Errors
    /// [`Error::Invalid`] if every stiffness is zero.
    pub fn require_stiffness(&self) -> Result<()> {
        let at_rest = self.static_stiffness.iter().chain(&self.stiffness);
        let total: f64 = at_rest.chain(&self.rotational_stiffness).sum();
        positive("stiffness", total, "N/m in all directions together").map(|_| ())
    }

    /// True if it dissipates in some direction.
    pub fn is_damped(&self) -> bool {
        self.damping.iter().chain(&self.loss_factor).any(|&x| x > 0.0)
            || self.dynamic.iter().flatten().any(Dynamic::is_damped)
    }

    /// The element it is in a system with `n` degrees of freedom, of which those of its machine
    /// begin at `first`, with the machine's center of mass at `center`.
    pub fn element(&self, n: usize, first: usize, center: &Vector3<f64>) -> Element {
        let turns = self.rotational_stiffness.iter().any(|&k| k > 0.0);
        let rank = if turns { 6 } else { 3 };
        let mut wrench = DMatrix::zeros(6, rank);
        wrench.view_mut((0, 0), (3, 3)).copy_from(&self.axes);
        if turns {
            wrench.view_mut((3, 3), (3, 3)).copy_from(&self.axes);
        }
        let mut b = DMatrix::zeros(n, rank);
        b.rows_mut(first, 6).copy_from(&(wrench_transfer(&self.position, center) * &wrench));
        Element {
            b,
            law: self.law(turns),
            label: Label { kind: "mount".into(), name: self.name.clone() },
            ground: Some(Footprint { position: self.position, wrench }),
        }
    }

    fn law(&self, turns: bool) -> Law {
        let mut law = Constant {
            stiffness: self.stiffness.to_vec(),
            static_stiffness: self.static_stiffness.to_vec(),
            loss_factor: self.loss_factor.to_vec(),
            damping: self.damping.to_vec(),
        };
        let mut dynamic: Vec<Option<Dynamic>> = self.dynamic.to_vec();
        for (i, own) in dynamic.iter_mut().enumerate() {
            let Some(constants) = own.as_ref().map(Dynamic::constants) else { continue };
            // What does not depend on frequency needs no term of its own.
            let [k, h, c] = constants.unwrap_or([0.0; 3]);
            let eta = if k > 0.0 { h / k } else { 0.0 };
            (law.stiffness[i], law.loss_factor[i], law.damping[i]) = (k, eta, c);
            if constants.is_some() {
                *own = None;
            }
        }
        if turns {
            law.stiffness.extend(self.rotational_stiffness);
            law.static_stiffness.extend(self.rotational_stiffness);
            law.loss_factor.extend(self.loss_factor);
            law.damping.extend([0.0; 3]);
            dynamic.extend([None, None, None]);
        }
        if let Some(curve) = &self.curve {
            return Law::Curve(Curved {
                axis: 2,
                curve: curve.clone(),
                dynamic_ratio: self.dynamic_ratio(),
                base: PerCoordinate { constant: law, dynamic },
                working: 0.0,
            });
        }
        if dynamic.iter().all(Option::is_none) {
            return Law::Constant(law);
        }
        Law::PerCoordinate(PerCoordinate { constant: law, dynamic })
    }

    /// Dynamic stiffness of the third axis over the tangent of its curve; none of it where a law
    /// that depends on frequency gives all.
    fn dynamic_ratio(&self) -> f64 {
        match &self.dynamic[2] {
            None => self.stiffness[2] / self.static_stiffness[2],
            Some(law) => law.constants().map_or(0.0, |[k, ..]| k / law.static_stiffness()),
        }
    }

    /// The mount itself, if every field is what it must be.
    ///
    /// # Errors
    /// [`Error::Invalid`] naming the field, its value and what is required.
    pub fn checked(self) -> Result<Self> {
        each(finite, "position", &self.position, "m")?;
        check_axes("axes", &self.axes)?;
        not_negative("creep_per_decade", self.creep_per_decade, "")?;
        let groups = [
            ("stiffness", &self.stiffness, "N/m"),
            ("static_stiffness", &self.static_stiffness, "N/m"),
            ("damping", &self.damping, "N s/m"),
            ("loss_factor", &self.loss_factor, ""),
            ("rotational_stiffness", &self.rotational_stiffness, "N m/rad"),
        ];
        for (name, values, unit) in groups {
            each(not_negative, name, values, unit)?;
        }
        self.check_laws()?;
        for i in (0..3).filter(|&i| self.dynamic[i].is_none()) {
            let (dynamic, at_rest) = (self.stiffness[i], self.static_stiffness[i]);
            if (dynamic == 0.0) != (at_rest == 0.0) {
                return Err(Error::invalid(
                    format!("static_stiffness[{i}]"),
                    format!("{at_rest} N/m"),
                    format!("must be zero exactly where stiffness is ({dynamic} N/m)"),
                    "give both, or leave static_stiffness out",
                ));
            }
        }
        if self.curve.is_some() {
            positive("stiffness[2] of a mount with a curve", self.stiffness[2], "N/m")?;
            positive(
                "static_stiffness[2] of a mount with a curve",
                self.static_stiffness[2],
                "N/m",
            )?;
            if let Some(law) = &self.dynamic[2] {
                let limit = law.static_stiffness();
                positive("static limit of dynamic[2], which a curve scales,", limit, "N/m")?;
            }
        }
        Ok(self)
    }

    fn check_laws(&self) -> Result<()> {
        for (i, law) in self.dynamic.iter().enumerate() {
            let Some(law) = law else { continue };
            law.clone().checked().map_err(|e| e.within(&format!("dynamic[{i}]")))?;
            let beside =
                [("damping", self.damping[i], "N s/m"), ("loss_factor", self.loss_factor[i], "")];
            for (name, value, unit) in beside {
                if value != 0.0 {
                    return Err(Error::invalid(
                        format!("{name}[{i}]"),
                        format!("{value} {unit}").trim_end(),
                        format!(
                            "must be zero where the axis has a law of its own ({})",
                            law.kind()
                        ),
                        "put the damping into the law",
                    ));
                }
            }
        }
        Ok(())
    }
}
