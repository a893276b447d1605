//! What a job file means: values in SI, the register of inputs, bands, and reading it again with
//! one number replaced.

use crate::{SMALL, edited, read};
use nalgebra::{Matrix3, Vector3};
use underfoot::analysis::leveling::Request;
use underfoot::excitation::{Pulse, Work};
use underfoot::job::{Input, Job, ReportUnits, SnapThroughAsked, template, template_of_facts};
use underfoot::machine::body::turned;
use underfoot::machine::{Cuboid, Part, PointMass};

fn input<'a>(job: &'a Job, path: &str) -> &'a Input {
    job.input(path).unwrap_or_else(|e| panic!("{e}"))
}

fn replaced(job: &Job, path: &str, value: f64) -> Job {
    job.with_input(path, value).unwrap_or_else(|e| panic!("{path} = {value}: {e}"))
}

#[test]
fn the_small_job_becomes_core_values_in_si() {
    let job = read(SMALL);
    let inst = &job.installation;
    assert_eq!((job.title.as_str(), job.units), ("small job", ReportUnits::Si));
    assert_eq!((inst.gravity, inst.body.mass()), (9.81, 10_000.0));
    assert_eq!(*inst.body.center(), Vector3::new(0.0, 0.0, 1.5));
    let [left, right] = &inst.mounts[..] else { panic!("two mounts") };
    assert_eq!(left.stiffness, [1e6, 1e6, 3e6]);
    assert_eq!(left.static_stiffness, left.stiffness);
    assert_eq!((left.loss_factor, left.damping), ([0.1; 3], [0.0; 3]));
    assert_eq!(left.rotational_stiffness, [1e5; 3]);
    assert_eq!((right.loss_factor, right.damping), ([0.0; 3], [3000.0; 3]));
    assert_eq!(right.position, Vector3::new(1.0, 0.0, 0.0));
    let die = PointMass::new(1000.0, Vector3::new(0.0, 0.0, 1.2)).map(Part::Point);
    let with_die = die.and_then(|die| inst.body.with_parts(&[die]));
    assert_eq!(Ok(inst.cases[0].body.clone()), with_die);
    let shock = &job.shocks[0];
    assert_eq!(Ok(shock.pulse.clone()), Pulse::half_sine(100e3, 0.01));
    assert_eq!(shock.direction, -Vector3::z());
    assert_eq!(shock.at, Some(Vector3::new(0.0, 0.0, 1.0)));
    assert_eq!(shock.case.as_deref(), Some("die"));
    assert_eq!(job.limits.tilt, Some(0.0005));
    assert_eq!(job.limits.motion, None);
}

#[test]
fn numbers_and_texts_of_the_same_quantity_make_the_same_job() {
    for (si, text) in [
        ("mass = 4535.9237", "mass = \"10 000 lb\""),
        ("mass = 10_000", "mass = \"10 t\""),
        ("mass = 1e4", "mass = { value = \"10 t\" }"),
        ("mass = 0x2710", "mass = 10000.0"),
    ] {
        let (a, b) = (read(&edited("mass = \"10 t\"", si)), read(&edited("mass = \"10 t\"", text)));
        assert_eq!(a.installation, b.installation, "{si} against {text}");
    }
}

