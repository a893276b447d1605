//! A machine with crown and slide on its mounts: eight degrees of freedom in place of six.

use nalgebra::{DMatrix, DVector};

use super::Installation;
use crate::error::Result;
use crate::machine::{Press, RigidBody, press};
use crate::system::{Port, System};

impl Installation {
    /// The same installation with crown and slide that move inside the machine. Its bodies stay the
    /// whole machine, crown and slide in them, in every load case.
    ///
    /// # Errors
    /// [`crate::Error::Invalid`] if the machine of some case cannot hold them.
    pub fn with_press(mut self, press: Press) -> Result<Self> {
        self.press = Some(press.checked()?);
        self.press_fits()?;
        Ok(self)
    }

    pub(super) fn press_fits(&self) -> Result<()> {
        let Some(press) = &self.press else { return Ok(()) };
        for (name, body, _) in self.all_cases() {
            press.rest_of(body).map_err(|e| e.within(&format!("case {name}")))?;
        }
        Ok(())
    }

    /// Degrees of freedom of the machine on its mounts.
    pub fn size(&self) -> usize {
        if self.press.is_some() { press::SIZE } else { 6 }
    }

    /// A generalized force on the machine (6) as one of the system: nothing on crown and slide.
    pub fn on_system(&self, load: DVector<f64>) -> DVector<f64> {
        load.resize_vertically(self.size(), 0.0)
    }

    /// Crown and slide as ports of a case of the machine; none without a press.
    pub fn inner_ports(&self, body: &RigidBody) -> Option<[Port; 2]> {
        let press = self.press.as_ref()?;
        Some([press::CROWN, press::SLIDE].map(|row| press.port(row, body.center())))
    }
}

/// Adds the freedoms of crown and slide, the frame and the drive. They come behind all that is there.
pub(super) fn with_inner_masses(mut system: System, press: &Press) -> System {
    let taller = |b: DMatrix<f64>| b.resize_vertically(press::SIZE, 0.0);
    system.dofs.extend(press.dofs());
    system.mass = press.mass(&system.mass, &system.reference);
    system.principal = press::energy_axes(&system.mass);
    for element in &mut system.elements {
        element.b = taller(std::mem::take(&mut element.b));
    }
    for port in &mut system.ports {
        port.b = taller(std::mem::take(&mut port.b));
    }
    system.elements.extend(press.elements());
    system
}
