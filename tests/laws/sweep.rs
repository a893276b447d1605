//! Laws of sweeps: the lanes agree with the analyses, results do not depend on threads, chunks or
//! neighbors, and a design that fails stays alone with it.

use nalgebra::{Matrix3, Vector3};
use proptest::prelude::*;

use underfoot::analysis::statics::StaticsOptions;
use underfoot::analysis::{modes, statics, vertical_transmissibility};
use underfoot::installation::{Case, Installation, Wrench};
use underfoot::machine::RigidBody;
use underfoot::machine::body::turned;
use underfoot::support::Mount;
use underfoot::sweep::{
    Base, Column, Dim, Distribution, Loads, Method, Plan, Spec, Swept, VERSION, run, run_chunk,
    to_bytes,
};

const OUTPUTS: [&str; 5] =
    ["mode_frequency", "transmissibility", "mount_load", "mount_deflection", "tilt"];

fn press(inclined: bool, turning: f64) -> Installation {
    let inertia = Matrix3::new(82e3, 0.0, 0.0, 0.0, 76e3, -1500.0, 0.0, -1500.0, 30e3);
    let body = RigidBody::new(42e3, Vector3::new(0.02, 0.05, 2.1), inertia).unwrap();
    let axes = if inclined { turned(0.2, -0.3, 0.5) } else { Matrix3::identity() };
    let feet = [(-1.4, -1.0), (1.4, -1.0), (-1.4, 1.0), (1.3, 1.1)];
    let mount = |(i, (x, y)): (usize, (f64, f64))| {
        Mount::new(Vector3::new(x, y, 0.0), [6e6, 7e6, 14e6 + 1e6 * i as f64])
            .and_then(|m| m.with_axes(axes))
            .and_then(|m| m.with_static_stiffness([5e6, 6e6, 11e6]))
            .and_then(|m| m.with_loss_factor([0.1, 0.12, 0.08]))
            .and_then(|m| m.with_damping([1e3, 0.0, 4e3]))
            .and_then(|m| m.with_rotational_stiffness([turning, 0.0, turning]))
            .unwrap()
    };
    let mounts = feet.into_iter().enumerate().map(mount).collect();
    let load = |at| Wrench::new(Vector3::new(1e3, 2e3, -5e3), Vector3::new(300.0, 0.0, 50.0), at);
    let die = RigidBody::new(48e3, Vector3::new(0.1, -0.02, 2.0), inertia * 1.1).unwrap();
    let loads = vec![load(None).unwrap(), load(Some(Vector3::new(0.5, 0.2, 1.0))).unwrap()];
    Installation::new(body, mounts)
        .unwrap()
        .with_cases(vec![Case { name: "die".into(), body: die, loads }])
        .unwrap()
}

fn column(path: &str) -> Column {
    Column { name: path.into(), paths: vec![path.into()] }
}

/// A sample over many inputs, each up to `spread` of its value away.
fn sampled(inst: Installation, count: u64, seed: u64, spread: f64) -> Spec {
    let near = |x: f64| Distribution::Uniform {
        low: x - spread * x.abs().max(0.2),
        high: x + spread * x.abs().max(0.2),
    };
    let columns = vec![
        (column("mass"), near(42e3)),
        (column("center[y]"), near(0.05)),
        (column("center[z]"), near(2.1)),
        (column("inertia[zz]"), near(30e3)),
        (column("mounts.stiffness.factor"), near(1.0)),
        (column("mounts[0, 3].stiffness[z]"), near(15e6)),
        (column("mounts[1].loss_factor[x]"), near(0.12)),
        (column("mounts[2].position[x]"), near(-1.4)),
        (column("mounts.damping[y]"), Distribution::Uniform { low: 0.0, high: 5e3 }),
        (column("cases[die].mass"), near(48e3)),
        (column("gravity"), near(9.8)),
    ];
    let dim = Dim::Sample {
        name: "sample".into(),
        count,
        method: Method::Random,
        seed,
        columns,
        correlation: None,
    };
    spec(inst, vec![dim])
}

fn spec(inst: Installation, dims: Vec<Dim>) -> Spec {
    Spec {
        version: VERSION.into(),
        base: Base::Installation(Box::new(inst), Loads::default()),
        dims,
        outputs: OUTPUTS.map(String::from).to_vec(),
        frequencies: vec![8.0, 20.0, 60.0],
        chunk: 64,
    }
}