#[test]
fn a_list_of_parts_makes_the_machine() {
    let old = "mass = \"10 t\"\ncenter = [0, 0, \"1.5 m\"]\ninertia = [9000, 8000, 5000]\n";
    let parts = "[[machine.part]]\nkind = \"box\"\nmass = 6000\ncenter = [0, 0, 1]\nsize = [2, 1, 1]\n\
                 turn = [\"10 deg\", 0, \"90 deg\"]\n\
                 [[machine.part]]\nkind = \"point\"\nmass = 4000\ncenter = [0, 0, 3]\n";
    let job = read(&edited(old, parts));
    let axes = turned(10f64.to_radians(), 0.0, 90f64.to_radians());
    let bed = Cuboid::new(6000.0, [2.0, 1.0, 1.0], Vector3::new(0.0, 0.0, 1.0), axes);
    let crown = PointMass::new(4000.0, Vector3::new(0.0, 0.0, 3.0));
    let expected = bed.and_then(|bed| Ok((bed, crown?))).and_then(|(b, c)| {
        underfoot::machine::RigidBody::from_parts(&[Part::Box(b), Part::Point(c)])
    });
    let body = &job.installation.body;
    assert_eq!(body.mass(), 10_000.0);
    approx::assert_relative_eq!(*body.center(), Vector3::new(0.0, 0.0, 1.8), epsilon = 1e-12);
    let expected = expected.unwrap_or_else(|e| panic!("{e}"));
    approx::assert_relative_eq!(*body.inertia(), *expected.inertia(), max_relative = 1e-14);
}

#[test]
fn off_diagonals_of_the_inertia_are_taken_as_tensor_elements() {
    let rows = "inertia = [[9000, -100, 0], [-100, 8000, 0], [0, 0, 5000]]";
    let job = read(&edited("inertia = [9000, 8000, 5000]", rows));
    let expected = Matrix3::new(9000.0, -100.0, 0.0, -100.0, 8000.0, 0.0, 0.0, 0.0, 5000.0);
    assert_eq!(*job.installation.body.inertia(), expected);
    // One input for the pair: the tensor stays symmetric when it moves.
    let moved = replaced(&job, "machine.inertia[0][1]", -200.0);
    assert_eq!(moved.installation.body.inertia()[(1, 0)], -200.0);
    assert!(job.input("machine.inertia[1][0]").is_err());
}

#[test]
fn keys_at_a_mount_replace_those_of_its_model() {
    let job =
        read(&edited("rotational_stiffness = [1e5, 1e5, 1e5]", "loss_factor = [0.2, 0.3, 0.4]"));
    assert_eq!(job.installation.mounts[0].loss_factor, [0.2, 0.3, 0.4]);
    assert_eq!(job.installation.mounts[0].stiffness, [1e6, 1e6, 3e6]);
    // A static stiffness of the model does not outlive the stiffness it belongs to.
    let text = edited("loss_factor = 0.1", "static_stiffness = [9e5, 9e5, 2e6]")
        .replace("rotational_stiffness = [1e5, 1e5, 1e5]", "stiffness = [5e6, 5e6, 5e6]");
    assert_eq!(read(&text).installation.mounts[0].static_stiffness, [5e6; 3]);
}

#[test]
fn what_no_mount_takes_from_a_model_is_informational() {
    let spare = "[[mount_model]]\nname = \"spare\"\nstiffness = [1, 1, 1]\n\n[[mount_model]]\n";
    let own = "rotational_stiffness = [1e5, 1e5, 1e5]\nloss_factor = 0.2";
    let text =
        edited("[[mount_model]]\n", spare).replace("rotational_stiffness = [1e5, 1e5, 1e5]", own);
    let job = read(&text);
    for (path, informational) in [
        ("mount_model[0].stiffness[0]", true),
        ("mount_model[1].stiffness[0]", false),
        ("mount_model[1].loss_factor", true),
        ("mount[0].loss_factor", false),
    ] {
        assert_eq!(input(&job, path).informational, informational, "{path}");
    }
}

