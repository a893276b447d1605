//! What are several supports as one? Side by side their stiffnesses add; one on the other their
//! compliances do.
//!
//! Along each axis D = k (1 + j eta) + j omega c, or the law of the part. Side by side: k = sum k_i,
//! eta = sum eta_i k_i / k, c = sum c_i. In series: 1/D = sum 1/D_i; without dashpots it depends on no
//! frequency, with them the whole gets a law of its own, or, at a frequency that is given, a stiffness
//! and a loss factor. The static stiffness goes the same way.
//!
//! Limits of the parts become limits of the whole by how they share load (side by side) or deflection (in
//! series), by the static stiffness at rest. Creep likewise. Limits: parts at one place with one set of
//! axes; parts that stand apart are mounts of their own. Rotation: the stiffness of series parts turned
//! one on the other, which leaves out the arm between them.

use std::f64::consts::TAU;

use num_complex::Complex64;

use super::{Allowed, AllowedQuantity, LoadRange, Mount};
use crate::error::{Error, Result, positive};
use crate::law::{ComplexStiffness, Dynamic, Viscous};

/// Supports side by side at one place.
///
/// # Errors
/// [`Error::Invalid`] for no part, or parts at different places or with different axes.
pub fn parallel(parts: &[Mount]) -> Result<Mount> {
    let first = one_place(parts)?;
    let sum = |of: fn(&Mount) -> &[f64; 3]| each_axis(|i| parts.iter().map(|p| of(p)[i]).sum());
    let stiffness = sum(|p| &p.stiffness);
    let at_rest = sum(|p| &p.static_stiffness);
    let loss = each_axis(|i| {
        let lost: f64 = parts.iter().map(|p| p.loss_factor[i] * p.stiffness[i]).sum();
        if stiffness[i] > 0.0 { lost / stiffness[i] } else { 0.0 }
    });
    // A part with share a of the load reaches its limit when the whole carries 1/a of it.
    let share = |p: &Mount| p.static_stiffness[2] / at_rest[2];
    let mut allowed = Vec::new();
    let mut range = LoadRange::default();
    let mut creep = 0.0;
    for part in parts {
        let carried = if at_rest[2] > 0.0 { share(part) } else { 0.0 };
        creep += part.creep_per_decade * carried;
        for limit in &part.allowed {
            match limit.quantity {
                AllowedQuantity::Compression | AllowedQuantity::Shear => {
                    allowed.push(limit.clone())
                }
                AllowedQuantity::Load if carried > 0.0 => {
                    allowed.push(scaled(limit, 1.0 / carried))
                }
                AllowedQuantity::Load => {}
            }
        }
        if carried > 0.0 {
            range = within(range, scaled_range(part.load_range, 1.0 / carried));
        }
    }
    let mut whole = Mount::new(first.position, stiffness)?
        .with_axes(first.axes)?
        .with_static_stiffness(at_rest)?
        .with_loss_factor(loss)?
        .with_damping(sum(|p| &p.damping))?
        .with_rotational_stiffness(sum(|p| &p.rotational_stiffness))?
        .with_creep_per_decade(creep)?;
    if parts.iter().any(|p| p.dynamic.iter().any(Option::is_some)) {
        let mut laws = [None, None, None];
        for (i, law) in laws.iter_mut().enumerate() {
            if parts.iter().any(|p| p.dynamic[i].is_some()) {
                let all = parts.iter().map(|p| law_of(p, i)).collect::<Result<Vec<_>>>()?;
                *law = Some(Dynamic::parallel(all.into_iter().flatten().collect())?);
            }
        }
        whole = whole.with_dynamic(laws)?.with_static_stiffness(at_rest)?;
    }
    finished(whole, parts, allowed, range)
}

/// Supports one on the other. Where a part has a dashpot or a law of its own the whole has a law, or with
/// a `frequency` (Hz) the stiffness and loss factor that it has there.
///
/// # Errors
/// [`Error::Invalid`] for no part, parts at different places or with different axes, or a part that
/// gives way altogether along an axis where another holds.
pub fn series(parts: &[Mount], frequency: Option<f64>) -> Result<Mount> {
    let first = one_place(parts)?;
    let omega = frequency.map(|f| Ok(TAU * positive("frequency", f, "Hz")?)).transpose()?;
    let mut dynamic = [Complex64::ZERO; 3];
    let mut laws = [None, None, None];
    for i in 0..3 {
        let varies = |p: &Mount| p.damping[i] > 0.0 || p.dynamic[i].is_some();
        let links = parts.iter().map(|p| law_of(p, i)).collect::<Result<Option<Vec<_>>>>()?;
        let Some(links) = links else { continue };
        let chained = Dynamic::series(links)?;
        if omega.is_none() && parts.iter().any(varies) {
            dynamic[i] = chained.static_stiffness().into();
            laws[i] = Some(chained);
        } else {
            dynamic[i] = chained.at(omega.unwrap_or(0.0))?;
        }
    }
    let at_rest = each_axis(|i| chain(parts.iter().map(|p| p.static_stiffness[i])));
    for i in 0..3 {
        let held = |p: &Mount| p.stiffness[i] > 0.0 || p.damping[i] > 0.0;
        let holds = dynamic[i].norm() > 0.0 || parts.iter().any(held);
        if at_rest[i] == 0.0 && holds {
            let axis = ["x", "y", "z"][i];
            return Err(Error::invalid(
                "parts",
                format!("no stiffness along {axis} in one of them"),
                "leaves the whole without any there",
                "put it beside the others, or give it a stiffness",
            ));
        }
    }
    let turning = each_axis(|i| chain(parts.iter().map(|p| p.rotational_stiffness[i])));
    // A part takes the share k / k_i of the deflection.
    let mut allowed = Vec::new();
    let mut range = LoadRange::default();
    let mut creep = 0.0;
    for part in parts {
        let stretch = |i: usize| {
            if at_rest[i] > 0.0 { part.static_stiffness[i] / at_rest[i] } else { 1.0 }
        };
        creep += part.creep_per_decade / stretch(2);
        range = within(range, part.load_range);
        for limit in &part.allowed {
            allowed.push(match limit.quantity {
                AllowedQuantity::Load => limit.clone(),
                AllowedQuantity::Compression => scaled(limit, stretch(2)),
                AllowedQuantity::Shear => scaled(limit, stretch(0).min(stretch(1))),
            });
        }
    }
    let mut whole = Mount::new(first.position, dynamic.map(|d| d.re))?
        .with_axes(first.axes)?
        .with_static_stiffness(at_rest)?
        .with_loss_factor(dynamic.map(|d| if d.re > 0.0 { d.im / d.re } else { 0.0 }))?
        .with_rotational_stiffness(turning)?
        .with_creep_per_decade(creep)?;
    if laws.iter().any(Option::is_some) {
        whole = whole.with_dynamic(laws)?.with_static_stiffness(at_rest)?;
    }
    finished(whole, parts, allowed, range)
}

