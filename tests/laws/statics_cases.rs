//! Statics of single machines: a press on a block, tipping, lift-off, bolts, bad input, envelope.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};
use underfoot::Error;
use underfoot::analysis::free_motion::free_motions;
use underfoot::analysis::statics::{
    MOUNT, StaticsOptions, envelope, stability, statics, unevenness,
};
use underfoot::installation::Installation;
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::{Axis, Dof, Element, Footprint, Label, System, wrench_transfer};

use crate::statics::{CORNERS, on_floor, solve, weight};

fn four() -> Installation {
    let body = RigidBody::new(10e3, Vector3::new(0.1, 0.0, 1.2), Matrix3::identity() * 9e3);
    let names = ["front left", "front right", "rear right", "rear left"];
    let mounts = CORNERS.iter().zip(names).map(|([x, y], name)| {
        Mount::new(Vector3::new(*x, 0.7 * y, 0.0), [2e6, 2e6, 5e6]).unwrap().with_name(name)
    });
    Installation::new(body.unwrap(), mounts.collect()).unwrap()
}

/// A press on four mounts on a block on four soil springs at its base.
fn press_on_block() -> System {
    let press = four();
    let mut system = press.system();
    let block = Vector3::new(0.0, 0.0, -0.8);
    system.dofs.extend(Axis::ALL.map(|axis| Dof { body: "block".into(), axis }));
    let mass = system.mass.clone();
    system.mass = DMatrix::zeros(12, 12);
    system.mass.view_mut((0, 0), (6, 6)).copy_from(&mass);
    system.mass.view_mut((6, 6), (6, 6)).copy_from(&(DMatrix::identity(6, 6) * 50e3));
    system.principal = DMatrix::identity(12, 12);
    for (element, mount) in system.elements.iter_mut().zip(&press.mounts) {
        let below = mount.element(6, 0, &block).b;
        let above = element.b.clone();
        element.b = DMatrix::zeros(12, 3);
        element.b.rows_mut(0, 6).copy_from(&above);
        element.b.rows_mut(6, 6).copy_from(&-below);
        element.ground = None;
    }
    for [x, y] in CORNERS {
        let place = Vector3::new(1.5 * x, 1.2 * y, -1.6);
        let soil = Mount::new(place, [4e7, 4e7, 6e7]).unwrap();
        let mut element = soil.element(12, 6, &block);
        element.label = Label { kind: "soil".into(), name: format!("soil {x} {y}") };
        system.elements.push(element);
    }
    system
}

fn press_on_block_weight() -> DVector<f64> {
    let mut load = DVector::zeros(12);
    load[2] = -10e3 * 9.80665;
    load[8] = -50e3 * 9.80665;
    load
}

#[test]
fn a_press_on_a_block_loads_its_mounts_with_its_own_weight_and_the_soil_with_both() {
    let found =
        statics(&press_on_block(), &press_on_block_weight(), &StaticsOptions::default()).unwrap();
    let direct = solve(&four(), &four().weight_of(&four().body), &StaticsOptions::default());
    for i in 0..4 {
        for axis in 0..3 {
            let (on_block, on_floor) = (found.load[[i, axis]], direct.load[[i, axis]]);
            assert_abs_diff_eq!(on_block, on_floor, epsilon = 1e-7);
            let (a, b) = (found.deflection[[i, axis]], direct.deflection[[i, axis]]);
            assert_abs_diff_eq!(a, b, epsilon = 1e-13);
        }
    }
    let soil: f64 = (4..8).map(|i| found.load[[i, 2]]).sum();
    assert_relative_eq!(soil, 60e3 * 9.80665, max_relative = 1e-12);
    assert_eq!(found.mount_names[0], "front left");
}

#[test]
fn a_rigid_block_on_rigid_soil_rocks_the_press_as_the_floor_does() {
    let mut system = press_on_block();
    for element in &mut system.elements[4..] {
        let underfoot::law::Law::Constant(law) = &mut element.law else {
            panic!("springs do not depend on frequency")
        };
        law.static_stiffness.iter_mut().for_each(|k| *k *= 1e6);
    }
    let options = StaticsOptions { gravity_stiffness: true, ..StaticsOptions::default() };
    let on_block = statics(&system, &press_on_block_weight(), &options).unwrap();
    let direct = solve(&four(), &four().weight_of(&four().body), &options);
    assert!(on_block.warnings.is_empty());
    assert_relative_eq!(on_block.tilt[1], direct.tilt[1], max_relative = 1e-6);
    let [a, _] = stability(&system, &on_block).unwrap();
    let [b, _] = stability(&four().system(), &direct).unwrap();
    assert_relative_eq!(a.ratio, b.ratio, max_relative = 1e-5);
    assert_relative_eq!(a.weight, 10e3 * 9.80665, max_relative = 1e-12);
    assert_relative_eq!(a.load_height, 1.2, max_relative = 1e-9);
}

