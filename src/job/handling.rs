//! `[[die]]`, `[bolster]`, `[[set_down]]`, `[[cart]]` and `[[emergency_stop]]`: load cases that a
//! press sees in its daily work, each from the numbers that describe it.

use nalgebra::Vector3;

use super::names::{Names, find};
use super::node::{Node, Value};
use super::point::at;
use super::shock::{DIRECTIONS, Shock, case, direction};
use crate::error::Result;
use crate::installation::{AS_IT_RUNS, Cart, Case, EmergencyStop, Point, SetDown};
use crate::machine::estimate::SOURCE;
use crate::machine::{Assumption, Die, DieSet, RigidBody, RollingBolster};
use crate::units::Dimension;
use serde::{Deserialize, Serialize};

/// A step that is asked for: a point of the machine between two load cases.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StepAsked {
    /// Name of the point.
    pub point: String,
    /// Load case it starts from.
    pub from: String,
    /// Load case it ends in.
    pub to: String,
    /// What of it has a limit.
    pub judged: Judged,
}

/// What of a step is judged: the bolster rolls over the rise as it comes back, and over the tilt
/// half way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Judged {
    /// The rise, once the bolster is out.
    Rise,
    /// The tilt, half way.
    Tilt,
    /// Nothing: it is only shown.
    Nothing,
}

/// What the sections of this file give.
pub(super) struct Handling {
    pub(super) cases: Vec<Case>,
    pub(super) steps: Vec<StepAsked>,
}

/// The machine whose dies are changed, and what is known around it.
pub(super) struct Surroundings<'a> {
    pub(super) machine: &'a RigidBody,
    pub(super) first_die: Option<Die>,
    pub(super) points: &'a [Point],
    pub(super) gravity: f64,
}

pub(super) fn handling(
    root: &Node<'_>,
    around: &Surroundings<'_>,
    names: &mut Names,
) -> Result<Handling> {
    let mut all = Handling { cases: Vec::new(), steps: Vec::new() };
    let dies = dies(root, around, names, &mut all.cases)?;
    if let Some(node) = root.table("bolster")? {
        bolster(&node, around, &dies, names, &mut all)?;
    }
    for node in root.tables("set_down")? {
        all.cases.push(set_down(&node, around, &dies, names)?);
    }
    for node in root.tables("cart")? {
        all.cases.push(cart(&node, around, &dies, names)?);
    }
    Ok(all)
}

fn dies(
    root: &Node<'_>,
    around: &Surroundings<'_>,
    names: &mut Names,
    cases: &mut Vec<Case>,
) -> Result<DieSet> {
    let (mut dies, mut mounted, mut last) = (Vec::new(), None, None);
    dies.extend(around.first_die.clone());
    for node in root.tables("die")? {
        let name = node.text("name")?;
        names.add(&node, "name", &name)?;
        let mass = node.quantity("mass", Dimension::MASS)?;
        let center = node.vector3("center", Dimension::LENGTH)?.into();
        let size = node.optional_vector3("size", Dimension::LENGTH)?;
        let off = node.optional_vector3("off_center", Dimension::LENGTH)?;
        let die = Die::new(&name, mass, center, size).and_then(|die| match off {
            Some(off) => die.with_off_center(Vector3::from(off)),
            None => Ok(die),
        });
        dies.push(die.map_err(|e| node.blame(e))?);
        if node.boolean_or("mounted", false)? {
            if let Some(other) = mounted.replace(name) {
                let problem = format!("{other:?} is mounted already; the machine holds one die");
                return Err(node.error("mounted", problem));
            }
            last = Some((node.join("mass"), node.at));
        }
        node.finish()?;
    }
    let set = DieSet::new(dies, mounted.as_deref()).map_err(|e| root.blame(e))?;
    let variants = set.variants(around.machine).map_err(|e| match &last {
        Some((path, at)) => root.context.source.error(*at, path, e.to_string()),
        None => root.blame(e),
    })?;
    cases.extend(variants.into_iter().map(|(name, body)| Case { name, body, loads: Vec::new() }));
    Ok(set)
}

/// Key `die`: one of the dies by name; `None` if not given.
fn die<'d>(node: &Node<'_>, dies: &'d DieSet) -> Result<Option<&'d Die>> {
    let Some(value) = node.optional("die") else { return Ok(None) };
    find(&value, "die", dies.dies.iter().map(|d| (d.name.as_str(), d))).map(Some)
}

