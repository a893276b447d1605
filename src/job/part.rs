//! `rubber`, `spring`, `air_spring` and `damper` of a `[[mount_model]]`: what a mount is made of.
//!
//! Every number enters the register, what is not given as a default with its reason, and with a band
//! where the trade knows one: a hardness of one batch moves all mounts of the model together.

use nalgebra::Vector3;

use super::node::Node;
use crate::error::Result;
use crate::support::rubber::{
    Band, Bulk, Compound, CompressionLaw, Route, compound, usual_hardness_ends,
};
use crate::support::{
    AirSpring, CoilOptions, CoilSpring, EndFixing, Mount, PadOptions, RubberPad, Shape,
    ViscousDamper, parallel, series,
};
use crate::units::Dimension;

/// Keys that together say what a mount is made of.
pub(super) const KEYS: [&str; 5] = ["rubber", "spring", "air_spring", "damper", "arrangement"];

/// Temperatures between which a machine hall moves, C (common practice).
const HALL_CELSIUS: [f64; 2] = [5.0, 40.0];

/// A key and what reads the part under it.
type Reader = (&'static str, fn(&Node<'_>, bool) -> Result<Mount>);

/// The mount that the parts of a model make together, if it has any.
pub(super) fn part(node: &Node<'_>) -> Result<Option<Mount>> {
    let mut mounts = Vec::new();
    // Parts of a whole share the load otherwise at every load: they are taken as linear.
    let alone = KEYS[..4].iter().filter(|key| node.has(key)).count() == 1;
    let readers: [Reader; 4] =
        [("rubber", rubber), ("spring", spring), ("air_spring", air_spring), ("damper", damper)];
    for (key, read) in readers {
        if let Some(inner) = node.table(key)? {
            mounts.push(read(&inner, alone)?.with_name(key));
            inner.finish()?;
        }
    }
    match node.choice_or("arrangement", &["parallel", "series"], "parallel")? {
        _ if mounts.len() < 2 => Ok(mounts.pop()),
        "series" => series(&mounts, None).map(Some).map_err(|e| node.blame(e)),
        _ => parallel(&mounts).map(Some).map_err(|e| node.blame(e)),
    }
}

