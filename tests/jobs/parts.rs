//! Mounts made of parts: what `rubber`, `spring`, `air_spring` and `damper` of a model become.

use approx::assert_relative_eq;
use nalgebra::Vector3;
use underfoot::job::Job;
use underfoot::support::rubber::compound;
use underfoot::support::{
    AirSpring, CoilOptions, CoilSpring, PadOptions, RubberPad, Shape, ViscousDamper, parallel,
    series,
};

use crate::read;

/// A machine on four mounts of one model each, `models` in their place.
fn job(models: &str) -> Job {
    read(&text(models))
}

fn text(models: &str) -> String {
    let names: Vec<_> = models.lines().filter_map(|l| l.strip_prefix("name = ")).collect();
    let mounts: String = (0..4)
        .map(|i| {
            let (x, y) = ([-1.0, 1.0][i % 2], [-0.8, 0.8][i / 2]);
            format!("[[mount]]\nposition = [{x}, {y}, 0]\nmodel = {}\n", names[i % names.len()])
        })
        .collect();
    format!(
        "title = \"parts\"\n[machine]\nname = \"press\"\nmass = 9000\ncenter = [0, 0, 1]\n\
         inertia = [9000, 8000, 5000]\n{models}{mounts}"
    )
}

fn refused(models: &str, words: &[&str]) {
    let message = Job::from_text(&text(models), "job.toml").unwrap_err().to_string();
    for word in words {
        assert!(message.contains(word), "{word:?} is not in: {message}");
    }
}

const RUBBER: &str = r#"
[[mount_model]]
name = "pad"
rubber = { hardness = 60, shape = "disc", diameter = "100 mm", thickness = "25 mm" }
"#;

const PLENTY: &str = r#"
[[mount_model]]
name = "stack"
allowed = [{ question = "pipes", quantity = "shear", max = "4 mm" }]
[mount_model.rubber]
hardness = 60
shape = "disc"
diameter = "100 mm"
thickness = "25 mm"
layers = 2
plate_thickness = "4 mm"
load = "12 kN"
friction = 0.6
young_modulus = "4.6 MPa"
shear_modulus = "1.1 MPa"
phi = 0.57
bulk_modulus = "1150 MPa"
bending_modulus = "12 MPa"
dynamic_factor = 1.5
loss_factor = 0.13
creep_per_decade = "5.5 %"
strain_limit = "15 %"
shear_strain_limit = "50 %"
stress_limit = "3 MPa"

[[mount_model]]
name = "ring"
rubber = { hardness = 55, shape = "ring", outer = "160 mm", inner = "40 mm", thickness = "30 mm", compound = "nitrile", route = "gent", law = "growing_shape", bulk = "four_thirds", load = "9 kN" }

[[mount_model]]
name = "coil with dashpot"
[mount_model.spring]
wire_diameter = "20 mm"
coil_diameter = "100 mm"
active_coils = 6
total_coils = 8
free_length = "250 mm"
allowed_stress = "600 MPa"
load = "6 kN"
[mount_model.damper]
damping = ["1 kN s/m", "1 kN s/m", "5 kN s/m"]

[[mount_model]]
name = "air on a square"
arrangement = "series"
[mount_model.air_spring]
gauge_pressure = "5 bar"
area = "0.05 m^2"
volume = "0.01 m^3"
lateral_stiffness = "200 kN/m"
[mount_model.rubber]
hardness = { value = 45, low = 42, high = 49, source = "sheet" }
shape = "rectangle"
length = "150 mm"
width = "120 mm"
thickness = "20 mm"
shape_correction = true
"#;

#[test]
fn a_rubber_model_makes_the_mounts_of_the_pad() {
    let pad =
        RubberPad::new(60.0, Shape::disc(0.1).unwrap(), 0.025, PadOptions::default()).unwrap();
    let expected = pad.mount(Vector3::zeros(), None).unwrap();
    for mount in &job(RUBBER).installation.mounts {
        assert_eq!(mount.stiffness, expected.stiffness);
        assert_eq!(mount.static_stiffness, expected.static_stiffness);
        assert_eq!(mount.loss_factor, expected.loss_factor);
        assert_eq!(mount.allowed, expected.allowed);
        assert_eq!(mount.load_range, expected.load_range);
        assert_eq!(mount.creep_per_decade, expected.creep_per_decade);
        assert_eq!(mount.curve, expected.curve);
        assert!(mount.curve.is_some());
    }
}

