//! Static loads, rocking stability, uneven floors and the envelope over load cases.

use ndarray::{Array1, Array2};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::body::vector;
use super::super::convert;
use super::super::labeled::{SIX, XYZ, array, labeled};
use crate::analysis::statics::{
    Envelope, Extreme, RailStep, Rise, STOP, Stability, Statics, Unevenness,
};
use crate::system::wrench_transfer;
use nalgebra::Vector3;

/// Statics of one case, and what places its named points.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct PlacedStatics {
    pub statics: Statics,
    pub center: Vector3<f64>,
    pub points: Vec<(String, Vector3<f64>)>,
}

labeled! {
    /// Static loads, deflections and tilt; see `Installation.statics`.
    ///
    /// `load` is the force of each mount ON the machine, z positive: compression; vertical loads
    /// sum to the weight. `deflection` is how far each mount is squeezed. `displacement` is that of
    /// the center of mass.
    PyStatics "Statics" (PlacedStatics)
    coords {
        "mount" => |r| r.statics.mount_names.clone();
        "axis" => |_r| XYZ.to_vec();
        "dof" => |_r| SIX.to_vec();
        "tilt_axis" => |_r| vec!["rx", "ry"];
    }
    fields {
        load: ["mount", "axis"] "N" "force of each mount on the machine" => |r| r.statics.load;
        moment: ["mount", "axis"] "N m" "moment of each mount on the machine" => |r| r.statics.moment;
        deflection: ["mount", "axis"] "m" "compression of each mount" => |r| r.statics.deflection;
        displacement: ["dof"] "m, rad" "displacement of the center of mass" => |r| r.statics.displacement.rows(0, 6.min(r.statics.displacement.len())).into_owned();
        tilt: ["tilt_axis"] "rad" "tilt about x and about y" => |r| r.statics.tilt;
        lift_gap: ["mount"] "m" "gap under each mount" => |r| r.statics.lift_gap;
    }
}

#[pymethods]
impl PyStatics {
    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.statics.mount_names.clone()
    }

    /// Names of the mounts in tension.
    #[getter]
    fn tension(&self) -> Vec<String> {
        named(&self.0.statics.tension, &self.0.statics.mount_names)
    }

    /// Names of the mounts that lift off (with unilateral=True).
    #[getter]
    fn lifted(&self) -> Vec<String> {
        named(&self.0.statics.lifted, &self.0.statics.mount_names)
    }

    /// Force of each bridge and stop on the machine, N, by name.
    #[getter]
    fn beside<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for part in &self.0.statics.beside {
            out.set_item(&part.name, vector(py, &part.force)?)?;
        }
        Ok(out)
    }

    /// Names of the stops that touch.
    #[getter]
    fn touching(&self) -> Vec<String> {
        let stops = self.0.statics.beside.iter().filter(|part| part.kind == STOP && part.touches);
        stops.map(|stop| stop.name.clone()).collect()
    }

    /// Way of each stop until it touches in its direction, m, by name; negative: pressed in.
    #[getter]
    fn way_to_go<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for stop in self.0.statics.beside.iter().filter(|part| part.kind == STOP) {
            out.set_item(&stop.name, stop.way_to_go)?;
        }
        Ok(out)
    }

    /// Steps of Newton's method; zero for a system of constant stiffness.
    #[getter]
    fn newton_steps(&self) -> usize {
        self.0.statics.newton_steps
    }

    /// What is left of the balance of forces, as a part of the load.
    #[getter]
    fn residual(&self) -> f64 {
        self.0.statics.residual
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.statics.warnings.clone()
    }

    /// Displacement (6,) of a point of the machine, m and rad.
    ///
    /// Parameters
    /// ----------
    /// point : (3,) or name of a point
    ///     Coordinates, m, or a named point of the installation.
    ///
    /// Returns
    /// -------
    /// array (6,)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    fn at<'py>(&self, py: Python<'py>, point: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let point = convert::point(point, "point", &self.0.points)?;
        let t = wrench_transfer(&point, &self.0.center);
        let moved = t.tr_mul(&self.0.statics.displacement.fixed_rows::<6>(0));
        array(py, Array1::from_iter(moved.iter().copied()))
    }
}

