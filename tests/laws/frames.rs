//! Physics does not depend on the frame in which a machine is written down.

use nalgebra::{DMatrix, Matrix3, Vector3};
use num_complex::Complex64;
use proptest::prelude::*;
use underfoot::analysis::{modes, transmissibility};
use underfoot::installation::Installation;

use crate::random::{axes, config, frequency, machine, point};

/// The same installation turned about the origin and moved.
fn placed(inst: &Installation, offset: &Vector3<f64>, axes: &Matrix3<f64>) -> Installation {
    let mut out = inst.clone();
    out.body = inst.body.placed(offset, axes).unwrap();
    for mount in &mut out.mounts {
        mount.position = offset + axes * mount.position;
        mount.axes = axes * mount.axes;
    }
    out
}

/// Turns force and moment alike.
fn both(axes: &Matrix3<f64>) -> DMatrix<Complex64> {
    let mut q = DMatrix::zeros(6, 6);
    q.view_mut((0, 0), (3, 3)).copy_from(&axes.map(Complex64::from));
    q.view_mut((3, 3), (3, 3)).copy_from(&axes.map(Complex64::from));
    q
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn frequencies_and_damping_do_not_depend_on_the_frame(
        inst in machine(), offset in point(5.0), axes in axes(),
    ) {
        let here = modes(&inst.system().linear()).unwrap();
        let there = modes(&placed(&inst, &offset, &axes).system().linear()).unwrap();
        for i in 0..6 {
            let (a, b) = (here.frequency[i], there.frequency[i]);
            prop_assert!((a / b - 1.0).abs() < 1e-11, "{a} {b}");
        }
        for (a, b) in here.eigenvalue.iter().zip(&there.eigenvalue) {
            prop_assert!((a - b).norm() < 1e-9 * b.norm(), "{a} {b}");
        }
    }

    #[test]
    fn transmissibility_turns_as_a_tensor(
        inst in machine(), offset in point(5.0), axes in axes(), f in frequency(),
    ) {
        let matrix = |inst: &Installation| {
            let t = transmissibility(&inst.system().linear(), &[f], None).unwrap().matrix;
            DMatrix::from_fn(6, 6, |i, j| t[[0, i, j]])
        };
        let here = matrix(&inst);
        let there = matrix(&placed(&inst, &offset, &axes));
        let q = both(&axes);
        let turned = &q * &here * q.transpose();
        let size = here.iter().map(|x| x.norm()).fold(1.0, f64::max);
        let error = (there - turned).iter().map(|x| x.norm()).fold(0.0, f64::max);
        prop_assert!(error < 1e-10 * size, "{error:e} of {size:e}");
    }

    #[test]
    fn reading_in_another_frame_undoes_placing(
        inst in machine(), offset in point(5.0), axes in axes(),
    ) {
        let back = inst.body.placed(&offset, &axes).unwrap().in_frame(&offset, &axes).unwrap();
        prop_assert!((back.center() - inst.body.center()).amax() < 1e-14);
        let error = (back.inertia() - inst.body.inertia()).amax();
        prop_assert!(error < 1e-14 * inst.body.inertia().amax());
    }

    /// Static stiffness, mass and elastic center follow the machine when it only moves.
    #[test]
    fn the_elastic_center_moves_with_the_machine(inst in machine(), offset in point(5.0)) {
        let center = |inst: &Installation| {
            modes(&inst.system().linear()).unwrap().elastic_center.unwrap()
        };
        let here = center(&inst);
        let there = center(&placed(&inst, &offset, &Matrix3::identity()));
        prop_assert!((there.point - here.point - offset).amax() < 1e-11);
        prop_assert!((there.height_x - here.height_x - offset.z).abs() < 1e-11);
        prop_assert!((there.height_y - here.height_y - offset.z).abs() < 1e-11);
    }
}
