//! What can be said of a press of which only five facts are known?
//!
//! Tonnage F, mass M (or not even that), outline L x B x H (left-right, front-back, height), stroke
//! rate n and stroke s, heaviest die m_d; and the kind of press. From these, with factors of common
//! practice:
//!
//! - mass                M = a F where it is not known (a in kg/kN, F in kN),
//! - center of mass      at c H above the floor, b B behind the middle (gap-frame: off the throat),
//! - radii of gyration   r_x = g sqrt(H^2 + B^2), r_y = g sqrt(H^2 + L^2), r_z = g sqrt(L^2 + B^2);
//!   g = 0.29 is a homogeneous box (sqrt(1/12)), 0.36 two masses, at crown and bed,
//! - slide               m_s = u M, and the part v of the die that rides on it,
//! - slide force         (m_s + v m_d) (s/2) (2 pi n)^2, the first harmonic of its inertia,
//! - die                 its center at e H above the floor, in the middle.
//!
//! Each factor is an [`Assumption`]: a value, its band, who can confirm it. They are common
//! practice, from memory, for presses as they are usually built; none comes from a standard. The
//! number of facts is that of a first call, not of a design: an answer from them says which two
//! numbers to ask for next, and must be computed again with what is on the drawing.
//!
//! The slide's first harmonic is what a slider-crank of long connecting rod gives; a short rod, a
//! link drive or a servo differs (18.95 against 15.79 kN for a rod of five cranks).

use std::f64::consts::PI;

use nalgebra::{Matrix3, Vector3};
use serde::{Deserialize, Serialize};

use super::body::RigidBody;
use super::die::Die;
use crate::error::{Error, Result, each, finite, not_negative, positive};

/// Where every factor comes from.
pub const SOURCE: &str = "common practice";

/// How a press is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum PressKind {
    /// Mechanical, two or more columns with crown, bed and slide between.
    StraightSide,
    /// C-frame, open at the front.
    GapFrame,
    /// Hydraulic, down-acting.
    Hydraulic,
}

impl PressKind {
    /// Every kind by its name.
    pub const NAMES: [(&'static str, Self); 3] = [
        ("straight-side", Self::StraightSide),
        ("gap-frame", Self::GapFrame),
        ("hydraulic", Self::Hydraulic),
    ];

    /// The kind of that name.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the names there are.
    pub fn from_name(name: &str) -> Result<Self> {
        crate::error::by_name("kind", name, Self::NAMES.into_iter(), ["use", "there is none"])
    }

    /// Its name.
    pub fn name(self) -> &'static str {
        Self::NAMES.iter().find(|(_, kind)| *kind == self).map_or("", |(name, _)| name)
    }
}

/// A number that stands in for one nobody has given.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Assumption {
    /// Key ("center_height").
    pub key: String,
    /// What it is ("center of mass above the floor, over the height").
    pub what: String,
    /// Value, in `unit`.
    pub value: f64,
    /// Lower end of what is usual.
    pub low: f64,
    /// Upper end of what is usual.
    pub high: f64,
    /// SI unit; empty for a ratio.
    pub unit: String,
    /// Who can confirm it.
    pub confirm: String,
    /// Where the value comes from.
    pub source: String,
}

impl Assumption {
    fn middle(key: &str, what: &str, [low, high]: [f64; 2], unit: &str, confirm: &str) -> Self {
        Self {
            key: key.into(),
            what: what.into(),
            value: 0.5 * (low + high),
            low,
            high,
            unit: unit.into(),
            confirm: confirm.into(),
            source: SOURCE.into(),
        }
    }
}

/// What is usual for a kind of press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Practice {
    /// Mass over tonnage, kg/kN.
    pub mass_per_kn: Assumption,
    /// Height of the center of mass over that of the machine.
    pub center_height: Assumption,
    /// Distance of the center of mass behind the middle, over the depth.
    pub center_back: Option<Assumption>,
    /// Radius of gyration over the diagonal.
    pub gyration: Assumption,
    /// Mass of the slide over that of the machine.
    pub slide_share: Assumption,
    /// Part of the die that rides on the slide.
    pub upper_die_share: Assumption,
    /// Height of the die's center of mass over that of the machine.
    pub die_height: Assumption,
}