fn named(index: &[usize], names: &[String]) -> Vec<String> {
    index.iter().filter_map(|&i| names.get(i).cloned()).collect()
}

labeled! {
    /// Rocking stability about x and about y; see `Installation.stability`.
    ///
    /// The machine stands if m g h < k_theta; any tilt is larger by `amplification` =
    /// 1 / (1 - m g h / k_theta). h is the height of the center of mass above the mounts' elastic
    /// plane, k_theta the STATIC rocking stiffness.
    PyStability "Stability" (Vec<Stability>)
    coords {
        "tilt_axis" => |r| r.iter().map(|s| s.axis.name()).collect::<Vec<_>>();
    }
    fields {
        k_theta: ["tilt_axis"] "N m/rad" "static rocking stiffness" => |r| r.iter().map(|s| s.k_theta).collect::<Vec<_>>();
        height: ["tilt_axis"] "m" "height of the center of mass above the elastic plane" => |r| r.iter().map(|s| s.height).collect::<Vec<_>>();
        weight_moment: ["tilt_axis"] "N m/rad" "m g h" => |r| r.iter().map(|s| s.weight_moment).collect::<Vec<_>>();
        ratio: ["tilt_axis"] "1" "m g h / k_theta" => |r| r.iter().map(|s| s.ratio).collect::<Vec<_>>();
        amplification: ["tilt_axis"] "1" "factor of gravity on any tilt" => |r| r.iter().map(|s| s.amplification).collect::<Vec<_>>();
        stable: ["tilt_axis"] "1" "true if it stands" => |r| r.iter().map(|s| s.stable).collect::<Vec<_>>();
    }
}

labeled! {
    /// How an uneven floor changes the mount loads; see `Installation.unevenness`.
    PyUnevenness "Unevenness" (Unevenness)
    coords {
        "mount" => |r| r.mount_names.clone();
        "raised" => |r| r.mount_names.clone();
    }
    fields {
        influence: ["mount", "raised"] "N/m" "change of each load when the floor under one mount rises" => |r| r.influence;
        single: ["mount"] "N/m" "largest change of each load when any one foot is out" => |r| r.single;
        worst: ["mount"] "N/m" "largest change of each load when every foot may be out" => |r| r.worst;
        warp_stiffness: ["warp"] "N/m" "stiffness of each warp component" => |r| r.warp_stiffness;
        warp_pattern: ["mount", "warp"] "1" "floor heights of each warp component" => |r| r.warp_pattern;
    }
}

labeled! {
    /// Least and greatest static values over the load cases; see `Installation.load_cases`.
    PyEnvelope "Envelope" (NamedEnvelope)
    coords {
        "mount" => |r| r.envelope.mount_names.clone();
 "case" => |r| r.cases.clone();
        "point" => |r| r.rises.iter().map(|p| p.point.clone()).collect::<Vec<_>>();
        "tilt_axis" => |_r| vec!["rx", "ry"];
    }
    fields {
        load: ["case", "mount"] "N" "vertical load" => |r| r.load;
        load_min: ["mount"] "N" "least vertical load" => |r| values(&r.envelope.load_min);
        load_max: ["mount"] "N" "greatest vertical load" => |r| values(&r.envelope.load_max);
        lateral_max: ["mount"] "N" "greatest horizontal load" => |r| values(&r.envelope.lateral_max);
        deflection_max: ["mount"] "m" "greatest vertical compression" => |r| values(&r.envelope.deflection_max);
        tilt: ["tilt_axis"] "rad" "greatest tilt" => |r| values(&r.envelope.tilt);
        rise: ["point"] "m" "greatest rise of each point against the machine as it runs" => |r| r.rises.iter().map(|p| p.up.value).collect::<Vec<_>>();
        sinking: ["point"] "m" "greatest sinking, negative" => |r| r.rises.iter().map(|p| p.down.value).collect::<Vec<_>>();
    }
}

