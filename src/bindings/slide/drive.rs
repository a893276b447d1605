//! The slide with its drive and its moving masses.

use pyo3::prelude::*;

use super::super::body::vector;
use super::super::convert::{choice, name_of, scalar, vector3};
use super::super::error::to_py;
use super::super::stored::stored;
use super::motion::{PyLinkDrive, PyMotionProfile, PySliderCrank};
use super::or_zero;
use crate::error::Error;
use crate::excitation::SlideDrive;
use crate::excitation::slide::{Crank, Mechanism, Rotation, Shaft};
use crate::units::Dimension;

/// A slide and its drive: kinematics, moving masses, and what their inertia does to the frame.
///
/// theta = 0 has the crank pin at the top (top dead center without offset). Heights are above bottom
/// dead center, up positive; so are speeds and accelerations. The frame gets minus the rate of change
/// of the momentum of all moving parts.
///
/// Parameters
/// ----------
/// mass : float, str or quantity
///     Slide without upper die, kg.
/// stroke : float, str or quantity, optional
///     m; with `rod_ratio` it makes a slider-crank.
/// rod_ratio : float, optional
///     Rod length over crank radius, above 1.
/// offset : float, str or quantity
///     Of the slide's line from the crankshaft, m; positive on the side to which the pin moves at the
///     top.
/// upper_die_mass : float, str or quantity
///     kg; moves with the slide.
/// motion : SliderCrank, LinkDrive or MotionProfile, optional
///     In place of stroke, rod_ratio and offset.
/// at : (3,)
///     Point of the slide's line of action at the height of the crankshaft, m.
/// shaft : {"y", "x"}
///     Direction of the crankshaft: front-back or left-right.
/// rotation : {"right", "left", "pair"}
///     Sense of the crank about its shaft's axis; a pair of cranks that turn opposite ways has no
///     horizontal force.
/// counterbalance : float, str or quantity
///     Upward force on the slide, N; between slide and frame, so it loads the rod and not the floor.
/// rod_mass : float, str or quantity
///     Connecting rods, kg; two masses at their pins.
/// rod_center : float
///     Center of mass as a share of the rod's length from the driven pin; a third (common practice).
/// rod_inertia : float, str or quantity, optional
///     About the rod's center of mass, kg m^2; by default that of the two masses.
/// crank_unbalance, rotating_balance : float, str or quantity
///     Mass times radius on the side of the pin and opposite to it, kg m.
/// counter_slide_mass : float, str or quantity
///     A slide that moves against the slide, kg.
/// counter_slide_stroke : float, str or quantity, optional
///     m; by default the slide's.
/// counter_slide_rod_ratio : float, optional
///     By default the slide's.
///
/// Raises
/// ------
/// InvalidError, ShapeError, UnitError, UnknownNameError
#[pyclass(frozen, name = "SlideDrive", module = "underfoot")]
pub struct PySlideDrive(pub SlideDrive);

