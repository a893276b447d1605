//! A stop that touches only after a gap.
//!
//! Along its first port coordinate e:
//!
//! force = k (e - gap) for e > gap,  k (e + gap_behind) for e < -gap_behind,  0 between.
//!
//! For small motions it is open or closed as it stands at its working point: closed it has
//! D = k (1 + j eta) + j omega c, open none. Limits: motions that stay on one side of the contact;
//! no friction, no mass of its own.

use nalgebra::{DMatrix, DVector};
use serde::{Deserialize, Serialize};

/// State of a stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Contact {
    /// It touches nothing.
    #[default]
    Open,
    /// It touches in its direction.
    Ahead,
    /// It touches against its direction.
    Behind,
}

/// Gap law on the first of `rank` port coordinates; the others are free.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Gap {
    /// Number of port coordinates.
    pub rank: usize,
    /// Way to go until it touches, m.
    pub gap: f64,
    /// Way to go against its direction; `None`: it never touches there.
    pub gap_behind: Option<f64>,
    /// Stiffness in contact, N/m.
    pub stiffness: f64,
    /// Loss factor in contact.
    pub loss_factor: f64,
    /// Viscous damping in contact, N s/m.
    pub damping: f64,
    /// State at the working point.
    pub contact: Contact,
}

impl Gap {
    /// State at a port motion e (m).
    pub fn contact_at(&self, e: f64) -> Contact {
        if e > self.gap {
            Contact::Ahead
        } else if self.gap_behind.is_some_and(|behind| e < -behind) {
            Contact::Behind
        } else {
            Contact::Open
        }
    }

    /// Force on the far side, N.
    pub fn force(&self, e: &DVector<f64>) -> DVector<f64> {
        let mut force = DVector::zeros(self.rank);
        force[0] = match self.contact_at(e[0]) {
            Contact::Open => 0.0,
            Contact::Ahead => self.stiffness * (e[0] - self.gap),
            Contact::Behind => self.stiffness * (e[0] + self.gap_behind.unwrap_or(0.0)),
        };
        force
    }

    /// Stiffness in a state, N/m.
    pub fn stiffness_in(&self, contact: Contact) -> DMatrix<f64> {
        self.first(contact, self.stiffness)
    }

    /// Small motions about the working point: k, h, c.
    pub fn matrices(&self) -> (DMatrix<f64>, DMatrix<f64>, DMatrix<f64>) {
        let with = |value| self.first(self.contact, value);
        (with(self.stiffness), with(self.stiffness * self.loss_factor), with(self.damping))
    }

    fn first(&self, contact: Contact, value: f64) -> DMatrix<f64> {
        let mut out = DMatrix::zeros(self.rank, self.rank);
        if contact != Contact::Open {
            out[(0, 0)] = value;
        }
        out
    }
}