#[test]
fn bands_are_relative_absolute_or_given_by_their_ends() {
    for (text, low, high) in [
        ("{ value = \"10 t\", band = \"10 %\" }", Some(9000.0), Some(11_000.0)),
        ("{ value = \"10 t\", band = 0.1 }", Some(9000.0), Some(11_000.0)),
        ("{ value = \"10 t\", band = \"0.1\" }", Some(9000.0), Some(11_000.0)),
        ("{ value = \"10 t\", band = \"2 t\" }", Some(8000.0), Some(12_000.0)),
        ("{ value = \"10 t\", low = \"9 t\", high = 12_000 }", Some(9000.0), Some(12_000.0)),
        ("{ value = \"10 t\", high = \"12 t\" }", Some(10_000.0), Some(12_000.0)),
        ("{ value = \"10 t\", source = \"nameplate\" }", None, None),
    ] {
        let job = read(&edited("mass = \"10 t\"", &format!("mass = {text}")));
        let mass = input(&job, "machine.mass");
        assert_eq!((mass.value, mass.low, mass.high), (10_000.0, low, high), "{text}");
        assert_eq!((mass.unit.as_str(), mass.line, mass.is_banded()), ("kg", 5, low.is_some()));
    }
    // A slope is no percentage: its band is a slope unless it says %.
    let tilt = |band: &str| {
        let text = format!("tilt = {{ value = \"0.5 mm/m\", band = \"{band}\" }}");
        let job = read(&edited("tilt = \"0.5 mm/m\"", &text));
        input(&job, "limits.tilt").high
    };
    assert_eq!(tilt("0.1 mm/m"), Some(0.0005 + 0.0001));
    assert_eq!(tilt("10 %"), Some(0.0005 + 0.1 * 0.0005));
}

#[test]
fn assumptions_and_sources_are_kept() {
    for (text, source, assumed) in [
        ("{ value = 1e4, source = \"nameplate\" }", Some("nameplate"), false),
        ("{ value = 1e4, source = \"assumed\" }", Some("assumed"), true),
        (
            "{ value = 1e4, source = \"common practice\", assumed = true }",
            Some("common practice"),
            true,
        ),
        ("{ value = 1e4, assumed = true }", None, true),
        ("1e4", None, false),
    ] {
        let job = read(&edited("mass = \"10 t\"", &format!("mass = {text}")));
        let mass = input(&job, "machine.mass");
        assert_eq!((mass.source.as_deref(), mass.assumed), (source, assumed), "{text}");
    }
}

#[test]
fn a_banded_list_is_one_input_that_scales_its_numbers() {
    let text = edited(
        "stiffness = [1e6, 1e6, 3e6]",
        "stiffness = { value = [1e6, 1e6, \"3 kN/mm\"], band = \"15 %\" }",
    );
    let job = read(&text);
    let factor = input(&job, "mount_model[0].stiffness");
    assert_eq!((factor.value, factor.low, factor.high), (1.0, Some(0.85), Some(1.15)));
    assert_eq!((factor.unit.as_str(), &factor.scales[..]), ("N/m", &[1e6, 1e6, 3e6][..]));
    assert!(job.input("mount_model[0].stiffness[2]").is_err());
    let soft = replaced(&job, "mount_model[0].stiffness", 0.85);
    assert_eq!(soft.installation.mounts[0].stiffness, [0.85e6, 0.85e6, 2.55e6]);
    assert_eq!(soft.installation.mounts[1], job.installation.mounts[1]);
}

#[test]
fn defaults_enter_the_register_with_their_reason() {
    let job = read(&edited("gravity = 9.81", ""));
    let gravity = input(&job, "gravity");
    assert_eq!(gravity.default.as_deref(), Some("not given: standard gravity"));
    assert_eq!((gravity.value, gravity.unit.as_str()), (9.80665, "m/s^2"));
    let static_stiffness = input(&job, "mount[1].static_stiffness");
    assert_eq!(static_stiffness.default.as_deref(), Some("not given: the dynamic stiffness"));
    assert_eq!((static_stiffness.value, &static_stiffness.scales[..]), (1.0, &[1e6, 1e6, 4e6][..]));
    let softer = replaced(&job, "mount[1].static_stiffness", 0.5);
    assert_eq!(softer.installation.mounts[1].static_stiffness, [5e5, 5e5, 2e6]);
    let lossy = replaced(&job, "mount[1].loss_factor", 0.07);
    assert_eq!(lossy.installation.mounts[1].loss_factor, [0.07; 3]);
    assert!(job.inputs.iter().filter(|i| i.default.is_none()).all(|i| i.path != "gravity"));
}

