//! Statics of random machines: balance, reciprocity, lift-off against every set of mounts tried
//! one by one, frame independence, gravity stiffness against the rocking ratio.

use approx::assert_relative_eq;
use nalgebra::{DMatrix, DVector, Matrix3, Rotation3, SVD, Vector3};
use proptest::prelude::*;
use underfoot::Error;
use underfoot::analysis::statics::{Statics, StaticsOptions, stability, statics, unevenness};
use underfoot::installation::{Installation, Wrench};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;
use underfoot::system::wrench_transfer;

/// Corner signs plus further feet, so that every machine stands on a proper area.
pub const CORNERS: [[f64; 2]; 4] = [[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]];

/// What varies from machine to machine; every number in -1..1.
#[derive(Debug, Clone)]
struct Draw {
    mass: f64,
    center: [f64; 3],
    feet: Vec<[f64; 10]>,
    heights: Vec<f64>,
    side: [f64; 6],
}

fn draw() -> impl Strategy<Value = Draw> {
    (3usize..7).prop_flat_map(|n| {
        let unit = || -1.0..1.0;
        (
            unit(),
            prop::array::uniform3(unit()),
            prop::collection::vec(prop::array::uniform10(unit()), n),
            prop::collection::vec(unit(), n),
            prop::array::uniform6(unit()),
        )
            .prop_map(|(mass, center, feet, heights, side)| Draw {
                mass,
                center,
                feet,
                heights,
                side,
            })
    })
}

impl Draw {
    fn body(&self) -> RigidBody {
        let mass = 20e3 * 2f64.powf(self.mass);
        let [x, y, z] = self.center;
        let center = Vector3::new(0.4 * x, 0.3 * y, 1.6 + 0.8 * z);
        RigidBody::new(mass, center, Matrix3::identity() * mass).unwrap()
    }

    /// Vertical mounts at one height.
    fn level(&self) -> Installation {
        let mounts = self.feet.iter().enumerate().map(|(i, foot)| self.mount(i, foot)).collect();
        Installation::new(self.body(), mounts).unwrap()
    }

    fn mount(&self, i: usize, foot: &[f64; 10]) -> Mount {
        let [x, y] = CORNERS[i % 4];
        let place = Vector3::new(1.5 * x + 0.6 * foot[0], y + 0.4 * foot[1], 0.0);
        let k = [4e6 * 3f64.powf(foot[2]), 4e6 * 3f64.powf(foot[3]), 8e6 * 3f64.powf(foot[4])];
        Mount::new(place, k).unwrap()
    }

    /// Mounts at different heights, slanted, with rotational stiffness.
    fn general(&self) -> Installation {
        let mut machine = self.level();
        for (mount, foot) in machine.mounts.iter_mut().zip(&self.feet) {
            mount.position.z += 0.3 * foot[5];
            let turn = Rotation3::from_euler_angles(0.4 * foot[6], 0.4 * foot[7], foot[8]);
            *mount = mount
                .clone()
                .with_axes(*turn.matrix())
                .unwrap()
                .with_rotational_stiffness([1e5 * (1.0 + foot[9]); 3])
                .unwrap();
        }
        machine
    }

    /// Weight and a wrench of up to `size` of it.
    fn load(&self, machine: &Installation, size: f64) -> DVector<f64> {
        let mut load = machine.weight_of(&machine.body);
        let scale = size * machine.body.mass() * machine.gravity;
        for i in 0..6 {
            load[i] += scale * self.side[i];
        }
        load
    }

    fn floor(&self, size: f64) -> Vec<f64> {
        self.heights.iter().map(|h| size * h).collect()
    }
}

pub fn weight(machine: &Installation) -> f64 {
    machine.body.mass() * machine.gravity
}

pub fn solve(machine: &Installation, load: &DVector<f64>, options: &StaticsOptions) -> Statics {
    statics(&machine.system(), load, options).unwrap()
}

pub fn on_floor(floor: Vec<f64>, unilateral: bool) -> StaticsOptions {
    StaticsOptions { unilateral, floor_height: Some(floor), ..StaticsOptions::default() }
}