labeled! {
    /// How points of the machine move from one load case to another; see `Installation.rail_step`.
    ///
    /// At the rails of a rolling bolster the rise is the step that it must roll over.
    PyRailStep "RailStep" (Vec<RailStep>)
    coords {
        "point" => |r| r.iter().map(|s| s.point.clone()).collect::<Vec<_>>();
        "axis" => |_r| vec!["x", "y"];
        "tilt_axis" => |_r| vec!["rx", "ry"];
    }
    fields {
        rise: ["point"] "m" "rise of each point, up positive" => |r| r.iter().map(|s| s.rise).collect::<Vec<_>>();
        shift: ["point", "axis"] "m" "sideways motion of each point" => |r| Array2::from_shape_fn((r.len(), 2), |(i, j)| r.get(i).map_or(0.0, |s| if j == 0 { s.shift[0] } else { s.shift[1] }));
        tilt: ["tilt_axis"] "rad" "change of the tilt about x and about y" => |r| r.first().map_or([0.0; 2], |s| s.tilt);
    }
}

#[pymethods]
impl PyRailStep {
    /// Load case it starts from.
    #[getter]
    fn start(&self) -> &str {
        self.0.first().map_or("", |s| &s.from)
    }

    /// Load case it ends in.
    #[getter]
    fn to(&self) -> &str {
        self.0.first().map_or("", |s| &s.to)
    }

    /// Names of the points.
    #[getter]
    fn points(&self) -> Vec<String> {
        self.0.iter().map(|s| s.point.clone()).collect()
    }
}

/// An envelope with the loads it was taken over.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct NamedEnvelope {
    pub cases: Vec<String>,
    pub load: Array2<f64>,
    pub envelope: Envelope,
    pub rises: Vec<Rise>,
}

impl NamedEnvelope {
    pub fn new(cases: &[(String, Statics)], envelope: Envelope, rises: Vec<Rise>) -> Self {
        let flat = cases.iter().flat_map(|(_, statics)| statics.load.column(2).to_vec()).collect();
        let shape = (cases.len(), envelope.mount_names.len());
        let load = Array2::from_shape_vec(shape, flat).unwrap_or_default();
        Self { cases: cases.iter().map(|(name, _)| name.clone()).collect(), load, envelope, rises }
    }
}

#[pymethods]
impl PyEnvelope {
    /// Names of the load cases.
    #[getter]
    fn cases(&self) -> Vec<String> {
        self.0.cases.clone()
    }

    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.envelope.mount_names.clone()
    }

    /// The load case that governs each value of a field.
    ///
    /// Parameters
    /// ----------
    /// field : "load_min", "load_max", "lateral_max", "deflection_max", "tilt", "rise" or "sinking"
    ///     Field of the envelope.
    ///
    /// Returns
    /// -------
    /// list of str
    ///     One for each entry of the field.
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    fn governing(&self, field: &str) -> PyResult<Vec<String>> {
        let envelope = &self.0.envelope;
        let rises = self.0.rises.iter();
        let extremes: &[Extreme] = match field {
            "rise" => return Ok(rises.map(|p| p.up.case.clone()).collect()),
            "sinking" => return Ok(rises.map(|p| p.down.case.clone()).collect()),
            "load_min" => &envelope.load_min,
            "load_max" => &envelope.load_max,
            "lateral_max" => &envelope.lateral_max,
            "deflection_max" => &envelope.deflection_max,
            "tilt" => &envelope.tilt,
            other => {
                return Err(super::super::error::to_py(crate::Error::Unknown {
                    argument: "field".into(),
                    value: other.into(),
                    allowed: "use load_min, load_max, lateral_max, deflection_max, tilt, rise or \
                              sinking"
                        .into(),
                }));
            }
        };
        Ok(extremes.iter().map(|e| e.case.clone()).collect())
    }
}

fn values(extremes: &[Extreme]) -> Vec<f64> {
    extremes.iter().map(|e| e.value).collect()
}
