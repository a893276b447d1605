//! Which quantities can be asked of a motion: motion of bodies and points, forces of mounts, the
//! wrench on the ground, each as rows on the state and on the signals of a Fourier transform.

use nalgebra::DMatrix;

use super::fourier::Fourier;
use super::motion::Transient;
use super::output::Output;
use crate::error::Result;
use crate::system::{Footprint, Port};

impl Transient {
    /// Displacement of every degree of freedom, m and rad.
    pub fn displacement(&self) -> Output {
        let feed = self.no_feed();
        let out = Output::of_dofs(&self.linear, self.basis.displacement.clone(), feed, 0);
        out.corrected(self.motion_signals(0))
    }

    /// Velocity of every degree of freedom, m/s and rad/s.
    pub fn velocity(&self) -> Output {
        let feed = self.no_feed();
        let out = Output::of_dofs(&self.linear, self.basis.velocity.clone(), feed, 1);
        out.corrected(self.motion_signals(1))
    }

    /// Acceleration of every degree of freedom, m/s^2 and rad/s^2.
    pub fn acceleration(&self) -> Output {
        let feed = self.acceleration_feed();
        let out = Output::of_dofs(&self.linear, self.basis.acceleration.clone(), feed, 2);
        out.corrected(self.motion_signals(2))
    }

    /// Displacement of a point, x y z rx ry rz, m and rad.
    pub fn point_displacement(&self, port: &Port) -> Result<Output> {
        let port = &self.widened(port);
        let out = Output::of_point(port, &self.basis.displacement, &self.no_feed(), 0)?;
        Ok(out.corrected(port.b.transpose() * self.motion_signals(0)))
    }

    /// Velocity of a point, m/s and rad/s.
    pub fn point_velocity(&self, port: &Port) -> Result<Output> {
        let port = &self.widened(port);
        let out = Output::of_point(port, &self.basis.velocity, &self.no_feed(), 1)?;
        Ok(out.corrected(port.b.transpose() * self.motion_signals(1)))
    }

    /// Acceleration of a point, m/s^2 and rad/s^2.
    pub fn point_acceleration(&self, port: &Port) -> Result<Output> {
        let port = &self.widened(port);
        let feed = self.acceleration_feed();
        let out = Output::of_point(port, &self.basis.acceleration, &feed, 2)?;
        Ok(out.corrected(port.b.transpose() * self.motion_signals(2)))
    }

    /// A port of the machine alone says nothing of masses inside it.
    fn widened(&self, port: &Port) -> Port {
        Port { b: self.linear.widened(&port.b), ..port.clone() }
    }

    /// Force of each mount (grounded element, in order) on the ground, x y z of each, N.
    pub fn mount_force(&self) -> Output {
        let grounded = self.grounded();
        let parts = grounded.iter().map(|(i, foot)| {
            let name = self.linear.elements[*i].label.name.clone();
            (name, foot.wrench.rows(0, 3) * self.port_force(*i))
        });
        let out = Output::forces(parts.collect(), &["x", "y", "z"], self.size(), self.loads());
        let mut signals = DMatrix::zeros(out.len(), self.signals());
        for (k, (i, foot)) in grounded.iter().enumerate() {
            let own = foot.wrench.rows(0, 3) * self.force_signals(*i);
            signals.rows_mut(3 * k, 3).copy_from(&own);
        }
        out.corrected(signals)
    }

    /// Force on the port coordinates of the far side of element i, N and N m: sum over elements
    /// of B force, plus M x'', is g f.
    pub fn element_force(&self, i: usize) -> Option<Output> {
        let element = self.linear.elements.get(i)?;
        let force = self.port_force(i);
        let names: Vec<String> = (0..force.nrows()).map(|r| r.to_string()).collect();
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let parts = vec![(element.label.name.clone(), force)];
        let out = Output::forces(parts, &names, self.size(), self.loads());
        Some(out.corrected(self.force_signals(i)))
    }

    /// Wrench on the ground about [`crate::system::Linear::reference`], N and N m.
    pub fn ground_wrench(&self) -> Output {
        let mut rows = DMatrix::zeros(6, self.size());
        let mut signals = DMatrix::zeros(6, self.signals());
        for (i, foot) in self.grounded() {
            let about = foot.about(&self.linear.reference);
            rows += &about * self.port_force(i);
            signals += about * self.force_signals(i);
        }
        Output::wrench(rows, self.loads()).corrected(signals)
    }

    /// Elements on the ground by their index.
    fn grounded(&self) -> Vec<(usize, &Footprint)> {
        let elements = self.linear.elements.iter().enumerate();
        elements.filter_map(|(i, e)| e.ground.as_ref().map(|foot| (i, foot))).collect()
    }

    /// Number of signals of a Fourier transform.
    fn signals(&self) -> usize {
        self.fourier.as_ref().map_or(0, Fourier::size)
    }

    /// Rows on the signals: motion and its derivatives, n rows.
    fn motion_signals(&self, order: usize) -> DMatrix<f64> {
        let n = self.linear.size();
        self.fourier.as_ref().map_or_else(|| DMatrix::zeros(n, 0), |f| f.motion(order, n))
    }

    /// Rows on the signals: force of element i on its port.
    fn force_signals(&self, i: usize) -> DMatrix<f64> {
        let r = self.linear.elements[i].b.ncols();
        self.fourier.as_ref().map_or_else(|| DMatrix::zeros(r, 0), |f| f.force(i))
    }

    pub(super) fn size(&self) -> usize {
        self.basis.propagator.size()
    }

    /// Number of loads.
    pub(super) fn loads(&self) -> usize {
        self.basis.propagator.loads()
    }

    fn no_feed(&self) -> DMatrix<f64> {
        DMatrix::zeros(self.linear.size(), self.loads())
    }

    /// Loads accelerate the masses at once, and a floor that moves carries them along.
    fn acceleration_feed(&self) -> DMatrix<f64> {
        match &self.carried {
            Some(carried) => &self.basis.feed + carried,
            None => self.basis.feed.clone(),
        }
    }

    /// r x size: force of element i, of the system that was solved exactly.
    fn port_force(&self, i: usize) -> DMatrix<f64> {
        let solved = self.fourier.as_ref().map_or(&self.linear, |f| &f.reference);
        let element = &solved.elements[i];
        let bt = element.b.transpose();
        let (x, v) = (&bt * &self.basis.displacement, &bt * &self.basis.velocity);
        let mut force = &element.k * &x;
        force += &element.c * &v;
        if let Some(loss) = &self.basis.loss {
            force += &element.h * (&bt * loss);
        }
        for part in &element.dynamic {
            let Some(law) = part.law.realization() else { continue };
            let sudden = law.stiffness + law.branches.iter().map(|b| b.stiffness).sum::<f64>();
            let along = part.b.transpose();
            let mut own = &along * &x * sudden + &along * &v * law.damping;
            for branch in &law.branches {
                let known = self.basis.memory.iter().find(|m| m.time == branch.time);
                if let Some(memory) = known {
                    own -= &along * &bt * &memory.rows * branch.stiffness;
                }
            }
            force += &part.b * own;
        }
        force
    }
}