/// Wrench of all mounts on the machine about its center of mass.
fn total(machine: &Installation, found: &Statics) -> DVector<f64> {
    let mut sum = DVector::zeros(6);
    for (i, mount) in machine.mounts.iter().enumerate() {
        let row = |a: &ndarray::Array2<f64>| Vector3::new(a[[i, 0]], a[[i, 1]], a[[i, 2]]);
        let wrench = Wrench::new(row(&found.load), row(&found.moment), Some(mount.position));
        sum += wrench.unwrap().about(machine.body.center());
    }
    sum
}

/// Every set of mounts in contact that is in equilibrium without tension, written here from the
/// stiffness of single mounts and solved by LU.
fn every_set(machine: &Installation, load: &DVector<f64>, floor: &[f64]) -> Vec<Vec<f64>> {
    let m = machine.mounts.len();
    let parts: Vec<(DMatrix<f64>, DMatrix<f64>)> = machine
        .mounts
        .iter()
        .map(|mount| {
            let t = wrench_transfer(&mount.position, machine.body.center());
            let mut k = DMatrix::zeros(6, 6);
            for (first, values) in [(0, mount.static_stiffness), (3, mount.rotational_stiffness)] {
                let own = Matrix3::from_diagonal(&Vector3::from(values));
                let turned = mount.axes * own * mount.axes.transpose();
                k.view_mut((first, first), (3, 3)).copy_from(&turned);
            }
            (DMatrix::from_column_slice(6, 6, t.as_slice()), k)
        })
        .collect();
    let mut found = Vec::new();
    for set in 0u32..1 << m {
        let on = |i: usize| set >> i & 1 == 1;
        let (mut k, mut f) = (DMatrix::zeros(6, 6), load.clone());
        for i in (0..m).filter(|&i| on(i)) {
            let (t, own) = &parts[i];
            k += t * own * t.transpose();
            f += t * own.column(2) * floor[i];
        }
        let scaled = SVD::new(k.clone(), false, false).singular_values;
        if scaled.min() <= 1e-7 * scaled.max() {
            continue;
        }
        let x = k.lu().solve(&f).unwrap();
        let mut loads = vec![0.0; m];
        let stands = (0..m).all(|i| {
            let (t, own) = &parts[i];
            let mut squeezed = -(t.transpose() * &x);
            squeezed[2] += floor[i];
            loads[i] = if on(i) { (own * &squeezed)[2] } else { 0.0 };
            if on(i) { loads[i] >= 0.0 } else { squeezed[2] <= 0.0 }
        });
        if stands {
            found.push(loads);
        }
    }
    found
}

