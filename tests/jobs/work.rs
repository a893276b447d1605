//! The forces of a job's `[[break_through]]`: cuts, draws, coins and curves, over way and over time.
//! Expected numbers are the closed forms of the handbooks named in `excitation/forming.rs`, by hand.

use crate::{SMALL, read};
use underfoot::excitation::{BreakThrough, Source, TimeCurve, Work};
use underfoot::job::Job;
use underfoot::study::Study;

const PRESS: &str = "
[press]
crown_mass = \"3 t\"
crown_position = [0, 0, 2.6]
slide_mass = \"1 t\"
slide_position = [0, 0, 1.9]
frame_stiffness = \"2 GN/m\"
frame_loss_factor = 0.04
drive_stiffness = \"1.5 GN/m\"
rated_force = \"2 MN\"
";
const SLIDE: &str = "
[slide]
mass = \"1 t\"
stroke = \"200 mm\"
rod_ratio = 5
stroke_rates = [\"30 spm\"]
";

/// The small job as a press with one work force.
fn with(work: &str) -> String {
    let small = SMALL.replace("inertia = [9000, 8000, 5000]", "inertia = [19e3, 17e3, 9e3]");
    format!("{small}{PRESS}\n[[break_through]]\nname = \"work\"\n{work}\n")
}

fn force(text: &str) -> Work {
    read(text).break_throughs[0].force.clone()
}

fn curve(text: &str) -> TimeCurve {
    match force(text) {
        Work::Curve { curve, .. } => curve,
        other => panic!("{other:?} is no curve"),
    }
}

fn broken(text: &str) -> BreakThrough {
    force(text).break_through().expect("it breaks off").clone()
}

fn refusal(text: &str) -> String {
    Job::from_text(text, "job.toml").unwrap_err().to_string()
}

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found / expected - 1.0).abs() < relative, "{found} is not {expected}");
}

const BLANK: &str = "perimeter = \"1 m\", thickness = \"3 mm\", shear_strength = \"300 MPa\", \
                     penetration = 0.4";

#[test]
fn a_draw_rises_to_its_handbook_force_at_a_third_of_its_depth() {
    let draw = "draw = { punch_diameter = \"100 mm\", blank_diameter = \"180 mm\", thickness = \"1 mm\", \
                tensile_strength = \"350 MPa\", depth = \"60 mm\", speed = \"200 mm/s\" }";
    let found = curve(&with(draw));
    let peak = std::f64::consts::PI * 0.1 * 1e-3 * 350e6 * (1.8 - 0.7);
    near(found.peak(), peak, 1e-12);
    assert_eq!(found.knots.len(), 3);
    near(found.knots[1][0], 0.1, 1e-12);
    near(found.knots[2][0], 0.3, 1e-12);
    let job = read(&with(draw));
    // A triangle over the depth.
    near(job.break_throughs[0].forming_energy.unwrap(), 0.5 * peak * 0.06, 1e-12);
    let study = Study::as_given(&job).unwrap();
    let figure = |name: &str| study.figures.iter().find(|f| f.name == name).unwrap().value;
    near(figure("work: work of the forming"), 0.5 * peak * 0.06, 1e-12);
}

#[test]
fn a_coin_closes_in_at_the_end() {
    let coin = |more: &str| {
        with(&format!(
            "coin = {{ area = \"10 cm^2\", pressure = \"800 MPa\", travel = \"1 mm\", \
             speed = \"100 mm/s\"{more} }}"
        ))
    };
    let found = curve(&coin(""));
    near(found.peak(), 8e5, 1e-12);
    let half = found.knots[10];
    near(half[0], 5e-3, 1e-12);
    near(half[1], 8e5 / 8.0, 1e-12);
    near(curve(&coin(", exponent = 2")).knots[10][1], 8e5 / 4.0, 1e-12);
    // The force is gone at once when the slide turns: said, not hidden.
    let study = Study::as_given(&read(&coin(""))).unwrap();
    assert!(study.warnings.iter().any(|w| w.contains("drops to nothing at once")));
}