#[test]
fn models_of_several_parts_are_the_parts_put_together() {
    let found = job(PLENTY).installation.mounts;
    let options = CoilOptions { allowed_stress: Some(600e6), ..CoilOptions::default() };
    let coil = CoilSpring::new(0.02, 0.1, 6.0, 0.25, options).unwrap();
    let damper = ViscousDamper::new([1e3, 1e3, 5e3]).unwrap();
    let origin = Vector3::zeros();
    let parts = [coil.mount(origin, Some(6e3)).unwrap(), damper.mount(origin).unwrap()];
    let expected = parallel(&parts).unwrap();
    assert_eq!(found[2].stiffness, expected.stiffness);
    assert_eq!(found[2].damping, expected.damping);
    assert_eq!(found[2].allowed, expected.allowed);

    let air = AirSpring { lateral_stiffness: 2e5, ..AirSpring::new(5e5, 0.05, 0.01).unwrap() };
    let square = PadOptions { shape_correction: true, ..PadOptions::default() };
    let pad = RubberPad::new(45.0, Shape::rectangle(0.15, 0.12).unwrap(), 0.02, square).unwrap();
    let chain =
        series(&[pad.linear_mount(origin, None).unwrap(), air.mount(origin).unwrap()], None)
            .unwrap();
    for i in 0..3 {
        assert_relative_eq!(found[3].stiffness[i], chain.stiffness[i], max_relative = 1e-14);
        assert_relative_eq!(
            found[3].static_stiffness[i],
            chain.static_stiffness[i],
            max_relative = 1e-14
        );
        assert_relative_eq!(found[3].loss_factor[i], chain.loss_factor[i], max_relative = 1e-14);
    }
    let stack = &found[0];
    assert_eq!(stack.allowed.len(), 5, "four of the pad and one of the file");
    assert_eq!(stack.allowed[4].question, "pipes");
}

#[test]
fn a_hardness_band_moves_every_mount_of_its_model_together() {
    let job = job(RUBBER);
    let path = "mount_model[0].rubber.hardness";
    let input = job.input(path).unwrap();
    assert_eq!((input.low, input.high), (Some(55.0), Some(65.0)));
    assert!(input.source.as_deref().is_some_and(|s| s.contains("common practice")));
    let stiff = job.with_input(path, 65.0).unwrap();
    let [before, after] = [&job, &stiff].map(|j| &j.installation.mounts);
    for (a, b) in before.iter().zip(after) {
        assert!(b.static_stiffness[2] > 1.2 * a.static_stiffness[2]);
        assert_eq!(b.stiffness, after[0].stiffness);
    }
}

#[test]
fn what_is_not_given_enters_the_register_with_the_band_of_the_trade() {
    let job = job(RUBBER);
    let of = |key: &str| job.input(&format!("mount_model[0].rubber.{key}")).unwrap();
    let dynamic = of("dynamic_factor");
    assert_eq!((dynamic.low, dynamic.high), (Some(1.35), Some(1.7)));
    assert!(dynamic.default.is_some());
    let weather = of("temperature_factor");
    let band = compound::temperature_band(5.0, 40.0).unwrap();
    assert_eq!((weather.low, weather.high), (Some(band.low), Some(band.high)));
    assert_eq!((of("aging").low, of("aging").high), (Some(0.0), Some(1.0)));
    assert!(job.banded().count() >= 6);
    let near_the_end = read(&text(&RUBBER.replace("= 60", "= 73")));
    let input = near_the_end.input("mount_model[0].rubber.hardness").unwrap();
    assert_eq!((input.low, input.high), (Some(68.0), Some(75.0)));
}

