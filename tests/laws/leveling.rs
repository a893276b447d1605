//! Laws of leveling plans: optimal by two other methods, the best of all whole steps, and level
//! when carried out turn by turn on the statics.

use nalgebra::{DVector, Matrix3, Vector3};
use proptest::prelude::*;
use underfoot::analysis::leveling::{LevelingPlan, Objective, Outcome, Request, leveling_plan};
use underfoot::analysis::statics::{StaticsOptions, statics};
use underfoot::installation::{Installation, STANDARD_GRAVITY};
use underfoot::machine::RigidBody;
use underfoot::support::Mount;

use crate::leveling_rows::{cut, press, request, rows};
use crate::random::config;

proptest! {
    #![proptest_config(config())]

    #[test]
    fn the_least_motion_is_that_of_all_active_sets(
        inst in press(4..=4),
        asked in request(),
    ) {
        let asked = Request { objective: Objective::LeastMotion, ..cut(&asked, 4) };
        if let Outcome::Plan(plan) = leveling_plan(&inst, &asked).unwrap() {
            let best = rows(&inst, &asked).shortest().expect("the plan itself keeps the rows");
            for (found, expected) in plan.optimum.iter().zip(best.iter()) {
                prop_assert!((found - expected).abs() <= 1e-12, "{found} against {expected}");
            }
        }
    }

    #[test]
    fn a_conflict_is_one_and_what_gives_resolves_it(
        inst in press(4..=6),
        asked in request(),
    ) {
        let asked = cut(&asked, inst.mounts.len());
        let Outcome::Conflict(conflict) = leveling_plan(&inst, &asked).unwrap() else {
            return Ok(());
        };
        use underfoot::analysis::leveling::Group;
        prop_assert!(!conflict.limits.is_empty());
        rows(&inst, &asked).only(&conflict.limits).conflict_and_none_can_be_spared()?;
        for give in &conflict.gives {
            let Some(amount) = give.amount else { continue };
            // A band of all of a load is refused.
            let band = asked.load_band.unwrap_or(0.0);
            if give.group == Group::Load && band + amount * (1.0 + 1e-6) >= 1.0 {
                continue;
            }
            let give_by = |amount: f64| {
                let mut wider = asked.clone();
                match give.group {
                    Group::Level => wider.level_tolerance += amount,
                    Group::Load => wider.load_band = wider.load_band.map(|b| b + amount),
                    Group::Travel => {
                        let travel = wider.travel.as_mut().unwrap();
                        travel.iter_mut().for_each(|t| *t = [t[0] - amount, t[1] + amount]);
                        // Raise only is a limit of the travel too: it gives by the same.
                        if wider.raise_only {
                            wider.raise_only = false;
                            travel.iter_mut().for_each(|t| t[0] = -amount);
                        }
                    }
                }
                leveling_plan(&inst, &wider).unwrap()
            };
            prop_assert!(matches!(give_by(amount * (1.0 + 1e-6)), Outcome::Plan(_)), "{give:?}");
            prop_assert!(amount > 0.0);
            if amount > 1e-7 {
                prop_assert!(matches!(give_by(amount * (1.0 - 1e-4)), Outcome::Conflict(_)), "{give:?}");
            }
        }
    }

    #[test]
    fn whole_steps_are_the_best_of_all_near_the_optimum(
        inst in press(4..=6),
        asked in request(),
        step in 0.1e-3..0.4e-3f64,
    ) {
        let asked = Request { screw: Some((8.0 * step, 8)), ..cut(&asked, inst.mounts.len()) };
        let Outcome::Plan(plan) = leveling_plan(&inst, &asked).unwrap() else { return Ok(()) };
        let rows = rows(&inst, &asked);
        let found = plan.quantized.clone().unwrap();
        for (a, steps) in plan.adjustment.iter().zip(&found.steps) {
            prop_assert!((a - *steps as f64 * step).abs() <= 1e-15);
        }
        let a = DVector::from_column_slice(&plan.adjustment);
        let cost = |a: &DVector<f64>| asked.objective.of(a.as_slice());
        let margin = 1e-11;
        if found.keeps_limits {
            prop_assert!(rows.excess(&a) <= margin);
        }
        // Every lattice point within two steps of the optimum.
        let (mut best, mut least_excess) = (f64::INFINITY, f64::INFINITY);
        let n = inst.mounts.len();
        let reach = if n > 5 { 4 } else { 6 };
        let first: Vec<i64> = plan
            .optimum
            .iter()
            .map(|x| (x / step).round() as i64 - reach / 2)
            .collect();
        let mut count = vec![0i64; n];
        'all: loop {
            let point = DVector::from_fn(n, |i, _| (first[i] + count[i]) as f64 * step);
            let excess = rows.excess(&point);
            if excess <= margin {
                best = best.min(cost(&point));
            }
            least_excess = least_excess.min(excess);
            for i in 0..n {
                count[i] += 1;
                if count[i] <= reach {
                    continue 'all;
                }
                count[i] = 0;
            }
            break;
        }
        if best.is_finite() {
            prop_assert!(found.keeps_limits, "there is a step plan of cost {best}");
        }
        if found.keeps_limits && asked.objective == Objective::LeastMotion {
            best = best.min(rows.cheapest(&plan.optimum, step, cost(&a)));
        }
        if found.keeps_limits {
            prop_assert!(cost(&a) <= best * (1.0 + 1e-9), "{} against {best}", cost(&a));
        }
        if found.keeps_limits {
            // Whole steps cost no less than parts of steps.
            let free = cost(&DVector::from_column_slice(&plan.optimum));
            prop_assert!(cost(&a) >= free * (1.0 - 1e-9), "{} against {free}", cost(&a));
        }
    }

    #[test]
    fn turns_done_one_by_one_on_the_statics_end_level_and_loaded_as_planned(
        inst in press(4..=6),
        asked in request(),
        step in prop::option::of(0.05e-3..0.2e-3f64),
    ) {
        let mut asked = cut(&asked, inst.mounts.len());
        asked.screw = step.map(|s| (8.0 * s, 8));
        let Outcome::Plan(plan) = leveling_plan(&inst, &asked).unwrap() else { return Ok(()) };
        carry_out(&inst, &plan)?;
    }

    #[test]
    fn few_screws_cost_no_more_travel_and_many_no_more_motion(
        inst in press(4..=6),
        asked in request(),
    ) {
        let plan = |objective| {
            let asked = Request { objective, ..cut(&asked, inst.mounts.len()) };
            leveling_plan(&inst, &asked).unwrap().plan()
        };
        if let (Ok(motion), Ok(travel)) = (plan(Objective::LeastMotion), plan(Objective::LeastTravel)) {
            let of = |objective: Objective, p: &LevelingPlan| objective.of(&p.optimum);
            let (m, t) = (Objective::LeastMotion, Objective::LeastTravel);
            prop_assert!(of(m, &motion) <= of(m, &travel) * (1.0 + 1e-9) + 1e-18);
            prop_assert!(of(t, &travel) <= of(t, &motion) * (1.0 + 1e-9) + 1e-12);
        }
    }
}

