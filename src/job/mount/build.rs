//! A mount of the core from what its section and its model say.

use nalgebra::{Matrix3, Vector3};

use super::super::law;
use super::super::machine::axes;
use super::super::names::find;
use super::super::node::Node;
use super::Model;
use super::properties::{Properties, properties};
use crate::error::{Error, Result};
use crate::law::{Curve, Dynamic};
use crate::support::{Allowed, LoadRange, Mount, Screw};
use crate::units::Dimension;

/// Everything that makes a mount but its name and place.
struct Whole {
    stiffness: [f64; 3],
    at_rest: [f64; 3],
    damping: [f64; 3],
    loss_factor: [f64; 3],
    rotational: [f64; 3],
    laws: [Option<Dynamic>; 3],
    /// With the ratio of dynamic to static stiffness; `None`: that of the stiffnesses.
    curve: Option<(Curve, Option<f64>)>,
    load_range: LoadRange,
    screw: Option<Screw>,
    allowed: Vec<Allowed>,
    creep: f64,
}

impl Whole {
    fn mount(self, name: &str, position: Vector3<f64>, axes: Matrix3<f64>) -> Result<Mount> {
        let mount = Mount::new(position, self.stiffness)?
            .with_name(name)
            .with_axes(axes)?
            .with_dynamic(self.laws)?
            .with_static_stiffness(self.at_rest)?
            .with_damping(self.damping)?
            .with_loss_factor(self.loss_factor)?
            .with_rotational_stiffness(self.rotational)?
            .with_load_range(self.load_range)
            .with_allowed(self.allowed)
            .with_creep_per_decade(self.creep)?;
        let mount = match self.screw {
            Some(screw) => mount.with_screw(screw),
            None => mount,
        };
        match self.curve {
            Some((curve, ratio)) => mount.with_curve(curve, ratio),
            None => Ok(mount),
        }
    }
}

/// A model as a mount at the origin, from what it says alone.
pub(super) fn alone(name: &str, said: &Properties) -> Result<Mount> {
    let laws = said.laws.clone().unwrap_or([None, None, None]);
    let lawful = laws.iter().all(Option::is_some);
    let stiffness = said.stiffness.or(lawful.then_some([0.0; 3])).ok_or_else(|| {
        Error::invalid(
            "models",
            format!("{name:?}"),
            "says nothing of its stiffness, so it cannot stand by itself",
            "give its stiffness in the model",
        )
    })?;
    let at_rest = said.static_stiffness.unwrap_or_else(|| {
        let of = |i: usize| laws[i].as_ref().map_or(stiffness[i], Dynamic::static_stiffness);
        std::array::from_fn(of)
    });
    let ratio = said.dynamic_ratio.or(said.static_stiffness.is_none().then_some(1.0));
    let whole = Whole {
        stiffness,
        at_rest,
        damping: said.damping.unwrap_or_default(),
        loss_factor: said.loss_factor.unwrap_or_default(),
        rotational: said.rotational_stiffness.unwrap_or_default(),
        laws,
        curve: said.curve.clone().map(|curve| (curve, ratio)),
        load_range: said.load_range.unwrap_or_default(),
        screw: said.screw,
        allowed: said.allowed.clone().unwrap_or_default(),
        creep: said.creep_per_decade.unwrap_or(0.0),
    };
    whole.mount(name, Vector3::zeros(), Matrix3::identity())
}

