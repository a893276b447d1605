//! A press of eight degrees of freedom: body on six mounts, crown and slide inside, a work force
//! between slide and bed. Frequencies, eigenvalues, peaks and states against 50-digit arithmetic
//! (source in each file); the couple of the guides, and what comes out without it.

use nalgebra::{DVector, Matrix3, Vector3};
use serde_json::Value;
use underfoot::analysis::modes;
use underfoot::analysis::transient::{Extrema, Output, Start, Transient};
use underfoot::excitation::Segment;
use underfoot::installation::{Installation, Point, port};
use underfoot::machine::press::{CROWN, SLIDE};
use underfoot::machine::{InnerMass, LinkDamping, Part, PointMass, Press, RigidBody};
use underfoot::support::Mount;
use underfoot::system::Linear;

use crate::reference::{complex, load, number, numbers, triple};

const CENTERED: &str = "press/a1_centered_tool";
const OFF_CENTER: &str = "press/a2_offcenter_tool_same_slide_axis";

fn inner(value: &Value) -> InnerMass {
    let position = triple(&value["position"]).into();
    InnerMass { mass: number(&value["mass"]), position }
}

fn body(input: &Value) -> RigidBody {
    let bed = &input["bed"];
    let rows: Vec<f64> =
        (0..3).flat_map(|i| triple(&bed["inertia_tensor_about_bed_cg"][i])).collect();
    let bed = RigidBody::new(
        number(&bed["mass"]),
        triple(&bed["cg"]).into(),
        Matrix3::from_row_slice(&rows),
    );
    let point = |m: InnerMass| Part::Point(PointMass::new(m.mass, m.position).unwrap());
    let parts = ["crown", "slide"].map(|name| point(inner(&input[name])));
    bed.unwrap().with_parts(&parts).unwrap()
}

fn installation(input: &Value, factor: f64) -> Installation {
    let body = body(input);
    let mounts = input["mounts"].as_array().unwrap().iter().map(|m| {
        let stiffness = triple(&m["k"]).map(|k| k * factor);
        Mount::new(triple(&m["position"]).into(), stiffness)
            .and_then(|mount| mount.with_damping(triple(&m["c"])))
            .unwrap()
    });
    let [frame, drive] = ["frame", "drive"].map(|name| &input[name]);
    let damping = |link: &Value| LinkDamping::Viscous(number(&link["c"]));
    let press = Press::new(
        inner(&input["crown"]),
        inner(&input["slide"]),
        number(&frame["k"]) * factor,
        number(&drive["k"]) * factor,
    )
    .and_then(|press| press.with_damping(damping(frame), damping(drive), &body))
    .unwrap();
    Installation::new(body, mounts.collect()).and_then(|i| i.with_press(press)).unwrap()
}

fn polygon(knots: &Value) -> Vec<Segment> {
    let knots: Vec<Vec<f64>> = knots.as_array().unwrap().iter().map(numbers).collect();
    let line = |pair: &[Vec<f64>]| Segment {
        start: pair[0][0],
        end: pair[1][0],
        constant: pair[0][1],
        slope: (pair[1][1] - pair[0][1]) / (pair[1][0] - pair[0][0]),
        exponentials: Vec::new(),
    };
    knots.windows(2).map(line).collect()
}