fn swept(plan: &Plan, threads: usize) -> Swept {
    run(plan, 0..plan.blocks.count(), threads, &mut |_| true).unwrap().unwrap()
}

fn close(what: &str, found: &[f64], known: &[f64], tolerance: f64) {
    let scale = known.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    for (a, b) in found.iter().zip(known) {
        assert!((a - b).abs() <= tolerance * scale, "{what}: {found:?} {known:?}");
    }
}

fn agrees_with_the_analyses(plan: &Plan) {
    let swept = swept(plan, 2);
    assert_eq!(swept.failures, []);
    for i in 0..plan.blocks.designs() {
        let inst = plan.installation(i).unwrap();
        let linear = inst.system().linear();
        let row = |output: usize| {
            let width = plan.layout.outputs[output].width();
            &swept.values[output][i as usize * width..(i as usize + 1) * width]
        };
        let known = modes(&linear).unwrap().frequency;
        for (a, b) in row(0).iter().zip(&known) {
            assert!((a / b - 1.0).abs() < 1e-10, "design {i}: {:?} {known:?}", row(0));
        }
        let t = vertical_transmissibility(&linear, &plan.spec.frequencies).unwrap();
        for (a, b) in row(1).iter().zip(&t) {
            assert!((a / b - 1.0).abs() < 1e-10, "design {i}: {:?} {t}", row(1));
        }
        let (mut load, mut deflection, mut tilt) = (vec![], vec![], vec![]);
        for (_, body, loads) in inst.all_cases() {
            let f = inst.static_load(body, loads);
            let s = statics(&inst.system_of(body), &f, &StaticsOptions::default()).unwrap();
            load.extend(s.load.column(2).to_vec());
            deflection.extend(s.deflection.column(2).to_vec());
            tilt.extend(s.tilt);
        }
        close("load", row(2), &load, 1e-11);
        close("deflection", row(3), &deflection, 1e-11);
        close("tilt", row(4), &tilt, 1e-11);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(8))]
    #[test]
    fn sweep_lanes_agree_with_the_analyses(
        seed in any::<u64>(),
        spread in 0.01_f64..0.2,
        inclined in any::<bool>(),
        turning in prop_oneof![Just(0.0), Just(2e5)],
    ) {
        let plan = Plan::new(sampled(press(inclined, turning), 37, seed, spread)).unwrap();
        agrees_with_the_analyses(&plan);
    }
}

#[test]
fn sweep_lanes_agree_where_modes_coincide_and_axes_decouple() {
    // One mount at the center of mass: three equal translations, three equal rotations, all uncoupled.
    let body =
        RigidBody::new(100.0, Vector3::zeros(), Matrix3::from_diagonal_element(5.0)).unwrap();
    let mount = Mount::new(Vector3::zeros(), [1e6; 3])
        .and_then(|m| m.with_rotational_stiffness([4e4; 3]))
        .and_then(|m| m.with_loss_factor([0.1; 3]))
        .unwrap();
    let inst = Installation::new(body, vec![mount]).unwrap();
    let values = (1..=19).map(|i| 1e5 * f64::from(i)).collect();
    let list = Dim::List { name: "k".into(), columns: vec![(column("mounts.stiffness"), values)] };
    agrees_with_the_analyses(&Plan::new(spec(inst, vec![list])).unwrap());
}

fn same(a: &Swept, b: &Swept) -> bool {
    let bits = |s: &Swept| -> Vec<u64> { s.values.iter().flatten().map(|x| x.to_bits()).collect() };
    bits(a) == bits(b) && a.failures == b.failures
}

#[test]
fn sweep_bits_do_not_depend_on_threads_chunks_or_neighbors() {
    let spec = sampled(press(true, 1e5), 500, 5, 0.9);
    let one = swept(&Plan::new(spec.clone()).unwrap(), 1);
    assert!(!one.failures.is_empty(), "some designs should break a rule");
    for (threads, chunk) in [(2, 64), (7, 64), (2, 1), (3, 13), (1, 10_000)] {
        let plan = Plan::new(Spec { chunk, ..spec.clone() }).unwrap();
        assert!(same(&one, &swept(&plan, threads)), "{threads} threads, chunks of {chunk}");
    }
}