#[test]
fn a_curve_over_way_follows_the_slide_above_bottom_dead_center() {
    let listed =
        "curve = { way = [\"0 mm\", \"4 mm\", \"10 mm\"], force = [\"0 kN\", \"300 kN\", 0], ";
    let at_speed = curve(&with(&format!("{listed}speed = \"100 mm/s\" }}")));
    for (knot, expected) in at_speed.knots.iter().zip([[0.0, 0.0], [0.04, 3e5], [0.1, 0.0]]) {
        assert!((knot[0] - expected[0]).abs() < 1e-15 && knot[1] == expected[1], "{knot:?}");
    }
    let under = format!("{}{SLIDE}", with(&format!("{listed}height = \"40 mm\" }}")));
    let under = curve(&under);
    // Slider-crank by hand: height above the bottom r (1 - cos a) + (r / l) r sin^2 a / 2 + ..., exactly
    // r + l - r cos a - sqrt(l^2 - r^2 sin^2 a), a before bottom dead center at pi rad/s.
    let (r, l) = (0.1_f64, 0.5_f64);
    let height = |a: f64| r + l - r * a.cos() - (l * l - (r * a.sin()).powi(2)).sqrt();
    let angle = |h: f64| {
        let (mut low, mut high) = (0.0, std::f64::consts::PI);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if height(middle) < h { low = middle } else { high = middle }
        }
        low
    };
    let omega = std::f64::consts::PI; // 30 strokes per minute
    for (knot, way) in under.knots.iter().zip([0.0, 0.004, 0.01]) {
        let expected = (angle(0.04) - angle(0.04 - way)) / omega;
        assert!((knot[0] - expected).abs() < 1e-12, "{} is not {expected}", knot[0]);
    }
    let over_time = "curve = { time = [0, \"20 ms\", \"50 ms\"], force = [0, \"300 kN\", 0] }";
    assert_eq!(curve(&with(over_time)).knots, [[0.0, 0.0], [0.02, 3e5], [0.05, 0.0]]);
}

#[test]
fn a_blank_breaks_at_the_speed_of_the_slide_there() {
    let given = broken(&with(&format!("blank = {{ {BLANK}, speed = \"150 mm/s\" }}")));
    near(given.force, 0.9e6, 1e-12);
    near(given.release, 0.1 * 0.6 * 3e-3 / 0.15, 1e-12);
    let at = |rate: &str| {
        broken(&format!(
            "{}stroke_rate = \"{rate}\"\n{SLIDE}",
            with(&format!("blank = {{ {BLANK}, height = \"20 mm\" }}"))
        ))
    };
    // Twice the strokes, half the time.
    near(at("20 spm").release, 2.0 * at("40 spm").release, 1e-12);
    let soft =
        broken(&with(&format!("blank = {{ {BLANK}, speed = \"150 mm/s\", softened_to = 0.6 }}")));
    assert_eq!(soft.softened_to, 0.6);
    near(soft.softening_time, 0.5 * 0.4 * 3e-3 / 0.15, 1e-12);
}

#[test]
fn staggered_punches_share_the_force_and_break_one_after_the_other() {
    let punches = "punches = [{ share = 0.5 }, { share = 0.5, later = \"4 mm\" }]";
    let found = curve(&with(&format!("blank = {{ {BLANK}, speed = \"150 mm/s\", {punches} }}")));
    near(found.peak(), 0.45e6, 1e-12);
    let job = |more: &str| with(&format!("blank = {{ {BLANK}, speed = \"150 mm/s\"{more} }}"));
    let energy = |text: &str| read(text).break_throughs[0].forming_energy.unwrap();
    near(energy(&job(&format!(", {punches}"))), energy(&job("")), 1e-12);
    let third = punches.replacen("0.5", "0.3", 1);
    assert!(refusal(&job(&format!(", {third}"))).contains("shares must add up to 1"));
}