/// A `[[mount]]` with what its model lends it.
pub(super) fn mount(node: &Node<'_>, name: String, models: &[Model]) -> Result<Mount> {
    let position = node.vector3("position", Dimension::LENGTH)?;
    let none = Model::default();
    let model = match node.optional("model") {
        Some(value) => find(&value, "mount_model", models.iter().map(|m| (m.name.as_str(), m)))?,
        None => &none,
    };
    let (own, shared) = (properties(node)?, &model.properties);
    let axes = axes(node)?;
    let laws = laws_of(own.laws.clone(), own.stiffness.is_some(), model);
    let lawful = laws.each_ref().map(Option::is_some);
    let Some(stiffness) = own
        .stiffness
        .or_else(|| model.lend("stiffness", shared.stiffness))
        .or(lawful.iter().all(|&l| l).then_some([0.0; 3]))
    else {
        let what = "a list of three [kx, ky, kz] is required, here or in the model";
        return Err(node.missing("stiffness", what));
    };
    if let Some(i) = (0..3).find(|&i| lawful[i] && stiffness[i] != 0.0) {
        let axis = ["x", "y", "z"][i];
        let what = format!("must be zero along {axis}, where the mount has a law of its own");
        return Err(node.error("stiffness", what));
    }
    let or_none = |key, own: Option<[f64; 3]>, shared, unit| {
        own.or_else(|| model.lend(key, shared)).unwrap_or_else(|| {
            if lawful.iter().all(|&l| l) && key != "rotational_stiffness" {
                return [0.0; 3];
            }
            let none = node.default(key, 0.0, unit, "not given: none", vec![]);
            // The damping of an axis with a law is in the law.
            let own = |lawful| if lawful && key != "rotational_stiffness" { 0.0 } else { none };
            lawful.map(own)
        })
    };
    let damping = or_none("damping", own.damping, shared.damping, Dimension::DAMPING.si);
    let loss_factor = or_none("loss_factor", own.loss_factor, shared.loss_factor, "");
    let rotational = or_none(
        "rotational_stiffness",
        own.rotational_stiffness,
        shared.rotational_stiffness,
        Dimension::ROTATIONAL_STIFFNESS.si,
    );
    // A static stiffness of the model belongs to the stiffness of the model.
    let inherited = if own.stiffness.is_some() { None } else { shared.static_stiffness };
    let at_rest = own.static_stiffness.or_else(|| model.lend("static_stiffness", inherited));
    let at_rest = at_rest.unwrap_or_else(|| {
        if lawful.iter().all(|&l| l) {
            return laws.each_ref().map(|l| l.as_ref().map_or(0.0, Dynamic::static_stiffness));
        }
        let reason = "not given: the dynamic stiffness";
        let unit = Dimension::STIFFNESS.si;
        let factor = node.default("static_stiffness", 1.0, unit, reason, stiffness.to_vec());
        let mut at_rest = stiffness.map(|k| k * factor);
        for (k, law) in at_rest.iter_mut().zip(&laws) {
            *k = law.as_ref().map_or(*k, Dynamic::static_stiffness);
        }
        at_rest
    });
    let given = own.curve.clone().or_else(|| model.lend("curve", shared.curve.clone()));
    let curve = given.map(|curve| (curve, dynamic_ratio(node, &own, model)));
    if curve.is_none() || matches!(curve, Some((_, None))) {
        // These entries count: a curve without a ratio of its own takes theirs.
        VERTICAL.iter().for_each(|key| model.taken.borrow_mut().push(key));
    } else {
        VERTICAL.iter().for_each(|key| node.context.mark_informational(&node.join(key)));
    }
    let load_range = own.load_range.or_else(|| model.lend("load_range", shared.load_range));
    let screw = own.screw.or_else(|| model.lend("screw", shared.screw));
    let allowed = own.allowed.or_else(|| model.lend("allowed", shared.allowed.clone()));
    let creep =
        own.creep_per_decade.or_else(|| model.lend("creep_per_decade", shared.creep_per_decade));
    let stiff = stiffness.iter().chain(&rotational).any(|&k| k != 0.0);
    if !stiff && curve.is_none() && !lawful.contains(&true) {
        return Err(node.error("stiffness", "is zero in every direction; the mount holds nothing"));
    }
    let whole = Whole {
        stiffness,
        at_rest,
        damping,
        loss_factor,
        rotational,
        laws,
        curve,
        load_range: load_range.unwrap_or_default(),
        screw,
        allowed: allowed.unwrap_or_default(),
        creep: creep.unwrap_or(0.0),
    };
    let mount = whole.mount(&name, position.into(), axes).map_err(|e| node.blame(e))?;
    node.finish()?;
    Ok(mount)
}

/// Laws of the mount itself, or of its model unless the mount gives a stiffness of its own.
fn laws_of(own: Option<[Option<Dynamic>; 3]>, stiff: bool, model: &Model) -> [Option<Dynamic>; 3] {
    let inherited = if own.is_some() || stiff { None } else { model.properties.laws.clone() };
    if inherited.is_some() {
        model.taken.borrow_mut().extend(law::KEYS);
    }
    own.or(inherited).unwrap_or([None, None, None])
}

/// The ratio of a curve: as given, 1 where no static stiffness tells it apart, `None` where the
/// stiffnesses do.
fn dynamic_ratio(node: &Node<'_>, own: &Properties, model: &Model) -> Option<f64> {
    let shared = &model.properties;
    let told_apart = own.static_stiffness.is_some()
        || (own.stiffness.is_none() && shared.static_stiffness.is_some());
    let given = own.dynamic_ratio.or_else(|| model.lend("dynamic_ratio", shared.dynamic_ratio));
    if given.is_some() || told_apart {
        return given;
    }
    let reason = "not given: the dynamic stiffness is the tangent of the curve";
    Some(node.default("dynamic_ratio", 1.0, "", reason, vec![]))
}

/// Entries that a curve with a ratio of its own leaves without effect.
pub(super) const VERTICAL: [&str; 2] = ["stiffness[2]", "static_stiffness[2]"];