#[test]
fn sweep_chunks_by_bytes_are_the_run() {
    let spec = sampled(press(false, 0.0), 200, 9, 0.9);
    let plan = Plan::new(spec.clone()).unwrap();
    let whole = swept(&plan, 2);
    let bytes = to_bytes(&spec).unwrap();
    let mut joined = Swept { values: vec![vec![]; OUTPUTS.len()], failures: vec![] };
    for i in 0..plan.blocks.count() {
        let chunk = run_chunk(&bytes, i).unwrap();
        let (chunk, isa) = underfoot::sweep::Chunk::from_bytes(&plan, i, &chunk).unwrap();
        assert_eq!(isa, plan.instruction_set());
        let start = plan.blocks.range(i).0;
        joined.values.iter_mut().zip(chunk.values).for_each(|(all, own)| all.extend(own));
        joined.failures.extend(chunk.failures.into_iter().map(|(d, why)| (d + start, why)));
    }
    assert!(same(&whole, &joined));
    assert!(run_chunk(&bytes, plan.blocks.count()).is_err());
    assert!(run_chunk(&bytes[1..], 0).is_err());
}

#[test]
fn sweep_a_design_that_fails_is_marked_with_its_reason_and_the_others_stand() {
    let masses = vec![40e3, -1.0, 42e3, 0.0];
    let list = Dim::List { name: "mass".into(), columns: vec![(column("mass"), masses)] };
    let stiffness = vec![6e6, 0.0];
    let both = Dim::List {
        name: "k".into(),
        columns: vec![(
            Column {
                name: "kx and ky".into(),
                paths: vec!["mounts.stiffness[x]".into(), "mounts.stiffness[y]".into()],
            },
            stiffness,
        )],
    };
    let plan = Plan::new(spec(press(false, 0.0), vec![list, both])).unwrap();
    let swept = swept(&plan, 1);
    let failed: Vec<u64> = swept.failures.iter().map(|(i, _)| *i).collect();
    assert_eq!(failed, [1, 2, 3, 5, 6, 7]);
    assert!(swept.failures[1].1.contains("mass = -1 kg"), "{:?}", swept.failures);
    assert!(swept.failures[0].1.contains("free to"), "{:?}", swept.failures);
    for (i, frequency) in swept.values[0].chunks(6).enumerate() {
        let stands = ![1, 2, 3, 5, 6, 7].contains(&i);
        assert!(frequency.iter().all(|f| f.is_finite() == stands), "design {i}: {frequency:?}");
    }
}

#[test]
fn sweep_stops_when_told_and_leaves_nothing() {
    // Hours of work: one chunk of designs that the lanes do not serve.
    let mut spec = sampled(press(false, 0.0), 1 << 22, 1, 0.1);
    spec.outputs = vec!["damping_ratio".into()];
    spec.chunk = 1 << 22;
    let plan = Plan::new(spec).unwrap();
    let answer = run(&plan, 0..plan.blocks.count(), 2, &mut |_| false).unwrap();
    assert!(answer.is_none());
}

#[test]
fn sweep_refuses_what_cannot_be_swept() {
    let message = |dims: Vec<Dim>| {
        Plan::new(spec(press(false, 0.0), dims)).map(|_| ()).unwrap_err().to_string()
    };
    let list = |path: &str, values: Vec<f64>| Dim::List {
        name: path.into(),
        columns: vec![(column(path), values)],
    };
    assert!(message(vec![]).contains("at least one axis"));
    assert!(message(vec![list("mass", vec![])]).contains("at least one value"));
    assert!(message(vec![list("mas", vec![1.0])]).contains("did you mean \"mass\""));
    assert!(message(vec![list("mount.stiffness[z]", vec![1.0])]).contains("mounts.stiffness[z]"));
    assert!(message(vec![list("mass", vec![f64::NAN])]).contains("must be finite"));
    assert!(message(vec![list("mass", vec![1.0]), list("mass", vec![1.0])]).contains("twice"));
    let pair = Dim::List {
        name: "pair".into(),
        columns: vec![(column("mass"), vec![1.0, 2.0]), (column("gravity"), vec![9.8])],
    };
    assert!(message(vec![pair]).contains("as many as its partner mass"));
}
