//! What an installation is asked: does it stand, walk, tip, keep its level?

use pyo3::prelude::*;
use pyo3::types::PyDict;

use super::super::convert;
use super::super::detached;
use super::super::error::to_py;
use super::super::installation::PyInstallation;
use super::super::results::{PyResponse, PyShock};
use super::table::{PyChecks, PyInterface};
use crate::analysis::Response;
use crate::analysis::transient::Shock;
use crate::checks::installed::{self, Motion};
use crate::checks::{Budget, Friction, creep_decades};
use crate::error::Error;
use crate::units::Dimension;

/// A shock or a steady response, out of Python's hands.
enum Given {
    Shock(Box<Shock>),
    Steady(Box<Response>),
}

impl Given {
    fn new(motion: &Bound<'_, PyAny>) -> PyResult<Self> {
        if let Ok(shock) = motion.cast::<PyShock>() {
            return Ok(Self::Shock(Box::new(shock.get().0.clone())));
        }
        if let Ok(response) = motion.cast::<PyResponse>() {
            return Ok(Self::Steady(Box::new(response.get().0.clone())));
        }
        let kind = motion.get_type().name()?.to_string();
        Err(to_py(Error::invalid(
            "motion",
            kind,
            "must be a Shock or a Response",
            "compute it with Installation.shock or Installation.response",
        )))
    }

    fn motion(&self) -> Motion<'_> {
        match self {
            Self::Shock(shock) => Motion::Shock(shock),
            Self::Steady(response) => Motion::Steady(response),
        }
    }
}

#[pymethods]
impl PyInstallation {
    /// Does it stand? Load ranges, lift-off, limits of the parts and rocking, over all load cases.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// FreeMotionError, UnstableError
    fn check_loads(&self, py: Python<'_>) -> PyResult<PyChecks> {
        detached(py, || installed::at_rest(&self.0)).map(PyChecks)
    }