fn each_axis(of: impl FnMut(usize) -> f64) -> [f64; 3] {
    std::array::from_fn(of)
}

/// 1 / sum 1/k, zero as soon as one is.
fn chain(stiffness: impl Iterator<Item = f64>) -> f64 {
    1.0 / stiffness.map(|k| 1.0 / k).sum::<f64>()
}

/// D of a part along an axis as a law; `None` if it has no stiffness, no damping and no law there.
fn law_of(part: &Mount, i: usize) -> Result<Option<Dynamic>> {
    if let Some(law) = &part.dynamic[i] {
        return Ok(Some(law.clone()));
    }
    let (k, eta, c) = (part.stiffness[i], part.loss_factor[i], part.damping[i]);
    let spring = (k > 0.0).then(|| ComplexStiffness::new(k, eta)).transpose()?;
    let dashpot = (c > 0.0).then(|| Viscous::new(0.0, c)).transpose()?;
    let both = [spring.map(Dynamic::Complex), dashpot.map(Dynamic::Viscous)];
    let both: Vec<_> = both.into_iter().flatten().collect();
    if both.is_empty() { Ok(None) } else { Dynamic::parallel(both).map(Some) }
}

/// The first part, if all stand at its place with its axes.
fn one_place(parts: &[Mount]) -> Result<&Mount> {
    let Some(first) = parts.first() else {
        return Err(Error::invalid(
            "parts",
            "none",
            "at least one is required",
            "give two or more",
        ));
    };
    for (i, part) in parts.iter().enumerate() {
        let argument = format!("parts[{i}]");
        if part.position != first.position {
            let [x, y, z] = part.position.into();
            return Err(Error::invalid(
                format!("{argument}.position"),
                format!("({x}, {y}, {z}) m"),
                "must be that of the first part",
                "make mounts that stand apart mounts of their own",
            ));
        }
        if part.curve.is_some() {
            return Err(Error::invalid(
                format!("{argument}.curve"),
                "a load-deflection curve",
                "cannot be combined, since the parts share the load otherwise at every load",
                "take a pad without its curve (linear), or give the curve to the whole",
            ));
        }
        if part.axes != first.axes {
            return Err(Error::invalid(
                format!("{argument}.axes"),
                "other axes",
                "must be those of the first part",
                "turn the whole after combining",
            ));
        }
    }
    Ok(first)
}

fn scaled(limit: &Allowed, factor: f64) -> Allowed {
    Allowed { max: limit.max * factor, ..limit.clone() }
}

fn scaled_range(range: LoadRange, factor: f64) -> LoadRange {
    let by = |x: Option<f64>| x.map(|x| x * factor);
    LoadRange { min: by(range.min), max: by(range.max), dynamic_max: by(range.dynamic_max) }
}

/// What both ranges allow.
fn within(a: LoadRange, b: LoadRange) -> LoadRange {
    let pick = |x: Option<f64>, y: Option<f64>, of: fn(f64, f64) -> f64| match (x, y) {
        (Some(x), Some(y)) => Some(of(x, y)),
        (x, y) => x.or(y),
    };
    LoadRange {
        min: pick(a.min, b.min, f64::max),
        max: pick(a.max, b.max, f64::min),
        dynamic_max: pick(a.dynamic_max, b.dynamic_max, f64::min),
    }
}

/// Name, range, limits and the only screw.
fn finished(
    whole: Mount,
    parts: &[Mount],
    allowed: Vec<Allowed>,
    range: LoadRange,
) -> Result<Mount> {
    let range = LoadRange::new(range.min, range.max, range.dynamic_max).map_err(|e| {
        Error::invalid(
            "parts",
            "load ranges",
            format!("exclude each other: {e}"),
            "pair other parts",
        )
    })?;
    let mut screws = parts.iter().filter_map(|p| p.screw);
    let screw = screws.next();
    if screws.next().is_some() {
        return Err(Error::invalid(
            "parts",
            "more than one with a screw",
            "one leveling screw is allowed",
            "give the screw to the whole",
        ));
    }
    let names: Vec<_> = parts.iter().map(|p| p.name.as_str()).filter(|n| !n.is_empty()).collect();
    let mut whole = whole.with_name(names.join(" + ")).with_load_range(range).with_allowed(allowed);
    whole.screw = screw;
    whole.checked()
}
