//! What is asked of a leveling plan, and what of it is refused before anything is computed?
//!
//! Defaults: half a thousandth of an inch per foot and two days of rest under load (common
//! practice), a rigid frame, loads free, the screws of the mounts. Negative tolerances, travel that
//! excludes where a screw stands, and screws without pitch are refused.

use serde::{Deserialize, Serialize};

use super::readings::Plane;
use super::settlement::{Subgrade, one_each};
use super::solve::Objective;
use super::tolerance::{COMMON_PRACTICE, Surfaces, level_tolerance};
use crate::error::{Error, Result, each, finite, not_negative, positive};

/// How the machine stood before it settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Start {
    /// It was level, with its target loads.
    #[default]
    Level,
    /// It was set down with all screws at one height: an off-center weight tilts it.
    Even,
}

/// What is asked of a plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Request {
    /// Load case in which the machine is leveled; `None`: as it runs.
    pub case: Option<String>,
    /// The weight softens the mounts against tilting.
    pub gravity_stiffness: bool,
    /// Force at one corner of the frame per meter off the plane of the others, N/m; `None`: rigid.
    pub frame_twist_stiffness: Option<f64>,
    /// How it stood before.
    pub start: Start,
    /// Settlement of each foot, m, down positive.
    pub settlement: Option<Vec<f64>>,
    /// Instead of a survey: the ground, on which the loads of the level machine settle the feet.
    pub subgrade: Option<Subgrade>,
    /// Readings: they say how it is tilted now, whatever the settlement says.
    pub plane: Option<Plane>,
    /// Greatest tilt about either axis, rad; zero asks for exactly level.
    pub level_tolerance: f64,
    /// What bed and slide must keep.
    pub surfaces: Surfaces,
    /// Part by which each load may leave its target; `None`: loads are free.
    pub load_band: Option<f64>,
    /// Target loads, N; `None`: those of the level machine.
    pub target: Option<Vec<f64>>,
    /// Least and greatest adjustment of each screw, m; `None`: the travel of the mounts' screws.
    pub travel: Option<Vec<[f64; 2]>>,
    /// Screws may only be raised.
    pub raise_only: bool,
    /// Travel of the screws that is kept for later at each end, m.
    pub reserve: f64,
    /// What is made small.
    pub objective: Objective,
    /// Lift per turn (m) and steps per turn for all screws; `None`: those of the mounts' screws.
    pub screw: Option<(f64, u32)>,
    /// Greatest tilt on the way, rad; `None`: no limit.
    pub tilt_on_the_way: Option<f64>,
    /// Age of the rubber under load when it is leveled, s.
    pub age: f64,
}

/// Rest of two days under load before the level is read (24 to 72 h, common practice), s.
pub const REST: f64 = 48.0 * 3600.0;

/// Steps of a screw of which only the pitch is told: eighth turns (common practice).
pub const STEPS_PER_TURN: u32 = 8;

impl Default for Request {
    fn default() -> Self {
        Self {
            case: None,
            gravity_stiffness: false,
            frame_twist_stiffness: None,
            start: Start::Level,
            settlement: None,
            subgrade: None,
            plane: None,
            level_tolerance: COMMON_PRACTICE,
            surfaces: Surfaces::default(),
            load_band: None,
            target: None,
            travel: None,
            raise_only: false,
            reserve: 0.0,
            objective: Objective::LeastMotion,
            screw: None,
            tilt_on_the_way: None,
            age: REST,
        }
    }
}

impl Request {
    /// Refuses what makes no sense for `n` mounts.
    ///
    /// # Errors
    /// [`Error::Invalid`] and [`Error::Shape`] naming the argument.
    pub fn check(&self, n: usize) -> Result<()> {
        level_tolerance(self.level_tolerance)?;
        not_negative("reserve", self.reserve, "m")?;
        positive("age", self.age, "s")?;
        if let Some(band) = self.load_band {
            not_negative("load_band", band, "")?;
            if band >= 1.0 {
                return Err(Error::invalid(
                    "load_band",
                    band,
                    "must be below 1: a foot that loses all its load lifts",
                    "give the part by which a load may be off its target: 0.05 to 0.2 is usual",
                ));
            }
        }
        if let Some(limit) = self.tilt_on_the_way {
            positive("tilt_on_the_way", limit, "rad")?;
        }
        if let Some(settlement) = &self.settlement {
            one_each("settlement", settlement, n, "m")?;
        }
        if let Some(subgrade) = &self.subgrade {
            if self.settlement.is_some() {
                return Err(Error::invalid(
                    "settlement",
                    "given beside subgrade_modulus",
                    "needs either settlement, or subgrade_modulus and plate_area",
                    "give one of the two",
                ));
            }
            subgrade.settlement(&vec![0.0; n])?;
        }
        if let Some(target) = &self.target {
            one_each("target", target, n, "N")?;
            each(positive, "target", target, "N")?;
        }
        if let Some((pitch, steps)) = self.screw {
            crate::support::Screw::new(pitch, steps, 0.0, 0.0)
                .map_err(|e| e.renamed("pitch", "screw_pitch"))?;
        }
        if let Some(travel) = &self.travel {
            if travel.len() != n {
                return Err(Error::Shape {
                    argument: "travel".into(),
                    found: format!("({}, 2)", travel.len()),
                    expected: format!("({n}, 2): least and greatest adjustment of each mount"),
                });
            }
            for (i, [low, high]) in travel.iter().enumerate() {
                finite(&format!("travel[{i}][0]"), *low, "m")?;
                finite(&format!("travel[{i}][1]"), *high, "m")?;
                if *low > 0.0 || *high < 0.0 {
                    return Err(Error::invalid(
                        format!("travel[{i}]"),
                        format!("({low}, {high}) m"),
                        "must hold zero, the position in which the screw stands now",
                        "count travel from where the screw stands: down negative, up positive",
                    ));
                }
            }
        }
        Ok(())
    }
}
