//! Which machine stands on which mounts, in which load cases? Turns parts of the trade into a
//! [`System`] of equations, one for each load case.
//!
//! The floor is rigid: transmissibility and floor forces are those to a rigid floor, and claim no
//! benefit against another way of standing.

mod handling;
mod pressed;

pub use crate::excitation::{direction, unit_vector};
pub use handling::{Cart, EmergencyStop, HANDLING, SetDown};

use nalgebra::{DMatrix, DVector, Vector3};
use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, by_name, each, finite, positive};
use crate::machine::{Press, RigidBody};
use crate::support::{Bridge, Mount, Stop};
use crate::system::{Axis, Dof, Element, Port, System, wrench_transfer};

/// Standard gravity, m/s^2 (exact by definition, ISO 80000-3).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// Name of the machine's own case in tables.
pub const AS_IT_RUNS: &str = "as it runs";

/// How an unknown point is answered: the names there are, or what to give instead.
pub const NAMED_POINTS: [&str; 2] =
    ["named points are", "the installation has no named points; give coordinates in m"];

/// A force and a moment at a point.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wrench {
    /// Force, N.
    pub force: Vector3<f64>,
    /// Moment, N m.
    pub moment: Vector3<f64>,
    /// Where it acts, m; `None`: at the center of mass.
    pub at: Option<Vector3<f64>>,
}

impl Wrench {
    /// Force (N) and moment (N m) at a point (m), or at the center of mass.
    ///
    /// # Errors
    /// [`Error::Invalid`] for anything not finite.
    pub fn new(
        force: Vector3<f64>,
        moment: Vector3<f64>,
        at: Option<Vector3<f64>>,
    ) -> Result<Self> {
        each(finite, "force", &force, "N")?;
        each(finite, "moment", &moment, "N m")?;
        each(finite, "at", at.iter().flatten(), "m")?;
        Ok(Self { force, moment, at })
    }

    /// The same wrench about a point: [force; moment], N and N m.
    pub fn about(&self, point: &Vector3<f64>) -> DVector<f64> {
        let moment = match self.at {
            Some(at) => self.moment + (at - point).cross(&self.force),
            None => self.moment,
        };
        let mut out = DVector::zeros(6);
        out.rows_mut(0, 3).copy_from(&self.force);
        out.rows_mut(3, 3).copy_from(&moment);
        out
    }
}

/// A named load case: a variant of the machine (die in or out, bolster rolled out), and loads
/// that stay on it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// Name ("die out").
    pub name: String,
    /// The machine in this case.
    pub body: RigidBody,
    /// Loads that stay, besides the weight.
    pub loads: Vec<Wrench>,
}

/// A named point of the machine.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Point {
    /// Name ("bolster.left").
    pub name: String,
    /// Where it is, m.
    pub at: Vector3<f64>,
}

/// A machine on its mounts.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Installation {
    /// The machine as it runs.
    pub body: RigidBody,
    /// What it stands on.
    pub mounts: Vec<Mount>,
    /// Other load cases.
    pub cases: Vec<Case>,
    /// Named points of the machine.
    pub points: Vec<Point>,
    /// Acceleration of gravity, m/s^2.
    pub gravity: f64,
    /// Snubbers and limit stops.
    pub stops: Vec<Stop>,
    /// Short circuits that are there.
    pub bridges: Vec<Bridge>,
    /// Crown and slide that move inside the machine; `None`: the machine is one rigid body.
    pub press: Option<Press>,
}

impl Installation {
    /// A machine on mounts, under standard gravity, with no further cases or points.
    ///
    /// # Errors
    /// [`Error::Invalid`] if there is no mount, two share a name, or one has no stiffness at all. Mounts without a name
    /// are called `mount 1`, `mount 2`, ... by their place in the list.
    pub fn new(body: RigidBody, mounts: Vec<Mount>) -> Result<Self> {
        let mut mounts = mounts;
        for (i, mount) in mounts.iter_mut().enumerate() {
            if mount.name.is_empty() {
                mount.name = format!("mount {}", i + 1);
            }
        }
        if mounts.is_empty() {
            return Err(Error::invalid(
                "mounts",
                "[]",
                "at least one mount is required",
                "give the mounts the machine stands on",
            ));
        }
        unique("mounts", mounts.iter().map(|m| m.name.as_str()))?;
        for (i, mount) in mounts.iter().enumerate() {
            // Fields are public: a mount may have changed since it was made.
            let sound = mount.clone().checked().and_then(|m| m.require_stiffness());
            sound.map_err(|e| e.within(&format!("mounts[{i}]")))?;
        }
        Ok(Self {
            body,
            mounts,
            cases: Vec::new(),
            points: Vec::new(),
            gravity: STANDARD_GRAVITY,
            stops: Vec::new(),
            bridges: Vec::new(),
            press: None,
        })
    }

