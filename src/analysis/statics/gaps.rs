//! Which parts open and close about the state of rest: drive clearance, mounts that lift off, stops?
//!
//! A mount lifts where the spring force that motion takes from it is that at rest: its coordinate
//! is the squeeze e = N_0 / k, k along the vertical for slow motion, and it touches for e > 0.
//! A stop's coordinate is the machine's way toward it. The drive's is x = w_s - w_c + x_0: it pushes
//! for x > 0 and pulls for x < -clearance; x_0 = d_0 / k behind either side, with d_0 the
//! counterbalance less the weight of the slide.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::equilibrium::Model;
use super::{Statics, at};
use crate::error::{Error, Result};
use crate::law::Law;
use crate::machine::Press;
use crate::machine::press::DRIVE;
use crate::system::{ContactRule, Gap, Hybrid, LinearElement, System};

use super::joint::{MOUNT, STOP};

/// What may open and close.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Contacts {
    /// When a part touches.
    pub rule: ContactRule,
    /// Mounts only push: they lift off where they would pull.
    pub lift_off: bool,
}

/// The system about its equilibrium with the contacts that open and close; stops always do, the
/// drive of a press where it has clearance. Also what to know of it.
///
/// # Errors
/// [`Error::Invalid`] for a mount that carries nothing at rest; those of [`at`].
pub fn with_contacts(
    system: &System,
    statics: &Statics,
    press: Option<(&Press, f64)>,
    contacts: Contacts,
) -> Result<(Hybrid, Vec<String>)> {
    let base = at(system, statics)?.linear();
    let n = system.dofs.len();
    let heights = statics.options.floor_height.as_deref();
    let model = Model::new(system, &DVector::zeros(n), heights)?;
    let inverse = base.m.clone().try_inverse();
    let mut gaps = Vec::new();
    let mut warnings = Vec::new();
    for (index, element) in base.elements.iter().enumerate() {
        let joint = &model.joints[index];
        let support = model.supports.iter().position(|&i| i == index);
        let height = support.map_or(0.0, |i| model.heights[i]);
        let e = joint.deformation(&statics.displacement, height);
        let force = joint.force(&e);
        let kind = element.label.kind.as_str();
        match (&joint.law, press) {
            (Law::Gap(law), _) if kind == STOP => {
                let mut along = DVector::zeros(law.rank);
                along[0] = 1.0;
                let mut damping = law.damping;
                if let Some(inverse) = inverse.as_ref().filter(|_| law.loss_factor > 0.0) {
                    let (more, text) = dashpot(&element.b, &along, inverse, law);
                    damping += more;
                    warnings.push(format!("stop {}: {text}", element.label.name));
                }
                gaps.push(Gap {
                    element: index,
                    rest: e[0],
                    ahead: Some(law.gap),
                    behind: law.gap_behind.map(|g| -g),
                    force,
                    stiffness: law.stiffness,
                    damping,
                    along,
                });
            }
            (_, Some((press, gravity))) if kind == DRIVE && press.clearance > 0.0 => {
                gaps.push(drive(index, press, gravity));
            }
            _ if kind == MOUNT && element.ground.is_some() && contacts.lift_off => {
                gaps.push(lifting(index, element, force)?);
            }
            _ => {}
        }
    }
    Ok((Hybrid { base, gaps, rule: contacts.rule }, warnings))
}

/// The drive of a press with clearance; without a counterbalance it is free of load at rest.
fn drive(element: usize, press: &Press, gravity: f64) -> Gap {
    let k = press.drive.stiffness;
    let force = press.drive_at_rest(gravity).unwrap_or(0.0);
    let side = if force >= 0.0 { 0.0 } else { -press.clearance };
    Gap {
        element,
        along: DVector::from_element(1, 1.0),
        rest: side + force / k,
        ahead: Some(0.0),
        behind: Some(-press.clearance),
        force: DVector::from_element(1, force),
        stiffness: k,
        damping: press.drive.damping,
    }
}

fn lifting(index: usize, element: &LinearElement, force: DVector<f64>) -> Result<Gap> {
    let rows = element.ground.as_ref().map(|foot| -foot.wrench.row(2).transpose());
    let along = rows.unwrap_or_else(|| DVector::zeros(force.len()));
    let load = along.dot(&force);
    let slow = |law: &crate::law::Dynamic| law.realization().map_or(0.0, |r| r.stiffness);
    let laws: f64 = element
        .dynamic
        .iter()
        .map(|part| part.b.tr_mul(&along).norm_squared() * slow(&part.law))
        .sum();
    let stiffness = along.dot(&(&element.k * &along)) + laws;
    let name = &element.label.name;
    if load <= 0.0 || stiffness <= 0.0 {
        return Err(Error::invalid(
            format!("mount {name}"),
            format!("{load} N at rest on {stiffness} N/m"),
            "must carry load on a vertical stiffness where mounts may lift off",
            "level the machine, or compute without lift-off",
        ));
    }
    Ok(Gap {
        element: index,
        along,
        rest: load / stiffness,
        ahead: Some(0.0),
        behind: None,
        force,
        stiffness,
        damping: 0.0,
    })
}

/// The dashpot that stands for a stop's loss factor: c = eta sqrt(k m) at the frequency of the
/// machine on the stop alone, m = 1 / (v' M^-1 v).
fn dashpot(
    b: &DMatrix<f64>,
    along: &DVector<f64>,
    inverse: &DMatrix<f64>,
    law: &crate::law::Gap,
) -> (f64, String) {
    let v = b * along;
    let mass = 1.0 / v.dot(&(inverse * &v));
    let omega = (law.stiffness / mass).sqrt();
    let c = law.loss_factor * law.stiffness / omega;
    let text = format!(
        "its loss factor stands as a dashpot of {c:.4e} N s/m, the same at {:.3} Hz",
        omega / std::f64::consts::TAU
    );
    (c, text)
}
