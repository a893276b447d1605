//! How does the slide move, and what does its motion do to the frame?
//!
//! The crank turns by theta; theta = 0 has the crank pin at the top (top dead center of a crank drive
//! without offset). Every mechanism gives the slide's height z(theta) with its exact derivatives, so
//!
//! z_dot = z' omega,  z_ddot = z'' omega^2 + z' alpha,  omega = theta_dot, alpha = theta_ddot.
//!
//! Heights are measured from the lowest point of the slide (bottom dead center), up positive; speeds
//! and accelerations are up positive too.
//!
//! - [`Crank`]: slider-crank and eccentric, above or below the slide, with offset;
//! - [`Link`]: six-bar knuckle and link drives;
//! - [`Profile`]: a table, joined by a periodic spline (servo profiles).
//!
//! Limits: rigid links, no clearance; the crank's motion is given, not disturbed by the load.

mod crank;
mod harmonics;
mod inertia;
mod jet;
mod link;
mod profile;

pub use crank::{Crank, CrankSide};
pub use link::{Branch, Link};
pub use profile::Profile;

use nalgebra::Vector3;
use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, TAU};

use crate::error::{Error, Result, finite, not_negative, positive};
use jet::Jet;

/// Moving pins of a mechanism from the crankshaft, to the side u and up z, m.
pub(super) struct Points {
    /// Crank pin; none for a tabulated motion.
    crank_pin: Option<(Jet, Jet)>,
    /// Pin between coupler and rocker of a link drive.
    rocker_pin: Option<(Jet, Jet)>,
    /// Pin at the driven end of the connecting rod.
    rod: Option<(Jet, Jet)>,
    /// Height of the slide's pin.
    slide: Jet,
}

/// What moves the slide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Mechanism {
    /// Slider-crank or eccentric.
    Crank(Crank),
    /// Six-bar link drive.
    Link(Link),
    /// Tabulated motion.
    Profile(Profile),
}

impl Mechanism {
    fn points(&self, theta: f64) -> Points {
        match self {
            Self::Crank(crank) => crank.points(theta),
            Self::Link(link) => link.points(theta),
            Self::Profile(profile) => {
                let slide = profile.jet(theta);
                Points { crank_pin: None, rocker_pin: None, rod: None, slide }
            }
        }
    }

    /// Where the slide is highest and lowest: (angle, rad in 0..2 pi; height, m) of each.
    fn dead_centers(&self) -> [(f64, f64); 2] {
        if let Self::Crank(crank) = self {
            let ((top, bottom), (high, low)) = (crank.dead_centers(), crank.heights());
            return [(top, high), (bottom, low)];
        }
        let candidates = match self {
            Self::Profile(profile) => profile.stationary(),
            _ => self.stationary(),
        };
        let at = |theta: f64| (theta.rem_euclid(TAU), self.points(theta).slide.f);
        let mut ends = [at(0.0); 2];
        for (theta, height) in candidates.into_iter().map(at) {
            if height > ends[0].1 {
                ends[0] = (theta, height);
            }
            if height < ends[1].1 {
                ends[1] = (theta, height);
            }
        }
        ends
    }

    /// Angles at which the slide turns, by bisection between the steps of a fine scan.
    fn stationary(&self) -> Vec<f64> {
        const STEPS: u32 = 1440;
        let speed = |theta: f64| self.points(theta).slide.d;
        let step = TAU / f64::from(STEPS);
        let mut out = Vec::new();
        for i in 0..STEPS {
            let [mut a, mut b] = [f64::from(i) * step, f64::from(i + 1) * step];
            let from = speed(a);
            if from * speed(b) > 0.0 {
                continue;
            }
            for _ in 0..60 {
                let middle = (a + b) / 2.0;
                *(if from * speed(middle) > 0.0 { &mut a } else { &mut b }) = middle;
            }
            out.push((a + b) / 2.0);
        }
        out
    }
}

/// Direction of the crankshaft.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Shaft {
    /// Left-right: the rod swings front and back.
    X,
    /// Front-back: the rod swings left and right.
    Y,
}

