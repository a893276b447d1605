//! Which inputs can be axes, and what moves when one is set? A path is resolved once to a
//! [`Setter`], which then writes a number for each design and allocates nothing.
//!
//! Paths of an installation:
//!
//! | path | what moves |
//! |---|---|
//! | `mass`, `center[x]`, `inertia[xx]` ... `inertia[yz]` | the machine as it runs |
//! | `mass_and_inertia.factor` | its mass and tensor together |
//! | `cases[die in].mass` ... | the machine of a load case |
//! | `gravity` | the acceleration of gravity |
//! | `mounts.stiffness[z]` ... | every mount |
//! | `mounts[rear left].stiffness[z]`, `mounts[0, 2].stiffness` | the named or numbered ones |
//! | `points[crown].at[x]` | a named point |
//! | `shocks[jolt].peak` ... | a pulse and where it acts |
//! | `press.frame_stiffness` ... | crown, slide, frame and drive |
//! | `break_throughs[blanking].release` ... | a work force that breaks off |
//!
//! A mount has `stiffness`, `static_stiffness`, `damping`, `loss_factor`, `rotational_stiffness` and
//! `position`, each with a component or, without one, all three alike. `.factor` after any path
//! multiplies in place of setting. The static stiffness keeps its ratio to `stiffness`, as that of
//! one rubber does; `static_stiffness` moves it alone.
//!
//! A job has the paths of its register of inputs ([`crate::job::Job::inputs`]), and `mounts...`, which act on
//! what the job says. Values are set first, then factors, each in the order given.

use crate::excitation::Pulse;
use crate::installation::Installation;
use crate::job::Shock;
use crate::machine::RigidBody;
use crate::support::Mount;
use crate::units::Dimension;

use super::inside;
use super::numbers::{BodyNumbers, MountNumbers, Numbers, ShockNumbers};
use super::spec::Loads;

/// Where a number goes.
#[derive(Debug, Clone, PartialEq)]
pub struct Setter {
    pub(super) target: Target,
    /// True: multiplies what stands there.
    pub factor: bool,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) enum Target {
    Mass(usize),
    Center(usize, usize),
    Inertia(usize, usize, usize),
    MassAndInertia(usize),
    Gravity,
    Mounts(Vec<usize>, MountField, Part),
    Point(usize, usize),
    ShockAt(usize, usize),
    Pulse(usize, &'static str),
    Press(&'static str),
    Break(usize, &'static str),
}

/// One component, or all three.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Part {
    All,
    One(usize),
}

impl Part {
    /// The components it means.
    pub fn components(self) -> std::ops::Range<usize> {
        match self {
            Self::All => 0..3,
            Self::One(c) => c..c + 1,
        }
    }

    /// The static stiffness once the dynamic one has moved: their ratio stays.
    #[inline(always)]
    pub fn at_rest(before: f64, after: f64, at_rest: f64) -> f64 {
        if before == after {
            at_rest
        } else if before == at_rest || before == 0.0 {
            after
        } else {
            at_rest * (after / before)
        }
    }
}

/// A field of [`MountNumbers`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum MountField {
    /// Dynamic stiffness.
    Stiffness,
    /// Static stiffness.
    StaticStiffness,
    /// Viscous damping.
    Damping,
    /// Loss factor.
    LossFactor,
    /// Rotational stiffness.
    RotationalStiffness,
    /// Where it stands.
    Position,
}

/// Number of fields of a mount.
pub const FIELDS: usize = 6;

pub(super) const FIELD_TABLE: [(&str, MountField, Dimension); FIELDS] = [
    ("stiffness", MountField::Stiffness, Dimension::STIFFNESS),
    ("static_stiffness", MountField::StaticStiffness, Dimension::STIFFNESS),
    ("damping", MountField::Damping, Dimension::DAMPING),
    ("loss_factor", MountField::LossFactor, Dimension::RATIO),
    ("rotational_stiffness", MountField::RotationalStiffness, Dimension::ROTATIONAL_STIFFNESS),
    ("position", MountField::Position, Dimension::LENGTH),
];

pub(super) const XYZ: [&str; 3] = ["x", "y", "z"];
pub(super) const TENSOR: [(&str, usize, usize); 6] =
    [("xx", 0, 0), ("yy", 1, 1), ("zz", 2, 2), ("xy", 0, 1), ("xz", 0, 2), ("yz", 1, 2)];
/// What follows a path whose value multiplies.
pub const FACTOR: &str = ".factor";

/// What a set of setters can change, so that the rest is prepared once.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Touches {
    /// Mass, center or tensor of some body.
    pub bodies: bool,
    /// A tensor of inertia.
    pub inertia: bool,
    /// Fields of some mount, in the order of [`MountField`].
    pub fields: [bool; FIELDS],
    /// Points or shocks.
    pub beyond_lanes: bool,
    /// The inside of a press.
    pub press: bool,
}

