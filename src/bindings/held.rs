//! An installation in Python is a value that does not change, so its equations are set up once and
//! kept beside it. They are no part of the value: equality and pickles do not know them.

use serde::{Deserialize, Serialize};
use std::borrow::Cow;
use std::ops::Deref;
use std::sync::OnceLock;

use crate::Result;
use crate::analysis::statics::{StaticsOptions, working_point};
use crate::installation::Installation;
use crate::system::{Linear, System};

/// An installation with its equations, once they have been asked for.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(from = "Installation", into = "Installation")]
pub struct Held {
    installation: Installation,
    /// Of the machine as it runs.
    linear: OnceLock<Result<Linear>>,
}

impl Held {
    /// A case at its working point.
    pub fn working(&self, case: Option<&str>) -> Result<System> {
        working(self, case)
    }

    /// A case for small motions about its working point.
    pub fn linear(&self, case: Option<&str>) -> Result<Cow<'_, Linear>> {
        if case.is_some() {
            return self.working(case).map(|system| Cow::Owned(system.linear()));
        }
        let made = self.linear.get_or_init(|| self.working(None).map(|system| system.linear()));
        made.as_ref().map(Cow::Borrowed).map_err(Clone::clone)
    }
}

/// A case of an installation at its working point.
pub fn working(inst: &Installation, case: Option<&str>) -> Result<System> {
    let (body, loads) = inst.case(case)?;
    let load = inst.static_load(body, loads);
    working_point(inst.system_of(body), &load, &StaticsOptions::default())
}

impl Deref for Held {
    type Target = Installation;
    fn deref(&self) -> &Installation {
        &self.installation
    }
}

impl PartialEq for Held {
    fn eq(&self, other: &Self) -> bool {
        self.installation == other.installation
    }
}

impl From<Installation> for Held {
    fn from(installation: Installation) -> Self {
        Self { installation, linear: OnceLock::new() }
    }
}

impl From<Held> for Installation {
    fn from(held: Held) -> Self {
        held.installation
    }
}