fn differs(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn mounts_carry_exactly_the_load_and_its_moment(d in draw()) {
        let machine = d.general();
        let load = d.load(&machine, 0.3);
        let found = solve(&machine, &load, &on_floor(d.floor(2e-3), false));
        let rest = total(&machine, &found) + &load;
        prop_assert!(rest.amax() < 1e-11 * weight(&machine), "{rest}");
    }

    #[test]
    fn vertical_loads_sum_to_the_weight(d in draw()) {
        let machine = d.general();
        let load = machine.weight_of(&machine.body);
        for options in [
            StaticsOptions::default(),
            on_floor(d.floor(5e-3), false),
            StaticsOptions { gravity_stiffness: true, ..on_floor(d.floor(5e-3), true) },
        ] {
            match statics(&machine.system(), &load, &options) {
                Ok(found) => {
                    let sum = found.load.column(2).sum();
                    assert_relative_eq!(sum, weight(&machine), max_relative = 1e-12);
                }
                // Soft rotational stiffness alone may hold a few of these machines from tipping.
                Err(Error::Unstable { .. } | Error::NotConverged { .. }) => {
                    prop_assert!(options.gravity_stiffness);
                }
                Err(other) => prop_assert!(false, "{}", other),
            }
        }
    }

    #[test]
    fn floor_under_one_mount_and_load_of_another_are_reciprocal(d in draw()) {
        let machine = d.general();
        let load = machine.weight_of(&machine.body);
        let even = solve(&machine, &load, &StaticsOptions::default());
        let r = unevenness(&machine.system()).unwrap();
        let m = machine.mounts.len();
        let size = r.influence.diagonal().amax().max(1e6);
        let change = DMatrix::from_fn(m, m, |i, j| {
            let mut floor = vec![0.0; m];
            floor[j] = 1e-3;
            let up = solve(&machine, &load, &on_floor(floor, false));
            (up.load[[i, 2]] - even.load[[i, 2]]) / 1e-3
        });
        prop_assert!((&change - change.transpose()).amax() < 1e-7 * size);
        prop_assert!((&change - &r.influence).amax() < 1e-7 * size);
    }

    #[test]
    fn a_plane_floor_changes_no_load_and_all_but_three_components_do(d in draw()) {
        let machine = d.level();
        let r = unevenness(&machine.system()).unwrap();
        let m = machine.mounts.len();
        let planes = DMatrix::from_fn(m, 3, |i, j| {
            [1.0, machine.mounts[i].position.x, machine.mounts[i].position.y][j]
        });
        let stiffest = machine.mounts.iter().map(|m| m.stiffness[2]).fold(0.0, f64::max);
        prop_assert!((&r.influence * planes).amax() < 1e-11 * stiffest);
        prop_assert_eq!(r.warp_stiffness.len(), m - 3);
        let mut rebuilt = DMatrix::zeros(m, m);
        for (j, stiffness) in r.warp_stiffness.iter().enumerate() {
            prop_assert!(*stiffness > 0.0);
            let v = r.warp_pattern.column(j);
            rebuilt += v * v.transpose() * *stiffness;
        }
        prop_assert!((rebuilt - &r.influence).amax() < 1e-11 * stiffest);
        for i in 0..m {
            let sizes: Vec<f64> = r.influence.row(i).iter().map(|v| v.abs()).collect();
            prop_assert!(r.single[i] <= r.worst[i] * (1.0 + 1e-12));
            prop_assert!((r.worst[i] - sizes.iter().sum::<f64>()).abs() < 1e-9 * stiffest);
        }
    }

    #[test]
    fn lifted_mounts_have_a_gap_and_no_load_and_the_others_only_push(d in draw()) {
        let machine = d.level();
        let load = d.load(&machine, 0.2);
        let system = machine.system();
        if let Ok(found) = statics(&system, &load, &on_floor(d.floor(15e-3), true)) {
            let w = weight(&machine);
            for i in 0..machine.mounts.len() {
                let (force, gap) = (found.load[[i, 2]], found.lift_gap[i]);
                prop_assert!(force >= -1e-11 * w && gap >= -1e-12);
                prop_assert!(force == 0.0 || gap == 0.0);
                if found.lifted.contains(&i) {
                    prop_assert!((0..3).all(|axis| found.load[[i, axis]] == 0.0));
                    prop_assert_eq!(gap, -found.deflection[[i, 2]]);
                }
            }
            let rest = total(&machine, &found) + &load;
            prop_assert!(rest.amax() < 1e-10 * w, "{rest}");
        }
    }

    #[test]
    fn without_tension_lift_off_changes_nothing(d in draw()) {
        let machine = d.general();
        let load = d.load(&machine, 0.05);
        let plain = solve(&machine, &load, &on_floor(d.floor(1e-3), false));
        prop_assume!(plain.tension.is_empty());
        let lifting = solve(&machine, &load, &on_floor(d.floor(1e-3), true));
        prop_assert!(lifting.lifted.is_empty());
        prop_assert_eq!(lifting.load, plain.load);
        prop_assert_eq!(lifting.displacement, plain.displacement);
    }

    #[test]
    fn lift_off_of_level_mounts_is_the_one_set_that_stands(d in draw()) {
        let machine = d.level();
        let (load, floor) = (d.load(&machine, 0.4), d.floor(15e-3));
        let sets = every_set(&machine, &load, &floor);
        match statics(&machine.system(), &load, &on_floor(floor, true)) {
            Ok(found) => {
                prop_assert_eq!(sets.len(), 1);
                let loads = found.load.column(2).to_vec();
                prop_assert!(differs(&loads, &sets[0]) < 1e-8 * weight(&machine));
            }
            Err(Error::Unstable { .. }) => prop_assert!(sets.is_empty()),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn lift_off_of_slanted_mounts_is_a_set_that_stands(d in draw()) {
        let machine = d.general();
        let (load, floor) = (d.load(&machine, 0.4), d.floor(15e-3));
        let sets = every_set(&machine, &load, &floor);
        match statics(&machine.system(), &load, &on_floor(floor, true)) {
            Ok(found) => {
                let loads = found.load.column(2).to_vec();
                let nearest = sets.iter().map(|set| differs(&loads, set)).fold(f64::MAX, f64::min);
                prop_assert!(nearest < 1e-8 * weight(&machine));
            }
            Err(Error::Unstable { .. }) => prop_assert!(sets.is_empty()),
            Err(other) => prop_assert!(false, "{}", other),
        }
    }

    #[test]
    fn results_turn_and_move_with_the_machine(d in draw(), angle in -3.0..3.0, far in -50.0..50.0) {
        let machine = d.general();
        let load = d.load(&machine, 0.2);
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), angle);
        let shift = Vector3::new(far, -0.7 * far, 0.1 * far);
        let place = |p: &Vector3<f64>| turn * p + shift;
        let body = RigidBody::new(
            machine.body.mass(),
            place(machine.body.center()),
            turn.matrix() * machine.body.inertia() * turn.matrix().transpose(),
        ).unwrap();
        let mounts = machine.mounts.iter().map(|mount| {
            let axes = turn.matrix() * mount.axes;
            let mut moved = mount.clone().with_axes(axes).unwrap();
            moved.position = place(&mount.position);
            moved
        }).collect();
        let moved = Installation::new(body, mounts).unwrap();
        let both = |v: &DVector<f64>| {
            let part = |i| turn * Vector3::new(v[i], v[i + 1], v[i + 2]);
            let (force, moment) = (part(0), part(3));
            DVector::from_iterator(6, force.iter().chain(&moment).copied())
        };
        let options = StaticsOptions {
            gravity_stiffness: true,
            ..on_floor(d.floor(2e-3), false)
        };
        let here = solve(&machine, &load, &options);
        let there = solve(&moved, &both(&load), &options);
        let size = here.displacement.amax();
        prop_assert!((both(&here.displacement) - &there.displacement).amax() < 1e-10 * size);
        for i in 0..machine.mounts.len() {
            let force = |s: &Statics| Vector3::new(s.load[[i, 0]], s.load[[i, 1]], s.load[[i, 2]]);
            prop_assert!((turn * force(&here) - force(&there)).amax() < 1e-10 * weight(&machine));
        }
    }

    #[test]
    fn gravity_stiffness_amplifies_a_tilt_by_the_factor_of_the_rocking_check(
        mass in 5e3..60e3, height in 0.5..3.0, half in 0.6..1.5, kz in 2e7..2e8, ratio in 0.1..3.0,
        moment in 1e2..1e5,
    ) {
        let center = Vector3::new(0.0, 0.0, height);
        let body = RigidBody::new(mass, center, Matrix3::identity() * mass).unwrap();
        let mounts = CORNERS.map(|[x, y]| {
            let kx = ratio * kz / 4.0;
            Mount::new(Vector3::new(1.3 * x, half * y, 0.0), [kx, 2.0 * kx, kz / 4.0]).unwrap()
        });
        let machine = Installation::new(body, mounts.to_vec()).unwrap();
        for axis in [3, 4] {
            let mut load = machine.weight_of(&machine.body);
            load[axis] = moment;
            let plain = solve(&machine, &load, &StaticsOptions::default());
            let rocking = stability(&machine.system(), &plain).unwrap();
            prop_assume!(rocking.iter().all(|s| s.ratio < 0.9));
            let options = StaticsOptions { gravity_stiffness: true, ..StaticsOptions::default() };
            let with_gravity = solve(&machine, &load, &options);
            let factor = with_gravity.tilt[axis - 3] / plain.tilt[axis - 3];
            assert_relative_eq!(factor, rocking[axis - 3].amplification, max_relative = 1e-10);
            assert_relative_eq!(rocking[axis - 3].load_ratio, rocking[axis - 3].ratio, max_relative = 1e-9);
        }
    }
}
