//! Laws of motion in a job file: every kind, per axis and for all axes by scale, from a model and
//! at the mount, and what is refused.

use underfoot::job::Job;
use underfoot::law::Dynamic;
use underfoot::study::Study;

const HEAD: &str = "title = \"laws\"\n[machine]\nmass = 9000\ncenter = [0, 0, 1]\n\
                    inertia = [6500, 8200, 9000]\n";

const KINDS: &str = r#"
[[mount_model]]
name = "rubber"
law = { kind = "fractional_zener", static_stiffness = "3 kN/mm", high_frequency_stiffness = "3000 kN/mm", relaxation_time = "1e-9 s", order = 0.36, temperature = { c1 = 6.1, c2 = 146.75, reference_celsius = 20, temperature_celsius = 5 }, amplitude = { amplitude = 0.02, critical_amplitude = 0.01, residual = 0.4, exponent = 0.55, loss_peak = 2.0 } }
law_scale = [0.3, 0.4, 1.0]

[[mount]]
name = "a"
model = "rubber"
position = [-1, -0.7, 0]

[[mount]]
name = "b"
position = [1, -0.7, 0]
stiffness = ["1 kN/mm", 0, 0]
damping = ["1 kN s/m", 0, 0]
law_y = { kind = "viscous", stiffness = "1 kN/mm", damping = "2 kN s/m" }
law_z = { kind = "zener", static_stiffness = "3 kN/mm", branch_stiffness = "2 kN/mm", branch_damping = "40 kN s/m" }

[[mount]]
name = "c"
position = [-1, 0.7, 0]
law_x = { kind = "complex", stiffness = "1 kN/mm", loss_factor = 0.1 }
law_y = { kind = "maxwell", static_stiffness = "1 kN/mm", stiffness = ["0.5 kN/mm", "0.3 kN/mm"], relaxation_time = ["10 ms", "0.2 s"] }
law_z = { kind = "table", frequency = [0.5, 5, 50], storage = ["3 kN/mm", "4 kN/mm", "6 kN/mm"], loss = ["0.1 kN/mm", "0.4 kN/mm", "0.9 kN/mm"], static_stiffness = "2.8 kN/mm", variable = "log_frequency" }

[[mount]]
name = "d"
model = "rubber"
position = [1, 0.7, 0]
stiffness = ["1 kN/mm", "1 kN/mm", "3 kN/mm"]
"#;

fn read(text: &str) -> Job {
    Job::from_text(text, "job.toml").unwrap_or_else(|e| panic!("{e}"))
}

fn refused(text: &str) -> String {
    match Job::from_text(&format!("{HEAD}{text}"), "job.toml") {
        Ok(_) => panic!("must be refused:\n{text}"),
        Err(error) => error.to_string(),
    }
}

#[test]
fn every_kind_of_law_is_read() {
    let job = read(&format!("{HEAD}{KINDS}"));
    let kinds = |i: usize| {
        job.installation.mounts[i].dynamic.each_ref().map(|l| l.as_ref().map(Dynamic::kind))
    };
    assert_eq!(kinds(0), [Some("amplitude_reduction"); 3]);
    assert_eq!(kinds(1), [None, Some("viscous"), Some("zener")]);
    assert_eq!(kinds(2), [Some("complex"), Some("maxwell"), Some("table")]);
    assert_eq!(kinds(3), [None; 3]);
    let [a, b, c, d] = &job.installation.mounts[..] else { panic!("four") };
    let reduction = 0.4 + 0.6 / (1.0 + 2.0_f64.powf(1.1));
    for (k, scale) in a.static_stiffness.iter().zip([0.3, 0.4, 1.0]) {
        approx::assert_relative_eq!(*k, 3e6 * scale * reduction, max_relative = 1e-14);
    }
    assert_eq!(b.static_stiffness, [1e6, 1e6, 3e6]);
    assert_eq!(b.damping, [1e3, 0.0, 0.0]);
    assert_eq!(c.static_stiffness, [1e6, 1e6, 2.8e6]);
    assert_eq!(d.static_stiffness, [1e6, 1e6, 3e6]);
    assert!(a.is_damped() && b.is_damped() && c.is_damped() && !d.is_damped());
}

