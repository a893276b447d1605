//! The slide in a job file: what is read, what is refused and where, and the jobs of the trade about
//! slide inertia.

use serde_json::Value;
use underfoot::excitation::slide::{Mechanism, Rotation, Shaft};
use underfoot::job::Job;
use underfoot::study::{Running, Study};

use crate::{SMALL, job};

const SLIDE: &str = r#"
[slide]
mass = "900 kg"
stroke = "200 mm"
rod_ratio = 4
at = [0.1, 0, 2.2]
stroke_rates = ["30 spm", "0.75 Hz"]
map = { from = "20 spm", to = "120 spm", points = 26 }
"#;

const LINK: &str = "link = { crank_radius = 0.2, coupler_length = 0.75, rocker_length = 0.6, \
pivot = [0.7, 0.15], coupler_point = [0.45, -0.22], rod_length = 0.95, offset = 0.12, \
crank_pin_mass = 180, rocker_pin_mass = 240 }";

fn with(slide: &str) -> String {
    format!("{SMALL}\n{slide}")
}

fn read(text: &str) -> Job {
    Job::from_text(text, "job.toml").unwrap_or_else(|e| panic!("{e}"))
}

fn edited(from: &str, to: &str) -> String {
    assert_eq!(SLIDE.matches(from).count(), 1, "{from:?}");
    with(&SLIDE.replace(from, to))
}

/// The slide on something else than a crank.
fn driven(by: &str) -> String {
    edited("stroke = \"200 mm\"\nrod_ratio = 4", by)
}

fn refused(text: &str, words: &[&str]) {
    match Job::from_text(text, "job.toml") {
        Ok(_) => panic!("must be refused: {words:?}"),
        Err(error) => {
            let told = error.to_string();
            for word in words {
                assert!(told.contains(word), "{told:?} lacks {word:?}");
            }
        }
    }
}

