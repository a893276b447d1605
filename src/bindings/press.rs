//! A press whose crown and slide move inside it.

use pyo3::prelude::*;
use serde::{Deserialize, Serialize};

use super::body::{PyRigidBody, vector};
use super::convert::{scalar, vector3};
use super::error::to_py;
use super::stored::stored;
use crate::error::Error;
use crate::machine::press::REVERSE_LIMIT;
use crate::machine::{InnerMass, LinkDamping, Press, RigidBody};
use crate::units::Dimension;

/// The whole machine, and what moves inside it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Whole {
    /// The whole machine.
    pub body: RigidBody,
    /// Crown and slide.
    pub press: Press,
}

/// A press: crown and slide move inside the body they are guided by.
///
/// Takes the place of the body in `Installation`. Crown and slide are taken out of the body, which is the
/// whole machine. They follow its rigid motion and have one vertical freedom each, held by the frame
/// (k_f w_c, + stretched) and the drive (k_d (w_s - w_c), + compressed). The work force acts on the
/// slide alone: the couple of the guides cancels the offset of the tool.
///
/// Parameters
/// ----------
/// body : RigidBody
///     The whole machine with crown, slide and upper die.
/// slide_mass, crown_mass : float, str or quantity
///     Slide with the upper die; crown with the part of the uprights that moves with it, kg.
/// slide_position, crown_position : (3,)
///     Where they are, m.
/// frame_stiffness, drive_stiffness : float, str or quantity
///     Uprights and tie rods from bed to crown; connections and crank from crown to slide, N/m.
/// frame_damping, drive_damping : float, str or quantity, optional
///     N s/m.
/// frame_loss_factor, drive_loss_factor : float, str or quantity, optional
///     Loss factor in place of it.
/// frame_damping_ratio, drive_damping_ratio : float, str or quantity, optional
///     Damping ratio of the link alone between the masses it joins in place of it.
/// bed_mass : float, str or quantity, optional
///     Bed and bolster, kg: only to see that it fits into the body.
/// clearance : float, str or quantity, optional
///     Play of the drive between pushing and pulling, m.
/// counterbalance : float, str or quantity, optional
///     Force up on the slide, N; without it the drive is free of load at rest.
/// rated_force : float, str or quantity, optional
///     N.
/// reverse_limit : float, str or quantity, optional
///     Reverse load that it stands as a part of the rated force; 10 %
///     (Managing Reverse Tonnage, MetalForming Magazine, read in an excerpt).
/// guide_length : float, str or quantity, optional
///     Length over which gibs guide the slide, m.
///
/// Raises
/// ------
/// InvalidError
///     If crown and slide weigh as much as the machine or leave an inertia that no body has.
/// ShapeError, UnitError
#[pyclass(frozen, name = "Press", module = "underfoot")]
pub struct PyPress(pub Whole);

