//! Solves (K + K_g) x = f + sum B k tau h over the mounts in contact.
//!
//! Curved laws are solved by [`newton`] in its place.
//!
//! Every degree of freedom is scaled by its own stiffness before the Cholesky factor, and the
//! solution is refined once with its own residual, so that loads come out to rounding. The same factor tells whether the
//! matrix is positive definite, which is the condition for stable equilibrium.

use nalgebra::{Cholesky, DMatrix, DVector, Dyn, SymmetricEigen, Vector3};

use super::super::free_motion::{characteristic_length, free_motions, in_words, length_scale};
use super::joint::{Joint, joints};
use super::newton;
use crate::error::{Error, Result, each, finite};
use crate::system::{Dof, System};

/// A scaled stiffness whose least eigenvalue is below this part of the greatest is singular.
const SINGULAR: f64 = 1e-12;

/// A system prepared for statics: elements as joints, heights of the floor under the supports.
pub(super) struct Model<'a> {
    pub dofs: &'a [Dof],
    pub reference: Vector3<f64>,
    pub joints: Vec<Joint>,
    /// Index into `joints` of each support.
    pub supports: Vec<usize>,
    /// Height of the floor under each support, m.
    pub heights: Vec<f64>,
    /// Generalized load f.
    pub load: DVector<f64>,
    /// Length by which rotations and translations compare, m.
    length: f64,
    /// 1 / sqrt(K_ii) of the stiffness with every mount in contact.
    pub scale: DVector<f64>,
}

impl<'a> Model<'a> {
    pub fn new(
        system: &'a System,
        load: &DVector<f64>,
        floor_height: Option<&[f64]>,
    ) -> Result<Self> {
        let joints = joints(system)?;
        let supports: Vec<usize> = (0..joints.len()).filter(|&i| joints[i].support).collect();
        check_vector("load", load.as_slice(), system.dofs.len(), "degree of freedom")?;
        let heights = match floor_height {
            Some(h) => {
                check_vector("floor_height", h, supports.len(), "mount")?;
                h.to_vec()
            }
            None => vec![0.0; supports.len()],
        };
        let k = system.static_stiffness();
        let scale = k.diagonal().map(|kii| if kii > 0.0 { kii.sqrt().recip() } else { 1.0 });
        Ok(Self {
            dofs: &system.dofs,
            reference: system.reference,
            joints,
            supports,
            heights,
            load: load.clone(),
            length: characteristic_length(&k, &system.dofs),
            scale,
        })
    }

    /// The joint of support i.
    pub fn support(&self, i: usize) -> &Joint {
        &self.joints[self.supports[i]]
    }

    /// Stiffness with a part of each support's: 1 in contact, 0 lifted.
    pub fn stiffness(&self, part: &[f64]) -> DMatrix<f64> {
        let n = self.dofs.len();
        let mut k = DMatrix::zeros(n, n);
        for joint in self.joints.iter().filter(|joint| !joint.support) {
            k += &joint.b * &joint.k * joint.b.transpose();
        }
        for (i, &part) in part.iter().enumerate().filter(|(_, part)| **part != 0.0) {
            let joint = self.support(i);
            k += &joint.b * &joint.k * joint.b.transpose() * part;
        }
        (&k + k.transpose()) * 0.5
    }

    /// f + sum B k tau h.
    pub fn right_side(&self, part: &[f64]) -> DVector<f64> {
        let mut f = self.load.clone();
        for (i, &part) in part.iter().enumerate().filter(|(i, _)| self.heights[*i] != 0.0) {
            let joint = self.support(i);
            f += &joint.b * (&joint.k * &joint.rise) * (part * self.heights[i]);
        }
        f
    }

    /// x with (K + K_g) x = f, or `None` if the matrix is not positive definite.
    ///
    /// # Errors
    /// [`Error::NotConverged`] if Newton's method of curved laws does not end.
    pub fn solve(&self, part: &[f64], gravity: &DMatrix<f64>) -> Result<Option<DVector<f64>>> {
        self.solve_above(SINGULAR, part, gravity)
    }

    /// The same for a matrix that may be nearly singular.
    pub fn solve_roughly(
        &self,
        part: &[f64],
        gravity: &DMatrix<f64>,
    ) -> Result<Option<DVector<f64>>> {
        self.solve_above(0.0, part, gravity)
    }

    fn solve_above(
        &self,
        bound: f64,
        part: &[f64],
        gravity: &DMatrix<f64>,
    ) -> Result<Option<DVector<f64>>> {
        if !self.is_linear() {
            return Ok(newton::solve(self, bound, part, gravity)?.map(|found| found.x));
        }
        let k = self.stiffness(part) + gravity;
        let factor = Factor::new(&k, &self.scale, bound);
        Ok(factor.map(|factor| factor.solve(&k, &self.right_side(part))))
    }

    /// True if no law depends on the load.
    pub fn is_linear(&self) -> bool {
        self.joints.iter().all(|joint| joint.law.is_linear())
    }