/// Turns the screws of the real statics one by one, from the settled machine.
fn carry_out(inst: &Installation, plan: &LevelingPlan) -> Result<(), TestCaseError> {
    let weight = inst.weight_of(&inst.body);
    let even = statics(&inst.system(), &weight, &StaticsOptions::default()).unwrap();
    // The level machine stands on heights that are its own deflections: a plane cannot be told
    // from them, and the tilt is zero.
    let level: Vec<f64> = even.deflection.column(2).to_vec();
    let settlement = plan.request.settlement.clone().unwrap();
    let mut floor: Vec<f64> = level.iter().zip(&settlement).map(|(h, s)| h - s).collect();
    let solve = |floor: &[f64]| {
        let options =
            StaticsOptions { floor_height: Some(floor.to_vec()), ..StaticsOptions::default() };
        statics(&inst.system(), &weight, &options).unwrap()
    };
    let mean = inst.body.mass() * STANDARD_GRAVITY / inst.mounts.len() as f64;
    for step in &plan.sequence.steps {
        floor[step.mount] += step.adjustment;
        let real = solve(&floor);
        for axis in 0..2 {
            prop_assert!((real.tilt[axis] - step.state.tilt[axis]).abs() <= 1e-12);
        }
        for (i, load) in step.state.load.iter().enumerate() {
            prop_assert!((real.load[[i, 2]] - load).abs() <= 1e-9 * mean);
        }
    }
    let end = solve(&floor);
    let keeps = plan.quantized.as_ref().is_none_or(|q| q.keeps_limits);
    if keeps {
        let tolerance = plan.request.level_tolerance;
        prop_assert!(end.tilt.iter().all(|t| t.abs() <= tolerance + 1e-12), "{:?}", end.tilt);
        if let Some(band) = plan.request.load_band {
            for (i, target) in plan.target.iter().enumerate() {
                let off = (end.load[[i, 2]] - target).abs();
                prop_assert!(off <= band * target.abs() + 1e-8 * mean, "{off} of {target}");
            }
        }
    }
    Ok(())
}