#[pymethods]
impl PySlideDrive {
    #[new]
    #[pyo3(signature = (mass, stroke=None, rod_ratio=None, offset=None, upper_die_mass=None, *,
                        motion=None, at=None, shaft="y", rotation="right", counterbalance=None,
                        rod_mass=None, rod_center=None, rod_inertia=None, crank_unbalance=None,
                        rotating_balance=None, counter_slide_mass=None, counter_slide_stroke=None,
                        counter_slide_rod_ratio=None))]
    #[allow(clippy::too_many_arguments)] // one keyword each, as users write them
    fn new(
        mass: &Bound<'_, PyAny>,
        stroke: Option<&Bound<'_, PyAny>>,
        rod_ratio: Option<&Bound<'_, PyAny>>,
        offset: Option<&Bound<'_, PyAny>>,
        upper_die_mass: Option<&Bound<'_, PyAny>>,
        motion: Option<&Bound<'_, PyAny>>,
        at: Option<&Bound<'_, PyAny>>,
        shaft: &str,
        rotation: &str,
        counterbalance: Option<&Bound<'_, PyAny>>,
        rod_mass: Option<&Bound<'_, PyAny>>,
        rod_center: Option<&Bound<'_, PyAny>>,
        rod_inertia: Option<&Bound<'_, PyAny>>,
        crank_unbalance: Option<&Bound<'_, PyAny>>,
        rotating_balance: Option<&Bound<'_, PyAny>>,
        counter_slide_mass: Option<&Bound<'_, PyAny>>,
        counter_slide_stroke: Option<&Bound<'_, PyAny>>,
        counter_slide_rod_ratio: Option<&Bound<'_, PyAny>>,
    ) -> PyResult<Self> {
        let mass = scalar(mass, "mass", Dimension::MASS)?;
        let mut out = match motion {
            Some(motion) => moved(mass, motion, [stroke, rod_ratio, offset])?,
            None => cranked(mass, stroke, rod_ratio, offset)?,
        };
        out.upper_die_mass = or_zero(upper_die_mass, "upper_die_mass", Dimension::MASS)?;
        out.counterbalance = or_zero(counterbalance, "counterbalance", Dimension::FORCE)?;
        out.rod_mass = or_zero(rod_mass, "rod_mass", Dimension::MASS)?;
        if let Some(center) = rod_center {
            out.rod_center = scalar(center, "rod_center", Dimension::RATIO)?;
        }
        if let Some(inertia) = rod_inertia {
            out.rod_inertia = Some(scalar(inertia, "rod_inertia", Dimension::INERTIA)?);
        }
        out.crank_unbalance = or_zero(crank_unbalance, "crank_unbalance", Dimension::MASS_MOMENT)?;
        out.rotating_balance =
            or_zero(rotating_balance, "rotating_balance", Dimension::MASS_MOMENT)?;
        if let Some(at) = at {
            out.at = vector3(at, "at", Dimension::LENGTH)?;
        }
        out.shaft = choice("shaft", shaft, &Shaft::ALL)?;
        out.rotation = choice("rotation", rotation, &Rotation::ALL)?;
        if let Some(counter) = counter_slide_mass {
            let counter = scalar(counter, "counter_slide_mass", Dimension::MASS)?;
            let stroke = counter_slide_stroke.map_or(Ok(out.stroke()), |s| {
                scalar(s, "counter_slide_stroke", Dimension::LENGTH)
            })?;
            let ratio = match (counter_slide_rod_ratio, out.mechanism()) {
                (Some(ratio), _) => scalar(ratio, "counter_slide_rod_ratio", Dimension::RATIO)?,
                (None, Mechanism::Crank(crank)) => crank.rod_length / crank.radius,
                (None, _) => return Err(to_py(lacking("counter_slide_rod_ratio"))),
            };
            out = out.with_counter_slide(counter, stroke, ratio).map_err(to_py)?;
        }
        out.checked().map(Self).map_err(to_py)
    }

    /// Slide without upper die, kg.
    #[getter]
    fn mass(&self) -> f64 {
        self.0.mass
    }

    /// kg.
    #[getter]
    fn upper_die_mass(&self) -> f64 {
        self.0.upper_die_mass
    }

    /// Upward force on the slide, N.
    #[getter]
    fn counterbalance(&self) -> f64 {
        self.0.counterbalance
    }

    /// Highest minus lowest position of the slide, m.
    #[getter]
    fn stroke(&self) -> f64 {
        self.0.stroke()
    }

    /// Crank radius, or half the stroke of a table, m.
    #[getter]
    fn radius(&self) -> f64 {
        self.0.radius()
    }

    /// Crank angle at which the slide is highest, rad.
    #[getter]
    fn top_dead_center(&self) -> f64 {
        self.0.top_dead_center()
    }

    /// Crank angle at which the slide is lowest, rad.
    #[getter]
    fn bottom_dead_center(&self) -> f64 {
        self.0.bottom_dead_center()
    }

    /// Point of the slide's line at the height of the crankshaft (3,), m.
    #[getter]
    fn at<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        vector(py, &self.0.at)
    }

    /// Direction of the crankshaft.
    #[getter]
    fn shaft(&self) -> &'static str {
        name_of(self.0.shaft, &Shaft::ALL)
    }

    /// Sense of the crank.
    #[getter]
    fn rotation(&self) -> &'static str {
        name_of(self.0.rotation, &Rotation::ALL)
    }

    /// What moves the slide: SliderCrank, LinkDrive or MotionProfile.
    #[getter]
    fn motion<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        match self.0.mechanism() {
            Mechanism::Crank(crank) => Ok(Bound::new(py, PySliderCrank(crank.clone()))?.into_any()),
            Mechanism::Link(link) => Ok(Bound::new(py, PyLinkDrive(link.clone()))?.into_any()),
            Mechanism::Profile(profile) => {
                Ok(Bound::new(py, PyMotionProfile(profile.clone()))?.into_any())
            }
        }
    }

    /// kg.
    #[getter]
    fn rod_mass(&self) -> f64 {
        self.0.rod_mass
    }

    /// Center of mass of the rod from its driven pin, over its length.
    #[getter]
    fn rod_center(&self) -> f64 {
        self.0.rod_center
    }

    /// Of the rod about its center of mass, kg m^2; None: that of two pin masses.
    #[getter]
    fn rod_inertia(&self) -> Option<f64> {
        self.0.rod_inertia
    }

    /// Of crank and pin about the crankshaft, kg m.
    #[getter]
    fn crank_unbalance(&self) -> f64 {
        self.0.crank_unbalance
    }

    /// Opposite the crank, kg m.
    #[getter]
    fn rotating_balance(&self) -> f64 {
        self.0.rotating_balance
    }

    /// Mass (kg), stroke (m) and rod ratio of a slide that moves against this one; None without one.
    #[getter]
    fn counter_slide(&self) -> Option<(f64, f64, f64)> {
        let counter = self.0.counter_slide.as_ref()?;
        let crank = &counter.crank;
        Some((counter.mass, 2.0 * crank.radius, crank.rod_length / crank.radius))
    }

    fn __repr__(&self) -> String {
        let d = &self.0;
        let kind = match d.mechanism() {
            Mechanism::Crank(c) => format!("rod_ratio={}", c.rod_length / c.radius),
            Mechanism::Link(_) => "link drive".into(),
            Mechanism::Profile(p) => format!("table of {} rows", p.angle.len()),
        };
        let [x, y, z] = [d.at.x, d.at.y, d.at.z];
        format!(
            "SlideDrive(mass={} kg, upper_die_mass={} kg, stroke={} m, {kind}, at=({x}, {y}, {z}) m)",
            d.mass,
            d.upper_die_mass,
            d.stroke()
        )
    }
}
stored!(PySlideDrive, SlideDrive);

