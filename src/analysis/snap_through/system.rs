//! The press about its state of rest, with what opens and closes.

use nalgebra::DVector;

use super::SnapThroughOptions;
use crate::analysis::statics::{Contacts, StaticsOptions, statics, with_contacts};
use crate::error::Result;
use crate::excitation::SlideStop;
use crate::installation::Installation;
use crate::machine::press::SLIDE;
use crate::system::{Gap, Hybrid, Label, LinearElement};

/// A system with contacts, and what to know of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shaken {
    /// The system.
    pub hybrid: Hybrid,
    /// What to know of it.
    pub warnings: Vec<String>,
}

/// An installation in a load case with the contacts that the options ask for. Limit stops take part
/// only where something else opens and closes, or mounts may lift off.
///
/// # Errors
/// Those of the statics, and of [`with_contacts`].
pub fn shaken(
    inst: &Installation,
    case: Option<&str>,
    options: &SnapThroughOptions,
) -> Result<Shaken> {
    let (body, loads) = inst.case(case)?;
    let system = inst.system_of(body);
    let rest = statics(&system, &inst.static_load(body, loads), &StaticsOptions::default())?;
    let press = inst.press.as_ref().map(|press| (press, inst.gravity));
    let contacts = Contacts { rule: options.rule, lift_off: options.lift_off };
    let (mut hybrid, warnings) = with_contacts(&system, &rest, press, contacts)?;
    for stop in &options.slide_stops {
        add(&mut hybrid, stop);
    }
    Ok(Shaken { hybrid, warnings })
}

/// A block or damper between slide and bed: coordinate e = -w_s, touching for e > -height.
fn add(hybrid: &mut Hybrid, stop: &SlideStop) {
    let base = &mut hybrid.base;
    let n = base.size();
    let one = |x: f64| nalgebra::DMatrix::from_element(1, 1, x);
    let mut b = nalgebra::DMatrix::zeros(n, 1);
    b[(SLIDE, 0)] = -1.0;
    let touches = stop.height > 0.0;
    let of = |x: f64| one(if touches { x } else { 0.0 });
    let (k, c) = (of(stop.stiffness), of(stop.damping));
    base.k += &b * &k * b.transpose();
    base.c += &b * &c * b.transpose();
    let force = if touches { stop.stiffness * stop.height } else { 0.0 };
    base.elements.push(LinearElement {
        b,
        k,
        h: one(0.0),
        c,
        dynamic: Vec::new(),
        label: Label { kind: "slide stop".into(), name: stop.name.clone() },
        ground: None,
    });
    hybrid.gaps.push(Gap {
        element: base.elements.len() - 1,
        along: DVector::from_element(1, 1.0),
        rest: 0.0,
        ahead: Some(-stop.height),
        behind: None,
        force: DVector::from_element(1, force),
        stiffness: stop.stiffness,
        damping: stop.damping,
    });
}