#[test]
fn a_thousand_settled_machines_of_a_thousand_end_inside_the_tolerance() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::{Config, RngSeed, TestRunner};
    let config =
        Config { rng_seed: RngSeed::Fixed(4), failure_persistence: None, ..Config::default() };
    let mut runner = TestRunner::new(config);
    let (mut feasible, mut drawn) = (0, 0);
    while feasible < 1000 {
        drawn += 1;
        assert!(drawn < 20_000, "only {feasible} feasible of {drawn}");
        let inst = press(4..=6).new_tree(&mut runner).unwrap().current();
        let asked = request().new_tree(&mut runner).unwrap().current();
        let asked = cut(&asked, inst.mounts.len());
        if let Outcome::Plan(plan) = leveling_plan(&inst, &asked).unwrap() {
            carry_out(&inst, &plan).unwrap();
            feasible += 1;
        }
    }
}

#[test]
fn no_step_on_the_way_is_worse_than_it_has_to_be() {
    // Raising two opposite corners one after the other first unloads, then loads the others: the
    // way must pass through the least bad of all orders.
    let mounts = [[-1.0, -0.6], [1.0, -0.6], [1.0, 0.6], [-1.0, 0.6]]
        .map(|[x, y]| Mount::new(Vector3::new(x, y, 0.0), [5e6; 3]).unwrap());
    let mass = 1e5 / STANDARD_GRAVITY;
    let body =
        RigidBody::new(mass, Vector3::new(0.1, 0.0, 1.0), Matrix3::identity() * mass).unwrap();
    let inst = Installation::new(body, mounts.to_vec()).unwrap();
    let asked = Request {
        settlement: Some(vec![4e-3, 3e-3, 4e-3, 3e-3]),
        level_tolerance: 0.0,
        load_band: Some(0.0),
        raise_only: true,
        ..Request::default()
    };
    let plan = leveling_plan(&inst, &asked).unwrap().plan().unwrap();
    let worst = |order: &[usize]| {
        let mut done = DVector::zeros(4);
        order
            .iter()
            .map(|&i| {
                done[i] = plan.adjustment[i];
                let load = &plan.influence.load * &done;
                (0..4)
                    .map(|j| {
                        (plan.before.load[j] + load[j] - plan.target[j]).abs() / plan.target[j]
                    })
                    .fold(0.0, f64::max)
            })
            .fold(0.0, f64::max)
    };
    let mut orders = vec![vec![]];
    for _ in 0..4 {
        orders = orders
            .iter()
            .flat_map(|o: &Vec<usize>| {
                (0..4)
                    .filter(|i| !o.contains(i))
                    .map(|i| [o.clone(), vec![i]].concat())
                    .collect::<Vec<_>>()
            })
            .collect();
    }
    let least = orders.iter().map(|o| worst(o)).fold(f64::INFINITY, f64::min);
    let taken: Vec<usize> = plan.sequence.steps.iter().map(|s| s.mount).collect();
    assert_eq!(plan.sequence.passes, 1);
    assert!((worst(&taken) - least).abs() <= 1e-12, "{taken:?}");
}

#[test]
fn turns_are_split_into_passes_where_one_pass_overloads() {
    let range = underfoot::support::LoadRange::new(Some(15e3), Some(35e3), None).unwrap();
    let mounts = [[-1.0, -0.6], [1.0, -0.6], [1.0, 0.6], [-1.0, 0.6]].map(|[x, y]| {
        Mount::new(Vector3::new(x, y, 0.0), [5e6; 3]).unwrap().with_load_range(range)
    });
    let mass = 1e5 / STANDARD_GRAVITY;
    let body =
        RigidBody::new(mass, Vector3::new(0.0, 0.0, 1.0), Matrix3::identity() * mass).unwrap();
    let inst = Installation::new(body, mounts.to_vec()).unwrap();
    // All up by 20 mm: the first corner alone would take 1250 N/mm x 20 mm = 25 kN more.
    let asked = Request { settlement: Some(vec![20e-3; 4]), ..Request::default() };
    let lift = Request { plane: None, start: Default::default(), ..asked };
    let mut plan = leveling_plan(&inst, &lift).unwrap().plan().unwrap();
    assert!(
        plan.sequence.steps.is_empty(),
        "equal settlement asks for nothing: {:?}",
        plan.adjustment
    );
    let tilted = Request {
        settlement: Some(vec![20e-3, 20e-3, 0.0, 0.0]),
        level_tolerance: 0.0,
        ..Request::default()
    };
    plan = leveling_plan(&inst, &tilted).unwrap().plan().unwrap();
    assert!(plan.sequence.passes > 1, "{:?}", plan.sequence.passes);
    assert!(plan.sequence.keeps_limits);
    for step in &plan.sequence.steps {
        assert!(step.state.load.iter().all(|f| (15e3..=35e3).contains(f)), "{:?}", step.state.load);
    }
}
