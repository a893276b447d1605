//! Laws of motion of a mount: `law` for all three axes by `law_scale`, or `law_x`, `law_y`,
//! `law_z` each for one.
//!
//! A law is a table with its `kind` and the numbers of that kind; `temperature` and `amplitude`
//! tables in it shift and reduce it.

use num_complex::Complex64;

use super::node::Node;
use crate::error::Result;
use crate::law::{
    AmplitudeReduction, ComplexStiffness, Dynamic, FractionalZener, Maxwell, MaxwellTerm,
    TableVariable, TabulatedStiffness, TemperatureShift, Viscous, Wlf, Zener,
};
use crate::units::Dimension;

/// Keys by which a mount or a model gives laws.
pub(super) const KEYS: [&str; 5] = ["law", "law_scale", "law_x", "law_y", "law_z"];

const KINDS: [&str; 6] = ["complex", "viscous", "zener", "maxwell", "fractional_zener", "table"];

/// Laws of the three axes; none if no key gives one.
pub(super) fn laws(node: &Node<'_>) -> Result<Option<[Option<Dynamic>; 3]>> {
    let whole = node.table("law")?.map(|law| read(&law)).transpose()?;
    let scale = node.optional_vector3("law_scale", Dimension::RATIO)?;
    let own = ["law_x", "law_y", "law_z"]
        .map(|key| node.table(key).and_then(|law| law.map(|law| read(&law)).transpose()));
    let [x, y, z] = own;
    let own = [x?, y?, z?];
    let Some(whole) = whole else {
        if scale.is_some() {
            return Err(node.error("law_scale", "scales a law for all axes; give law as well"));
        }
        return Ok(own.iter().any(Option::is_some).then_some(own));
    };
    if own.iter().any(Option::is_some) {
        let what = "is for all axes; give either law or law_x, law_y and law_z, not both";
        return Err(node.error("law", what));
    }
    let scaled = |factor: f64| whole.scaled(factor).map(Some);
    let laws = match scale {
        None => [Some(whole.clone()), Some(whole.clone()), Some(whole)],
        Some([x, y, z]) => {
            let blame = |e| node.blame(rename(e));
            [scaled(x).map_err(blame)?, scaled(y).map_err(blame)?, scaled(z).map_err(blame)?]
        }
    };
    Ok(Some(laws))
}

/// A bad factor is one of `law_scale`.
fn rename(error: crate::Error) -> crate::Error {
    match error {
        crate::Error::Invalid { value, requirement, remedy, .. } => {
            crate::Error::Invalid { argument: "law_scale".into(), value, requirement, remedy }
        }
        other => other,
    }
}

fn read(node: &Node<'_>) -> Result<Dynamic> {
    let law = plain(node)?;
    let law = match node.table("temperature")? {
        Some(at) => shifted(&at, law)?,
        None => law,
    };
    let law = match node.table("amplitude")? {
        Some(at) => reduced(&at, law)?,
        None => law,
    };
    node.finish()?;
    Ok(law)
}

fn plain(node: &Node<'_>) -> Result<Dynamic> {
    let stiffness = |key| node.quantity(key, Dimension::STIFFNESS);
    let damping = |key| node.quantity(key, Dimension::DAMPING);
    let blame = |e| node.blame(e);
    match node.choice("kind", &KINDS)? {
        "complex" => {
            let eta = node.quantity("loss_factor", Dimension::RATIO)?;
            let law = ComplexStiffness::new(stiffness("stiffness")?, eta).map_err(blame)?;
            Ok(Dynamic::Complex(law))
        }
        "viscous" => {
            let law = Viscous::new(stiffness("stiffness")?, damping("damping")?).map_err(blame)?;
            Ok(Dynamic::Viscous(law))
        }
        "zener" => {
            let law = Zener::new(
                stiffness("static_stiffness")?,
                stiffness("branch_stiffness")?,
                damping("branch_damping")?,
            );
            Ok(Dynamic::Zener(law.map_err(blame)?))
        }
        "maxwell" => maxwell(node),
        "fractional_zener" => {
            let law = FractionalZener::new(
                stiffness("static_stiffness")?,
                stiffness("high_frequency_stiffness")?,
                node.quantity("relaxation_time", Dimension::TIME)?,
                node.quantity("order", Dimension::RATIO)?,
            );
            Ok(Dynamic::FractionalZener(law.map_err(blame)?))
        }
        _ => table(node),
    }
}