#[test]
fn every_number_of_a_part_moves_its_mounts() {
    let job = job(PLENTY);
    let before = format!("{:?}", job.installation);
    let mut moved = 0;
    for input in job.inputs.iter().filter(|i| i.path.starts_with("mount_model")) {
        let value = if input.value == 0.0 { 1e-3 } else { input.value * 1.01 };
        let after = job.with_input(&input.path, value).unwrap();
        assert_eq!(
            format!("{:?}", after.installation) == before,
            input.informational,
            "{}",
            input.path
        );
        moved += usize::from(!input.informational);
    }
    assert!(moved > 60, "{moved}");
}

#[test]
fn every_end_of_every_band_of_a_part_stands() {
    let job = job(PLENTY);
    for input in job.banded() {
        for end in [input.low, input.high].into_iter().flatten() {
            job.with_input(&input.path, end).unwrap_or_else(|e| panic!("{e}"));
        }
    }
}

#[test]
fn keys_of_a_mount_replace_what_its_parts_make() {
    let own = text(RUBBER) + "loss_factor = 0.3\ncreep_per_decade = 0.02\nallowed = []\n";
    let job = read(&own);
    let mount = &job.installation.mounts[3];
    assert_eq!(mount.loss_factor, [0.3; 3]);
    assert_eq!(mount.creep_per_decade, 0.02);
    assert!(mount.allowed.is_empty());
    assert_eq!(job.installation.mounts[0].allowed.len(), 4);
}

#[test]
fn bad_parts_are_refused_at_their_key() {
    let with = |from: &str, to: &str| RUBBER.replace(from, to);
    refused(&with("= 60", "= 90"), &["mount_model[0].rubber.hardness", "90 IRHD", "30 to 75 IRHD"]);
    refused(&with("\"disc\"", "\"disk\""), &["rubber.shape", "did you mean \"disc\""]);
    refused(&with("diameter", "diametr"), &["diametr", "did you mean \"diameter\""]);
    refused(&with("25 mm", "25 kg"), &["rubber.thickness", "25 kg", "a length"]);
    refused(&with("rubber =", "stiffness = [1, 1, 1]\nrubber ="), &["stiffness", "leave one"]);
    refused(&with("thickness", "layers = 0, thickness"), &["rubber.layers", "at least 1"]);
    refused(&with("thickness", "load = \"9 MN\", thickness"), &["rubber.load", "50 %"]);
    refused(&with("thickness", "bulk = \"none\", thickness"), &["rubber.bulk", "reciprocal"]);
    let bad_allowed =
        "\nallowed = [{ question = \"x\", quantity = \"load\", max = \"4 mm\" }]\nrubber =";
    refused(&with("\nrubber =", bad_allowed), &["allowed[0].max", "4 mm", "a force"]);
    let damped = "\n[[mount_model]]\nname = \"a\"\narrangement = \"series\"\ndamper = { damping = 5 }\n\
                  spring = { wire_diameter = 0.02, coil_diameter = 0.1, active_coils = 6, free_length = 0.25 }\n";
    refused(damped, &["mount_model[0].parts", "no stiffness along x"]);
    refused(&damped.replace("0.25", "0.15"), &["spring.free_length", "solid height"]);
}

#[test]
fn a_pad_alone_stiffens_under_its_load_and_a_part_of_a_whole_does_not() {
    let found = underfoot::study::Study::of(&job(RUBBER)).unwrap();
    let pad =
        RubberPad::new(60.0, Shape::disc(0.1).unwrap(), 0.025, PadOptions::default()).unwrap();
    let load = 9000.0 * 9.80665 / 4.0;
    let squeezed = pad.strain(load).unwrap() * pad.rubber_height();
    for row in found.results.cases[0].statics.deflection.rows() {
        assert_relative_eq!(row[2], squeezed, max_relative = 1e-9);
    }
    let chain = job(PLENTY).installation.mounts;
    assert!(chain[0].curve.is_some() && chain[3].curve.is_none());
}

#[test]
fn warnings_of_a_pad_reach_the_study_if_a_mount_stands_on_it() {
    let flat = RUBBER.replace("25 mm", "2 mm");
    assert!(job(&flat).cautions[0].starts_with("mount model pad: shape factor 12.5"));
    assert!(job(RUBBER).cautions.is_empty());
    let spare = text(RUBBER) + &flat.replace("\"pad\"", "\"spare\"");
    assert!(read(&spare).cautions.is_empty());
}

