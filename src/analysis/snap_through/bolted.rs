//! The same press bolted to a rigid floor: crown and slide move against a body that does not.
//!
//! The floor feels -(m_c w_c'' + m_s w_s''). It is a bound to compare with, not what a press bolted to
//! a slab on soil does.

use crate::analysis::hybrid::{HybridOptions, Load};
use crate::analysis::motion::{Motion, Quantity};
use crate::error::{Error, Result};
use crate::machine::press::CROWN;
use crate::system::{Hybrid, Linear};

/// Its motion, and the vertical force on the floor, N.
pub(super) fn bolted(system: &Hybrid, load: &Load, duration: f64) -> Result<(Motion, Quantity)> {
    let base = &system.base;
    let missing = || Error::invalid("press", "no crown", "the system has none", "give a press");
    let inner = |m: &nalgebra::DMatrix<f64>| {
        (m.nrows() == CROWN + 2).then(|| m.view((CROWN, CROWN), (2, 2)).into_owned())
    };
    let mass = inner(&base.m).ok_or_else(missing)?;
    let kept: Vec<usize> =
        (0..base.elements.len()).filter(|&i| base.elements[i].ground.is_none()).collect();
    let mut still = Linear {
        dofs: base.dofs[CROWN..].to_vec(),
        m: mass,
        k: nalgebra::DMatrix::zeros(2, 2),
        h: nalgebra::DMatrix::zeros(2, 2),
        c: nalgebra::DMatrix::zeros(2, 2),
        dynamic: Vec::new(),
        principal: nalgebra::DMatrix::identity(2, 2),
        elements: Vec::new(),
        ports: Vec::new(),
        reference: base.reference,
    };
    for &i in &kept {
        let mut element = base.elements[i].clone();
        element.b = element.b.rows(CROWN, 2).into_owned();
        let bt = element.b.transpose();
        still.k += &element.b * &element.k * &bt;
        still.h += &element.b * &element.h * &bt;
        still.c += &element.b * &element.c * &bt;
        still.elements.push(element);
    }
    let gaps = system.gaps.iter().filter_map(|gap| {
        let element = kept.iter().position(|&i| i == gap.element)?;
        Some(crate::system::Gap { element, ..gap.clone() })
    });
    let hybrid = Hybrid { gaps: gaps.collect(), base: still, rule: system.rule };
    let load = Load {
        segments: load.segments.clone(),
        direction: load.direction.rows(CROWN, 2).into_owned(),
    };
    let options = HybridOptions { duration: Some(duration), ..HybridOptions::default() };
    let motion = Motion::new(&hybrid, &[load], &options)?;
    let m = &hybrid.base.m;
    let force = motion.acceleration().combined("bolted_force", &[-m[(0, 0)], -m[(1, 1)]])?;
    Ok((motion, force))
}
