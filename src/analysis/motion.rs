//! One face for a motion whether contacts open and close or not: without any the exact transient in
//! modes, with some the exact pieces of [`super::hybrid`].

use nalgebra::DVector;
use ndarray::Array2;
use serde::{Deserialize, Serialize};

use super::hybrid::{Event, HybridMotion, HybridOptions, HybridOutput, Load, hybrid};
use super::transient::{Extrema, Output, Start, Transient};
use crate::error::Result;
use crate::excitation::Segment;
use crate::system::{Hybrid, Linear, Port};

/// A motion from t = 0 to its duration.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Motion {
    /// No contact opens or closes.
    Linear(Box<Transient>),
    /// Some may.
    Contacts(Box<HybridMotion>),
}

/// A quantity of a [`Motion`].
#[derive(Debug, Clone, PartialEq)]
pub enum Quantity {
    /// Of a linear motion.
    Linear(Output),
    /// Of one with contacts, and what is added to it.
    Contacts(HybridOutput),
}

impl Quantity {
    /// Names of the components.
    pub fn names(&self) -> &[String] {
        match self {
            Self::Linear(output) => &output.names,
            Self::Contacts(output) => &output.names,
        }
    }

    /// One number as a weighted sum of the components.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for another number of weights.
    pub fn combined(&self, name: &str, weights: &[f64]) -> Result<Self> {
        Ok(match self {
            Self::Linear(output) => Self::Linear(output.combined(name, weights)?),
            Self::Contacts(output) => Self::Contacts(output.combined(name, weights)?),
        })
    }

    /// Components as one list; both must come from the same motion.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for quantities of different motions.
    pub fn joined(&self, other: &Self) -> Result<Self> {
        Ok(match (self, other) {
            (Self::Linear(a), Self::Linear(b)) => Self::Linear(a.joined(b)?),
            (Self::Contacts(a), Self::Contacts(b)) => Self::Contacts(a.joined(b)?),
            _ => {
                return Err(crate::Error::Shape {
                    argument: "other".into(),
                    found: "a quantity of another motion".into(),
                    expected: "one of the same motion".into(),
                });
            }
        })
    }

    /// One component.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] if there is no such component.
    pub fn component(&self, index: usize) -> Result<Self> {
        let names = self.names();
        let mut weights = vec![0.0; names.len()];
        if let Some(weight) = weights.get_mut(index) {
            *weight = 1.0;
        }
        self.combined(names.get(index).map_or("", String::as_str), &weights)
    }
}

/// The same quantity of either kind.
macro_rules! either {
    ($self:ident, $motion:ident => $make:expr) => {
        match $self {
            Motion::Linear($motion) => Quantity::Linear($make),
            Motion::Contacts($motion) => Quantity::Contacts($make),
        }
    };
}

impl Motion {
    /// Motion under loads from rest or from a start.
    ///
    /// # Errors
    /// Those of [`Transient::new`] and of [`hybrid`].
    pub fn new(system: &Hybrid, loads: &[Load], options: &HybridOptions) -> Result<Self> {
        let one_direction = loads.windows(2).all(|pair| pair[0].direction == pair[1].direction);
        if system.gaps.is_empty() && one_direction {
            let n = system.base.size();
            let g = loads.first().map_or_else(|| DVector::zeros(n), |l| l.direction.clone());
            let all: Vec<Segment> = loads.iter().flat_map(|l| l.segments.clone()).collect();
            let rest = Start::rest(n);
            let start = options.start.as_ref().unwrap_or(&rest);
            let motion = Transient::new(&system.base, &all, &g, start, options.duration)?;
            return Ok(Self::Linear(Box::new(motion)));
        }
        Ok(Self::Contacts(Box::new(hybrid(system, loads, options)?)))
    }

    /// The linear system, at rest where contacts change it.
    pub fn linear(&self) -> &Linear {
        self.at_rest().linear()
    }

