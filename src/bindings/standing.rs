//! How the machine stands: the statics of an installation.

use pyo3::prelude::*;

use super::convert;
use super::detached;
use super::installation::PyInstallation;
use super::results::{
    NamedEnvelope, PlacedStatics, PyEnvelope, PyRailStep, PyStability, PyStatics, PyUnevenness,
};
use crate::analysis;
use crate::analysis::statics::{Standing, StaticsOptions, statics};
use crate::installation::AS_IT_RUNS;
use crate::units::Dimension;

#[pymethods]
impl PyInstallation {
    /// Static loads, deflections and tilt under the weight.
    ///
    /// K_static x = weight, with the center of mass anywhere. Gravity's own softening of the mounts
    /// is left out unless asked for; see `stability`.
    ///
    /// Parameters
    /// ----------
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    /// unilateral : bool
    ///     Mounts only push: one that would pull lifts off.
    /// gravity_stiffness : bool
    ///     The weight softens the mounts against tilting.
    /// floor_height : (mount,), optional
    ///     Height of the floor under each mount, m, up positive.
    ///
    /// Returns
    /// -------
    /// Statics
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnstableError
    #[pyo3(signature = (case=None, *, unilateral=false, gravity_stiffness=false, floor_height=None))]
    fn statics(
        &self,
        py: Python<'_>,
        case: Option<&str>,
        unilateral: bool,
        gravity_stiffness: bool,
        floor_height: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyStatics> {
        let floor_height = floor_height
            .map(|h| convert::list(h, "floor_height", Dimension::LENGTH))
            .transpose()?;
        let options = StaticsOptions { unilateral, gravity_stiffness, floor_height };
        detached(py, || {
            let (body, loads) = self.0.case(case)?;
            let statics =
                statics(&self.0.system_of(body), &self.0.static_load(body, loads), &options)?;
            Ok(PlacedStatics { statics, center: *body.center(), points: self.points_list() })
        })
        .map(PyStatics)
    }

    /// Static loads in every load case, the machine as it runs included, and their envelope.
    ///
    /// Parameters
    /// ----------
    /// unilateral : bool
    ///     Mounts only push: one that would pull lifts off.
    ///
    /// Returns
    /// -------
    /// Envelope
    #[pyo3(signature = (*, unilateral=false))]
    fn load_cases(&self, py: Python<'_>, unilateral: bool) -> PyResult<PyEnvelope> {
        let options = StaticsOptions { unilateral, ..StaticsOptions::default() };
        detached(py, || {
            let mut cases = Vec::new();
            let mut points = Vec::new();
            for (name, body, loads) in self.0.all_cases() {
                let system = self.0.system_of(body);
                let load = self.0.static_load(body, loads);
                cases.push((name.to_owned(), statics(&system, &load, &options)?));
                points.push(system.ports);
            }
            let standing: Vec<_> = cases
                .iter()
                .zip(&points)
                .map(|((case, statics), points)| Standing { case, statics, points })
                .collect();
            let rises = analysis::statics::rises(&standing)?;
            let envelope = analysis::statics::envelope(&cases)?;
            Ok(NamedEnvelope::new(&cases, envelope, rises))
        })
        .map(PyEnvelope)
    }

    /// The envelope over the load cases: the same as `load_cases`.
    ///
    /// Parameters
    /// ----------
    /// unilateral : bool
    ///     Mounts only push: one that would pull lifts off.
    ///
    /// Returns
    /// -------
    /// Envelope
    #[pyo3(signature = (*, unilateral=false))]
    fn envelope(&self, py: Python<'_>, unilateral: bool) -> PyResult<PyEnvelope> {
        self.load_cases(py, unilateral)
    }

    /// How far named points rise, and how the machine tilts, from one load case to another.
    ///
    /// rise = u_z(p; to) - u_z(p; start), on static stiffness. At the rails of a rolling bolster it
    /// is the step that the bolster must roll over.
    ///
    /// Parameters
    /// ----------
    /// to : str
    ///     Load case it ends in ("bolster out").
    /// start : str, optional
    ///     Load case it starts from; by default the machine as it runs.
    /// points : sequence of str, optional
    ///     Names of points; by default all.
    /// unilateral : bool
    ///     Mounts only push: one that would pull lifts off.
    /// gravity_stiffness : bool
    ///     The weight softens the mounts against tilting.
    ///
    /// Returns
    /// -------
    /// RailStep
    ///
    /// Raises
    /// ------
    /// UnknownNameError, FreeMotionError, UnstableError
    #[pyo3(signature = (to, start=None, points=None, *, unilateral=false, gravity_stiffness=false))]
    fn rail_step(
        &self,
        py: Python<'_>,
        to: &str,
        start: Option<&str>,
        points: Option<Vec<String>>,
        unilateral: bool,
        gravity_stiffness: bool,
    ) -> PyResult<PyRailStep> {
        let options = StaticsOptions { unilateral, gravity_stiffness, ..StaticsOptions::default() };
        let stand = |case: &str| {
            let (body, loads) = self.0.case(Some(case))?;
            let system = self.0.system_of(body);
            let found = statics(&system, &self.0.static_load(body, loads), &options)?;
            Ok((found, system.ports))
        };
        let start = start.unwrap_or(AS_IT_RUNS);
        detached(py, || {
            let (from, to_stands) = (stand(start)?, stand(to)?);
            let from = Standing { case: start, statics: &from.0, points: &from.1 };
            let to = Standing { case: to, statics: &to_stands.0, points: &to_stands.1 };
            let names = self.0.points.iter().map(|p| p.name.clone());
            let points = points.unwrap_or_else(|| names.collect());
            points.iter().map(|p| analysis::statics::rail_step(p, &from, &to)).collect()
        })
        .map(PyRailStep)
    }

    /// Rocking stability about x and about y: k_theta against m g h, on static stiffness.
    ///
    /// Parameters
    /// ----------
    /// case : str, optional
    ///     Load case; by default the machine as it runs.
    ///
    /// Returns
    /// -------
    /// Stability
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnknownNameError
    #[pyo3(signature = (case=None))]
    fn stability(&self, py: Python<'_>, case: Option<&str>) -> PyResult<PyStability> {
        detached(py, || {
            let (body, loads) = self.0.case(case)?;
            let system = self.0.system_of(body);
            let load = self.0.static_load(body, loads);
            let statics = statics(&system, &load, &StaticsOptions::default())?;
            Ok(analysis::statics::stability(&system, &statics)?.to_vec())
        })
        .map(PyStability)
    }

    /// How an uneven floor changes the mount loads (the n - 3 warp components), N/m.
    ///
    /// Returns
    /// -------
    /// Unevenness
    ///
    /// Raises
    /// ------
    /// FreeMotionError
    fn unevenness(&self, py: Python<'_>) -> PyResult<PyUnevenness> {
        detached(py, || analysis::statics::unevenness(&self.0.working(None)?)).map(PyUnevenness)
    }
}