fn cranked(
    mass: f64,
    stroke: Option<&Bound<'_, PyAny>>,
    rod_ratio: Option<&Bound<'_, PyAny>>,
    offset: Option<&Bound<'_, PyAny>>,
) -> PyResult<SlideDrive> {
    let stroke = stroke.ok_or_else(|| to_py(lacking("stroke")))?;
    let ratio = rod_ratio.ok_or_else(|| to_py(lacking("rod_ratio")))?;
    Crank::from_stroke(
        scalar(stroke, "stroke", Dimension::LENGTH)?,
        scalar(ratio, "rod_ratio", Dimension::RATIO)?,
        or_zero(offset, "offset", Dimension::LENGTH)?,
    )
    .and_then(|crank| SlideDrive::crank(mass, crank))
    .map_err(to_py)
}

fn moved(
    mass: f64,
    motion: &Bound<'_, PyAny>,
    given: [Option<&Bound<'_, PyAny>>; 3],
) -> PyResult<SlideDrive> {
    for (value, name) in given.into_iter().zip(["stroke", "rod_ratio", "offset"]) {
        if let Some(value) = value {
            return Err(to_py(Error::invalid(
                name,
                value.repr()?,
                "must be left out where motion is given, which holds it",
                "give either motion, or stroke and rod_ratio",
            )));
        }
    }
    let drive = if let Ok(crank) = motion.cast::<PySliderCrank>() {
        SlideDrive::crank(mass, crank.get().0.clone())
    } else if let Ok(link) = motion.cast::<PyLinkDrive>() {
        SlideDrive::link(mass, link.get().0.clone())
    } else if let Ok(profile) = motion.cast::<PyMotionProfile>() {
        SlideDrive::profile(mass, profile.get().0.clone())
    } else {
        return Err(to_py(Error::invalid(
            "motion",
            motion.repr()?,
            "must be a SliderCrank, a LinkDrive or a MotionProfile",
            "build it with one of these",
        )));
    };
    drive.map_err(to_py)
}

fn lacking(argument: &str) -> Error {
    Error::invalid(
        argument,
        "not given",
        "is required without a motion that holds it",
        "give stroke and rod_ratio, or motion",
    )
}