impl Practice {
    /// What is usual for a kind of press.
    pub fn of(kind: PressKind) -> Self {
        use PressKind::{GapFrame, Hydraulic, StraightSide};
        let maker = "maker of the press (drawing)";
        let die = "maker of the die";
        let weighed = "nameplate, shipping papers or a weighing";
        let usual = Assumption::middle;
        let mass = |band| usual("mass_per_kN", "mass over tonnage, kg/kN", band, "kg/kN", weighed);
        let mass_per_kn = match kind {
            StraightSide => mass([12.0, 20.0]),
            GapFrame => mass([6.0, 10.0]),
            // Frames from four posts to welded boxes: the widest band.
            Hydraulic => mass([6.0, 14.0]),
        };
        let height = match kind {
            StraightSide => [0.50, 0.60],
            GapFrame => [0.45, 0.52],
            Hydraulic => [0.55, 0.65],
        };
        let back = "center of mass off the throat, over the depth";
        Self {
            mass_per_kn,
            center_height: usual(
                "center_height",
                "center of mass above the floor, over the height",
                height,
                "",
                maker,
            ),
            center_back: (kind == GapFrame)
                .then(|| usual("center_back", back, [0.05, 0.15], "", maker)),
            gyration: usual(
                "gyration",
                "radius of gyration over the diagonal",
                [0.29, 0.36],
                "",
                maker,
            ),
            slide_share: usual("slide_share", "slide over the machine", [0.08, 0.15], "", maker),
            upper_die_share: usual(
                "upper_die_share",
                "part of the die that rides on the slide",
                [0.4, 0.6],
                "",
                die,
            ),
            die_height: usual(
                "die_height",
                "center of the die above the floor, over the height",
                [0.25, 0.40],
                "",
                die,
            ),
        }
    }
}

impl Practice {
    /// Every factor there is for this kind of press.
    pub fn all_mut(&mut self) -> Vec<&mut Assumption> {
        let Self {
            mass_per_kn,
            center_height,
            center_back,
            gyration,
            slide_share,
            upper_die_share,
            die_height,
        } = self;
        [mass_per_kn, center_height]
            .into_iter()
            .chain(center_back)
            .chain([gyration, slide_share, upper_die_share, die_height])
            .collect()
    }
}

/// What is known of a press.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Facts {
    /// How it is built.
    pub kind: PressKind,
    /// Rated force, N.
    pub tonnage: f64,
    /// Mass without die, kg; `None`: not known.
    pub mass: Option<f64>,
    /// Left-right, front-back, height, m.
    pub outline: [f64; 3],
    /// Strokes a second, Hz.
    pub stroke_rate: f64,
    /// Stroke of the slide, m.
    pub stroke: f64,
    /// Mass of the heaviest die, kg; zero: without die.
    pub heaviest_die: f64,
}

/// What the facts and common practice give.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FirstAnswer {
    /// The machine without die.
    pub body: RigidBody,
    /// The heaviest die; `None` for a mass of zero.
    pub die: Option<Die>,
    /// Slide with the upper half of the heaviest die, kg.
    pub moving_mass: f64,
    /// First harmonic of its inertia, vertical, peak, N.
    pub slide_force: f64,
    /// Stroke rate, Hz.
    pub stroke_rate: f64,
    /// Where the slide moves: above the middle, at the height of the center of mass, m.
    pub slide_at: Vector3<f64>,
    /// What was assumed for it.
    pub assumptions: Vec<Assumption>,
}

impl FirstAnswer {
    /// What an answer from a few facts is, and is not.
    pub const SCOPE: &'static str = "the machine is estimated from a few facts and common practice: \
a first answer, to be computed again with mass, center of mass and inertia from its maker";
}

/// Name of the heaviest die as a load case.
pub const HEAVIEST_DIE: &str = "heaviest die";