#[test]
fn every_number_of_a_law_moves_the_mounts() {
    let job = read(&format!("{HEAD}{KINDS}"));
    let before = format!("{:?}", job.installation);
    let laws: Vec<_> = job.inputs.iter().filter(|i| i.path.contains("law")).collect();
    assert!(laws.len() > 35, "{}", laws.len());
    for input in &job.inputs {
        let moved = if input.value == 0.0 { 1e-3 } else { input.value * 1.01 };
        // Zero stiffness and damping beside a law must stay zero.
        let Ok(job) = job.with_input(&input.path, moved) else {
            assert!(input.value == 0.0 && input.path.starts_with("mount[1]."), "{}", input.path);
            continue;
        };
        let after = format!("{:?}", job.installation);
        assert_eq!(before == after, input.informational, "{}", input.path);
    }
}

#[test]
fn a_study_of_zener_mounts_computes_modes_transmissibility_and_shock() {
    let zener = r#"
[[mount_model]]
name = "rubber"
law = { kind = "zener", static_stiffness = { value = "3 kN/mm", band = "15 %" }, branch_stiffness = "2 kN/mm", branch_damping = "40 kN s/m" }
[[mount]]
model = "rubber"
position = [-1, -0.7, 0]
[[mount]]
model = "rubber"
position = [1, -0.7, 0]
[[mount]]
model = "rubber"
position = [-1, 0.7, 0]
[[mount]]
model = "rubber"
position = [1, 0.7, 0]
[[shock]]
name = "blanking"
pulse = "half_sine"
peak = "60 kN"
duration = "20 ms"
direction = "-z"
[transmissibility]
from = 1
to = 100
points = 20
"#;
    let study = |text: &str| {
        let job = read(&format!("{HEAD}{text}"));
        Study::of(&job).unwrap_or_else(|e| panic!("{e}"))
    };
    let one = study(zener);
    let json = |s: &Study| s.to_json().unwrap();
    for (from, to) in [
        ("\"3 kN/mm\"", "\"3.03 kN/mm\""),
        ("\"2 kN/mm\"", "\"2.02 kN/mm\""),
        ("\"40 kN s/m\"", "\"40.4 kN s/m\""),
    ] {
        assert_ne!(json(&one), json(&study(&zener.replace(from, to))), "{from}");
    }
}

#[test]
fn bad_laws_are_told_with_line_and_key() {
    let mount = |keys: &str| format!("[[mount]]\nposition = [0, 0, 0]\n{keys}\n");
    let zener =
        "{ kind = \"zener\", static_stiffness = 1, branch_stiffness = 1, branch_damping = 1 }";
    for (keys, expected) in [
        ("law = { kind = \"zenner\" }".into(), "did you mean \"zener\"?"),
        (
            "law = { kind = \"zener\", static_stiffness = 1, branch_stiffness = 1 }".into(),
            "law.branch_damping: is missing",
        ),
        (
            zener.replace("damping = 1", "damping = -1").replacen('{', "law_z = {", 1)
                + "\nstiffness = [1, 1, 0]",
            "law_z.branch_damping: -1 N s/m: the law must not create energy, as it would at 0.15915 Hz",
        ),
        (format!("law = {zener}\nlaw_z = {zener}"), "not both"),
        ("law_scale = [1, 1, 1]\nstiffness = [1, 1, 1]".into(), "give law as well"),
        (format!("law = {zener}\nlaw_scale = [1, 0, 1]"), "law_scale: 0: must be greater than zero"),
        (format!("law_z = {zener}"), "stiffness: is missing"),
        (
            format!("law_z = {zener}\nstiffness = [1, 1, 1]"),
            "stiffness: must be zero along z, where the mount has a law of its own",
        ),
        (
            format!("law_z = {zener}\nstiffness = [1, 1, 0]\nloss_factor = 0.1"),
            "loss_factor[2]: 0.1: must be zero where the axis has a law of its own (zener)",
        ),
        (
            "law = { kind = \"maxwell\", static_stiffness = 1, stiffness = [1, 2], relaxation_time = [1] }".into(),
            "has 1 entries and stiffness 2",
        ),
        (
            "law = { kind = \"table\", frequency = [1, 3, 2], storage = [1, 1, 1], loss = [0, 0, 0] }".into(),
            "frequency[2]: 2 Hz: must be greater than the row before",
        ),
    ] {
        let message = refused(&mount(&keys));
        assert!(message.contains(expected), "{message}\n  does not say: {expected}");
        assert!(message.starts_with("job.toml:"), "{message}");
    }
}
