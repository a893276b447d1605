//! The response to a shock and its peaks.

use ndarray::{Array2, s};
use pyo3::prelude::*;

use super::super::convert;
use super::super::error::to_py;
use super::super::labeled::{SIX, XYZ, labeled};
use super::super::stored::stored;
use crate::analysis::transient::{Output, Peak, PointHistory, Quantity, Shock, Transient};
use crate::error::Error;
use crate::installation::{Point, port};
use crate::system::Port;

labeled! {
    /// Response to a shock; see `Installation.shock`.
    ///
    /// Histories are samples of the exact motion; peaks are solved for between the samples.
    /// `mount_force` is the force of each mount on the ground, added to the static one.
    PyShock "Shock" (Shock)
    coords {
        "mount" => |r| r.mount_names.clone();
        "dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        time: ["time"] "s" "time" => |r| r.time;
        displacement: ["time", "dof"] "m, rad" "displacement of the center of mass" => |r| six(&r.displacement);
        velocity: ["time", "dof"] "m/s, rad/s" "velocity of the center of mass" => |r| six(&r.velocity);
        acceleration: ["time", "dof"] "m/s^2, rad/s^2" "acceleration of the center of mass" => |r| six(&r.acceleration);
        mount_force: ["time", "mount", "axis"] "N" "force of each mount on the ground" => |r| r.mount_force;
        ground_wrench: ["time", "dof"] "N, N m" "wrench on the ground about the center of mass" => |r| r.ground_wrench;
    }
}

#[pymethods]
impl PyShock {
    /// Greatest absolute value of a quantity, solved for, not sampled.
    ///
    /// Parameters
    /// ----------
    /// quantity : "displacement", "velocity", "acceleration", "mount_force" or "ground_wrench"
    /// component : str, optional
    ///     One component ("z", or "front left.z" of a mount); by default the greatest of those in
    ///     the first one's unit (translations, forces).
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn peak(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let output = self.0.output(named(quantity)?);
        peak(&self.0.transient, &output, component)
    }

    /// Histories of a point of the machine.
    ///
    /// Parameters
    /// ----------
    /// point : (3,) or name of a point
    ///     Coordinates, m, or a named point of the installation.
    ///
    /// Returns
    /// -------
    /// PointHistory
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    fn at(&self, point: &Bound<'_, PyAny>) -> PyResult<PyPointHistory> {
        let linear = self.0.transient.linear();
        let points: Vec<_> = linear.ports.iter().map(|p| (p.name.clone(), p.position)).collect();
        let at = convert::point(point, "point", &points)?;
        let name = point.str()?.to_string();
        let port = port(&Point { name, at }, &linear.reference);
        let history = self.0.at(&port).map_err(to_py)?;
        let transient = self.0.transient.clone();
        Ok(PyPointHistory(Place { time: self.0.time.clone(), history, port, transient }))
    }

    /// Names of the mounts.
    #[getter]
    fn mounts(&self) -> Vec<String> {
        self.0.mount_names.clone()
    }

    /// What stands for the damping in time.
    #[getter]
    fn time_model(&self) -> String {
        self.0.time_model.to_string()
    }

    /// Greatest relative error of the dynamic stiffness of the time model over its band.
    #[getter]
    fn time_model_error(&self) -> f64 {
        self.0.time_model_error
    }

    /// Band of that error, Hz: lowest to highest mode.
    #[getter]
    fn time_model_band(&self) -> (f64, f64) {
        let [low, high] = self.0.time_model_band;
        (low, high)
    }

    /// What to know before using the numbers.
    #[getter]
    fn warnings(&self) -> Vec<String> {
        self.0.warnings.clone()
    }
}

/// Histories of one point, with the exact motion behind them.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Place {
    time: Vec<f64>,
    history: PointHistory,
    port: Port,
    transient: Transient,
}

labeled! {
    /// Motion of one point of the machine in a shock; see `Shock.at`.
    PyPointHistory "PointHistory" (Place)
    coords {
        "dof" => |_r| SIX.to_vec();
    }
    fields {
        time: ["time"] "s" "time" => |r| r.time;
        displacement: ["time", "dof"] "m, rad" "displacement" => |r| r.history.displacement;
        velocity: ["time", "dof"] "m/s, rad/s" "velocity" => |r| r.history.velocity;
        acceleration: ["time", "dof"] "m/s^2, rad/s^2" "acceleration" => |r| r.history.acceleration;
    }
}