/// Below this a tonnage is tons that were written without their unit, N.
const LEAST_TONNAGE: f64 = 10e3;

/// Above this a stroke rate is strokes a minute that were written without their unit, Hz.
const GREATEST_RATE: f64 = 50.0;

/// Body, die and slide force from a few facts, with the factors of `practice` (those usual for the
/// kind of press: [`Practice::of`]).
///
/// # Errors
/// [`Error::Invalid`] for a fact that is not positive (the heaviest die may be zero), a tonnage below
/// 10 kN or a stroke rate above 50 Hz (a unit is missing), a mass that is not given where there is
/// no common figure for it, and factors of no real machine.
pub fn first_answer(facts: &Facts, practice: &Practice) -> Result<FirstAnswer> {
    let mut assumptions = Vec::new();
    let mut assume = |a: &Assumption| -> Result<f64> {
        let value = finite(&a.key, a.value, &a.unit)?;
        assumptions.push(a.clone());
        Ok(value)
    };
    check(facts)?;
    let [length, depth, height] = facts.outline;
    let mass = match facts.mass {
        Some(mass) => positive("mass", mass, "kg")?,
        None => {
            let usual = &practice.mass_per_kn;
            positive(&usual.key, assume(usual)?, "kg/kN")? * 1e-3 * facts.tonnage
        }
    };
    let up = within("center_height", assume(&practice.center_height)?)? * height;
    let back = match &practice.center_back {
        Some(usual) => assume(usual)? * depth,
        None => 0.0,
    };
    let g = positive("gyration", assume(&practice.gyration)?, "")?;
    let about = |a: f64, b: f64| mass * g * g * (a * a + b * b);
    let inertia = Vector3::new(about(height, depth), about(height, length), about(length, depth));
    let slide = within("slide_share", assume(&practice.slide_share)?)? * mass;
    let (die, upper) = if facts.heaviest_die > 0.0 {
        let upper = within("upper_die_share", assume(&practice.upper_die_share)?)?;
        let at = within("die_height", assume(&practice.die_height)?)? * height;
        let die = Die::new(HEAVIEST_DIE, facts.heaviest_die, Vector3::new(0.0, 0.0, at), None)?;
        (Some(die), upper * facts.heaviest_die)
    } else {
        (None, 0.0)
    };
    let omega = 2.0 * PI * facts.stroke_rate;
    let moving_mass = slide + upper;
    Ok(FirstAnswer {
        body: RigidBody::new(mass, Vector3::new(0.0, back, up), Matrix3::from_diagonal(&inertia))?,
        die,
        moving_mass,
        slide_force: moving_mass * 0.5 * facts.stroke * omega * omega,
        stroke_rate: facts.stroke_rate,
        slide_at: Vector3::new(0.0, 0.0, up),
        assumptions,
    })
}

fn check(facts: &Facts) -> Result<()> {
    positive("tonnage", facts.tonnage, "N")?;
    if facts.tonnage < LEAST_TONNAGE {
        return Err(Error::invalid(
            "tonnage",
            format!("{} N", facts.tonnage),
            "is less than any press has: its unit is missing",
            "say which tons: \"400 tonf\" (short), \"400 tf\" (metric), or \"4000 kN\"",
        ));
    }
    each(positive, "outline", &facts.outline, "m")?;
    positive("stroke", facts.stroke, "m")?;
    positive("stroke_rate", facts.stroke_rate, "Hz")?;
    if facts.stroke_rate > GREATEST_RATE {
        return Err(Error::invalid(
            "stroke_rate",
            format!("{} Hz", facts.stroke_rate),
            "is faster than any press: its unit is missing",
            "write strokes a minute as \"40 spm\"",
        ));
    }
    not_negative("heaviest_die", facts.heaviest_die, "kg")?;
    Ok(())
}

/// A part of a whole.
fn within(argument: &str, value: f64) -> Result<f64> {
    if value > 0.0 && value < 1.0 {
        return Ok(value);
    }
    Err(Error::invalid(
        argument,
        value,
        "must be between 0 and 1",
        "give it as a part of the whole",
    ))
}