fn answers(name: &str) -> Value {
    let file = format!("{}/tests/reference/jobs/{name}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(file).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["answers"].clone()
}

fn close(found: f64, expected: &Value) {
    let expected: f64 = expected.as_str().unwrap().parse().unwrap();
    assert!((found / expected - 1.0).abs() < 1e-9, "{found} is not {expected}");
}

fn run(study: &Study) -> &Running {
    &study.results.slide.as_ref().unwrap().running[0]
}

#[test]
fn a_slide_is_read_with_its_drive_and_its_stroke_rates() {
    let job = read(&with(SLIDE));
    let slide = job.slide.unwrap();
    assert_eq!(slide.stroke_rates_spm, [30.0, 45.0]);
    assert_eq!((slide.drive.stroke(), slide.drive.slide_mass()), (0.2, 900.0));
    assert_eq!((slide.drive.shaft, slide.drive.rotation), (Shaft::Y, Rotation::Right));
    let map = slide.map.unwrap();
    assert_eq!((map.rates().len(), map.rates()[0], map.rates()[25]), (26, 20.0, 120.0));
    assert!(read(SMALL).slide.is_none());
}

#[test]
fn a_link_drive_and_a_table_take_the_place_of_the_crank() {
    let link = read(&driven(LINK)).slide.unwrap();
    assert!(matches!(link.drive.mechanism(), Mechanism::Link(_)));
    let rows = 36;
    let list = |f: &dyn Fn(f64) -> f64| {
        let rows: Vec<_> =
            (0..=rows).map(|i| format!("{}", f(f64::from(i) / f64::from(rows)))).collect();
        rows.join(", ")
    };
    let height = list(&|x| 0.1 * (1.0 + (std::f64::consts::TAU * x).cos()));
    let table = format!(
        "profile = {{ angle = [{}], height = [{height}] }}",
        list(&|x| x * std::f64::consts::TAU)
    );
    let by_angle = read(&driven(&table)).slide.unwrap();
    let table = format!("profile = {{ time = [{}], height = [{height}] }}", list(&|x| 2.0 * x));
    let by_time = read(&driven(&table)).slide.unwrap();
    for slide in [by_angle, by_time] {
        assert!((slide.drive.stroke() - 0.2).abs() < 1e-12);
        let first = slide.drive.acceleration_coefficients(2).unwrap();
        assert!((first[1] - 1.0).abs() < 5e-3 && first[2].abs() < 1e-9, "{first:?}");
    }
    assert!(Study::of(&read(&driven(LINK))).is_ok());
}

#[test]
fn a_table_is_read_from_a_csv_file_beside_the_job() {
    let folder = std::env::temp_dir().join(format!("underfoot-slide-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let rows: Vec<String> = (0..72)
        .map(|i| {
            let degrees = 5.0 * f64::from(i);
            format!("{degrees},{}", 100.0 * (1.0 + degrees.to_radians().cos()))
        })
        .collect();
    let write = |head: &str| {
        std::fs::write(folder.join("servo.csv"), format!("{head}\n{}\n", rows.join("\n"))).unwrap();
    };
    let text = driven("profile = { csv = \"servo.csv\" }");
    let file = folder.join("job.toml");
    std::fs::write(&file, &text).unwrap();
    write("angle [deg],height [mm]");
    let job = Job::load(&file).unwrap();
    assert!((job.slide.as_ref().unwrap().drive.stroke() - 0.2).abs() < 1e-12);
    // The job keeps the table: other inputs do not ask for the file again.
    std::fs::remove_file(folder.join("servo.csv")).unwrap();
    assert_eq!(job.with_input("slide.mass", 900.0).unwrap().slide.unwrap().drive.mass, 900.0);
    std::fs::write(folder.join("servo.csv"), "angle [deg];height [mm]\n0;1,5\n90;1,0\n").unwrap();
    let told = Job::load(&file).unwrap_err().to_string();
    assert!(told.contains("row 1, column height") && told.contains("decimal"), "{told}");
    write("angle [deg],lift [mm]");
    let told = Job::load(&file).unwrap_err().to_string();
    assert!(told.contains("has the columns angle [deg], lift [mm]"), "{told}");
    write("angle [s],height [mm]");
    let told = Job::load(&file).unwrap_err().to_string();
    assert!(told.contains("slide.profile.csv"), "{told}");
    std::fs::remove_dir_all(&folder).unwrap();
    refused(&text, &["slide.profile.csv", "\"servo.csv\" there is no such file"]);
}

#[test]
fn what_is_wrong_with_a_slide_is_said_at_its_place() {
    refused(&edited("rod_ratio = 4", "rod_ratio = 0.9"), &["slide.rod_ratio", "greater than 1"]);
    refused(
        &edited("rod_ratio = 4", "rod_ratio = 4\noffset = \"0.3 m\""),
        &["slide.offset", "0.3 m", "locks before the crank is round", "reduce the offset"],
    );
    refused(&edited("mass = \"900 kg\"", "mass = 0"), &["slide.mass", "greater than zero"]);
    refused(&edited("\"0.75 Hz\"", "0"), &["slide.stroke_rates[1]", "greater than zero"]);
    refused(&edited("\"0.75 Hz\"", "\"30 spm\""), &["30 strokes per minute stand here twice"]);
    refused(&edited("to = \"120 spm\"", "to = \"10 spm\""), &["slide.map.to", "from (20)"]);
    refused(&edited("points = 26", "points = 1"), &["slide.map.points", "at least 2"]);
    refused(&edited("points = 26", "points = 26, point = \"x\""), &["slide.map.point", "\"x\""]);
    refused(&edited("rod_ratio = 4", "rod_ratio = 4\nshaft = \"z\""), &["slide.shaft", "\"z\""]);
    refused(&edited("rod_ratio = 4", "rod_ratio = 4\nrod_center = 1.5"), &["slide.rod_center"]);
    refused(&driven(&LINK.replace("0.6,", "0.1,")), &["slide.link.coupler_length"]);
    refused(&driven(&format!("{LINK}\nstroke = 0.2")), &["slide.stroke", "beside link or profile"]);
    refused(&driven("profile = { angle = [0, 1, 2] }"), &["slide.profile.height"]);
    let none = SLIDE.lines().filter(|l| !l.starts_with("stroke_rates") && !l.starts_with("map"));
    let none: Vec<_> = none.collect();
    refused(&with(&none.join("\n")), &["slide.stroke_rates", "or a map, is required"]);
    let corner = "profile = { time = [0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1, 1.1, 1.2], \
                  height = [0, 0, 0, 0, 0.1, 0.2, 0.3, 0.2, 0.1, 0, 0, 0, 0] }";
    refused(
        &driven(corner),
        &["slide.profile.height", "degrees", "speed jumps from", "round the corner"],
    );
    refused(&driven(&format!("{corner}\nrod_mass = 5")), &["slide."]);
}

#[test]
fn the_summary_tells_floor_force_by_source_and_ranks_the_meetings() {
    let study = Study::of(&read(&with(SLIDE))).unwrap();
    let summary = study.summary();
    for words in [
        "## Running\n",
        "## Floor force by source",
        "slide inertia",
        "no reduction",
        "ranked by the motion",
    ] {
        assert!(summary.contains(words), "{words}:\n{summary}");
    }
    let json = study.to_json().unwrap();
    assert!(json.contains("\"meetings\"") && json.contains("running at 30 strokes per minute"));
    let figure = |name: &str| study.figures.iter().any(|f| f.name.contains(name));
    assert!(figure("running at 45 strokes per minute: peak slide-inertia force down on the floor"));
    assert!(figure("over the stroke rates: greatest peak motion"));
}

#[test]
fn slide_inertia_of_a_slow_press_passes_the_mounts() {
    let (study, expected) = (Study::of(&job("trade/slide_passes")).unwrap(), answers("job_01"));
    // The file's peaks are sums of the first six harmonics; all of them make F1 (1 + r/l) exactly.
    let text = include_str!("trade/slide_passes.toml");
    let six = read(&text.replace("rod_ratio = 5\n", "rod_ratio = 5\nharmonics = 6\n"));
    let six = Study::of(&six).unwrap();
    let exact = run(&study).applied[2].peak() / run(&study).steady.applied[(0, 2)].norm();
    assert!((exact / 1.2 - 1.0).abs() < 1e-12, "{exact}");
    let run = run(&six);
    let force = |n: usize| run.steady.applied[(n - 1, 2)].norm();
    let t = |n: usize| run.steady.ground_wrench[(n - 1, 2)].norm() / force(n);
    close(force(1), &expected["first_harmonic_N"]);
    close(force(2), &expected["second_harmonic_N"]);
    close(t(1), &expected["T_first"]);
    close(t(2), &expected["T_second"]);
    close(run.applied[2].peak(), &expected["peak_to_floor_bolted_N"]);
    close(run.ground_wrench[2].peak(), &expected["peak_to_floor_on_mounts_N"]);
    let summary = study.summary();
    assert!(summary.contains("pass it on, no reduction (1.00)"), "{summary}");
}

#[test]
fn soft_mounts_make_the_high_speed_press_move_and_pads_make_the_floor_shake() {
    let expected = answers("job_02");
    for (name, force, motion) in [
        ("high_speed_pads", "pads_force_N", "bed_pads_damped_m"),
        ("high_speed_coils", "coil_3Hz_force_N", "bed_damped_3Hz_m"),
    ] {
        let study = Study::of(&job(&format!("trade/{name}"))).unwrap();
        let run = run(&study);
        close(run.applied[2].peak(), &expected["bolted_force_N"]);
        close(run.ground_wrench[2].peak(), &expected[force]);
        close(run.points[0].peaks[0], &expected[motion]);
        let raised = study.summary().contains("raise it 4.91 times");
        assert_eq!(raised, name == "high_speed_pads");
    }
    // Other mounts under the same press, and a block of twice its mass.
    let text = include_str!("trade/high_speed_coils.toml");
    for (mass, hz, zeta, key) in [
        (12e3, 3.0, 0.0, "bed_undamped_3Hz_m"),
        (12e3, 4.0, 0.0, "bed_undamped_4Hz_m"),
        (12e3, 4.0, 0.1, "bed_damped_4Hz_m"),
        (36e3, 3.0, 0.0, "block_undamped_3Hz_m"),
        (36e3, 4.0, 0.0, "block_undamped_4Hz_m"),
        (12e3, 20.0, 0.0, "bed_20Hz_mount_undamped_m"),
    ] {
        let omega = hz * std::f64::consts::TAU;
        let k = format!("{}", mass * omega * omega / 4.0);
        let text = text
            .replace("1065917.2753176508", &k)
            .replace("11309.733552923255", &format!("{}", 2.0 * zeta * mass * omega / 4.0))
            .replace("\"12 t\"", &format!("\"{mass} kg\""));
        let study = Study::of(&read(&text)).unwrap();
        close(run(&study).points[0].peaks[0], &expected[key]);
    }
}

#[test]
fn a_slide_without_rotors_is_told_never_to_stop() {
    let told = |text: &str| {
        read(text)
            .cautions
            .iter()
            .any(|c| c.contains("emergency stop are not computed from the slide"))
    };
    assert!(told(&with(SLIDE)));
    assert!(!told(SMALL));
    let train = "[drive_train]\naxis = \"y\"\nspeed = \"40 spm\"\nbrake_time = \"0.1 s\"\n\n\
                 [[drive_train.rotor]]\nname = \"crank\"\ninertia = \"900 kg m^2\"\n\
                 side = \"driven\"\n";
    assert!(!told(&format!("{}\n{train}", with(SLIDE))));
}

#[test]
fn a_table_that_ends_early_is_not_filled_in() {
    let table = |last: f64| {
        let count = (last / 5.0) as usize + 1;
        let angle: Vec<String> = (0..count).map(|i| format!("\"{} deg\"", 5 * i)).collect();
        let height: Vec<String> = (0..count)
            .map(|i| format!("{}", 0.1 * (1.0 + (5.0 * i as f64).to_radians().cos())))
            .collect();
        driven(&format!(
            "profile = {{ angle = [{}], height = [{}] }}",
            angle.join(", "),
            height.join(", ")
        ))
    };
    assert!(Job::from_text(&table(355.0), "job.toml").is_ok());
    assert!(Job::from_text(&table(360.0), "job.toml").is_ok());
    refused(&table(320.0), &["40.0 degrees of crank angle have no row", "rows for the whole turn"]);
    refused(&table(180.0), &["180.0 degrees", "a half of it is not mirrored"]);
}
