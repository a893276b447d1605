//! What does one turn of a screw do to every load and to the level?
//!
//! Raising mount j by a_j changes the vertical loads by R a and the tilt by T a; for vertical
//! mounts under a rigid machine
//!
//! R = K - K B (B'K B)^-1 B'K,   (q0, qx, qy)' = (B'K B)^-1 B'K a,   B = [1 x y],
//!
//! with the plane z = q0 + qx x + qy y, tilt about x = qy and about y = -qx. R B = 0: a plane set
//! of adjustments only moves the machine, and only the n - 3 warp components change loads. Both
//! are taken here from the statics about its working point by central differences, which are exact
//! for mounts of constant stiffness and hold for curved ones and with gravity stiffness as well.
//!
//! A frame that is not rigid: z gets the twist p tau with p = (x - xc)(y - yc) / (a b), one at the
//! corners of the footprint. With k_t the force that lifts one corner off the plane of the other
//! three by one meter (four corners move by 4 tau), its energy is k_t (4 tau)^2 / 2 and
//!
//! tau = p'R h / (16 k_t + p'R p),   R_frame = R - R p p'R / (16 k_t + p'R p).
//!
//! Four equal feet: dF = 1 / (4/k + 1/k_t) for one meter at one foot. Source: derived (rigid:
//! exact rationals, and the frame's dF, under `tests/reference/mounts`). Limits: small motions, all
//! mounts in contact, one twist mode of the frame, which is true (untwisted) when unsettled.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

use super::super::statics::{Statics, StaticsOptions, statics};
use crate::error::{Error, Result, positive};
use crate::installation::Installation;

/// Half the difference of heights from which influences are taken, m: the size of an adjustment.
const DELTA: f64 = 1e-3;

/// A frame with one twist mode over its footprint.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    /// k_t: force at one corner per meter off the plane of the other three, N/m.
    pub stiffness: f64,
    /// Middle of the footprint, m.
    pub center: [f64; 2],
    /// Half sides of the footprint, m.
    pub half: [f64; 2],
}

impl Frame {
    /// A frame over the rectangle that holds all feet.
    ///
    /// # Errors
    /// [`Error::Invalid`] if the stiffness is not positive or the feet stand on a line.
    pub fn over(feet: &[[f64; 2]], stiffness: f64) -> Result<Self> {
        positive("frame_twist_stiffness", stiffness, "N/m")?;
        let end = |axis: usize, fold: fn(f64, f64) -> f64, start: f64| {
            feet.iter().map(|at| at[axis]).fold(start, fold)
        };
        let low = [0, 1].map(|axis| end(axis, f64::min, f64::INFINITY));
        let high = [0, 1].map(|axis| end(axis, f64::max, f64::NEG_INFINITY));
        let half = [0, 1].map(|axis| 0.5 * (high[axis] - low[axis]));
        if !half.iter().all(|h| *h > 0.0) {
            return Err(Error::invalid(
                "frame_twist_stiffness",
                format!("{stiffness} N/m"),
                "needs feet on more than one line: a frame on a line has no twist",
                "leave it out, or check the positions of the mounts",
            ));
        }
        Ok(Self { stiffness, center: [0, 1].map(|i| 0.5 * (high[i] + low[i])), half })
    }

    /// p at a point (m): part of the corner's rise.
    pub fn pattern(&self, at: [f64; 2]) -> f64 {
        (0..2).map(|i| (at[i] - self.center[i]) / self.half[i]).product()
    }

    /// Slope of p at a point along a unit direction, 1/m.
    pub fn slope(&self, at: [f64; 2], along: [f64; 2]) -> f64 {
        let part = |i: usize| (at[i] - self.center[i]) / self.half[i];
        (along[0] * part(1) / self.half[0]) + (along[1] * part(0) / self.half[1])
    }
}

/// What raising each mount by one meter does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Influence {
    /// Names of the mounts, in the order of every array here.
    pub mount_names: Vec<String>,
    /// Where they stand, x and y, m.
    pub positions: Vec<[f64; 2]>,
    /// R (mount, raised): change of each vertical load, N/m.
    pub load: DMatrix<f64>,
    /// T (2, raised): change of the tilt about x and about y, rad/m.
    pub tilt: DMatrix<f64>,
    /// Change of the height of the machine over the origin of the floor, m/m.
    pub rise: DVector<f64>,
    /// Change of the frame's twist tau at its corners, m/m; zero for a rigid one.
    pub twist: DVector<f64>,
    /// The frame, unless it is rigid.
    pub frame: Option<Frame>,
}