#[pymethods]
impl PyPress {
    #[new]
    #[pyo3(signature = (body, *, slide_mass, crown_mass, slide_position, crown_position,
                        frame_stiffness, drive_stiffness, frame_damping=None, drive_damping=None,
                        frame_loss_factor=None, drive_loss_factor=None, frame_damping_ratio=None,
                        drive_damping_ratio=None, bed_mass=None, clearance=None,
                        counterbalance=None, rated_force=None, reverse_limit=None,
                        guide_length=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        body: PyRef<'_, PyRigidBody>,
        slide_mass: &Bound<'_, PyAny>,
        crown_mass: &Bound<'_, PyAny>,
        slide_position: &Bound<'_, PyAny>,
        crown_position: &Bound<'_, PyAny>,
        frame_stiffness: &Bound<'_, PyAny>,
        drive_stiffness: &Bound<'_, PyAny>,
        frame_damping: Option<&Bound<'_, PyAny>>,
        drive_damping: Option<&Bound<'_, PyAny>>,
        frame_loss_factor: Option<&Bound<'_, PyAny>>,
        drive_loss_factor: Option<&Bound<'_, PyAny>>,
        frame_damping_ratio: Option<&Bound<'_, PyAny>>,
        drive_damping_ratio: Option<&Bound<'_, PyAny>>,
        bed_mass: Option<&Bound<'_, PyAny>>,
        clearance: Option<&Bound<'_, PyAny>>,
        counterbalance: Option<&Bound<'_, PyAny>>,
        rated_force: Option<&Bound<'_, PyAny>>,
        reverse_limit: Option<&Bound<'_, PyAny>>,
        guide_length: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let inner = |mass, position, names: [&str; 2]| {
            Ok::<_, PyErr>(InnerMass {
                mass: scalar(mass, names[0], Dimension::MASS)?,
                position: vector3(position, names[1], Dimension::LENGTH)?,
            })
        };
        let crown = inner(crown_mass, crown_position, ["crown_mass", "crown_position"])?;
        let slide = inner(slide_mass, slide_position, ["slide_mass", "slide_position"])?;
        let frame = scalar(frame_stiffness, "frame_stiffness", Dimension::STIFFNESS)?;
        let drive = scalar(drive_stiffness, "drive_stiffness", Dimension::STIFFNESS)?;
        let damped = [
            damping("frame", [frame_damping, frame_loss_factor, frame_damping_ratio])?,
            damping("drive", [drive_damping, drive_loss_factor, drive_damping_ratio])?,
        ];
        let body = body.0.clone();
        let mut press = Press::new(crown, slide, frame, drive).map_err(to_py)?;
        press.rest_of(&body).map_err(to_py)?;
        press = press.with_damping(damped[0], damped[1], &body).map_err(to_py)?;
        let optional = |value: Option<&Bound<'_, PyAny>>, name, dimension| {
            value.map(|v| scalar(v, name, dimension)).transpose()
        };
        if let Some(bed) = optional(bed_mass, "bed_mass", Dimension::MASS)? {
            let rest = body.mass() - press.crown.mass - press.slide.mass;
            crate::error::positive("bed_mass", bed, "kg").map_err(to_py)?;
            if bed > rest * (1.0 + 1e-9) {
                return Err(to_py(Error::invalid(
                    "bed_mass",
                    format!("{bed} kg"),
                    format!("must not exceed what crown and slide leave of the body, {rest} kg"),
                    "body is the whole machine",
                )));
            }
        }
        if let Some(gap) = optional(clearance, "clearance", Dimension::LENGTH)? {
            press = press.with_clearance(gap).map_err(to_py)?;
        }
        if let Some(force) = optional(counterbalance, "counterbalance", Dimension::FORCE)? {
            press = press.with_counterbalance(force).map_err(to_py)?;
        }
        let limit = optional(reverse_limit, "reverse_limit", Dimension::RATIO)?;
        let limit = limit.unwrap_or(REVERSE_LIMIT);
        press = match optional(rated_force, "rated_force", Dimension::FORCE)? {
            Some(rated) => press.with_rating(rated, limit).map_err(to_py)?,
            None => Press { reverse_limit: limit, ..press }.checked().map_err(to_py)?,
        };
        if let Some(length) = optional(guide_length, "guide_length", Dimension::LENGTH)? {
            press = press.with_guide_length(length).map_err(to_py)?;
        }
        Ok(Self(Whole { body, press }))
    }

    /// The whole machine.
    #[getter]
    fn body(&self) -> PyRigidBody {
        PyRigidBody(self.0.body.clone())
    }

    /// Slide with the upper die, kg.
    #[getter]
    fn slide_mass(&self) -> f64 {
        self.0.press.slide.mass
    }

    /// Crown, kg.
    #[getter]
    fn crown_mass(&self) -> f64 {
        self.0.press.crown.mass
    }

    /// What is left of the machine without crown and slide, kg.
    #[getter]
    fn bed_mass(&self) -> f64 {
        self.0.body.mass() - self.0.press.crown.mass - self.0.press.slide.mass
    }

    /// Where the slide is (3,), m.
    #[getter]
    fn slide_position<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.press.slide.position)
    }

    /// Where the crown is (3,), m.
    #[getter]
    fn crown_position<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.press.crown.position)
    }

    /// N/m.
    #[getter]
    fn frame_stiffness(&self) -> f64 {
        self.0.press.frame.stiffness
    }

    /// N/m.
    #[getter]
    fn drive_stiffness(&self) -> f64 {
        self.0.press.drive.stiffness
    }

    /// Viscous damping of the frame, also where a damping ratio was given, N s/m.
    #[getter]
    fn frame_damping(&self) -> f64 {
        self.0.press.frame.damping
    }

    /// Viscous damping of the drive, also where a damping ratio was given, N s/m.
    #[getter]
    fn drive_damping(&self) -> f64 {
        self.0.press.drive.damping
    }

    /// Loss factor of the frame.
    #[getter]
    fn frame_loss_factor(&self) -> f64 {
        self.0.press.frame.loss_factor
    }

    /// Loss factor of the drive.
    #[getter]
    fn drive_loss_factor(&self) -> f64 {
        self.0.press.drive.loss_factor
    }

    /// Frame and drive in series, N/m.
    #[getter]
    fn series_stiffness(&self) -> f64 {
        self.0.press.series_stiffness()
    }

    /// Play of the drive, m.
    #[getter]
    fn clearance(&self) -> f64 {
        self.0.press.clearance
    }

    /// Force up on the slide, N.
    #[getter]
    fn counterbalance(&self) -> Option<f64> {
        self.0.press.counterbalance
    }

    /// N.
    #[getter]
    fn rated_force(&self) -> Option<f64> {
        self.0.press.rated_force
    }

    /// Reverse load that it stands as a part of the rated force.
    #[getter]
    fn reverse_limit(&self) -> f64 {
        self.0.press.reverse_limit
    }

    /// Length of the gibs, m.
    #[getter]
    fn guide_length(&self) -> Option<f64> {
        self.0.press.guide_length
    }

    fn __repr__(&self) -> String {
        let press = &self.0.press;
        format!(
            "Press({} kg in all, slide {} kg, crown {} kg, frame {:.4e} N/m, drive {:.4e} N/m, \
             clearance {} m)",
            self.0.body.mass(),
            press.slide.mass,
            press.crown.mass,
            press.frame.stiffness,
            press.drive.stiffness,
            press.clearance
        )
    }
}
stored!(PyPress, Whole);

/// One of the three ways to state damping; none at all is none.
fn damping(name: &str, given: [Option<&Bound<'_, PyAny>>; 3]) -> PyResult<LinkDamping> {
    let [c, eta, zeta] = given;
    let argument = |what: &str| format!("{name}_{what}");
    match (c, eta, zeta) {
        (None, None, None) => Ok(LinkDamping::Viscous(0.0)),
        (Some(c), None, None) => {
            scalar(c, &argument("damping"), Dimension::DAMPING).map(LinkDamping::Viscous)
        }
        (None, Some(eta), None) => {
            scalar(eta, &argument("loss_factor"), Dimension::RATIO).map(LinkDamping::LossFactor)
        }
        (None, None, Some(zeta)) => {
            scalar(zeta, &argument("damping_ratio"), Dimension::RATIO).map(LinkDamping::Ratio)
        }
        _ => Err(to_py(Error::invalid(
            argument("damping"),
            "given in more than one way",
            "must be stated once",
            "give damping, loss_factor or damping_ratio",
        ))),
    }
}