    /// The same installation under another gravity, m/s^2.
    ///
    /// # Errors
    /// [`Error::Invalid`] if not positive.
    pub fn with_gravity(mut self, gravity: f64) -> Result<Self> {
        self.gravity = positive("gravity", gravity, "m/s^2")?;
        Ok(self)
    }

    /// The same installation with load cases.
    ///
    /// # Errors
    /// [`Error::Invalid`] if two cases share a name.
    pub fn with_cases(mut self, cases: Vec<Case>) -> Result<Self> {
        let names = std::iter::once(AS_IT_RUNS).chain(cases.iter().map(|c| c.name.as_str()));
        unique("cases", names)?;
        self.cases = cases;
        self.press_fits()?;
        Ok(self)
    }

    /// The same installation with snubbers and limit stops; those without a name are called
    /// `stop 1`, `stop 2`, ... by their place in the list.
    ///
    /// # Errors
    /// [`Error::Invalid`] if two parts share a name or one is not what it must be.
    pub fn with_stops(mut self, stops: Vec<Stop>) -> Result<Self> {
        self.stops = stops;
        for (i, stop) in self.stops.iter_mut().enumerate() {
            stop.clone().checked().map_err(|e| e.within(&format!("stops[{i}]")))?;
            name_by_place(&mut stop.name, "stop", i);
        }
        self.part_names_differ()?;
        Ok(self)
    }

    /// The same installation with short circuits; those without a name are called `bridge 1`,
    /// `bridge 2`, ... by their place in the list.
    ///
    /// # Errors
    /// [`Error::Invalid`] if two parts share a name or one is not what it must be.
    pub fn with_bridges(mut self, bridges: Vec<Bridge>) -> Result<Self> {
        self.bridges = bridges;
        for (i, bridge) in self.bridges.iter_mut().enumerate() {
            bridge.clone().checked().map_err(|e| e.within(&format!("bridges[{i}]")))?;
            name_by_place(&mut bridge.name, "bridge", i);
        }
        self.part_names_differ()?;
        Ok(self)
    }

    /// The same installation with one more short circuit.
    ///
    /// # Errors
    /// As [`Self::with_bridges`].
    pub fn bridged(&self, bridge: &Bridge) -> Result<Self> {
        let all = self.bridges.iter().chain([bridge]).cloned().collect();
        self.clone().with_bridges(all)
    }

    fn part_names_differ(&self) -> Result<()> {
        let mounts = self.mounts.iter().map(|m| m.name.as_str());
        let bridges = self.bridges.iter().map(|b| b.name.as_str());
        let stops = self.stops.iter().map(|s| s.name.as_str());
        unique("mounts, bridges and stops", mounts.chain(bridges).chain(stops))
    }

    /// The same installation with named points.
    ///
    /// # Errors
    /// [`Error::Invalid`] if two points share a name or one is not finite.
    pub fn with_points(mut self, points: Vec<Point>) -> Result<Self> {
        unique("points", points.iter().map(|p| p.name.as_str()))?;
        for point in &points {
            each(finite, &format!("points[{:?}]", point.name), &point.at, "m")?;
        }
        self.points = points;
        Ok(self)
    }

    /// Position of a named point, m.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the names there are.
    pub fn point(&self, name: &str) -> Result<Vector3<f64>> {
        let points = self.points.iter().map(|p| (p.name.as_str(), p.at));
        by_name("point", name, points, NAMED_POINTS)
    }

    /// The machine and the loads that stay on it in a named case, or as it runs.
    ///
    /// # Errors
    /// [`Error::Unknown`] with the names there are.
    pub fn case(&self, name: Option<&str>) -> Result<(&RigidBody, &[Wrench])> {
        let Some(name) = name.filter(|&n| n != AS_IT_RUNS) else { return Ok((&self.body, &[])) };
        let cases = self.cases.iter().map(|c| (c.name.as_str(), (&c.body, &*c.loads)));
        by_name("case", name, cases, ["load cases are", "the installation has no load cases"])
    }

