//! Laws of how a machine stands before and after leveling: readings, stations, settlement, what one
//! turn does.

use nalgebra::{Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::analysis::leveling::{
    Influence, Reading, ReadingOptions, Request, Subgrade, leveling_plan, plane, settled,
};
use underfoot::analysis::statics::{StaticsOptions, statics};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::{Mount, Screw};

use crate::leveling_rows::{Plate, cut, press, request};
use crate::random::config;

proptest! {
    #![proptest_config(config())]

    #[test]
    fn every_station_keeps_the_tolerance_where_a_plane_can(
        inst in press(4..=6),
        tolerance in 2e-5..2e-4f64,
        (rx, ry) in (-1e-3..1e-3f64, -1e-3..1e-3f64),
        own in prop::collection::vec((-1.3..1.3f64, -1.3..1.3f64), 4),
    ) {
        let places = [[-1.0, -0.7], [1.0, -0.7], [1.0, 0.7], [-1.0, 0.7]];
        let mut readings = Vec::new();
        for (at, own) in places.iter().zip(&own) {
            for (along, slope) in [([1.0, 0.0], -ry + own.0 * tolerance), ([0.0, 1.0], rx + own.1 * tolerance)] {
                let name = format!("{at:?} {along:?}");
                readings.push(Reading::level(name, [at[0], at[1], 1.0], along, slope, None).unwrap());
            }
        }
        let plane = plane(&readings, &ReadingOptions::default()).unwrap();
        // The plane's own level along each axis may lie anywhere that all stations allow.
        let read = [-plane.tilt()[1], plane.tilt()[0]];
        let possible = (0..2).all(|axis| {
            let own = readings.iter().skip(axis).step_by(2).zip(plane.corrected.iter().skip(axis).step_by(2));
            let own: Vec<f64> = own.map(|(_, value)| value - read[axis]).collect();
            let low = own.iter().fold(0.0, |least: f64, o| least.min(*o));
            let high = own.iter().fold(0.0, |most: f64, o| most.max(*o));
            high - low <= 2.0 * tolerance
        });
        let asked = Request { plane: Some(plane), level_tolerance: tolerance, ..Request::default() };
        let plan = leveling_plan(&inst, &asked).unwrap().plan().unwrap();
        let kept = plan.stations.iter().all(|s| s.after.abs() <= tolerance * (1.0 + 1e-9));
        prop_assert_eq!(kept, possible);
        prop_assert!(plan.after.worst_tilt() <= tolerance * (1.0 + 1e-9));
        let told = plan.warnings.iter().any(|w| w.contains("no plan keeps every station"));
        prop_assert_eq!(told, !possible);
    }

    #[test]
    fn ground_and_load_settle_the_feet_as_a_survey_would_find(
        inst in press(4..=6),
        area in prop::collection::vec(0.05..0.4f64, 6),
        modulus in 7.0..8.5f64,
    ) {
        let n = inst.mounts.len();
        let subgrade = Subgrade { modulus: 10f64.powf(modulus), plate_area: area[..n].to_vec() };
        let load = Plate::of(&inst).level;
        let sunk: Vec<f64> =
            (0..n).map(|i| load[i] / (subgrade.plate_area[i] * subgrade.modulus)).collect();
        let base = Request { load_band: Some(0.1), ..Request::default() };
        let ground = Request { subgrade: Some(subgrade), ..base.clone() };
        let survey = Request { settlement: Some(sunk.clone()), ..base };
        let (found, expected) = (settled(&inst, &ground).unwrap(), settled(&inst, &survey).unwrap());
        for (i, s) in sunk.iter().enumerate() {
            prop_assert!((found.settlement[i] - s).abs() <= 1e-12 * s.abs());
            let mean = load.sum() / n as f64;
            prop_assert!((found.after.load[i] - expected.after.load[i]).abs() <= 1e-9 * mean);
        }
        let plans = [ground, survey].map(|asked| leveling_plan(&inst, &asked).unwrap().plan());
        if let [Ok(ground), Ok(survey)] = plans {
            for (a, b) in ground.adjustment.iter().zip(&survey.adjustment) {
                prop_assert!((a - b).abs() <= 1e-12);
            }
        }
    }

    #[test]
    fn the_influence_table_is_what_one_turn_does_to_the_statics(
        inst in press(3..=6),
        pitch in 0.5e-3..3e-3f64,
        own in any::<bool>(),
    ) {
        let mut inst = inst;
        if own {
            inst.mounts[0].screw = Some(Screw::shims(0.3e-3, 1e-3, 1e-3).unwrap());
        }
        let screw = (!own).then_some((pitch, 8));
        let asked = Request { settlement: Some(vec![0.0; inst.mounts.len()]), screw, ..Request::default() };
        let plan = leveling_plan(&inst, &asked).unwrap().plan().unwrap();
        let weight = inst.weight_of(&inst.body);
        let stand = |floor: Vec<f64>| {
            let options = StaticsOptions { floor_height: Some(floor), ..StaticsOptions::default() };
            statics(&inst.system(), &weight, &options).unwrap()
        };
        let n = inst.mounts.len();
        let (level, mean) = (stand(vec![0.0; n]), inst.body.mass() * STANDARD_GRAVITY / n as f64);
        for (j, turn) in plan.one_turn().iter().enumerate() {
            let lift = match (own, j) {
                (true, 0) => 0.3e-3,
                (true, _) => 1e-3,
                _ => pitch,
            };
            prop_assert_eq!(turn.lift, lift);
            let raised = stand((0..n).map(|i| if i == j { lift } else { 0.0 }).collect());
            for i in 0..n {
                let change = raised.load[[i, 2]] - level.load[[i, 2]];
                prop_assert!((turn.load[i] - change).abs() <= 1e-9 * mean);
            }
            for axis in 0..2 {
                prop_assert!((turn.tilt[axis] - raised.tilt[axis] + level.tilt[axis]).abs() <= 1e-12);
            }
        }
    }

    #[test]
    fn shims_are_set_like_whole_turns_of_a_screw_and_have_no_turns(
        inst in press(4..=4),
        asked in request(),
        thickness in 0.1e-3..0.4e-3f64,
    ) {
        let asked = Request { travel: None, ..cut(&asked, 4) };
        let with = |screw: Screw| {
            let mut inst = inst.clone();
            inst.mounts.iter_mut().for_each(|m| m.screw = Some(screw));
            leveling_plan(&inst, &asked).unwrap().plan()
        };
        let shims = with(Screw::shims(thickness, 5e-3, 5e-3).unwrap());
        let screws = with(Screw::new(thickness, 1, 5e-3, 5e-3).unwrap());
        if let (Ok(shims), Ok(screws)) = (shims, screws) {
            prop_assert_eq!(shims.adjustment, screws.adjustment);
            prop_assert!(shims.turns.iter().all(Option::is_none));
            prop_assert!(screws.turns.iter().all(Option::is_some));
        }
    }

    #[test]
    fn readings_of_a_plane_give_it_back_with_the_level_error(
        (rx, ry, error) in (-1e-3..1e-3f64, -1e-3..1e-3f64, -2e-4..2e-4f64),
        places in prop::collection::vec((-2.0..2.0f64, -1.5..1.5f64), 3..7),
    ) {
        let mut readings = Vec::new();
        for (i, &(x, y)) in places.iter().enumerate() {
            for along in [[1.0, 0.0], [0.0, 1.0]] {
                let slope = rx * along[1] - ry * along[0];
                let name = format!("station {i}");
                let (up, back) = (slope + error, -slope + error);
                readings.push(Reading::level(name, [x, y, 0.0], along, up, Some(back)).unwrap());
            }
        }
        let found = plane(&readings, &ReadingOptions::default());
        let Ok(found) = found else { return Ok(()) };
        prop_assert!((found.tilt[0].value - rx).abs() <= 1e-15);
        prop_assert!((found.tilt[1].value - ry).abs() <= 1e-15);
        prop_assert!((found.own_error.unwrap() - error).abs() <= 1e-15);
        prop_assert!(found.residual.iter().all(|r| r.abs() <= 1e-14));
    }
}

#[test]
fn influence_holds_for_gravity_stiffness_too() {
    let mounts = [[-0.45, -0.6], [0.45, -0.6], [0.45, 0.6], [-0.45, 0.6]]
        .map(|[x, y]| Mount::new(Vector3::new(x, y, 0.0), [1.2e6; 3]).unwrap());
    let mass = 11e3;
    let body =
        RigidBody::new(mass, Vector3::new(0.0, 0.0, 1.15), Matrix3::identity() * mass).unwrap();
    let inst = Installation::new(body, mounts.to_vec()).unwrap();
    let tilt = |gravity| Influence::of(&inst, None, gravity, None).unwrap().tilt;
    let (plain, soft) = (tilt(false), tilt(true));
    // m g h / k_theta about y, k_theta = sum k x^2.
    let ratio = mass * STANDARD_GRAVITY * 1.15 / (4.8e6 * 0.45 * 0.45);
    let expected = plain[(1, 0)] / (1.0 - ratio);
    assert!(
        (soft[(1, 0)] - expected).abs() <= 1e-6 * expected.abs(),
        "{} {expected}",
        soft[(1, 0)]
    );
}

#[test]
fn a_band_about_the_load_of_a_foot_that_pulls_is_a_band() {
    // The weight stands outside the feet: two of them are held down. As it stands it is in its
    // band, and nothing is to be turned.
    let mounts = [[-1.0, -0.6], [1.0, -0.6], [1.0, 0.6], [-1.0, 0.6]]
        .map(|[x, y]| Mount::new(Vector3::new(x, y, 0.0), [5e6; 3]).unwrap());
    let body = RigidBody::new(9e3, Vector3::new(1.4, 0.0, 1.0), Matrix3::identity() * 9e3).unwrap();
    let inst = Installation::new(body, mounts.to_vec()).unwrap();
    let asked = Request { load_band: Some(0.05), ..Request::default() };
    let plan = leveling_plan(&inst, &asked).unwrap().plan().unwrap();
    assert!(plan.target.iter().any(|f| *f < 0.0));
    assert!(plan.adjustment.iter().all(|a| a.abs() <= 1e-12), "{:?}", plan.adjustment);
    assert!(plan.warnings.iter().any(|w| w.contains("would have to pull")));
}