    /// The transient that says what stands for the damping in time.
    pub fn at_rest(&self) -> &Transient {
        match self {
            Self::Linear(motion) => motion,
            Self::Contacts(motion) => motion.at_rest(),
        }
    }

    /// End, s.
    pub fn duration(&self) -> f64 {
        match self {
            Self::Linear(motion) => motion.duration,
            Self::Contacts(motion) => motion.duration,
        }
    }

    /// Changes of contact.
    pub fn events(&self) -> &[Event] {
        match self {
            Self::Linear(_) => &[],
            Self::Contacts(motion) => &motion.events,
        }
    }

    /// Displacement of every degree of freedom, m and rad.
    pub fn displacement(&self) -> Quantity {
        either!(self, motion => motion.displacement())
    }

    /// Velocity of every degree of freedom, m/s and rad/s.
    pub fn velocity(&self) -> Quantity {
        either!(self, motion => motion.velocity())
    }

    /// Acceleration of every degree of freedom, m/s^2 and rad/s^2.
    pub fn acceleration(&self) -> Quantity {
        either!(self, motion => motion.acceleration())
    }

    /// Displacement of a point, m and rad.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for a port of another system.
    pub fn point_displacement(&self, port: &Port) -> Result<Quantity> {
        Ok(either!(self, motion => motion.point_displacement(port)?))
    }

    /// Velocity of a point, m/s and rad/s.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for a port of another system.
    pub fn point_velocity(&self, port: &Port) -> Result<Quantity> {
        Ok(either!(self, motion => motion.point_velocity(port)?))
    }

    /// Acceleration of a point, m/s^2 and rad/s^2.
    ///
    /// # Errors
    /// [`crate::Error::Shape`] for a port of another system.
    pub fn point_acceleration(&self, port: &Port) -> Result<Quantity> {
        Ok(either!(self, motion => motion.point_acceleration(port)?))
    }

    /// Force of each mount on the ground beyond that at rest, x y z of each, N.
    pub fn mount_force(&self) -> Quantity {
        either!(self, motion => motion.mount_force())
    }

    /// Wrench on the ground beyond that at rest, N and N m.
    pub fn ground_wrench(&self) -> Quantity {
        either!(self, motion => motion.ground_wrench())
    }

    /// Force of the first element of a kind beyond that at rest, N.
    pub fn element_force(&self, kind: &str) -> Option<Quantity> {
        let at = self.linear().elements.iter().position(|e| e.label.kind == kind)?;
        Some(match self {
            Self::Linear(motion) => Quantity::Linear(motion.element_force(at)?),
            Self::Contacts(motion) => Quantity::Contacts(motion.element_force(at)?),
        })
    }

    /// Greatest and least value of each component, solved for; empty for a quantity of another kind of
    /// motion.
    pub fn extrema(&self, quantity: &Quantity) -> Vec<Extrema> {
        match (self, quantity) {
            (Self::Linear(motion), Quantity::Linear(output)) => motion.extrema(output),
            (Self::Contacts(motion), Quantity::Contacts(output)) => motion.extrema(output),
            _ => Vec::new(),
        }
    }

    /// Each quantity at t = 0, dt, 2 dt ... (time, component).
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] for a step that is not positive or leaves too many values.
    pub fn sample(&self, quantities: &[&Quantity], dt: f64) -> Result<Vec<Array2<f64>>> {
        match self {
            Self::Linear(motion) => quantities
                .iter()
                .map(|q| match q {
                    Quantity::Linear(output) => motion.sample(output, dt),
                    Quantity::Contacts(_) => Ok(Array2::default((0, 0))),
                })
                .collect(),
            Self::Contacts(motion) => {
                let own = quantities.iter().filter_map(|q| match q {
                    Quantity::Contacts(output) => Some(output),
                    Quantity::Linear(_) => None,
                });
                motion.sample(&own.collect::<Vec<_>>(), dt)
            }
        }
    }
}
