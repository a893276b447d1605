//! What do settlement and creep do to level and load, and when is the tolerance lost?
//!
//! Settlement s_i (m, down positive) lowers the feet, an adjustment a_i (up positive) raises them:
//!
//! load = F - R (s - a),   tilt = t - T (s - a).
//!
//! From load and subgrade: s_i = F_i / (A_i k_s), a bed of independent springs under each plate.
//!
//! Creep of rubber: delta(t) = delta_1 (1 + c log10(t / t_1)), t_1 = 1 min, c per decade. Only what
//! differs between feet tilts: from a leveling at age t_0 on the tilt drifts by
//!
//! -T (c delta) log10(t / t_0),
//!
//! a straight line in log10 t, so the day on which the tolerance is lost follows in closed form.
//! delta_1 is the deflection by the static stiffness, which stands for one minute after loading.
//!
//! Source: the law of creep as handbooks of rubber engineering state it (from memory); its rates
//! 0.02 to 0.1 per decade (common practice). Limits: creep at constant load; its change of the loads
//! is first order; no drift of soil (give that as settlement).

use nalgebra::DVector;
use serde::{Deserialize, Serialize};

use super::influence::{Influence, equilibrium};
use crate::error::{Error, Result, each, not_negative, positive};
use crate::installation::Installation;

/// t_1: age at which the static deflection is taken, s.
pub const ONE_MINUTE: f64 = 60.0;

/// Loads and level of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Vertical load of each mount, N.
    pub load: Vec<f64>,
    /// Tilt about x and about y, rad.
    pub tilt: [f64; 2],
    /// Rise of the frame's corners by its twist, m; zero for a rigid frame.
    pub twist: f64,
}

impl State {
    /// The state after the feet have risen by these heights, m.
    pub fn moved(&self, influence: &Influence, heights: &DVector<f64>) -> Self {
        let load = &influence.load * heights;
        let tilt = &influence.tilt * heights;
        Self {
            load: self.load.iter().zip(load.iter()).map(|(f, change)| f + change).collect(),
            tilt: [self.tilt[0] + tilt[0], self.tilt[1] + tilt[1]],
            twist: self.twist + influence.twist.dot(heights),
        }
    }

    /// The state after settlement, m, down positive.
    ///
    /// # Errors
    /// [`Error::Shape`] unless there is one for each mount; [`Error::Invalid`] if not finite.
    pub fn settled(&self, influence: &Influence, settlement: &[f64]) -> Result<Self> {
        one_each("settlement", settlement, self.load.len(), "m")?;
        Ok(self.moved(influence, &-DVector::from_column_slice(settlement)))
    }

    /// Greatest tilt about either axis, rad.
    pub fn worst_tilt(&self) -> f64 {
        self.tilt[0].abs().max(self.tilt[1].abs())
    }
}

/// Settlement of each plate from its load (N), area (m^2) and the modulus of subgrade reaction
/// (N/m^3): m, down positive.
///
/// # Errors
/// [`Error::Invalid`] for an area or modulus that is not positive; [`Error::Shape`] unless there is
/// one area for each load.
pub fn from_subgrade(load: &[f64], area: &[f64], modulus: f64) -> Result<Vec<f64>> {
    positive("subgrade_modulus", modulus, "N/m^3")?;
    one_each("plate_area", area, load.len(), "m^2")?;
    each(positive, "plate_area", area, "m^2")?;
    Ok(load.iter().zip(area).map(|(f, a)| f / (a * modulus)).collect())
}

/// Ground under the plates of the mounts, from which settlement follows without a survey.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Subgrade {
    /// k_s: modulus of subgrade reaction, N/m^3.
    pub modulus: f64,
    /// A: area of the plate under each mount, m^2.
    pub plate_area: Vec<f64>,
}