    /// Each joint with the part of it at work and the height of the floor under it.
    pub fn at_work<'m>(
        &'m self,
        part: &'m [f64],
    ) -> impl Iterator<Item = (&'m Joint, f64, f64)> + 'm {
        let mut support = 0;
        self.joints.iter().map(move |joint| {
            if !joint.support {
                return (joint, 1.0, 0.0);
            }
            support += 1;
            (joint, part[support - 1], self.heights[support - 1])
        })
    }

    /// Vertical force of support i on the machine, N.
    pub fn load_z(&self, i: usize, x: &DVector<f64>) -> f64 {
        let joint = self.support(i);
        joint.reaction(&joint.ends[0], x, self.heights[i]).0.z
    }

    /// Vertical compression of support i, m.
    pub fn compression_z(&self, i: usize, x: &DVector<f64>) -> f64 {
        self.support(i).compression(x, self.heights[i]).z
    }

    /// The factor of K + K_g with these mounts in contact, `None` unless positive definite.
    pub fn factor(&self, k: &DMatrix<f64>) -> Option<Factor> {
        Factor::new(k, &self.scale, SINGULAR)
    }

    /// Why there is no equilibrium with these mounts in contact.
    pub fn why_unstable(&self, contact: &[bool], gravity: &DMatrix<f64>) -> Error {
        let k = self.stiffness(&parts(contact, 0.0));
        let free = free_motions(&k, self.dofs, &self.reference);
        let names: Vec<&str> = (0..contact.len())
            .filter(|&i| contact[i])
            .map(|i| self.support(i).name.as_str())
            .collect();
        let reason = if free.is_empty() {
            self.overturning(&k, gravity)
        } else if names.is_empty() {
            "every mount lifts off".to_string()
        } else {
            format!(
                "only {} {} in contact, which leaves it {}",
                names.join(", "),
                if names.len() == 1 { "stays" } else { "stay" },
                free.join("; ")
            )
        };
        Error::Unstable {
            reason,
            remedy:
                "place the mounts wider or stiffer, lower the center of mass, or check the load"
                    .into(),
        }
    }

    /// The motion that gravity wins, with both stiffnesses per meter or radian of it.
    fn overturning(&self, k: &DMatrix<f64>, gravity: &DMatrix<f64>) -> String {
        let lengths = length_scale(self.dofs, self.length);
        let eigen = SymmetricEigen::new(scaled(&(k + gravity), &self.scale));
        let softest = eigen.eigenvectors.column(eigen.eigenvalues.imin());
        let x = softest.component_mul(&self.scale);
        let words = in_words(&x.component_div(&lengths), self.dofs, &self.reference, self.length);
        let turn: f64 = self
            .dofs
            .iter()
            .zip(x.iter())
            .filter(|(dof, _)| dof.axis as usize > 2 && dof.body == self.dofs[0].body)
            .map(|(_, value)| value * value)
            .sum();
        let (per, unit) = if turn > 0.0 { (turn, "N m/rad") } else { (1.0, "N/m") };
        let held = (x.transpose() * k * &x)[0] / per;
        let lost = -(x.transpose() * gravity * &x)[0] / per;
        format!(
            "under gravity it is {words}: the mounts hold it with {held:.4e} {unit}, its weight \
             takes away {lost:.4e} {unit}"
        )
    }
}

/// Part of each support's stiffness at work: 1 in contact, `lifted` otherwise.
pub(super) fn parts(contact: &[bool], lifted: f64) -> Vec<f64> {
    contact.iter().map(|&c| if c { 1.0 } else { lifted }).collect()
}

/// Cholesky factor of S A S.
pub(super) struct Factor {
    cholesky: Cholesky<f64, Dyn>,
    scale: DVector<f64>,
}

impl Factor {
    /// `None` unless S A S is positive definite, its least eigenvalue above `bound` times its
    /// greatest. (Pivots alone hide a singular matrix behind the rounding of a small pivot.)
    pub fn new(a: &DMatrix<f64>, scale: &DVector<f64>, bound: f64) -> Option<Self> {
        let a = scaled(a, scale);
        if bound > 0.0 {
            let values = a.symmetric_eigenvalues();
            if values.min() <= bound * values.max() {
                return None;
            }
        }
        Some(Self { cholesky: Cholesky::new(a)?, scale: scale.clone() })
    }

    /// A^-1 f, refined once.
    pub fn solve(&self, a: &DMatrix<f64>, f: &DVector<f64>) -> DVector<f64> {
        let once = |f: &DVector<f64>| {
            self.cholesky.solve(&f.component_mul(&self.scale)).component_mul(&self.scale)
        };
        let x = once(f);
        let rest = f - a * &x;
        x + once(&rest)
    }
}

fn scaled(a: &DMatrix<f64>, scale: &DVector<f64>) -> DMatrix<f64> {
    DMatrix::from_fn(a.nrows(), a.ncols(), |i, j| scale[i] * a[(i, j)] * scale[j])
}

fn check_vector(argument: &str, values: &[f64], length: usize, one: &str) -> Result<()> {
    if values.len() != length {
        return Err(Error::Shape {
            argument: argument.into(),
            found: format!("({},)", values.len()),
            expected: format!("({length},), one for each {one}"),
        });
    }
    each(finite, argument, values, "")
}