    /// Does it walk? Horizontal force and yaw moment of all feet against friction, at the worst
    /// instant, which is solved for; and the foot that is nearest to slipping alone.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    ///     A motion of this installation. Of a response each frequency counts.
    /// friction : float, str or quantity
    ///     Coefficient; 0.1 to 0.2 oily, 0.5 to 0.7 dry (common practice).
    /// safety : float, str or quantity
    ///     Safety against sliding, 1 or more; 1.5 to 2 is common practice.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///     Friction used by all feet, and by one foot; 1 is all there is.
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (motion, friction=None, safety=None, *, case=None, name="motion"))]
    fn check_walking(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        friction: Option<&Bound<'_, PyAny>>,
        safety: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let friction = Friction::new(
            ratio_or(friction, "friction", Friction::OILY)?,
            ratio_or(safety, "safety", Friction::SAFETY)?,
        );
        let friction = friction.map_err(to_py)?;
        detached(py, || installed::walks(&self.0, case, &given.motion(), &friction, name))
            .map(PyChecks)
    }

    /// Greatest horizontal force of one foot on the floor, static and dynamic.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    /// limit : float, str or quantity
    ///     N.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnknownNameError
    #[pyo3(signature = (motion, limit, *, case=None, name="motion"))]
    fn check_lateral(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        limit: &Bound<'_, PyAny>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let limit = convert::scalar(limit, "limit", Dimension::FORCE)?;
        detached(py, || installed::foot_force(&self.0, case, &given.motion(), limit, name))
            .map(PyChecks)
    }

    /// Does each mount stay loaded? The part of its static load that is left when it lifts most.
    ///
    /// Parameters
    /// ----------
    /// motion : Shock or Response
    /// reserve : float, str or quantity
    ///     The part that must be left, 0 to 1.
    /// case : str, optional
    ///     Load case of the motion; by default the machine as it runs.
    /// name : str
    ///     What to call the motion.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnknownNameError
    #[pyo3(signature = (motion, reserve=None, *, case=None, name="motion"))]
    fn check_contact(
        &self,
        py: Python<'_>,
        motion: &Bound<'_, PyAny>,
        reserve: Option<&Bound<'_, PyAny>>,
        case: Option<&str>,
        name: &str,
    ) -> PyResult<PyChecks> {
        let given = Given::new(motion)?;
        let reserve = ratio_or(reserve, "reserve", 0.0)?;
        detached(py, || installed::contact(&self.0, case, &given.motion(), reserve, name))
            .map(PyChecks)
    }

    /// Does it tip, and what must hold it down? A quasi-static horizontal acceleration in four
    /// directions and every load case. Local seismic codes and licensed practice govern.
    ///
    /// Parameters
    /// ----------
    /// acceleration : float, str or quantity
    ///     As a part of g.
    /// hold_down : float, str or quantity
    ///     Force with which each mount is held down, N; by default it only stands.
    /// share : float, str or quantity, optional
    ///     Greatest part of a horizontal force that one mount may take.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError, UnstableError
    #[pyo3(signature = (acceleration, hold_down=None, *, share=None))]
    fn check_sideways(
        &self,
        py: Python<'_>,
        acceleration: &Bound<'_, PyAny>,
        hold_down: Option<&Bound<'_, PyAny>>,
        share: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyChecks> {
        let acceleration = convert::scalar(acceleration, "acceleration", Dimension::RATIO)?;
        let hold_down =
            hold_down.map_or(Ok(0.0), |h| convert::scalar(h, "hold_down", Dimension::FORCE))?;
        let share = share.map(|s| convert::scalar(s, "share", Dimension::RATIO)).transpose()?;
        detached(py, || installed::pushed(&self.0, acceleration, hold_down, share)).map(PyChecks)
    }

    /// Level error of every load case against the machine as it runs, the weight's own moment
    /// included.
    ///
    /// Parameters
    /// ----------
    /// limit : float, str or quantity
    ///     rad, or such as "0.1 mm/m".
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    fn check_level(&self, py: Python<'_>, limit: &Bound<'_, PyAny>) -> PyResult<PyChecks> {
        let limit = convert::scalar(limit, "limit", Dimension::ANGLE)?;
        detached(py, || installed::level(&self.0, limit)).map(PyChecks)
    }

    /// Screw travel: floor + unequal deflection + creep + settlement + reserve, for each mount that
    /// has a screw.
    ///
    /// Parameters
    /// ----------
    /// floor : float, str or quantity
    ///     Highest less lowest spot of the floor under the feet, m.
    /// settlement, reserve : float, str or quantity
    ///     Differential settlement to come, and travel to be left, m.
    /// creep_time : float, str or quantity, optional
    ///     Time between two levelings, s, one minute or more; by default no creep.
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnitError
    #[pyo3(signature = (floor=None, settlement=None, reserve=None, creep_time=None))]
    fn check_travel(
        &self,
        py: Python<'_>,
        floor: Option<&Bound<'_, PyAny>>,
        settlement: Option<&Bound<'_, PyAny>>,
        reserve: Option<&Bound<'_, PyAny>>,
        creep_time: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<PyChecks> {
        let length = |value: Option<&Bound<'_, PyAny>>, name| {
            value.map_or(Ok(0.0), |v| convert::scalar(v, name, Dimension::LENGTH))
        };
        let (floor, settlement, reserve) = (
            length(floor, "floor")?,
            length(settlement, "settlement")?,
            length(reserve, "reserve")?,
        );
        let decades = match creep_time {
            Some(time) => convert::scalar(time, "creep_time", Dimension::TIME)
                .and_then(|t| creep_decades(t).map_err(to_py))?,
            None => 0.0,
        };
        let budget = Budget { floor, settlement, reserve, creep_decades: decades };
        detached(py, || installed::travel(&self.0, &budget)).map(PyChecks)
    }

    /// Shift of an interface over the load cases, and its swing in named motions.
    ///
    /// Parameters
    /// ----------
    /// interface : Interface
    /// motions : dict of name -> Shock or Response
    ///
    /// Returns
    /// -------
    /// Checks
    ///
    /// Raises
    /// ------
    /// InvalidError, UnknownNameError
    #[pyo3(signature = (interface, motions=None))]
    fn check_interface(
        &self,
        py: Python<'_>,
        interface: PyRef<'_, PyInterface>,
        motions: Option<&Bound<'_, PyDict>>,
    ) -> PyResult<PyChecks> {
        let mut given = Vec::new();
        for (name, motion) in motions.into_iter().flatten() {
            given.push((name.extract::<String>()?, Given::new(&motion)?));
        }
        let interface = interface.0.clone();
        detached(py, || {
            let motions: Vec<_> = given.iter().map(|(n, g)| (n.clone(), g.motion())).collect();
            installed::interface(&self.0, &interface, &motions)
        })
        .map(PyChecks)
    }
}

fn ratio_or(value: Option<&Bound<'_, PyAny>>, name: &str, default: f64) -> PyResult<f64> {
    value.map_or(Ok(default), |v| convert::scalar(v, name, Dimension::RATIO))
}