    /// The equations of motion of the machine as it runs.
    pub fn system(&self) -> System {
        self.system_of(&self.body)
    }

    /// The equations of motion with a variant of the machine on the same mounts.
    pub fn system_of(&self, body: &RigidBody) -> System {
        let mut mass = DMatrix::zeros(6, 6);
        for i in 0..3 {
            mass[(i, i)] = body.mass();
        }
        mass.view_mut((3, 3), (3, 3)).copy_from(body.inertia());
        let mut principal = DMatrix::identity(6, 6);
        principal.view_mut((3, 3), (3, 3)).copy_from(&body.principal().1);
        let system = System {
            dofs: Axis::ALL.map(|axis| Dof { body: "machine".into(), axis }).to_vec(),
            mass,
            principal,
            elements: self.elements(body.center()),
            ports: self.points.iter().map(|p| port(p, body.center())).collect(),
            reference: *body.center(),
        };
        match &self.press {
            Some(press) => pressed::with_inner_masses(system, press),
            None => system,
        }
    }

    /// Mounts, then bridges, then stops: results by mount keep that order.
    fn elements(&self, center: &Vector3<f64>) -> Vec<Element> {
        let mounts = self.mounts.iter().map(|m| m.element(6, 0, center));
        let bridges = self.bridges.iter().map(|b| b.element(6, 0, center));
        let stops = self.stops.iter().map(|s| s.element(6, 0, center));
        mounts.chain(bridges).chain(stops).collect()
    }

    /// Name, machine and lasting loads of every load case; the machine as it runs comes first.
    pub fn all_cases(&self) -> impl Iterator<Item = (&str, &RigidBody, &[Wrench])> {
        std::iter::once((AS_IT_RUNS, &self.body, &[][..]))
            .chain(self.cases.iter().map(|c| (c.name.as_str(), &c.body, &*c.loads)))
    }

    /// Weight and lasting loads as a generalized force at the center of mass, N and N m.
    pub fn static_load(&self, body: &RigidBody, loads: &[Wrench]) -> DVector<f64> {
        let wide = |v: DVector<f64>| v.resize_vertically(self.size(), 0.0);
        loads.iter().fold(self.weight_of(body), |sum, w| sum + wide(w.about(body.center())))
    }

    /// Weight of a body as a generalized force at its center of mass, N. Crown and slide count from
    /// rest, so their freedoms carry none.
    pub fn weight_of(&self, body: &RigidBody) -> DVector<f64> {
        let mut load = DVector::zeros(self.size());
        load[2] = -body.mass() * self.gravity;
        load
    }

    /// What the user should know about this input before trusting a result.
    pub fn warnings(&self) -> Vec<String> {
        let undamped: Vec<_> =
            self.mounts.iter().filter(|m| !m.is_damped()).map(|m| m.name.as_str()).collect();
        if undamped.len() == self.mounts.len() {
            vec![
                "no mount has damping or a loss factor: every resonance is infinite; give a value \
                 (elastomer damping ratio 0.04 to 0.10, bare coil 0.005, coil with dashpot 0.10 \
                 to 0.20: common practice)"
                    .to_owned(),
            ]
        } else if undamped.is_empty() {
            Vec::new()
        } else {
            vec![format!("no damping or loss factor at {}", undamped.join(", "))]
        }
    }
}

/// A named point as a port of a single body.
pub fn port(point: &Point, center: &Vector3<f64>) -> Port {
    let t = wrench_transfer(&point.at, center);
    Port {
        name: point.name.clone(),
        position: point.at,
        b: DMatrix::from_column_slice(6, 6, t.as_slice()),
    }
}

fn name_by_place(name: &mut String, kind: &str, place: usize) {
    if name.is_empty() {
        *name = format!("{kind} {}", place + 1);
    }
}

fn unique<'a>(what: &str, names: impl Iterator<Item = &'a str>) -> Result<()> {
    let mut seen = std::collections::HashSet::new();
    for name in names {
        if !seen.insert(name) {
            return Err(Error::invalid(
                what,
                format!("{name:?} twice"),
                "names must differ",
                "rename one of them",
            ));
        }
    }
    Ok(())
}
