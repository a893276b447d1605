//! Modes, transmissibility and harmonic response.

use pyo3::prelude::*;

use super::super::convert;
use super::super::error::to_py;
use super::super::labeled::{SIX, XYZ, array, labeled};
use super::shock::six;
use crate::analysis::{BaseTransmissibility, Modes, Response, Transmissibility};

labeled! {
    /// Natural frequencies, shapes, damping and energies; see `Installation.modes`.
    ///
    /// Shapes are mass-normalized. `energy` is the kinetic-energy fraction of each mode in each
    /// degree of freedom, in the principal axes of inertia, so that rows sum to 1 and entries lie
    /// in 0..1; `energy_raw` is phi_i (M phi)_i, which may leave 0..1.
    PyModes "Modes" (Modes)
    coords {
        "dof" => |r| r.dofs.iter().map(ToString::to_string).collect::<Vec<_>>();
        "mode" => |r| (1..=r.frequency.len()).collect::<Vec<_>>();
    }
    fields {
        frequency: ["mode"] "Hz" "undamped natural frequency" => |r| r.frequency;
        damping_ratio: ["mode"] "1" "damping ratio" => |r| r.damping_ratio;
        damped_frequency: ["mode"] "Hz" "damped natural frequency" => |r| r.damped_frequency;
        shape: ["dof", "mode"] "kg^-1/2" "mass-normalized mode shape" => |r| r.shape;
        damped_shape: ["dof", "mode"] "1" "complex mode shape, largest entry 1" => |r| r.damped_shape;
        eigenvalue: ["root"] "1/s" "complex eigenvalue" => |r| r.eigenvalue;
        iterations: ["mode"] "1" "iterations of each mode where laws depend on frequency" => |r| r.iterations.iter().map(|&i| i as f64).collect::<Vec<_>>();
        residual: ["mode"] "1" "relative residual of each mode where laws depend on frequency" => |r| r.residual;
        energy: ["mode", "dof"] "1" "kinetic-energy fraction in principal axes" => |r| r.energy;
        energy_raw: ["mode", "dof"] "1" "raw kinetic-energy fraction" => |r| r.energy_raw;
    }
}

#[pymethods]
impl PyModes {
    /// What each mode is, in words.
    #[getter]
    fn description(&self) -> Vec<String> {
        self.0.description.clone()
    }

    /// What stands for the damping in the damped modes: dashpots as given, or the causal equivalent
    /// of the loss factors.
    #[getter]
    fn damping_model(&self) -> String {
        self.0.damping_model.to_string()
    }

    /// Elastic center (3,), m: x and y where a vertical force does not turn the machine, and the
    /// stiffness-weighted mean of `elastic_height`; None if it is not defined.
    #[getter]
    fn elastic_center<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        let point = self.0.elastic_center.map(|e| e.point);
        point.map(|p| array(py, ndarray::arr1(&[p.x, p.y, p.z]))).transpose()
    }

    /// Heights (2,), m, at which a force along x, along y, does not turn the machine.
    #[getter]
    fn elastic_height<'py>(&self, py: Python<'py>) -> PyResult<Option<Bound<'py, PyAny>>> {
        let heights = self.0.elastic_center.map(|e| [e.height_x, e.height_y]);
        heights.map(|h| array(py, ndarray::arr1(&h))).transpose()
    }
}

labeled! {
    /// Transmissibility to a rigid floor; see `Installation.transmissibility`.
    PyTransmissibility "Transmissibility" (Transmissibility)
    coords {
        "mount" => |r| r.mounts.clone();
        "ground_dof" => |_r| SIX.to_vec();
        "source_dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        frequency: ["frequency"] "Hz" "frequency" => |r| r.frequency;
        matrix: ["frequency", "ground_dof", "source_dof"] "N/N, m, 1/m" "wrench on the ground for a unit wrench at the source" => |r| r.matrix;
        mount: ["frequency", "mount", "axis", "source_dof"] "N/N, 1/m" "force of each mount on the ground for a unit wrench at the source" => |r| r.mount().map_err(to_py)?;
        vertical: ["frequency"] "1" "vertical force transmissibility to a rigid floor" => |r| r.vertical;
    }
}

labeled! {
    /// Steady response to a harmonic load, peak phasors under e^(+j omega t); see
    /// `Installation.response`.
    PyResponse "Response" (Response)
    coords {
        "mount" => |r| r.mounts.clone();
        "dof" => |_r| SIX.to_vec();
        "axis" => |_r| XYZ.to_vec();
    }
    fields {
        frequency: ["frequency"] "Hz" "frequency" => |r| r.frequency;
        displacement: ["frequency", "dof"] "m, rad" "motion of the center of mass" => |r| six(&r.displacement);
        mount_force: ["frequency", "mount", "axis"] "N" "force of each mount on the ground" => |r| r.mount_force().map_err(to_py)?;
        ground_wrench: ["frequency", "dof"] "N, N m" "wrench on the ground about the center of mass" => |r| r.ground_wrench().map_err(to_py)?;
    }
}

#[pymethods]
impl PyResponse {
    /// Motion of a point of the machine (frequency, 6), m and rad, peak phasors.
    ///
    /// Parameters
    /// ----------
    /// point : (3,) or name of a point
    ///     Coordinates, m, or a named point of the installation.
    ///
    /// Returns
    /// -------
    /// array (frequency, 6)
    ///
    /// Raises
    /// ------
    /// InvalidError, ShapeError, UnitError, UnknownNameError
    fn at<'py>(&self, py: Python<'py>, point: &Bound<'py, PyAny>) -> PyResult<Bound<'py, PyAny>> {
        let point = convert::point(point, "point", &self.0.points)?;
        array(py, self.0.at(&point))
    }
}

labeled! {
    /// Motion of a point by unit motion of the floor; see `Installation.base_transmissibility`.
    PyBaseTransmissibility "BaseTransmissibility" (BaseTransmissibility)
    coords {
        "floor" => |_r| SIX.to_vec();
        "dof" => |_r| SIX.to_vec();
    }
    fields {
        frequency: ["frequency"] "Hz" "frequency" => |r| r.frequency;
        matrix: ["frequency", "dof", "floor"] "1" "motion of the point by motion of the floor, both about the point" => |r| r.matrix;
        vertical: ["frequency"] "1" "vertical motion by unit vertical motion of the floor" => |r| r.vertical;
    }
}