#[test]
fn a_missing_horizontal_stiffness_is_named() {
    let mut machine = four();
    for mount in &mut machine.mounts {
        mount.static_stiffness[1] = 0.0;
    }
    let found =
        statics(&machine.system(), &machine.weight_of(&machine.body), &StaticsOptions::default());
    let Err(Error::FreeMotion { motion, .. }) = found else { panic!("{found:?}") };
    assert_eq!(motion, "free to slide along y");
    let system = machine.system();
    let words = free_motions(&system.static_stiffness(), &system.dofs, &system.reference);
    assert_eq!(words, [motion]);
    assert!(matches!(unevenness(&system), Err(Error::FreeMotion { .. })));
}

#[test]
fn two_mounts_left_in_contact_let_the_machine_tip_and_are_named() {
    let machine = four();
    let mut load = machine.weight_of(&machine.body);
    load[3] = -1.5 * 0.7 * weight(&machine);
    let options = StaticsOptions { unilateral: true, ..StaticsOptions::default() };
    let found = statics(&machine.system(), &load, &options);
    let Err(Error::Unstable { reason, .. }) = found else { panic!("{found:?}") };
    assert!(reason.starts_with("only rear right, rear left stay in contact"), "{reason}");
    assert!(reason.contains("turn about a line through (0.1, 0.7, 0) m along x"), "{reason}");
}

#[test]
fn a_machine_pulled_up_lifts_every_mount() {
    let machine = four();
    let load = -machine.weight_of(&machine.body);
    let options = StaticsOptions { unilateral: true, ..StaticsOptions::default() };
    let found = statics(&machine.system(), &load, &options);
    let Err(Error::Unstable { reason, .. }) = found else { panic!("{found:?}") };
    assert_eq!(reason, "every mount lifts off");
    let pulled = solve(&machine, &load, &StaticsOptions::default());
    assert_eq!(pulled.tension, [0, 1, 2, 3]);
    assert_eq!(pulled.warnings.len(), 4);
}

#[test]
fn rocking_needs_a_weight_on_the_mounts() {
    let machine = four();
    let level = solve(&machine, &DVector::zeros(6), &StaticsOptions::default());
    let found = stability(&machine.system(), &level);
    let Err(Error::Invalid { argument, .. }) = found else { panic!("{found:?}") };
    assert_eq!(argument, "weight on the mounts of the first body");
    let mut other = machine.clone();
    other.mounts.pop();
    let level = solve(&machine, &machine.weight_of(&machine.body), &StaticsOptions::default());
    assert!(matches!(stability(&other.system(), &level), Err(Error::Shape { .. })));
}

#[test]
fn a_bolt_pulls_where_a_mount_lifts_off() {
    let mut machine = four();
    let bolt = Mount::new(Vector3::new(0.0, -0.9, 0.0), [1e6, 1e6, 8e6]).unwrap();
    machine.mounts.push(bolt.with_name("anchor"));
    let mut system = machine.system();
    system.elements[4].label.kind = "bolt".into();
    let mut load = machine.weight_of(&machine.body);
    load[3] = -1.2 * weight(&machine);
    let options = StaticsOptions { unilateral: true, ..StaticsOptions::default() };
    let found = statics(&system, &load, &options).unwrap();
    assert_eq!(found.lifted, [0, 1]);
    assert_eq!(found.tension, [4]);
    assert!(found.warnings.is_empty());
    assert_eq!(system.elements[0].label.kind, MOUNT);
}