/// Sense in which the crank turns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Rotation {
    /// Right-handed about the shaft's axis: about +y the pin goes from the top toward +x, about +x
    /// from the top toward -y.
    Right,
    /// Left-handed; the mechanism is the mirror image.
    Left,
    /// Two equal cranks side by side turn opposite ways and share all masses: their horizontal forces
    /// and couples cancel.
    Pair,
}

impl Shaft {
    /// Every direction with its name.
    pub const ALL: [(&'static str, Self); 2] = [("x", Self::X), ("y", Self::Y)];
}

impl Rotation {
    /// Every sense with its name.
    pub const ALL: [(&'static str, Self); 3] =
        [("right", Self::Right), ("left", Self::Left), ("pair", Self::Pair)];
}

/// A counter-slide against the slide's inertia: it moves on the slide's line, driven by the same
/// shaft through a pin opposite the crank pin and a rod to the other side, so that it mirrors the
/// slide's motion.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CounterSlide {
    /// Mass, kg.
    pub mass: f64,
    /// Its drive.
    pub crank: Crank,
}

/// A slide and its drive: kinematics, moving masses and where they act. Make one by
/// [`SlideDrive::crank`], [`SlideDrive::link`] or [`SlideDrive::profile`], set the public fields, and
/// call [`SlideDrive::checked`].
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SlideDrive {
    mechanism: Mechanism,
    /// Angle and height of the highest and lowest position.
    dead_centers: [(f64, f64); 2],
    /// Mass of the slide without upper die, kg.
    pub mass: f64,
    /// Mass of the upper die, which moves with the slide, kg.
    pub upper_die_mass: f64,
    /// Upward force of the counterbalance on the slide, N. It acts between slide and frame, so it
    /// loads the connecting rod, not the floor.
    pub counterbalance: f64,
    /// Mass of the connecting rods, kg.
    pub rod_mass: f64,
    /// Place of the rod's center of mass: share of its length from the driven pin toward the slide.
    pub rod_center: f64,
    /// Moment of inertia of the rods about their center of mass, kg m^2; none: that of the two masses
    /// at the pins, rod_mass l^2 rod_center (1 - rod_center).
    pub rod_inertia: Option<f64>,
    /// Unbalance of crank webs and eccentric on the side of the pin, kg m.
    pub crank_unbalance: f64,
    /// Unbalance of the counterweights opposite the pin, kg m.
    pub rotating_balance: f64,
    /// Counter-slide, if there is one.
    pub counter_slide: Option<CounterSlide>,
    /// Point of the slide's line of action at the height of the crankshaft, m.
    pub at: Vector3<f64>,
    /// Direction of the crankshaft.
    pub shaft: Shaft,
    /// Sense of rotation.
    pub rotation: Rotation,
}

impl SlideDrive {
    /// Slide of that mass (kg) on a slider-crank or an eccentric.
    ///
    /// # Errors
    /// A mass that is not positive.
    pub fn crank(mass: f64, crank: Crank) -> Result<Self> {
        Self::new(mass, Mechanism::Crank(crank))
    }

    /// Slide of that mass (kg) on a six-bar link drive.
    ///
    /// # Errors
    /// A mass that is not positive, or a linkage that cannot turn over.
    pub fn link(mass: f64, link: Link) -> Result<Self> {
        Self::new(mass, Mechanism::Link(link.checked()?))
    }

    /// Slide of that mass (kg) with a tabulated motion.
    ///
    /// # Errors
    /// A mass that is not positive.
    pub fn profile(mass: f64, profile: Profile) -> Result<Self> {
        Self::new(mass, Mechanism::Profile(profile))
    }

    fn new(mass: f64, mechanism: Mechanism) -> Result<Self> {
        positive("mass", mass, "kg")?;
        Ok(Self {
            dead_centers: mechanism.dead_centers(),
            mechanism,
            mass,
            upper_die_mass: 0.0,
            counterbalance: 0.0,
            rod_mass: 0.0,
            rod_center: 1.0 / 3.0,
            rod_inertia: None,
            crank_unbalance: 0.0,
            rotating_balance: 0.0,
            counter_slide: None,
            at: Vector3::zeros(),
            shaft: Shaft::Y,
            rotation: Rotation::Right,
        })
    }

    /// The same drive with a counter-slide of that mass (kg), stroke (m) and rod ratio.
    ///
    /// # Errors
    /// A mass or stroke that is not positive, a rod ratio not above one.
    pub fn with_counter_slide(mut self, mass: f64, stroke: f64, rod_ratio: f64) -> Result<Self> {
        let crank = Crank::from_stroke(stroke, rod_ratio, 0.0);
        let mut crank = crank.map_err(|e| e.within("counter_slide"))?;
        if let Mechanism::Crank(main) = &self.mechanism {
            crank.side = main.side;
        }
        self.counter_slide = Some(CounterSlide { mass, crank });
        self.checked()
    }

    /// The drive, if its numbers are possible.
    ///
    /// # Errors
    /// Masses below zero, a rod's center of mass outside the rod, parts that a tabulated motion does
    /// not know.
    pub fn checked(self) -> Result<Self> {
        positive("mass", self.mass, "kg")?;
        not_negative("upper_die_mass", self.upper_die_mass, "kg")?;
        not_negative("counterbalance", self.counterbalance, "N")?;
        not_negative("rod_mass", self.rod_mass, "kg")?;
        if !(0.0..=1.0).contains(&self.rod_center) {
            return Err(Error::invalid(
                "rod_center",
                self.rod_center,
                "must be between 0 (driven pin) and 1 (slide pin)",
                "give the share of the rod's length from the driven pin to its center of mass",
            ));
        }
        if let Some(inertia) = self.rod_inertia {
            not_negative("rod_inertia", inertia, "kg m^2")?;
        }
        not_negative("crank_unbalance", self.crank_unbalance, "kg m")?;
        not_negative("rotating_balance", self.rotating_balance, "kg m")?;
        if let Some(counter) = &self.counter_slide {
            positive("counter_slide.mass", counter.mass, "kg")?;
        }
        for (i, &value) in self.at.iter().enumerate() {
            finite(&format!("at[{i}]"), value, "m")?;
        }
        if let Mechanism::Profile(_) = self.mechanism {
            self.without_crank()?;
        }
        Ok(self)
    }

    /// A table says how the slide moves, not how a crank and a rod do.
    fn without_crank(&self) -> Result<()> {
        for (name, value, unit) in [
            ("rod_mass", self.rod_mass, "kg"),
            ("crank_unbalance", self.crank_unbalance, "kg m"),
            ("rotating_balance", self.rotating_balance, "kg m"),
            ("counter_slide.mass", self.counter_slide.as_ref().map_or(0.0, |c| c.mass), "kg"),
        ] {
            if value != 0.0 {
                return Err(Error::invalid(
                    name,
                    format!("{value} {unit}"),
                    "must be left out with a tabulated motion, which does not say how crank and rod move",
                    "add the rod's share at the slide to `mass`, or describe the drive by its lengths",
                ));
            }
        }
        Ok(())
    }

    /// What moves the slide.
    pub fn mechanism(&self) -> &Mechanism {
        &self.mechanism
    }

    /// Mass that moves up and down with the slide: slide and upper die, without the rods' share, kg.
    pub fn slide_mass(&self) -> f64 {
        self.mass + self.upper_die_mass
    }

    /// Stroke: highest minus lowest position of the slide, m.
    pub fn stroke(&self) -> f64 {
        match &self.mechanism {
            Mechanism::Crank(crank) => crank.stroke(),
            _ => self.dead_centers[0].1 - self.dead_centers[1].1,
        }
    }

    /// Crank radius of a crank or link drive, half the stroke of a tabulated motion, m.
    pub fn radius(&self) -> f64 {
        match &self.mechanism {
            Mechanism::Crank(crank) => crank.radius,
            Mechanism::Link(link) => link.crank_radius,
            Mechanism::Profile(_) => self.stroke() / 2.0,
        }
    }

    /// Crank angle at which the slide is highest, rad in 0..2 pi.
    pub fn top_dead_center(&self) -> f64 {
        self.dead_centers[0].0
    }

    /// Crank angle at which the slide is lowest, rad in 0..2 pi.
    pub fn bottom_dead_center(&self) -> f64 {
        self.dead_centers[1].0
    }

    /// Height of the slide above bottom dead center at a crank angle (rad), m.
    pub fn position(&self, angle: f64) -> f64 {
        self.mechanism.points(angle).slide.f - self.dead_centers[1].1
    }

    /// Speed of the slide, up positive, at a crank angle (rad) and crank speed (rad/s), m/s.
    pub fn velocity(&self, angle: f64, omega: f64) -> f64 {
        self.mechanism.points(angle).slide.d * omega
    }

    /// Acceleration of the slide, up positive, at a crank angle (rad), crank speed (rad/s) and crank
    /// acceleration (rad/s^2), m/s^2.
    pub fn acceleration(&self, angle: f64, omega: f64, alpha: f64) -> f64 {
        self.mechanism.points(angle).slide.acceleration(omega, alpha)
    }

    /// Least and greatest acceleration of the slide over a turn, up positive, over omega^2, m.
    pub fn acceleration_range(&self) -> [f64; 2] {
        let bend = |theta: f64| self.mechanism.points(theta).slide.dd;
        if let Mechanism::Profile(profile) = &self.mechanism {
            // Straight between rows: the extremes stand at rows.
            let at = |f: fn(f64, f64) -> f64, from| profile.second.iter().copied().fold(from, f);
            return [at(f64::min, f64::INFINITY), at(f64::max, f64::NEG_INFINITY)];
        }
        const STEPS: u32 = 1440;
        let step = TAU / f64::from(STEPS);
        let extreme = |sign: f64| {
            let value = |theta: f64| sign * bend(theta);
            let near = |i: u32| f64::from(i) * step;
            let best = (0..STEPS).max_by(|&a, &b| value(near(a)).total_cmp(&value(near(b))));
            let best = best.unwrap_or(0);
            // Golden section between the neighbors of the best step.
            let (mut a, mut b) = (near(best) - step, near(best) + step);
            let golden = (5.0_f64.sqrt() - 1.0) / 2.0;
            for _ in 0..60 {
                let (x, y) = (b - golden * (b - a), a + golden * (b - a));
                if value(x) >= value(y) { b = y } else { a = x }
            }
            bend((a + b) / 2.0)
        };
        [extreme(-1.0), extreme(1.0)]
    }

    /// Crank angle of the down stroke at which the slide is `height` (m) above bottom dead center, rad:
    /// the last one before [`SlideDrive::bottom_dead_center`], not reduced to 0..2 pi, so that it is
    /// less than it.
    ///
    /// # Errors
    /// A height below zero or above the stroke.
    pub fn angle_above_bottom(&self, height: f64) -> Result<f64> {
        if !(0.0..=self.stroke()).contains(&height) {
            return Err(Error::invalid(
                "height",
                format!("{height} m"),
                format!("must be between 0 and the stroke ({} m)", self.stroke()),
                "give the height of the slide above bottom dead center",
            ));
        }
        const STEPS: u32 = 720;
        let (top, bottom) = (self.top_dead_center(), self.bottom_dead_center());
        let top = if top < bottom { top } else { top - TAU };
        let step = (bottom - top) / f64::from(STEPS);
        // The first step back from the bottom that reaches the height brackets it.
        for i in 1..=STEPS {
            let mut above = bottom - f64::from(i) * step;
            let mut below = above + step;
            if self.position(above) < height {
                continue;
            }
            for _ in 0..60 {
                let middle = (above + below) / 2.0;
                *(if self.position(middle) >= height { &mut above } else { &mut below }) = middle;
            }
            return Ok((above + below) / 2.0);
        }
        // Only rounding can keep the top itself from the height of the top.
        Ok(top)
    }

    /// What to know of the motion before using its numbers.
    pub fn notes(&self) -> &[String] {
        match &self.mechanism {
            Mechanism::Profile(profile) => &profile.notes,
            _ => &[],
        }
    }

    /// Crank speed at a stroke rate, rad/s.
    ///
    /// # Errors
    /// A rate that is not positive.
    pub fn crank_speed(stroke_rate_spm: f64) -> Result<f64> {
        positive("stroke_rate_spm", stroke_rate_spm, "strokes per minute")?;
        Ok(stroke_rate_spm * PI / 30.0)
    }
}