fn bolster(
    node: &Node<'_>,
    around: &Surroundings<'_>,
    dies: &DieSet,
    names: &mut Names,
    all: &mut Handling,
) -> Result<()> {
    let die = die(node, dies)?;
    let rails = node.required("rails", "a list of names of points")?;
    let rails = rail_points(&rails, around.points)?;
    let bolster = RollingBolster {
        name: node.optional_text("name")?.unwrap_or_else(|| "bolster".into()),
        mass: node.quantity("mass", Dimension::MASS)?,
        center: node.vector3("center", Dimension::LENGTH)?.into(),
        size: node.optional_vector3("size", Dimension::LENGTH)?,
        direction: direction(&node.required("direction", DIRECTIONS)?)?,
        travel: node.quantity("travel", Dimension::LENGTH)?,
        wheel_base: node.quantity("wheel_base", Dimension::LENGTH)?,
        rails: rails.iter().map(|p| p.at).collect(),
        carries: die.cloned().into_iter().collect(),
    };
    let bolster = bolster.checked().map_err(|e| node.blame(e))?;
    let refuse = |e: crate::Error| node.error("mass", e.to_string());
    let (from, base) = match die {
        Some(die) if dies.mounted.as_deref() != Some(die.name.as_str()) => {
            let body = dies.with_die(around.machine, &die.name).map_err(refuse)?;
            (die.name.clone(), body)
        }
        _ => (AS_IT_RUNS.into(), around.machine.clone()),
    };
    for (name, distance) in bolster.places() {
        names.add(node, "name", &name)?;
        let body = bolster.rolled(&base, distance).map_err(refuse)?;
        let judged = match &name {
            place if *place == bolster.out() => Judged::Rise,
            place if *place == bolster.half_way() => Judged::Tilt,
            _ => Judged::Nothing,
        };
        for rail in &rails {
            let (point, from, to) = (rail.name.clone(), from.clone(), name.clone());
            all.steps.push(StepAsked { point, from, to, judged });
        }
        all.cases.push(Case { name, body, loads: Vec::new() });
    }
    node.finish()
}

fn rail_points(value: &Value<'_>, points: &[Point]) -> Result<Vec<Point>> {
    let named = points.iter().map(|p| (p.name.as_str(), p.clone()));
    let items = value.items("a list of names of points")?;
    items.iter().map(|item| find(item, "point", named.clone())).collect()
}

fn set_down(
    node: &Node<'_>,
    around: &Surroundings<'_>,
    dies: &DieSet,
    names: &mut Names,
) -> Result<Case> {
    node.required("die", "the name of a [[die]]")?;
    let Some(die) = die(node, dies)? else { return Err(node.missing("die", "a name")) };
    let name = match node.optional_text("name")? {
        Some(name) => name,
        None => format!("{} set down", die.name),
    };
    names.add(node, "name", &name)?;
    let [value, low, high] = SetDown::USUAL_FACTOR;
    let usual = Assumption {
        key: "impact_factor".into(),
        what: format!("{name}: impact factor"),
        value,
        low,
        high,
        unit: String::new(),
        confirm: "crane operator (creep speed, drop)".into(),
        source: SOURCE.into(),
    };
    let factor = node.quantity_or_usual("impact_factor", Dimension::RATIO, &usual)?;
    let case = SetDown::new(&name, die.clone(), factor)
        .and_then(|down| down.case(&dies.without_die(around.machine)?, around.gravity));
    let case = case.map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(case)
}

fn cart(
    node: &Node<'_>,
    around: &Surroundings<'_>,
    dies: &DieSet,
    names: &mut Names,
) -> Result<Case> {
    let name = node.text("name")?;
    names.add(node, "name", &name)?;
    let mass = match die(node, dies)? {
        Some(die) => {
            let share = node.quantity("share", Dimension::RATIO)?;
            if !(share > 0.0 && share <= 1.0) {
                let problem = format!(
                    "{share}: must be above 0 and at most 1; it is the part of the die that rests \
                     on the machine"
                );
                return Err(node.error("share", problem));
            }
            share * die.mass
        }
        None if node.has("share") => {
            return Err(node.error("share", "is a part of which die? give its name as die = ..."));
        }
        None => 0.0,
    };
    let what = "a point, or coordinates, where the cart meets the machine";
    node.required("at", what)?;
    let Some(place) = at(node, around.points)? else { return Err(node.missing("at", what)) };
    let push = node.optional_vector3("push", Dimension::FORCE)?.unwrap_or_default();
    let case = Cart::new(&name, mass, place, push.into())
        .and_then(|cart| cart.case(&dies.without_die(around.machine)?));
    let case = case.map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(case)
}

/// Emergency stops as shocks, and those whose static equivalent is asked for as load cases.
pub(super) fn stops(
    root: &Node<'_>,
    machine: &RigidBody,
    cases: &[Case],
    shock_names: &mut Names,
    case_names: &mut Names,
) -> Result<(Vec<Shock>, Vec<Case>)> {
    let (mut shocks, mut lasting) = (Vec::new(), Vec::new());
    for node in root.tables("emergency_stop")? {
        let name = node.text("name")?;
        shock_names.add(&node, "name", &name)?;
        let case = case(&node, cases)?;
        let stop = EmergencyStop::new(
            &name,
            node.quantity("inertia", Dimension::INERTIA)?,
            node.quantity("speed", Dimension::FREQUENCY)?,
            node.quantity("brake_time", Dimension::TIME)?,
            direction(&node.required("axis", DIRECTIONS)?)?,
        );
        let stop = stop.map_err(|e| node.blame(e))?;
        if let Some(factor) = node.optional_quantity("static_factor", Dimension::RATIO)? {
            let body = cases.iter().find(|c| Some(&c.name) == case.as_ref());
            let body = body.map_or(machine, |c| &c.body);
            let case = stop.case(body, factor).map_err(|e| node.blame(e))?;
            case_names.add(&node, "name", &case.name)?;
            lasting.push(case);
        }
        let pulse = stop.pulse().map_err(|e| node.blame(e))?;
        node.finish()?;
        shocks.push(Shock {
            name,
            pulse,
            direction: stop.axis,
            moment: true,
            at: None,
            case,
            contacts: None,
            every: None,
        });
    }
    Ok((shocks, lasting))
}
