//! Peaks of shocks in a sweep are those of each design by itself, whichever way it is computed.

use nalgebra::{Matrix3, Vector3};

use underfoot::analysis::statics::StaticsOptions;
use underfoot::analysis::transient::ShockOptions;
use underfoot::excitation::Pulse;
use underfoot::installation::{Case, Installation, Point};
use underfoot::job::Shock;
use underfoot::machine::RigidBody;
use underfoot::machine::body::turned;
use underfoot::study::shock_of;
use underfoot::support::Mount;
use underfoot::sweep::{Base, Column, Dim, Distribution, Loads, Method, Plan, Spec, VERSION, run};

const OUTPUTS: [&str; 5] =
    ["peak_motion", "peak_velocity", "peak_acceleration", "peak_floor_force", "peak_mount_force"];

fn press(inclined: bool, loss: f64, dashpot: f64) -> Installation {
    let inertia = Matrix3::new(82e3, 0.0, 0.0, 0.0, 76e3, -1500.0, 0.0, -1500.0, 30e3);
    let body = RigidBody::new(42e3, Vector3::new(0.02, 0.05, 2.1), inertia).unwrap();
    let axes = if inclined { turned(0.2, -0.3, 0.5) } else { Matrix3::identity() };
    let mount = |(x, y)| {
        Mount::new(Vector3::new(x, y, 0.0), [6e6, 7e6, 14e6])
            .and_then(|m| m.with_axes(axes))
            .and_then(|m| m.with_loss_factor([loss, loss, 1.2 * loss]))
            .and_then(|m| m.with_damping([dashpot, 0.0, 2.0 * dashpot]))
            .unwrap()
    };
    let mounts = [(-1.4, -1.0), (1.4, -1.0), (-1.4, 1.0), (1.3, 1.1)].map(mount).to_vec();
    let die = RigidBody::new(48e3, Vector3::new(0.1, -0.02, 2.0), inertia * 1.1).unwrap();
    let point = |name: &str, x, z| Point { name: name.into(), at: Vector3::new(x, 0.3, z) };
    Installation::new(body, mounts)
        .and_then(|i| i.with_cases(vec![Case { name: "die".into(), body: die, loads: vec![] }]))
        .and_then(|i| i.with_points(vec![point("bolster", 0.4, 1.0), point("crown", -0.2, 4.0)]))
        .unwrap()
}

fn shocks() -> Vec<Shock> {
    let blow = |name: &str, pulse: Pulse, at, case: Option<&str>| Shock {
        name: name.into(),
        pulse,
        direction: Vector3::z(),
        moment: false,
        at,
        case: case.map(String::from),
        contacts: None,
        every: None,
    };
    let side = Some(Vector3::new(0.5, 0.1, 1.2));
    vec![
        blow("blow", Pulse::half_sine(3e5, 0.012).unwrap(), None, None),
        blow("off center", Pulse::rectangular(-2e5, 0.05).unwrap(), side, Some("die")),
        Shock {
            moment: true,
            direction: Vector3::x(),
            ..blow("torque", Pulse::ramp_step(1e5, 0.01, 0.1).unwrap(), None, None)
        },
    ]
}

fn plan(inst: Installation, count: u64, seed: u64) -> Plan {
    let near = |path: &str, x: f64| {
        let column = Column { name: path.into(), paths: vec![path.into()] };
        let (low, high) = (x - 0.15 * x.abs(), x + 0.15 * x.abs());
        (column, Distribution::Uniform { low, high })
    };
    let columns = vec![
        near("mass", 42e3),
        near("center[z]", 2.1),
        near("inertia[zz]", 30e3),
        near("mounts.stiffness.factor", 1.0),
        near("mounts[0, 3].stiffness[z]", 15e6),
        near("mounts[2].position[x]", -1.4),
        near("cases[die].mass", 48e3),
    ];
    let dim = Dim::Sample {
        name: "sample".into(),
        count,
        method: Method::Random,
        seed,
        columns,
        correlation: None,
    };
    Plan::new(Spec {
        version: VERSION.into(),
        base: Base::Installation(Box::new(inst), Loads { shocks: shocks(), ..Loads::default() }),
        dims: vec![dim],
        outputs: OUTPUTS.map(String::from).to_vec(),
        frequencies: vec![],
        chunk: 16,
    })
    .unwrap()
}

#[test]
fn peaks_in_a_sweep_are_those_of_each_design_alone_to_nine_digits() {
    let options = ShockOptions { dt: Some(f64::MAX), ..ShockOptions::default() };
    let dampings = [(0.08, 0.0), (0.0, 9e3), (0.1, 6e3), (0.0, 0.0)];
    for (number, (loss, dashpot)) in dampings.into_iter().enumerate() {
        let plan = plan(press(number % 2 == 1, loss, dashpot), 21, number as u64);
        let swept = run(&plan, 0..plan.blocks.count(), 1, &mut |_| true).unwrap().unwrap();
        assert_eq!(swept.failures, []);
        for i in 0..plan.blocks.designs() {
            let inst = plan.installation(i).unwrap();
            let mut known: [Vec<f64>; 5] = Default::default();
            for shock in &shocks() {
                let one = shock_of(&inst, &StaticsOptions::default(), shock, &options).unwrap();
                known[0].extend(one.points.iter().map(|p| p.displacement.value));
                known[1].extend(one.points.iter().map(|p| p.velocity.value));
                known[2].extend(one.points.iter().map(|p| p.acceleration.value));
                let size = |e: &underfoot::analysis::transient::Extrema| {
                    e.max.value.abs().max(e.min.value.abs())
                };
                known[3].push(size(&one.ground_wrench[2]));
                known[4].extend(one.mount_force.iter().skip(2).step_by(3).map(size));
            }
            for (output, known) in known.iter().enumerate() {
                let width = plan.layout.outputs[output].width();
                assert_eq!(width, known.len());
                let row = &swept.values[output][i as usize * width..(i as usize + 1) * width];
                let scale = known.iter().fold(0.0_f64, |a, b| a.max(*b));
                for (a, b) in row.iter().zip(known) {
                    let what = OUTPUTS[output];
                    assert!((a - b).abs() <= 1e-9 * scale, "{what} {i}: {row:?} {known:?}");
                }
            }
        }
    }
}

#[test]
fn peaks_in_a_sweep_do_not_depend_on_chunks() {
    let bits = |chunk: u64| {
        let plan = plan(press(true, 0.1, 6e3), 21, 5);
        let spec = Spec { chunk, ..plan.spec };
        let plan = Plan::new(spec).unwrap();
        let swept = run(&plan, 0..plan.blocks.count(), 2, &mut |_| true).unwrap().unwrap();
        let bits = |v: &Vec<f64>| v.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
        swept.values.iter().map(bits).collect::<Vec<_>>()
    };
    assert_eq!(bits(21), bits(5));
}
