//! A press whose masses stand over the middle of four equal mounts: a vertical chain of bed, crown
//! and slide among its eight degrees of freedom.

use nalgebra::{Matrix3, Vector3};
use underfoot::excitation::Segment;
use underfoot::installation::Installation;
use underfoot::machine::{InnerMass, LinkDamping, Part, PointMass, Press, RigidBody};
use underfoot::support::Mount;

/// Masses kg, stiffness N/m, damping N s/m.
pub struct Chain {
    pub bed: f64,
    pub crown: f64,
    pub slide: f64,
    pub mount: [f64; 2],
    pub frame: [f64; 2],
    pub drive: [f64; 2],
    pub clearance: f64,
    pub counterbalance: Option<f64>,
}

impl Chain {
    pub fn installation(&self) -> Installation {
        let inertia = Vector3::new(1.0, 1.1, 0.7) * self.bed;
        let up = |z: f64| Vector3::new(0.0, 0.0, z);
        let bed = RigidBody::new(self.bed, up(0.9), Matrix3::from_diagonal(&inertia)).unwrap();
        let inner = [(self.crown, 3.2), (self.slide, 2.1)]
            .map(|(mass, z)| InnerMass { mass, position: up(z) });
        let points =
            inner.clone().map(|m| Part::Point(PointMass::new(m.mass, m.position).unwrap()));
        let body = bed.with_parts(&points).unwrap();
        let [k, c] = self.mount.map(|x| 0.25 * x);
        let mounts = [[-1.0, -0.8], [1.0, -0.8], [-1.0, 0.8], [1.0, 0.8]].map(|[x, y]| {
            let foot = Vector3::new(x, y, 0.1);
            Mount::new(foot, [0.4 * k, 0.4 * k, k])
                .and_then(|m| m.with_damping([0.4 * c, 0.4 * c, c]))
                .unwrap()
        });
        let [crown, slide] = inner;
        let damping = |link: [f64; 2]| LinkDamping::Viscous(link[1]);
        let mut press = Press::new(crown, slide, self.frame[0], self.drive[0])
            .and_then(|p| p.with_damping(damping(self.frame), damping(self.drive), &body))
            .and_then(|p| p.with_clearance(self.clearance))
            .unwrap();
        if let Some(force) = self.counterbalance {
            press = press.with_counterbalance(force).unwrap();
        }
        Installation::new(body, mounts.to_vec()).and_then(|i| i.with_press(press)).unwrap()
    }
}

/// Straight lines between knots (s, N).
pub fn polygon(knots: &[[f64; 2]]) -> Vec<Segment> {
    let line = |pair: &[[f64; 2]]| Segment {
        start: pair[0][0],
        end: pair[1][0],
        constant: pair[0][1],
        slope: (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]),
        exponentials: Vec::new(),
    };
    knots.windows(2).map(line).collect()
}