#[test]
fn the_register_is_in_file_order_and_each_path_stands_once() {
    let job = read(template());
    assert!(job.inputs.is_sorted_by_key(|i| i.line));
    let mut seen = std::collections::HashSet::new();
    for input in &job.inputs {
        assert!(seen.insert(&input.path), "{} stands twice", input.path);
        assert!(input.low.is_none_or(|low| low <= input.value), "{}", input.path);
        assert!(input.high.is_none_or(|high| high >= input.value), "{}", input.path);
    }
    assert!(input(&job, "machine.height").informational);
}

/// Work forces without what only says how long they may last and are followed.
fn work_forces(job: &Job) -> Vec<SnapThroughAsked> {
    let mut all = job.break_throughs.clone();
    for asked in &mut all {
        asked.options.duration = None;
        if let Work::BreakThrough(force) = &mut asked.force {
            force.stroke_rate_spm = None;
        }
    }
    all
}

/// Leveling without where the slide was read: only along what counts.
fn leveling(job: &Job) -> Option<Request> {
    let mut asked = job.leveling.clone();
    for reading in asked.iter_mut().flat_map(|a| &mut a.surfaces.slide) {
        reading.at = [0.0; 3];
    }
    asked
}

/// Everything of a job that a study computes from.
fn computed(job: &Job) -> String {
    format!(
        "{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}",
        job.installation,
        work_forces(job),
        job.slide,
        job.what_if,
        job.steps,
        job.shocks,
        job.events,
        job.harmonics,
        job.transmissibility,
        job.statics,
        job.floor_unevenness,
        leveling(job),
        job.conditions,
        job.limits
    )
}

#[test]
fn every_number_of_the_template_moves_what_is_computed_or_is_informational() {
    every_number_moves(&read(template()), 100);
}

#[test]
fn every_number_of_the_job_of_facts_moves_what_is_computed_or_is_informational() {
    every_number_moves(&read(template_of_facts()), 40);
    // What is given is no longer assumed, and what it replaces is only reported.
    let given =
        template_of_facts().replace("# mass = ", "mass = ").replace("# gyration", "gyration");
    let job = read(&given);
    every_number_moves(&job, 40);
    assert!(input(&job, "machine.facts.tonnage").informational);
    assert!(!input(&job, "machine.facts.gyration").assumed);
    assert!(job.input("machine.facts.mass_per_kN").is_err());
}

fn every_number_moves(job: &Job, at_least: usize) {
    let before = computed(job);
    for input in &job.inputs {
        // Zero times 1.01 is zero: such numbers are moved by a little instead.
        let moved = if input.value == 0.0 { 1e-3 } else { input.value * 1.01 };
        let after = computed(&replaced(job, &input.path, moved));
        assert_eq!(before == after, input.informational, "{}", input.path);
    }
    assert!(job.inputs.len() > at_least, "{}", job.inputs.len());
}

#[test]
fn every_end_of_every_band_of_the_template_stands() {
    let job = read(template());
    let banded: Vec<_> = job.banded().collect();
    assert!(banded.len() >= 5, "{banded:?}");
    for input in banded {
        for end in [input.low, input.high].into_iter().flatten() {
            let moved = replaced(&job, &input.path, end);
            assert_eq!(moved.inputs.len(), job.inputs.len());
            let here = moved.input(&input.path).map(|i| (i.value, i.low, i.high));
            assert_eq!(here, Ok((end, input.low, input.high)), "the band stays where it was");
        }
    }
    let assumed: Vec<_> = job.assumptions().map(|i| i.path.as_str()).collect();
    assert!(assumed.contains(&"machine.center[2]"), "{assumed:?}");
    assert!(assumed.contains(&"mount_model[0].loss_factor"), "{assumed:?}");
    assert!(!assumed.contains(&"machine.mass"), "{assumed:?}");
}