#[test]
fn the_floor_force_of_cushions_and_of_the_break_are_told_apart() {
    let cushioned = "force = \"900 kN\"\nrise = \"20 ms\"\nrelease = \"2 ms\"\n\
        cushion = [{ force = \"100 kN\", contact = \"5 ms\", release = \"150 ms\" }]";
    let study = Study::as_given(&read(&with(cushioned))).unwrap();
    let sources = &study.results.snap_throughs[0].snap.sources;
    let names: Vec<Source> = sources.iter().map(|(source, _)| *source).collect();
    assert_eq!(names, [Source::Contact, Source::BreakThrough]);
    let alone = cushioned.split("\ncushion").next().unwrap();
    let alone = Study::as_given(&read(&with(alone))).unwrap();
    let peak = |e: &underfoot::analysis::transient::Extrema| e.max.value - e.min.value;
    let broken = &alone.results.snap_throughs[0].snap.ground_peaks;
    near(peak(&sources[1].1[2]), peak(&broken[2]), 1e-9);
    let summary = study.summary();
    let section = summary.split("## Floor force by source").nth(1).expect("a section");
    assert!(section.contains("contact") && section.contains("break-through"), "{section}");
    assert!(study.to_json().unwrap().contains("\"floor_force_by_source\""));
}

#[test]
fn a_press_without_damping_is_told_to_ring_on() {
    let work = with("force = \"900 kN\"\nrise = \"20 ms\"\nrelease = \"2 ms\"");
    let told = |text: &str| {
        let study = Study::as_given(&read(text)).unwrap();
        study.warnings.iter().any(|w| w.contains("frame and drive have no damping"))
    };
    assert!(!told(&work));
    assert!(told(&work.replace("frame_loss_factor = 0.04\n", "")));
}

#[test]
fn what_does_not_fit_together_is_named() {
    let draw = "draw = { punch_diameter = \"100 mm\", blank_diameter = \"180 mm\", thickness = \"1 mm\", \
                tensile_strength = \"350 MPa\", depth = \"60 mm\", speed = \"200 mm/s\" }";
    let listed = |time: &str, force: &str| with(&format!("curve = {{ {time}, force = {force} }}"));
    for (text, said) in [
        (with(&format!("{draw}\nforce = \"1 kN\"")), "force: follows from draw: leave it out"),
        (with(&format!("{draw}\ndwell = \"1 ms\"")), "dwell: says how a force breaks off"),
        (with(&format!("{draw}\nblank = {{ {BLANK} }}")), "draw: stands beside blank"),
        (with(&draw.replace(", speed = \"200 mm/s\"", "")), "draw.speed: is missing"),
        (
            with(&draw.replace("speed = \"200 mm/s\"", "height = \"70 mm\"")),
            "draw.height: needs the motion of the slide",
        ),
        (with(&draw.replace(" }", ", height = \"1 mm\" }")), "height: stands beside speed"),
        (with(&draw.replace("180 mm", "80 mm")), "blank_diameter"),
        (listed("time = [0, 0.01]", "[0, 1, 2]"), "curve.force: has 3 values and time has 2"),
        (listed("time = [0, 0.01, 0.01]", "[0, 1, 2]"), "time[2]"),
        (listed("time = [0, 0.01]", "[0, -1]"), "force[1]"),
        (listed("way = [0, 0.01]", "[0, 1]"), "curve.speed: is missing"),
        (listed("time = [0, 0.01], speed = 1", "[0, 1]"), "curve.speed: has nothing to act on"),
        (with("curve = { force = [0, 1] }"), "needs either time or way beside it"),
        (listed("time = [0, 0.01]", "[0, \"3 MN\"]"), "must not exceed the rated_force"),
        (
            format!("{}stroke_rate = \"60 spm\"\n", listed("time = [0, 2]", "[0, 1]")),
            "the force must end within the stroke",
        ),
    ] {
        let found = refusal(&text);
        assert!(found.contains(said), "{said}:\n{found}");
    }
    let below =
        format!("{}{SLIDE}", with(&draw.replace("speed = \"200 mm/s\"", "height = \"40 mm\"")));
    assert!(refusal(&below).contains("must be at least the way of the force, 0.06 m"));
}