#[test]
fn a_mount_at_the_exact_verge_of_lifting_is_neither_lifted_nor_in_tension() {
    let machine = four();
    let mut load = machine.weight_of(&machine.body);
    load[4] = -0.1 * weight(&machine);
    load[3] = -0.7 * weight(&machine);
    let options = StaticsOptions { unilateral: true, ..StaticsOptions::default() };
    let found = statics(&machine.system(), &load, &options).unwrap();
    assert!(found.lifted.is_empty() && found.tension.is_empty(), "{found:?}");
    assert_abs_diff_eq!(found.load[[0, 2]], 0.0, epsilon = 1e-8);
}

#[test]
fn input_of_the_wrong_shape_or_not_a_number_is_refused() {
    let machine = four();
    let system = machine.system();
    let load = machine.weight_of(&machine.body);
    let short = on_floor(vec![0.0; 3], false);
    assert!(matches!(statics(&system, &load, &short), Err(Error::Shape { .. })));
    let not_finite = on_floor(vec![0.0, f64::NAN, 0.0, 0.0], false);
    let Err(Error::Invalid { argument, .. }) = statics(&system, &load, &not_finite) else {
        panic!("NaN passed")
    };
    assert_eq!(argument, "floor_height[1]");
    let wrong = DVector::zeros(7);
    assert!(matches!(
        statics(&system, &wrong, &StaticsOptions::default()),
        Err(Error::Shape { .. })
    ));
}

#[test]
fn a_grounded_spring_with_one_direction_is_placed_by_its_footprint() {
    let mut system = four().system();
    let place = Vector3::new(0.0, 0.0, 0.0);
    let t = wrench_transfer(&place, &system.reference);
    let mut wrench = DMatrix::zeros(6, 1);
    wrench[(2, 0)] = 1.0;
    system.elements.push(Element {
        b: DMatrix::from_fn(6, 1, |i, _| t[(i, 2)]),
        law: underfoot::law::Law::Constant(underfoot::law::Constant {
            stiffness: vec![5e6],
            static_stiffness: vec![5e6],
            loss_factor: vec![0.0],
            damping: vec![0.0],
        }),
        label: Label { kind: MOUNT.into(), name: "middle".into() },
        ground: Some(Footprint { position: place, wrench }),
    });
    let mut full = four();
    full.mounts.push(Mount::new(place, [0.0, 0.0, 5e6]).unwrap().with_name("middle"));
    let mut load = full.weight_of(&full.body);
    load[0] = 0.1 * weight(&full);
    let options = StaticsOptions { gravity_stiffness: true, ..StaticsOptions::default() };
    let (one, three) =
        (statics(&system, &load, &options).unwrap(), statics(&full.system(), &load, &options));
    let three = three.unwrap();
    assert!((&one.load - &three.load).iter().all(|d| d.abs() < 1e-7));
    assert!((&one.deflection - &three.deflection).iter().all(|d| d.abs() < 1e-14));
}

#[test]
fn the_envelope_names_the_governing_case() {
    let machine = four();
    let case = |rx: f64| {
        let mut load = machine.weight_of(&machine.body);
        load[3] = rx;
        solve(&machine, &load, &StaticsOptions::default())
    };
    let cases = [("die out", 0.0), ("die front", 8e3), ("die rear", -5e3)];
    let cases: Vec<_> = cases.map(|(name, rx)| (name.to_string(), case(rx))).to_vec();
    let all = envelope(&cases).unwrap();
    assert_eq!(all.load_max[0].case, "die front");
    assert_eq!(all.load_min[0].case, "die rear");
    assert_eq!(all.load_max[2].case, "die rear");
    assert_eq!(all.tilt[0].case, "die front");
    assert_eq!(all.tilt[0].value, cases[1].1.tilt[0]);
    assert_eq!(all.tilt[1].case, "die out");
    for i in 0..4 {
        let loads = cases.iter().map(|(_, s)| s.load[[i, 2]]);
        assert_eq!(all.load_min[i].value, loads.clone().fold(f64::MAX, f64::min));
        assert_eq!(all.load_max[i].value, loads.fold(f64::MIN, f64::max));
        let squeezed = cases.iter().map(|(_, s)| s.deflection[[i, 2]]);
        assert_eq!(all.deflection_max[i].value, squeezed.fold(f64::MIN, f64::max));
    }
    assert!(envelope(&[]).is_err());
    let mut other = cases.clone();
    other[1].1.mount_names[2] = "elsewhere".into();
    assert!(matches!(envelope(&other), Err(Error::Unknown { .. })));
}