impl Touches {
    /// What either changes.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            bodies: self.bodies | other.bodies,
            inertia: self.inertia | other.inertia,
            fields: std::array::from_fn(|i| self.fields[i] | other.fields[i]),
            beyond_lanes: self.beyond_lanes | other.beyond_lanes,
            press: self.press | other.press,
        }
    }
}

impl Setter {
    /// What it changes.
    pub fn touches(&self) -> Touches {
        let none = Touches::default();
        match &self.target {
            Target::Mass(_) | Target::Center(..) => Touches { bodies: true, ..none },
            Target::Inertia(..) | Target::MassAndInertia(_) => {
                Touches { bodies: true, inertia: true, ..none }
            }
            Target::Gravity => none,
            Target::Mounts(_, field, _) => {
                let mut fields = [false; FIELDS];
                fields[*field as usize] = true;
                // The static stiffness goes with it.
                fields[MountField::StaticStiffness as usize] |= *field == MountField::Stiffness;
                Touches { fields, ..none }
            }
            Target::Point(..) | Target::ShockAt(..) | Target::Pulse(..) => {
                Touches { beyond_lanes: true, ..none }
            }
            Target::Press(_) => Touches { press: true, ..none },
            // Its rules are tried for every design.
            Target::Break(..) => none,
        }
    }

    /// Writes the number.
    pub fn apply(&self, value: f64, numbers: &mut Numbers) {
        let put = |place: &mut f64| *place = if self.factor { *place * value } else { value };
        match &self.target {
            Target::Mass(body) => put(&mut numbers.bodies[*body].mass),
            Target::Center(body, i) => put(&mut numbers.bodies[*body].center[*i]),
            Target::Inertia(body, i, j) => {
                let inertia = &mut numbers.bodies[*body].inertia;
                put(&mut inertia[(*i, *j)]);
                inertia[(*j, *i)] = inertia[(*i, *j)];
            }
            Target::MassAndInertia(body) => {
                let body = &mut numbers.bodies[*body];
                let factor = if self.factor { value } else { value / body.mass };
                body.mass *= factor;
                body.inertia *= factor;
            }
            Target::Gravity => put(&mut numbers.gravity),
            Target::Mounts(which, field, part) => {
                for &i in which {
                    put_mount(&mut numbers.mounts[i], *field, *part, &put);
                }
            }
            Target::Point(point, i) => put(&mut numbers.points[*point][*i]),
            Target::ShockAt(shock, i) => {
                if let Some(at) = &mut numbers.shocks[*shock].at {
                    put(&mut at[*i]);
                }
            }
            Target::Pulse(shock, name) => {
                pulse(&mut numbers.shocks[*shock], name).into_iter().for_each(put);
            }
            Target::Press(name) => {
                let place = numbers.press.as_mut().and_then(|press| inside::of_press(press, name));
                place.into_iter().for_each(put);
            }
            Target::Break(i, name) => {
                inside::of_force(&mut numbers.break_throughs[*i], name).into_iter().for_each(put);
            }
        }
    }

    /// The number that stands there now, if it is one.
    pub(super) fn read(&self, numbers: &Numbers) -> Option<f64> {
        let mut all = Vec::new();
        let mut copy = numbers.clone();
        match &self.target {
            Target::Mounts(which, field, part) => {
                for &i in which {
                    let values = field_of(&mut copy.mounts[i], *field);
                    match part {
                        Part::All => all.extend_from_slice(values),
                        Part::One(c) => all.push(values[*c]),
                    }
                }
            }
            Target::Mass(body) | Target::MassAndInertia(body) => all.push(copy.bodies[*body].mass),
            Target::Center(body, i) => all.push(copy.bodies[*body].center[*i]),
            Target::Inertia(body, i, j) => all.push(copy.bodies[*body].inertia[(*i, *j)]),
            Target::Gravity => all.push(copy.gravity),
            Target::Point(point, i) => all.push(copy.points[*point][*i]),
            Target::ShockAt(shock, i) => all.extend(copy.shocks[*shock].at.map(|at| at[*i])),
            Target::Pulse(shock, name) => {
                all.extend(pulse(&mut copy.shocks[*shock], name).copied());
            }
            Target::Press(name) => {
                all.extend(
                    copy.press.as_mut().and_then(|press| inside::of_press(press, name).copied()),
                );
            }
            Target::Break(i, name) => {
                all.extend(inside::of_force(&mut copy.break_throughs[*i], name).copied());
            }
        }
        let first = *all.first()?;
        all.iter().all(|&x| x == first).then_some(first)
    }
}