impl Influence {
    /// Influence of the mounts of an installation in a load case.
    ///
    /// # Errors
    /// Those of the statics; [`Error::Unknown`] for a case that is not there; [`Error::Invalid`]
    /// for a frame stiffness that is not positive.
    pub fn of(
        inst: &Installation,
        case: Option<&str>,
        gravity_stiffness: bool,
        frame_twist_stiffness: Option<f64>,
    ) -> Result<Self> {
        let n = inst.mounts.len();
        let positions: Vec<[f64; 2]> =
            inst.mounts.iter().map(|m| [m.position.x, m.position.y]).collect();
        let (mut load, mut tilt) = (DMatrix::zeros(n, n), DMatrix::zeros(2, n));
        let mut rise = DVector::zeros(n);
        for j in 0..n {
            let at = |height: f64| -> Result<(Statics, f64)> {
                let mut floor = vec![0.0; n];
                floor[j] = height;
                equilibrium(inst, case, gravity_stiffness, Some(floor))
            };
            let ((up, high), (down, low)) = (at(DELTA)?, at(-DELTA)?);
            let change = |a: f64, b: f64| (a - b) / (2.0 * DELTA);
            for i in 0..n {
                load[(i, j)] = change(up.load[[i, 2]], down.load[[i, 2]]);
            }
            for axis in 0..2 {
                tilt[(axis, j)] = change(up.tilt[axis], down.tilt[axis]);
            }
            rise[j] = change(high, low);
        }
        let names = inst.mounts.iter().map(|m| m.name.clone()).collect();
        let rigid = Self {
            mount_names: names,
            twist: DVector::zeros(n),
            frame: None,
            positions,
            load,
            tilt,
            rise,
        };
        match frame_twist_stiffness {
            Some(stiffness) => rigid.with_frame(stiffness),
            None => Ok(rigid),
        }
    }

    /// The same with a frame that twists.
    ///
    /// # Errors
    /// As [`Frame::over`].
    pub fn with_frame(mut self, stiffness: f64) -> Result<Self> {
        let frame = Frame::over(&self.positions, stiffness)?;
        let p = DVector::from_iterator(
            self.positions.len(),
            self.positions.iter().map(|at| frame.pattern(*at)),
        );
        let force = &self.load * &p;
        let tau = self.load.tr_mul(&p) / (16.0 * stiffness + p.dot(&force));
        self.load -= &force * tau.transpose();
        let (tilt, rise) = (&self.tilt * &p, self.rise.dot(&p));
        self.tilt -= tilt * tau.transpose();
        self.rise -= &tau * rise;
        self.twist = tau;
        self.frame = Some(frame);
        Ok(self)
    }

    /// Change of the level at a station along a unit direction in the plan, rad/m for each mount
    /// raised; positive: rises along the direction.
    pub fn station(&self, at: [f64; 2], along: [f64; 2]) -> DVector<f64> {
        let mut slope = DVector::zeros(self.positions.len());
        for j in 0..slope.len() {
            slope[j] = self.tilt[(0, j)] * along[1] - self.tilt[(1, j)] * along[0];
        }
        if let Some(frame) = &self.frame {
            slope += &self.twist * frame.slope(at, along);
        }
        slope
    }
}

/// Statics of a load case on a floor of given heights, and the height of the machine over the
/// origin of the floor.
pub(super) fn equilibrium(
    inst: &Installation,
    case: Option<&str>,
    gravity_stiffness: bool,
    floor_height: Option<Vec<f64>>,
) -> Result<(Statics, f64)> {
    let (body, loads) = inst.case(case)?;
    let options = StaticsOptions { gravity_stiffness, floor_height, ..StaticsOptions::default() };
    let found = statics(&inst.system_of(body), &inst.static_load(body, loads), &options)?;
    let center = body.center();
    let x = &found.displacement;
    let height = x[2] - x[3] * center.y + x[4] * center.x;
    Ok((found, height))
}