fn maxwell(node: &Node<'_>) -> Result<Dynamic> {
    let at_rest = node.quantity("static_stiffness", Dimension::STIFFNESS)?;
    let stiffness = list(node, "stiffness", Dimension::STIFFNESS)?;
    let times = list(node, "relaxation_time", Dimension::TIME)?;
    if stiffness.len() != times.len() {
        let what = format!("has {} entries and stiffness {}", times.len(), stiffness.len());
        return Err(node.error("relaxation_time", format!("{what}; give one for each branch")));
    }
    let term = |(stiffness, relaxation_time)| MaxwellTerm { stiffness, relaxation_time };
    let terms = stiffness.into_iter().zip(times).map(term).collect();
    Ok(Dynamic::Maxwell(Maxwell::new(at_rest, terms).map_err(|e| node.blame(e))?))
}

fn table(node: &Node<'_>) -> Result<Dynamic> {
    let frequency = list(node, "frequency", Dimension::FREQUENCY)?;
    let storage = list(node, "storage", Dimension::STIFFNESS)?;
    let loss = list(node, "loss", Dimension::STIFFNESS)?;
    for (key, list) in [("storage", &storage), ("loss", &loss)] {
        if list.len() != frequency.len() {
            let what = format!("has {} entries and frequency {}", list.len(), frequency.len());
            return Err(node.error(key, format!("{what}; give one for each frequency")));
        }
    }
    let variable = match node.choice_or("variable", &["frequency", "log_frequency"], "frequency")? {
        "log_frequency" => TableVariable::LogFrequency,
        _ => TableVariable::Frequency,
    };
    let at_rest = node.optional_quantity("static_stiffness", Dimension::STIFFNESS)?;
    let rows = storage.into_iter().zip(loss).map(|(re, im)| Complex64::new(re, im)).collect();
    let law = TabulatedStiffness::new(frequency, rows, variable, at_rest);
    Ok(Dynamic::Table(law.map_err(|e| node.blame(e))?))
}

fn shifted(node: &Node<'_>, law: Dynamic) -> Result<Dynamic> {
    let plain = |key| node.quantity(key, Dimension::RATIO);
    let wlf = Wlf::new(plain("c1")?, plain("c2")?, plain("reference_celsius")?);
    let wlf = wlf.map_err(|e| node.blame(e))?;
    let law = TemperatureShift::new(law, wlf, plain("temperature_celsius")?);
    node.finish()?;
    Ok(Dynamic::Shifted(law.map_err(|e| node.blame(e))?))
}

fn reduced(node: &Node<'_>, law: Dynamic) -> Result<Dynamic> {
    let plain = |key| node.quantity(key, Dimension::RATIO);
    let law = AmplitudeReduction::new(
        law,
        plain("amplitude")?,
        plain("critical_amplitude")?,
        plain("residual")?,
        plain("exponent")?,
        node.optional_quantity("loss_peak", Dimension::RATIO)?,
    );
    node.finish()?;
    Ok(Dynamic::Reduced(law.map_err(|e| node.blame(e))?))
}

fn list(node: &Node<'_>, key: &'static str, dimension: Dimension) -> Result<Vec<f64>> {
    let items = node.required(key, "a list of numbers")?.items("a list of numbers")?;
    items.iter().map(|item| item.quantity(dimension)).collect()
}
