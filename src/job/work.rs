//! The force of a `[[break_through]]`: numbers of a break, `blank`, `draw`, `coin` or `curve`.

use super::node::Node;
use super::slide::Slide;
use crate::error::Result;
use crate::excitation::forming::{coining, drawing};
use crate::excitation::{Blanking, BreakThrough, ForceCurve, Punch, SlideDrive, TimeCurve, Work};
use crate::units::Dimension;

/// Tables that say the force, in place of `force`, `rise` and `release`.
pub(super) const TABLES: [&str; 4] = ["blank", "draw", "coin", "curve"];
/// Keys that say how a force breaks off.
const BREAKS: [&str; 5] = ["dwell", "softened_to", "softening_time", "residual", "residual_time"];

/// The slide under which the work is done, and its strokes per minute.
pub(super) struct Stroke<'a> {
    pub slide: Option<&'a Slide>,
    pub rate_spm: Option<f64>,
}

/// The force, and the work that it does (J) where it is known over the way of the slide.
pub(super) fn work(node: &Node<'_>, stroke: &Stroke<'_>) -> Result<(Work, Option<f64>)> {
    let given: Vec<&str> = TABLES.into_iter().filter(|key| node.has(key)).collect();
    if let [_, second, ..] = given[..] {
        return Err(node.error(second, format!("stands beside {}: give one of them", given[0])));
    }
    if let Some(&table) = given.first() {
        node.without(
            &["force", "rise", "release"],
            &format!("follows from {table}: leave it out"),
        )?;
    }
    let found = match given.first() {
        None => return Ok((numbers(node)?.into(), None)),
        Some(&"blank") => return blank(node, stroke),
        Some(&"draw") => made(node, "draw", stroke, draw)?,
        Some(&"coin") => made(node, "coin", stroke, coin)?,
        Some(_) => curve(node, stroke)?,
    };
    let what =
        format!("says how a force breaks off, and {} has its own end: leave it out", given[0]);
    node.without(&BREAKS, &what)?;
    Ok(found)
}

fn numbers(node: &Node<'_>) -> Result<BreakThrough> {
    let force = BreakThrough::new(
        node.quantity("force", Dimension::FORCE)?,
        node.quantity("rise", Dimension::TIME)?,
        node.quantity("release", Dimension::TIME)?,
    );
    changed(node, force.map_err(|e| node.blame(e))?)
}

/// What the table itself says of how it breaks off.
fn changed(node: &Node<'_>, mut force: BreakThrough) -> Result<BreakThrough> {
    let time = |key| node.optional_quantity(key, Dimension::TIME);
    let part = |key| node.optional_quantity(key, Dimension::RATIO);
    force.dwell = time("dwell")?.unwrap_or(force.dwell);
    force.softened_to = part("softened_to")?.unwrap_or(force.softened_to);
    force.softening_time = time("softening_time")?.unwrap_or(force.softening_time);
    force.residual = part("residual")?.unwrap_or(0.0);
    force.residual_time = time("residual_time")?.unwrap_or(0.0);
    Ok(force)
}

/// How fast the slide meets the work.
enum Meets<'a> {
    /// At a speed, m/s.
    Speed(f64),
    /// At a height above bottom dead center (m), on its drive at strokes per minute.
    Height(f64, &'a SlideDrive, f64),
}