fn named<T: Copy>(
    node: &Node<'_>,
    key: &'static str,
    all: &[(&'static str, T)],
    usual: T,
) -> Result<T> {
    let names: Vec<_> = all.iter().map(|(name, _)| *name).collect();
    let Some(value) = node.optional(key) else { return Ok(usual) };
    let name = value.choice(&names)?;
    Ok(all.iter().find(|(n, _)| *n == name).map_or(usual, |(_, item)| *item))
}

fn shape(node: &Node<'_>) -> Result<Shape> {
    let length = |key| node.quantity(key, Dimension::LENGTH);
    match node.choice("shape", &["disc", "rectangle", "ring"])? {
        "rectangle" => Shape::rectangle(length("length")?, length("width")?),
        "ring" => Shape::ring(length("outer")?, length("inner")?),
        _ => Shape::disc(length("diameter")?),
    }
    .map_err(|e| node.blame(e))
}

fn rubber(node: &Node<'_>, alone: bool) -> Result<Mount> {
    let given = node.required("hardness", "a hardness in IRHD")?;
    let usual = "band: tolerance of 5 IRHD, common practice";
    let hardness = given.quantity_with_usual_band(Dimension::RATIO, usual_hardness_ends, usual)?;
    let (shape, thickness) = (shape(node)?, node.quantity("thickness", Dimension::LENGTH)?);
    let ratio = |key| node.optional_quantity(key, Dimension::RATIO);
    let modulus = |key| node.optional_quantity(key, Dimension::PRESSURE);
    let compound = named(node, "compound", &Compound::ALL, Compound::default())?;
    let layers = node.optional("layers").map_or(Ok(1), |v| v.pieces())?;
    let plate_thickness = match layers {
        1 => 0.0,
        _ => {
            let reason = "not given: plates of no height";
            node.quantity_or("plate_thickness", Dimension::LENGTH, 0.0, reason)?
        }
    };
    let figure = |key: &'static str, band: Band| {
        let reason = "not given: usual for its kind and hardness, common practice";
        usual_figure(node, key, band, reason)
    };
    let [cold, warm] = HALL_CELSIUS;
    let hall = compound::temperature_band(cold, warm)?;
    let weather = "not given: 20 C, band for 5 to 40 C, common practice";
    let options = PadOptions {
        friction: ratio("friction")?,
        layers,
        plate_thickness,
        route: named(node, "route", &Route::ALL, Route::default())?,
        young_modulus: modulus("young_modulus")?,
        shear_modulus: modulus("shear_modulus")?,
        phi: ratio("phi")?,
        bulk_modulus: modulus("bulk_modulus")?,
        bending_modulus: modulus("bending_modulus")?,
        bulk: named(node, "bulk", &Bulk::ALL, Bulk::default())?,
        law: named(node, "law", &CompressionLaw::ALL, CompressionLaw::default())?,
        shape_correction: node.boolean_or("shape_correction", false)?,
        compound,
        dynamic_factor: Some(figure("dynamic_factor", compound.dynamic_factor(hardness))?),
        loss_factor: Some(figure("loss_factor", compound.loss_factor(hardness))?),
        creep_per_decade: Some(figure("creep_per_decade", compound.creep_per_decade(hardness))?),
        hardness_tolerance: None,
        temperature_factor: usual_figure(node, "temperature_factor", hall, weather)?,
        aging: usual_figure(
            node,
            "aging",
            Band { low: 0.0, value: 0.0, high: 1.0 },
            "not given: new; 1 is 30 years",
        )?,
        strain_limit: node.quantity_or(
            "strain_limit",
            Dimension::RATIO,
            0.15,
            "not given: 15 % on average",
        )?,
        shear_strain_limit: node.quantity_or(
            "shear_strain_limit",
            Dimension::RATIO,
            0.5,
            "not given: 50 % on average",
        )?,
        stress_limit: modulus("stress_limit")?,
    };
    let load = node.optional_quantity("load", Dimension::FORCE)?;
    let measured = [
        "young_modulus",
        "shear_modulus",
        "phi",
        "bulk_modulus",
        "dynamic_factor",
        "loss_factor",
        "creep_per_decade",
    ];
    if measured.iter().all(|key| node.has(key)) {
        // Then the hardness says nothing that is not measured.
        node.context.mark_informational(&node.join("hardness"));
    }
    let pad = RubberPad::new(hardness, shape, thickness, options).map_err(|e| node.blame(e))?;
    let warnings = pad.warnings();
    node.context.warnings.borrow_mut().extend(warnings.into_iter().map(|w| (node.path.clone(), w)));
    let mount = match alone {
        true => pad.mount(Vector3::zeros(), load),
        false => pad.linear_mount(Vector3::zeros(), load),
    };
    mount.map_err(|e| node.blame(e))
}

/// A ratio, or the usual one with its band.
fn usual_figure(node: &Node<'_>, key: &'static str, band: Band, reason: &str) -> Result<f64> {
    let given = node.optional_quantity(key, Dimension::RATIO)?;
    let ends = (band.value, Some(band.low), Some(band.high));
    Ok(given.unwrap_or_else(|| node.banded_default(key, ends, "", reason, Vec::new())))
}

fn spring(node: &Node<'_>, _alone: bool) -> Result<Mount> {
    let length = |key| node.quantity(key, Dimension::LENGTH);
    let (wire, coil) = (length("wire_diameter")?, length("coil_diameter")?);
    let active = node.quantity("active_coils", Dimension::RATIO)?;
    let free = length("free_length")?;
    let usual = CoilOptions::default();
    let steel = |key: &'static str, value| {
        node.quantity_or(key, Dimension::PRESSURE, value, "not given: spring steel")
    };
    let options = CoilOptions {
        shear_modulus: steel("shear_modulus", usual.shear_modulus)?,
        young_modulus: steel("young_modulus", usual.young_modulus)?,
        total_coils: node.optional_quantity("total_coils", Dimension::RATIO)?,
        ends: named(node, "ends", &EndFixing::ALL, usual.ends)?,
        allowed_stress: node.optional_quantity("allowed_stress", Dimension::PRESSURE)?,
        loss_factor: node.quantity_or(
            "loss_factor",
            Dimension::RATIO,
            usual.loss_factor,
            "not given: a bare coil, common practice",
        )?,
        ..usual
    };
    let load = node.optional_quantity("load", Dimension::FORCE)?;
    CoilSpring::new(wire, coil, active, free, options)
        .and_then(|spring| spring.mount(Vector3::zeros(), load))
        .map_err(|e| node.blame(e))
}

fn air_spring(node: &Node<'_>, _alone: bool) -> Result<Mount> {
    let pressure = node.quantity("gauge_pressure", Dimension::PRESSURE)?;
    let area = node.quantity("area", Dimension::AREA)?;
    let volume = node.quantity("volume", Dimension::VOLUME)?;
    let plain = AirSpring::new(pressure, area, volume).map_err(|e| node.blame(e))?;
    let or = |key: &'static str, dimension, value, reason: &str| {
        node.quantity_or(key, dimension, value, reason)
    };
    let spring = AirSpring {
        area_slope: or("area_slope", Dimension::LENGTH, 0.0, "not given: constant area")?,
        polytropic: or("polytropic", Dimension::RATIO, plain.polytropic, "not given: adiabatic")?,
        static_polytropic: or(
            "static_polytropic",
            Dimension::RATIO,
            plain.static_polytropic,
            "not given: isothermal",
        )?,
        ambient_pressure: or(
            "ambient_pressure",
            Dimension::PRESSURE,
            plain.ambient_pressure,
            "not given: one standard atmosphere",
        )?,
        lateral_stiffness: or(
            "lateral_stiffness",
            Dimension::STIFFNESS,
            0.0,
            "not given: free sideways",
        )?,
        loss_factor: or("loss_factor", Dimension::RATIO, 0.0, "not given: none")?,
        ..plain
    };
    spring.checked().and_then(|s| s.mount(Vector3::zeros())).map_err(|e| node.blame(e))
}

fn damper(node: &Node<'_>, _alone: bool) -> Result<Mount> {
    let Some(damping) = node.one_or_three("damping", Dimension::DAMPING)? else {
        return Err(
            node.missing("damping", "a viscous damping, one or a list of three, is required")
        );
    };
    ViscousDamper::new(damping)
        .and_then(|damper| damper.mount(Vector3::zeros()))
        .map_err(|e| node.blame(e))
}