/// The motion under a unit load `g`, and what is compared.
fn outputs(case: &Value, linear: &Linear, motion: &Transient) -> Vec<(String, Output)> {
    let tool = Point { name: "tool".into(), at: triple(&case["inputs"]["tool_point"]).into() };
    let inst = installation(&case["inputs"], 1.0);
    let [crown, slide] = inst.inner_ports(&inst.body).unwrap();
    let one = |output: &Output, i: usize| {
        let mut pick = vec![0.0; output.len()];
        pick[i] = 1.0;
        output.combined("one", &pick).unwrap()
    };
    let ground = motion.ground_wrench();
    let mounts = motion.mount_force();
    let element = |kind: &str| {
        let at = linear.elements.iter().position(|e| e.label.kind == kind).unwrap();
        motion.element_force(at).unwrap()
    };
    let up = |port| one(&motion.point_acceleration(port).unwrap(), 2);
    let mut all = vec![
        ("drive_force".to_owned(), element("drive")),
        ("frame_force".into(), element("frame")),
        ("ground_vertical_force".into(), one(&ground, 2)),
        ("ground_horizontal_force_x".into(), one(&ground, 0)),
        ("ground_horizontal_force_y".into(), one(&ground, 1)),
        ("ground_moment_x_about_machine_cg".into(), one(&ground, 3)),
        ("ground_moment_y_about_machine_cg".into(), one(&ground, 4)),
        ("bed_acceleration_z_at_tool".into(), up(&port(&tool, &linear.reference))),
        ("crown_acceleration_z".into(), up(&crown)),
        ("slide_acceleration_z".into(), up(&slide)),
    ];
    for i in 0..6 {
        all.push((format!("mount{}_vertical_force", i + 1), one(&mounts, 3 * i + 2)));
    }
    all
}

fn motion(case: &Value, linear: &Linear, g: &DVector<f64>) -> Transient {
    let force = polygon(&case["inputs"]["force"]["knots_t_F"]);
    let end = number(&case["inputs"]["t_end"]);
    Transient::new(linear, &force, g, &Start::rest(linear.size()), Some(end)).unwrap()
}

fn compare(expected: &Value, found: &Extrema, what: &str) {
    for (end, extreme) in [("max", found.max), ("min", found.min)] {
        let value = number(&expected[end]);
        // Of the larger of the two: what is small beside it is a difference.
        let size = number(&expected["max"]).abs().max(number(&expected["min"]).abs());
        assert!((extreme.value - value).abs() < 1e-9 * size, "{what} {end}: {}", extreme.value);
        let time = number(&expected[format!("t_{end}")]);
        assert!((extreme.time - time).abs() < 1e-9, "{what} {end} at {}", extreme.time);
    }
}

fn check(name: &str, factor: f64) {
    let case = load(name);
    let inst = installation(&case["inputs"], factor);
    let linear = inst.system().linear();
    let expected = &case["outputs"];
    assert!((inst.body.mass() - number(&expected["machine_mass"])).abs() < 1e-9);
    let center = Vector3::from(triple(&expected["machine_cg"]));
    assert!((inst.body.center() - center).amax() < 1e-14);
    for (i, row) in expected["mass_matrix"].as_array().unwrap().iter().enumerate() {
        for (j, m) in numbers(row).iter().enumerate() {
            assert!((linear.m[(i, j)] - m).abs() < 1e-9, "mass ({i}, {j})");
        }
    }
    let found = modes(&linear).unwrap();
    let hz = numbers(&expected["undamped_frequencies_Hz"]);
    for (f, e) in found.frequency.iter().zip(&hz) {
        assert!((f / e - 1.0).abs() < 1e-10, "frequency {f} {e}");
    }
    for (i, e) in expected["damped_eigenvalues_rad_s"].as_array().unwrap().iter().enumerate() {
        let e = complex(e);
        let nearest = found.eigenvalue.iter().map(|s| (s - e).norm()).fold(f64::MAX, f64::min);
        assert!(nearest < 1e-10 * e.norm(), "eigenvalue {i}");
    }
    let press = inst.press.as_ref().unwrap();
    let motion = motion(&case, &linear, &press.work());
    for (key, output) in outputs(&case, &linear, &motion) {
        compare(&expected["peaks"][&key], &motion.extrema(&output)[0], &key);
    }
    let tool = triple(&case["inputs"]["tool_point"]).into();
    let peak = numbers(&case["inputs"]["force"]["knots_t_F"][1])[1];
    let couple = press.tool_couple(&tool).map(|arm| arm * peak);
    let given = numbers(&expected["guide_moment_on_body_at_peak_force_about_x_y"]);
    assert!((couple[0] - given[0]).abs() + (couple[1] - given[1]).abs() < 1e-6, "{couple:?}");
    states(&case, &motion);
}