fn field_of(mount: &mut MountNumbers, field: MountField) -> &mut [f64; 3] {
    match field {
        MountField::Stiffness => &mut mount.stiffness,
        MountField::StaticStiffness => &mut mount.static_stiffness,
        MountField::Damping => &mut mount.damping,
        MountField::LossFactor => &mut mount.loss_factor,
        MountField::RotationalStiffness => &mut mount.rotational_stiffness,
        MountField::Position => &mut mount.position,
    }
}

fn put_mount(mount: &mut MountNumbers, field: MountField, part: Part, put: &impl Fn(&mut f64)) {
    for c in part.components() {
        let before = mount.stiffness[c];
        put(&mut field_of(mount, field)[c]);
        if field == MountField::Stiffness {
            let at_rest = &mut mount.static_stiffness[c];
            *at_rest = Part::at_rest(before, mount.stiffness[c], *at_rest);
        }
    }
}

/// A parameter of a pulse, if its shape has it.
fn pulse<'a>(shock: &'a mut ShockNumbers, name: &str) -> Option<&'a mut f64> {
    match &mut shock.pulse {
        Pulse::HalfSine { peak, duration }
        | Pulse::Haversine { peak, duration }
        | Pulse::Rectangular { peak, duration }
        | Pulse::Triangular { peak, duration }
        | Pulse::InitialPeakSawtooth { peak, duration }
        | Pulse::TerminalPeakSawtooth { peak, duration } => match name {
            "peak" => Some(peak),
            "duration" => Some(duration),
            _ => None,
        },
        Pulse::RampStep { peak, rise, hold } => match name {
            "peak" => Some(peak),
            "rise" => Some(rise),
            "hold" => Some(hold),
            _ => None,
        },
        Pulse::ExponentialDecay { peak, time_constant, duration } => match name {
            "peak" => Some(peak),
            "time_constant" => Some(time_constant),
            "duration" => Some(duration),
            _ => None,
        },
    }
}

pub(super) const PULSE: [(&str, Dimension); 5] = [
    ("peak", Dimension::FORCE),
    ("duration", Dimension::TIME),
    ("rise", Dimension::TIME),
    ("hold", Dimension::TIME),
    ("time_constant", Dimension::TIME),
];

/// The setter of a path of an installation and what strikes it, if it is one.
pub fn setter(path: &str, installation: &Installation, loads: &Loads) -> Option<Setter> {
    let (path, factor) = path.strip_suffix(FACTOR).map_or((path, false), |p| (p, true));
    let (target, _) = target(path, installation, loads)?;
    // Mass and inertia together only scale: a value would say nothing of the inertia.
    (factor || !matches!(target, Target::MassAndInertia(_))).then_some(Setter { target, factor })
}

/// The setter of a path that acts on the mounts, if it is one.
pub fn mount_setter(path: &str, installation: &Installation) -> Option<Setter> {
    setter(path, installation, &Loads::default()).filter(|s| matches!(s.target, Target::Mounts(..)))
}

pub(super) fn target(
    path: &str,
    inst: &Installation,
    loads: &Loads,
) -> Option<(Target, Dimension)> {
    if let Some((selected, field)) = selection(path, "mounts") {
        let which = match selected {
            None => (0..inst.mounts.len()).collect(),
            Some(names) => {
                picked(names, &inst.mounts.iter().map(|m| &*m.name).collect::<Vec<_>>())?
            }
        };
        let (field, part) = component(field)?;
        let (_, field, dimension) = FIELD_TABLE.into_iter().find(|(name, ..)| *name == field)?;
        if which.iter().any(|&i| ruled(&inst.mounts[i], field, part)) {
            return None;
        }
        return Some((Target::Mounts(which, field, part), dimension));
    }
    if let Some((Some(name), rest)) = selection(path, "points") {
        let point = index_of(name, inst.points.iter().map(|p| &*p.name))?;
        return match component(rest)? {
            ("at", Part::One(c)) => Some((Target::Point(point, c), Dimension::LENGTH)),
            _ => None,
        };
    }
    if let Some((Some(name), rest)) = selection(path, "shocks") {
        let shock = index_of(name, loads.shocks.iter().map(|s| &*s.name))?;
        return shock_target(shock, rest, &loads.shocks[shock]);
    }
    if let Some((Some(name), rest)) = selection(path, "break_throughs") {
        let i = index_of(name, loads.break_throughs.iter().map(|b| &*b.name))?;
        let (name, dimension) = inside::BREAK.into_iter().find(|(name, _)| *name == rest)?;
        return Some((Target::Break(i, name), dimension));
    }
    if let Some(rest) = path.strip_prefix("press.") {
        let (name, dimension) = inside::PRESS.into_iter().find(|(name, _)| *name == rest)?;
        let press = inst.press.as_ref()?;
        // A counterbalance that is not given is no number to move.
        let is_there = name != "counterbalance" || press.counterbalance.is_some();
        return is_there.then_some((Target::Press(name), dimension));
    }
    if let Some((Some(name), rest)) = selection(path, "cases") {
        let case = index_of(name, inst.cases.iter().map(|c| &*c.name))?;
        return body_target(case + 1, rest);
    }
    match path {
        "gravity" => Some((Target::Gravity, Dimension::ACCELERATION)),
        _ => body_target(0, path),
    }
}