const BREAK: &str = "force = \"900 kN\"\nrise = \"20 ms\"\nrelease = \"2 ms\"\n";

#[test]
fn the_pulse_on_a_rigid_press_is_compared_where_the_job_asks() {
    // Stiff frame, soft mounts without loss factor: the pulse suffices.
    let small = with(&format!("{BREAK}equivalent_pulse = true"))
        .replace("loss_factor = 0.1\n", "damping = 2e3\n");
    let study = Study::as_given(&read(&small)).unwrap();
    let told = &study.work_forces[0];
    let found = told.equivalent.as_ref().expect("asked");
    assert!(found.suffices);
    let press = &study.results.snap_throughs[0].snap.ground_peaks[2];
    near(found.floor_force[0], -press.min.value, 0.02);
    near(found.floor_force[1], press.max.value, 0.02);
    assert!(study.summary().contains("the equivalent pulse on a rigid press puts"));
    // With a loss factor the rule says no, whatever the frame.
    let study = Study::as_given(&read(&with(&format!("{BREAK}equivalent_pulse = true")))).unwrap();
    assert!(!study.work_forces[0].equivalent.as_ref().unwrap().suffices);
    assert!(Study::as_given(&read(&with(BREAK))).unwrap().work_forces.is_empty());
}

/// A record of the column, 0.1 ms apart, of a force that breaks in 3 ms.
fn column_record() -> String {
    let slower = read(&with(&BREAK.replace("2 ms", "3 ms").replace("900", "850")));
    let study = Study::as_given(&slower).unwrap();
    let snap = &study.results.snap_throughs[0].snap;
    let column = snap.motion.element_force(underfoot::machine::press::FRAME).unwrap();
    let samples = snap.motion.sample(&[&column], 1e-4).unwrap();
    let values = samples[0].column(0).to_vec();
    values[..600].iter().map(|v| format!("{:.3}", v / 1e3)).collect::<Vec<_>>().join(", ")
}

#[test]
fn a_tonnage_record_in_the_job_gives_its_force_back() {
    let calibration = |more: &str| {
        with(&format!(
            "{BREAK}calibration = {{ interval = \"0.1 ms\", unit = \"kN\", values = [{}]{more} }}",
            column_record()
        ))
    };
    let job = read(&calibration(", fit = [\"force\", \"release\"]"));
    let study = Study::as_given(&job).unwrap();
    let found = study.work_forces[0].calibration.as_ref().expect("a record");
    // The record is printed to a newton.
    near(found.force.force, 850e3, 1e-5);
    near(found.force.release, 3e-3, 1e-3);
    assert!(found.residual_rms < 1.0, "{}", found.residual_rms);
    let summary = study.summary();
    assert!(summary.contains("### What the tonnage record tells of work"), "{summary}");
    let said = refusal(&calibration(", fit = [\"speed\"]"));
    assert!(said.contains("calibration.fit"), "{said}");
    let said = refusal(&calibration(", filter_order = 2"));
    assert!(said.contains("filter_order and filter_cutoff must be given together"), "{said}");
    let curve = "curve = { time = [0, 0.01, 0.02], force = [0, 1, 0] }\n";
    let said = refusal(&calibration("").replace(BREAK, curve));
    assert!(said.contains("calibration: is known for a force that breaks off"), "{said}");
    let said = refusal(&with(&format!("{BREAK}calibration = {{ file = \"none.csv\" }}")));
    assert!(said.contains("calibration.file: \"none.csv\" there is no such file"), "{said}");
}