#[test]
fn a_condition_scales_the_curve_of_a_mount_too() {
    let cold = "[[condition]]\nname = \"cold\"\nstiffness_factor = 2\n\n[limits]\ntilt = 1\n";
    let stiff =
        RUBBER.replace("thickness = \"25 mm\"", "thickness = \"25 mm\", young_modulus = 1e7");
    let judged = |models: &str, more: &str| {
        let study = underfoot::study::Study::as_given(&read(&(text(models) + more))).unwrap();
        let strain = study.checks.into_iter().find(|c| c.question.starts_with("rocking about x"));
        strain.unwrap()
    };
    // Twice the stiffness halves what the weight's moment is over it; as given it is worse.
    let as_given = judged(&stiff, cold);
    assert_eq!(as_given.governing_case, "as it runs");
    let soft = cold.replace("= 2", "= 0.5");
    let warm = judged(&stiff, &soft);
    assert_eq!(warm.governing_case, "as it runs, mounts cold");
    assert!(warm.demand > 1.3 * as_given.demand, "{} {}", warm.demand, as_given.demand);
}

#[test]
fn a_curve_may_be_a_formula_of_rubber() {
    let formula = "\n[[mount_model]]\nname = \"f\"\nstiffness = [1e6, 1e6, 0]\n\
        curve = { thickness = \"60 mm\", terms = [[\"900 kN\", -2, 1], [1e5, -4, 0]] }\n";
    let found = job(formula);
    let curve = found.installation.mounts[0].curve.clone().unwrap();
    let terms = vec![(9e5, -2.0, 1.0), (1e5, -4.0, 0.0)];
    assert_eq!(curve, underfoot::law::Curve::compression(0.06, terms).unwrap());
    for key in ["thickness", "terms[0][0]", "terms[0][1]", "terms[1][0]"] {
        let path = format!("mount_model[0].curve.{key}");
        let value = found.input(&path).unwrap().value;
        let moved = found.with_input(&path, 1.01 * value).unwrap();
        assert_ne!(moved.installation.mounts[0].curve, Some(curve.clone()), "{key}");
    }
    refused(&formula.replace("-2, 1]", "-2]"), &["curve.terms[0]", "a term [a, p, q]"]);
    refused(&formula.replace("-2, 1]", "2, -1]"), &["curve.terms", "must rise"]);
    refused(&formula.replace("60 mm", "-60 mm"), &["curve.thickness", "greater than zero"]);
}

#[test]
fn a_limit_in_motion_is_judged_with_the_load_that_moves() {
    let allowed = "\nallowed = [{ question = \"load\", quantity = \"load\", max = \"40 kN\", in_motion = true }, \
        { question = \"hose\", quantity = \"shear\", max = \"4 mm\", in_motion = true }]\nrubber";
    let shock = "[[shock]]\nname = \"blow\"\npulse = \"half_sine\"\npeak = \"40 kN\"\nduration = \"20 ms\"\n\
        direction = [0.6, 0, -0.8]\n";
    let job = read(&(text(&RUBBER.replace("\nrubber", allowed)) + shock));
    let study = underfoot::study::Study::of(&job).unwrap();
    let found = |question: &str| {
        study.checks.iter().find(|c| c.question == question).unwrap_or_else(|| panic!("{question}"))
    };
    let blow = &study.results.shocks[0];
    let still = study.results.cases[0].statics.load[[0, 2]];
    let check = found("load of mount 1, in motion");
    assert_relative_eq!(check.demand, still - blow.mount_force[2].min.value, max_relative = 1e-12);
    assert_eq!(check.governing_case, "blow");
    // Sideways it moves along x alone: the length is the peak of that component.
    let port = underfoot::installation::port(
        &underfoot::installation::Point {
            name: String::new(),
            at: job.installation.mounts[0].position,
        },
        job.installation.body.center(),
    );
    let motion = &blow.shock.transient;
    let peaks = motion.peaks(&motion.point_displacement(&port).unwrap());
    assert_relative_eq!(
        found("hose of mount 1, in motion").demand,
        peaks[0].value,
        max_relative = 1e-6
    );
}