#[pymethods]
impl PyPointHistory {
    /// Greatest absolute value of a quantity, solved for, not sampled.
    ///
    /// Parameters
    /// ----------
    /// quantity : "displacement", "velocity" or "acceleration"
    ///     What is sought.
    /// component : str, optional
    ///     One component ("z"); by default the greatest translation.
    ///
    /// Returns
    /// -------
    /// Peak
    ///
    /// Raises
    /// ------
    /// UnknownNameError
    #[pyo3(signature = (quantity, component=None))]
    fn peak(&self, quantity: &str, component: Option<&str>) -> PyResult<PyPeak> {
        let (motion, port) = (&self.0.transient, &self.0.port);
        let output = match quantity {
            "displacement" => motion.point_displacement(port),
            "velocity" => motion.point_velocity(port),
            "acceleration" => motion.point_acceleration(port),
            other => Err(Error::Unknown {
                argument: "quantity".into(),
                value: other.into(),
                allowed: "use displacement, velocity or acceleration".into(),
            }),
        };
        peak(motion, &output.map_err(to_py)?, component)
    }
}

/// Greatest absolute value of one quantity, and when it occurs.
#[pyclass(frozen, name = "Peak", module = "underfoot")]
pub struct PyPeak(pub Peak);

#[pymethods]
impl PyPeak {
    /// Greatest absolute value, in `unit`.
    #[getter]
    fn value(&self) -> f64 {
        self.0.value
    }

    /// The same with its sign.
    #[getter]
    fn signed_value(&self) -> f64 {
        self.0.signed_value
    }

    /// When, s.
    #[getter]
    fn time(&self) -> f64 {
        self.0.time
    }

    /// Which component ("machine.z", "front left.z").
    #[getter]
    fn component(&self) -> &str {
        &self.0.name
    }

    /// Unit of the value.
    #[getter]
    fn unit(&self) -> &str {
        &self.0.unit
    }

    fn __repr__(&self) -> String {
        format!(
            "Peak(value={:.6e} {}, signed_value={:.6e}, time={:.6} s, component={:?})",
            self.0.value, self.0.unit, self.0.signed_value, self.0.time, self.0.name
        )
    }
}
stored!(PyPeak, Peak);

/// The six of the machine; masses inside it come behind them.
pub fn six<T: Clone>(values: &Array2<T>) -> Array2<T> {
    values.slice(s![.., ..values.ncols().min(6)]).to_owned()
}

fn named(quantity: &str) -> PyResult<Quantity> {
    match quantity {
        "displacement" => Ok(Quantity::Displacement),
        "velocity" => Ok(Quantity::Velocity),
        "acceleration" => Ok(Quantity::Acceleration),
        "mount_force" => Ok(Quantity::MountForce),
        "ground_wrench" => Ok(Quantity::GroundWrench),
        other => Err(to_py(Error::Unknown {
            argument: "quantity".into(),
            value: other.into(),
            allowed: "use displacement, velocity, acceleration, mount_force or ground_wrench"
                .into(),
        })),
    }
}

fn peak(motion: &Transient, output: &Output, component: Option<&str>) -> PyResult<PyPeak> {
    let Some(component) = component else {
        let none = || Error::invalid("quantity", "no components", "at least one", "add mounts");
        return motion.peak(output).map(PyPeak).ok_or_else(|| to_py(none()));
    };
    // "z" stands for "machine.z" where there is only one body or point.
    let wanted = |name: &str| name == component || name.rsplit('.').next() == Some(component);
    let matching: Vec<_> = motion.peaks(output).into_iter().filter(|p| wanted(&p.name)).collect();
    match <[Peak; 1]>::try_from(matching) {
        Ok([one]) => Ok(PyPeak(one)),
        Err(_) => Err(to_py(Error::Unknown {
            argument: "component".into(),
            value: component.into(),
            allowed: format!("components are {}", output.names.join(", ")),
        })),
    }
}