fn states(case: &Value, motion: &Transient) {
    let names = ["x", "y", "z", "rx", "ry", "rz", "w_crown", "w_slide"];
    for state in case["outputs"]["states"].as_array().unwrap() {
        let t = number(&state["t"]);
        for (output, key) in
            [(motion.displacement(), "displacement"), (motion.velocity(), "velocity")]
        {
            let found = motion.at(&output, t).unwrap();
            let expected: Vec<f64> = names.iter().map(|n| number(&state[key][n])).collect();
            let size = expected.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
            for (x, e) in found.iter().zip(&expected) {
                assert!((x - e).abs() < 1e-11 * size, "{key} at {t}: {x} {e}");
            }
        }
    }
}

#[test]
fn a_centered_tool() {
    check(CENTERED, 1.0);
}

#[test]
fn an_off_center_tool_under_the_same_slide() {
    check(OFF_CENTER, 1.0);
}

#[test]
#[should_panic(expected = "frequency")]
fn a_stiffness_wrong_by_one_part_in_a_million_is_found() {
    check(CENTERED, 1.0 + 1e-6);
}

/// The negative control: the work force on the bed at the tool, without the couple of the guides.
#[test]
fn without_the_couple_of_the_guides_the_ground_feels_six_hundred_times_the_moment() {
    let control = load("press/a_checks_and_negative_control");
    for (name, stem) in
        [(CENTERED, "A1_centered_tool"), (OFF_CENTER, "A2_offcenter_tool_same_slide_axis")]
    {
        let case = load(name);
        let inst = installation(&case["inputs"], 1.0);
        let linear = inst.system().linear();
        let press = inst.press.as_ref().unwrap();
        let tool: Vector3<f64> = triple(&case["inputs"]["tool_point"]).into();
        let mut wrong = press.work();
        let [about_x, about_y] = press.tool_couple(&tool);
        // The couple is what the guides put on the body; without it the body lacks it.
        (wrong[3], wrong[4]) = (-about_x, -about_y);
        let motion = motion(&case, &linear, &wrong);
        let given = &control["outputs"][stem]["WRONG_model_guide_couple_omitted_peaks"];
        let mut compared = 0;
        for (key, output) in outputs(&case, &linear, &motion) {
            if !given[&key].is_null() {
                compare(&given[&key], &motion.extrema(&output)[0], &key);
                compared += 1;
            }
        }
        assert_eq!(compared, 5);
    }
    let right =
        number(&load(OFF_CENTER)["outputs"]["peaks"]["ground_moment_y_about_machine_cg"]["max"]);
    let wrong = &control["outputs"]["A2_offcenter_tool_same_slide_axis"]["WRONG_model_guide_couple_omitted_peaks"]
        ["ground_moment_y_about_machine_cg"]["max"];
    assert!(number(wrong) / right > 600.0);
}

#[test]
fn moving_the_tool_changes_only_the_place_where_the_bed_is_looked_at() {
    let [a, b] = [CENTERED, OFF_CENTER].map(|name| load(name)["outputs"]["peaks"].clone());
    for key in ["drive_force", "frame_force", "ground_moment_y_about_machine_cg"] {
        assert_eq!(a[key], b[key]);
    }
    let at = |peaks: &Value| number(&peaks["bed_acceleration_z_at_tool"]["max"]);
    assert!((at(&a) - at(&b)).abs() > 1e-3);
}

#[test]
fn crown_and_slide_stand_where_their_rows_say() {
    let case = load(CENTERED);
    let inst = installation(&case["inputs"], 1.0);
    let dofs = inst.system().dofs;
    assert_eq!((dofs[CROWN].body.as_str(), dofs[SLIDE].body.as_str()), ("crown", "slide"));
}