/// Does the slide's drive say how fast it meets the work?
pub(super) fn under_height(node: &Node<'_>) -> Result<bool> {
    for key in TABLES {
        if node.table(key)?.is_some_and(|table| table.has("height")) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// Keys `speed`, or `height` under the `[slide]` of the job.
fn meets<'a>(node: &Node<'_>, stroke: &Stroke<'a>) -> Result<Meets<'a>> {
    if !node.has("height") {
        if !node.has("speed") {
            let what = "is required: the speed of the slide when it meets the work, such as \
                        \"120 mm/s\"; or height above bottom dead center, with a [slide]";
            return Err(node.missing("speed", what));
        }
        return node.quantity("speed", Dimension::VELOCITY).map(Meets::Speed);
    }
    if node.has("speed") {
        return Err(node.error("height", "stands beside speed, which follows from it: give one"));
    }
    let height = node.quantity("height", Dimension::LENGTH)?;
    match (stroke.slide, stroke.rate_spm) {
        (Some(slide), Some(rate)) => Ok(Meets::Height(height, &slide.drive, rate)),
        _ => {
            let what = "needs the motion of the slide: add [slide] with a stroke rate (or \
                        stroke_rate here), or give speed";
            Err(node.error("height", what))
        }
    }
}

/// `blank`: a cut, with what the table around it says of how it breaks off.
fn blank(around: &Node<'_>, stroke: &Stroke<'_>) -> Result<(Work, Option<f64>)> {
    let node = around.required("blank", "a table")?.table("a table")?;
    let mut cut = Blanking::new(
        node.quantity("perimeter", Dimension::LENGTH)?,
        node.quantity("thickness", Dimension::LENGTH)?,
        node.quantity("shear_strength", Dimension::PRESSURE)?,
        node.quantity("penetration", Dimension::RATIO)?,
    )
    .map_err(|e| node.blame(e))?;
    cut.shear_height = node.optional_quantity("shear_height", Dimension::LENGTH)?.unwrap_or(0.0);
    let part = |key| node.optional_quantity(key, Dimension::RATIO);
    cut.tear = part("tear")?.unwrap_or(cut.tear);
    cut.softened_to = part("softened_to")?.unwrap_or(cut.softened_to);
    for punch in node.tables("punches")? {
        let share = punch.quantity("share", Dimension::RATIO)?;
        let later = punch.optional_quantity("later", Dimension::LENGTH)?.unwrap_or(0.0);
        cut.punches.push(Punch { share, later });
        punch.finish()?;
    }
    let cut = cut.checked().map_err(|e| node.blame(e))?;
    let staggered = !cut.punches.is_empty();
    let meets = meets(&node, stroke)?;
    node.finish()?;
    let energy = Some(cut.curve().forming_energy());
    if staggered {
        // Each punch breaks at its own time: no single break stands for that.
        let what = "says how one force breaks off; punches break one after the other: leave it out";
        around.without(&BREAKS, what)?;
        return over_time(&cut.curve(), &meets).map(|w| (w, energy)).map_err(|e| node.blame(e));
    }
    let force = match meets {
        Meets::Speed(speed) => BreakThrough::at_speed(&cut, speed),
        Meets::Height(height, drive, rate) => BreakThrough::of_blank(&cut, drive, rate, height),
    };
    let force = changed(around, force.map_err(|e| node.blame(e))?)?;
    Ok((force.into(), energy))
}

/// A table that gives a force over the way of the slide.
fn made(
    around: &Node<'_>,
    key: &'static str,
    stroke: &Stroke<'_>,
    of: impl Fn(&Node<'_>) -> Result<ForceCurve>,
) -> Result<(Work, Option<f64>)> {
    let node = around.required(key, "a table")?.table("a table")?;
    let force = of(&node)?;
    let meets = meets(&node, stroke)?;
    node.finish()?;
    let work = over_time(&force, &meets).map_err(|e| node.blame(e))?;
    Ok((work, Some(force.forming_energy())))
}

fn over_time(force: &ForceCurve, meets: &Meets<'_>) -> Result<Work> {
    match *meets {
        Meets::Speed(speed) => force.at_speed(speed),
        Meets::Height(height, drive, rate) => force.under(drive, rate, height),
    }
    .map(Work::from)
}

fn draw(node: &Node<'_>) -> Result<ForceCurve> {
    let length = |key| node.quantity(key, Dimension::LENGTH);
    let force = drawing(
        length("punch_diameter")?,
        length("blank_diameter")?,
        length("thickness")?,
        node.quantity("tensile_strength", Dimension::PRESSURE)?,
        length("depth")?,
    );
    force.map_err(|e| node.blame(e))
}

/// Exponent of the closing metal where none is given (as in Python).
const CLOSING: f64 = 3.0;

fn coin(node: &Node<'_>) -> Result<ForceCurve> {
    let force = coining(
        node.quantity("area", Dimension::AREA)?,
        node.quantity("pressure", Dimension::PRESSURE)?,
        node.quantity("travel", Dimension::LENGTH)?,
        node.quantity_or("exponent", Dimension::RATIO, CLOSING, "3 is usual")?,
    );
    force.map_err(|e| node.blame(e))
}

/// `curve`: lists of force over time, or over the way of the slide.
fn curve(around: &Node<'_>, stroke: &Stroke<'_>) -> Result<(Work, Option<f64>)> {
    let node = around.required("curve", "a table")?.table("a table")?;
    let force = node.list("force", Dimension::FORCE)?;
    let (x, over_way) = match (node.has("time"), node.has("way")) {
        (true, false) => (node.list("time", Dimension::TIME)?, false),
        (false, true) => (node.list("way", Dimension::LENGTH)?, true),
        _ => return Err(node.error("force", "needs either time or way beside it, a list as long")),
    };
    if x.len() != force.len() {
        let what = format!(
            "has {} values and {} has {}: they must be as many",
            force.len(),
            if over_way { "way" } else { "time" },
            x.len()
        );
        return Err(node.error("force", what));
    }
    let knots: Vec<[f64; 2]> = x.into_iter().zip(force).map(|(x, f)| [x, f]).collect();
    // Knots are known here as the lists that they come from.
    let blame = |e: crate::Error| node.blame(named(e, if over_way { "way" } else { "time" }));
    let made = if over_way {
        let force = ForceCurve::new(knots).map_err(blame)?;
        let meets = meets(&node, stroke)?;
        let work = over_time(&force, &meets).map_err(|e| node.blame(e))?;
        (work, Some(force.forming_energy()))
    } else {
        node.without(&["speed", "height"], "has nothing to act on: the force is over time")?;
        (TimeCurve::new(knots).map_err(blame)?.into(), None)
    };
    node.finish()?;
    Ok(made)
}

/// "knots[2][1]" in the words of the two lists: "force[2]".
fn named(error: crate::Error, x: &str) -> crate::Error {
    let crate::Error::Invalid { argument, value, requirement, remedy } = error else {
        return error;
    };
    let column = |end: &str, name: &str| {
        let inner = argument.strip_prefix("knots")?.strip_suffix(end)?;
        Some(format!("{name}{inner}"))
    };
    let argument = column("[0]", x).or_else(|| column("[1]", "force")).unwrap_or(argument);
    crate::Error::Invalid { argument, value, requirement, remedy }
}