impl Subgrade {
    /// Settlement under these loads (N), m, down positive.
    ///
    /// # Errors
    /// As [`from_subgrade`].
    pub fn settlement(&self, load: &[f64]) -> Result<Vec<f64>> {
        from_subgrade(load, &self.plate_area, self.modulus)
    }
}

/// How creep drifts level and load, for one decade of time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Drift {
    /// Creep of each mount in one decade of time, m.
    pub settlement: Vec<f64>,
    /// Change of each load in one decade, N.
    pub load: Vec<f64>,
    /// Change of the tilt about x and about y in one decade, rad.
    pub tilt: [f64; 2],
}

impl Drift {
    /// Drift of an installation in a load case: the creep of its mounts under their static loads.
    ///
    /// # Errors
    /// Those of the statics.
    pub fn of(inst: &Installation, case: Option<&str>, influence: &Influence) -> Result<Self> {
        let (statics, _) = equilibrium(inst, case, false, None)?;
        let settlement: Vec<f64> = inst
            .mounts
            .iter()
            .enumerate()
            .map(|(i, mount)| mount.creep_per_decade * statics.deflection[[i, 2]])
            .collect();
        Ok(Self::from_settlement(influence, settlement))
    }

    /// Drift for a creep of each foot in one decade, m.
    pub fn from_settlement(influence: &Influence, settlement: Vec<f64>) -> Self {
        let n = settlement.len();
        let still = State { load: vec![0.0; n], tilt: [0.0; 2], twist: 0.0 };
        let moved = still.moved(influence, &-DVector::from_column_slice(&settlement));
        Self { settlement, load: moved.load, tilt: moved.tilt }
    }

    /// Tilt at an age (s since the load came on) of a machine leveled to `tilt` (rad) at age
    /// `leveled` (s).
    ///
    /// # Errors
    /// [`Error::Invalid`] for ages out of order or under a minute.
    pub fn tilt_at(&self, tilt: [f64; 2], leveled: f64, age: f64) -> Result<[f64; 2]> {
        let decades = decades(leveled, age)?;
        Ok([0, 1].map(|i| tilt[i] + self.tilt[i] * decades))
    }

    /// Age (s) at which the tilt about either axis passes the tolerance (rad) for good, for a
    /// machine leveled to `tilt` at age `leveled`; `None` if creep never takes it there.
    ///
    /// # Errors
    /// [`Error::Invalid`] for a negative tolerance or an age under a minute.
    pub fn lost(&self, tilt: [f64; 2], leveled: f64, tolerance: f64) -> Result<Option<f64>> {
        not_negative("level_tolerance", tolerance, "rad")?;
        decades(leveled, leveled)?;
        let when = |i: usize| {
            let room = if self.tilt[i] > 0.0 { tolerance - tilt[i] } else { tolerance + tilt[i] };
            let decades = room / self.tilt[i].abs();
            // Beyond a thousand years nobody asks.
            (decades.is_finite() && decades < 12.0).then(|| leveled * 10f64.powf(decades.max(0.0)))
        };
        Ok([when(0), when(1)].into_iter().flatten().reduce(f64::min))
    }
}

/// log10 of the ratio of two ages, s.
fn decades(leveled: f64, age: f64) -> Result<f64> {
    positive("age", leveled, "s")?;
    if leveled < ONE_MINUTE || !age.is_finite() || age < leveled {
        return Err(Error::invalid(
            "age",
            format!("leveled at {leveled} s, asked for {age} s"),
            "the law of creep starts one minute after loading, and a forecast looks ahead",
            "give ages since the load came on: 60 s or more, the leveling first",
        ));
    }
    Ok((age / leveled).log10())
}

pub(super) fn one_each(argument: &str, values: &[f64], mounts: usize, unit: &str) -> Result<()> {
    if values.len() != mounts {
        return Err(Error::Shape {
            argument: argument.into(),
            found: format!("({},)", values.len()),
            expected: format!("({mounts},), one for each mount"),
        });
    }
    each(crate::error::finite, argument, values, unit)
}