/// True if an axis of the mount has a law of its own, which would not see the number.
fn ruled(mount: &Mount, field: MountField, part: Part) -> bool {
    use MountField::{Damping, LossFactor, StaticStiffness, Stiffness};
    let by_law = matches!(field, Stiffness | Damping | LossFactor);
    let by_curve = matches!(field, Stiffness | StaticStiffness);
    let law = |c: usize| {
        by_law && mount.dynamic[c].is_some() || by_curve && c == 2 && mount.curve.is_some()
    };
    match part {
        Part::All => (0..3).any(law),
        Part::One(c) => law(c),
    }
}

fn body_target(body: usize, path: &str) -> Option<(Target, Dimension)> {
    match path {
        "mass" => return Some((Target::Mass(body), Dimension::MASS)),
        "mass_and_inertia" => return Some((Target::MassAndInertia(body), Dimension::MASS)),
        _ => {}
    }
    if let Some((_, i, j)) = TENSOR.into_iter().find(|(ij, ..)| path == format!("inertia[{ij}]")) {
        return Some((Target::Inertia(body, i, j), Dimension::INERTIA));
    }
    match component(path)? {
        ("center", Part::One(c)) => Some((Target::Center(body, c), Dimension::LENGTH)),
        _ => None,
    }
}

fn shock_target(s: usize, path: &str, shock: &Shock) -> Option<(Target, Dimension)> {
    if let ("at", Part::One(c)) = component(path)? {
        return shock.at.map(|_| (Target::ShockAt(s, c), Dimension::LENGTH));
    }
    let (name, dimension) = PULSE.into_iter().find(|(name, _)| *name == path)?;
    let mut numbers = ShockNumbers { pulse: shock.pulse.clone(), at: None };
    pulse(&mut numbers, name)?;
    Some((Target::Pulse(s, name), dimension))
}

/// `head.rest` or `head[names].rest`.
fn selection<'a>(path: &'a str, head: &str) -> Option<(Option<&'a str>, &'a str)> {
    let rest = path.strip_prefix(head)?;
    if let Some(rest) = rest.strip_prefix('.') {
        return Some((None, rest));
    }
    let (names, rest) = rest.strip_prefix('[')?.split_once("].")?;
    Some((Some(names), rest))
}

/// `field[x]` or `field`.
fn component(path: &str) -> Option<(&str, Part)> {
    let Some((field, rest)) = path.split_once('[') else { return Some((path, Part::All)) };
    let axis = rest.strip_suffix(']')?;
    XYZ.iter().position(|x| *x == axis).map(|c| (field, Part::One(c)))
}

/// Indices of names or numbers between commas.
fn picked(names: &str, all: &[&str]) -> Option<Vec<usize>> {
    if let Some(one) = index_of(names, all.iter().copied()) {
        return Some(vec![one]);
    }
    let mut which = Vec::new();
    for name in names.split(',').map(str::trim) {
        let i = index_of(name, all.iter().copied())?;
        if which.contains(&i) {
            return None;
        }
        which.push(i);
    }
    Some(which)
}

/// Index of a name, or of its number in the list.
fn index_of<'a>(name: &str, mut all: impl Iterator<Item = &'a str> + Clone) -> Option<usize> {
    let count = all.clone().count();
    all.position(|n| n == name).or_else(|| name.parse().ok().filter(|i| *i < count))
}

/// Does a body keep the rules it was made by? Its tensor is tried only where an axis moves it.
pub fn body_stands(body: &BodyNumbers, inertia_moves: bool) -> bool {
    body.mass > 0.0
        && body.mass.is_finite()
        && body.center.iter().all(|x| x.is_finite())
        && (!inertia_moves || RigidBody::new(body.mass, body.center, body.inertia).is_ok())
}