#[test]
fn replacing_an_input_by_its_own_value_changes_nothing() {
    let job = read(template());
    for input in &job.inputs {
        let same = replaced(&job, &input.path, input.value);
        assert_eq!(same.inputs, job.inputs, "{}", input.path);
        assert_eq!(computed(&same), computed(&job), "{}", input.path);
    }
}

#[test]
fn replacements_add_up_and_bad_ones_are_refused() {
    let job = read(SMALL);
    let twice = replaced(&replaced(&job, "machine.mass", 9000.0), "gravity", 9.8);
    assert_eq!((twice.installation.body.mass(), twice.installation.gravity), (9000.0, 9.8));
    let both = job.with_inputs(&[("machine.mass", 9000.0), ("gravity", 9.8)]);
    assert_eq!(both.map(|j| j.installation), Ok(twice.installation));
    let refused = |path: &str, value: f64| match job.with_input(path, value) {
        Ok(_) => panic!("{path} = {value} must be refused"),
        Err(error) => error.to_string(),
    };
    assert_eq!(
        refused("machine.mas", 1.0),
        "input: \"machine.mas\" is not known; inputs of this job are listed by Job.inputs; \
         did you mean \"machine.mass\"?"
    );
    assert!(refused("machine.mass", f64::NAN).contains("must be finite"));
    assert_eq!(
        refused("machine.mass", -1.0),
        "job.toml:5:8: machine.mass: -1 kg: must be greater than zero; check the sign and the unit"
    );
}

#[test]
fn frequencies_of_the_transmissibility_start_and_end_where_asked() {
    let ranges = ["spacing = \"log\"", "spacing = \"linear\""];
    let [log, linear] = ranges.map(|spacing| {
        let job = read(&edited("points = 50", &format!("points = 3\n{spacing}")));
        job.transmissibility.map(|t| t.frequencies()).unwrap_or_default()
    });
    approx::assert_relative_eq!(log[..], [1.0, 10.0, 100.0][..], max_relative = 1e-15);
    assert_eq!(linear, [1.0, 50.5, 100.0]);
}

#[test]
fn every_allowed_key_stands_in_the_template() {
    // An unknown key makes the reader list what is allowed in its place.
    let text = template();
    let headers = text.lines().filter(|l| l.starts_with('[')).chain(["title"]);
    let mut keys = std::collections::BTreeSet::new();
    let mut collect = |broken: &str| {
        let message = match Job::from_text(broken, "job.toml") {
            Ok(_) => panic!("an unknown key was let through:\n{broken}"),
            Err(error) => error.to_string(),
        };
        let (_, allowed) = message.split_once("allowed: ").unwrap_or_else(|| panic!("{message}"));
        keys.extend(allowed.split(", ").map(str::to_string));
    };
    for header in headers {
        let at = text.find(&format!("\n{header}")).map_or(0, |at| at + 1);
        let line = if header == "title" { at } else { at + header.len() + 1 };
        collect(&format!("{}zzz = 1\n{}", &text[..line], &text[line..]));
    }
    for table in [
        "{ name = \"die\"",
        "{ name = \"roll\"",
        "{ name = \"tool tray\"",
        "{ force =",
        "{ min =",
        "{ question =",
        "{ value = \"42 t\", band = \"5 %\"",
        "{ frequency =",
        "{ speed_share =",
        "{ stop_time =",
        "{ clutch_torque = \"30",
        "{ time = \"0.1 s\", from",
        "{ time = \"0.1 s\" }",
    ] {
        let at = text.find(table).unwrap_or_else(|| panic!("{table}"));
        collect(&format!("{}{{ zzz = 1, {}", &text[..at], &text[at + 1..]));
    }
    assert!(keys.len() > 45, "{keys:?}");
    for key in &keys {
        let assigned =
            [format!("{key} ="), format!("[{key}]"), format!("{key}]]"), format!(".{key}]")];
        assert!(assigned.iter().any(|a| text.contains(a.as_str())), "{key} is not in the template");
    }
}
