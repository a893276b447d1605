//! Starts, blows, rotors, records and floors that move: from the job file to the finding.
//!
//! Hammer, emergency stop and hydraulic press: `tests/reference/jobs` (job_06, job_08, job_12), closed
//! forms computed by two people, 1e-9, peaks 1e-6; where a job has loss factors in place of damping in
//! each mode, the printed digits. What a press installer concludes from them is common practice.

use serde_json::Value;
use underfoot::checks::{Check, Verdict};
use underfoot::excitation::Excitation;
use underfoot::job::{EventLoad, Job};
use underfoot::study::{Figure, Study};

use crate::{SMALL, job, read};

fn study(name: &str) -> Study {
    Study::as_given(&job(&format!("trade/{name}"))).unwrap()
}

fn answers(name: &str) -> Value {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/jobs");
    let text = std::fs::read_to_string(format!("{folder}/{name}.json")).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["answers"].clone()
}

fn close(found: f64, expected: &Value, tolerance: f64) {
    let expected: f64 = expected.as_str().unwrap().parse().unwrap();
    assert!((found / expected - 1.0).abs() < tolerance, "{found} is not {expected}");
}

fn figure<'a>(study: &'a Study, name: &str) -> &'a Figure {
    let names = || study.figures.iter().map(|f| f.name.as_str()).collect::<Vec<_>>().join("\n");
    study.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name}:\n{}", names()))
}

fn checks<'a>(study: &'a Study, question: &str) -> Vec<&'a Check> {
    study.checks.iter().filter(|c| c.question.contains(question)).collect()
}

#[test]
fn a_hammer_that_is_damped_enough_keeps_its_feet_down_and_comes_to_rest() {
    let (study, expected) = (study("hammer"), answers("job_06"));
    let is = |name: &str, key: &str| {
        let name = format!("die forging: {name}");
        close(figure(&study, &name).value, &expected["z020"][key], 1e-6);
    };
    let off = figure(&study, "die forging: velocity of the struck point just after the blow");
    close(off.value, &expected["v0"], 1e-9);
    is("part of the motion left when the next blow falls", "left_after_1s");
    is("peak displacement of anvil", "down_m");
    is("peak dynamic force down on the floor", "floor_dynamic_max_N");
    let up = figure(&study, "die forging: peak dynamic force up on the floor").value;
    let least: f64 = expected["z020"]["floor_dynamic_min_N"].as_str().unwrap().parse().unwrap();
    assert!((up / -least - 1.0).abs() < 1e-6);
    // 293 of 588 kN: no foot lifts, and the next blow meets an anvil at rest.
    assert!(checks(&study, "left when").iter().all(|c| c.verdict == Verdict::Ok));
    let contact: Vec<_> =
        study.checks.iter().filter(|c| c.governing_case.contains("die forging")).collect();
    assert!(contact.len() >= 5 && contact.iter().all(|c| c.verdict == Verdict::Ok), "{contact:?}");
}

#[test]
fn a_hammer_with_little_damping_lifts_off_and_meets_the_next_blow_moving() {
    let text = include_str!("trade/hammer.toml");
    let bare = text.replace("damping = 188495.5592153876", "damping = 18849.55592153876");
    assert_ne!(text, bare);
    let (study, expected) = (Study::as_given(&read(&bare)).unwrap(), answers("job_06"));
    let left = figure(&study, "die forging: part of the motion left when the next blow falls");
    close(left.value, &expected["z002"]["left_after_1s"], 1e-9);
    assert_eq!(checks(&study, "left when")[0].verdict, Verdict::No);
    let no = study.checks.iter().filter(|c| c.verdict == Verdict::No);
    assert!(
        no.filter(|c| c.governing_case.contains("die forging")).count() >= 5,
        "every foot lifts"
    );
}

#[test]
fn an_emergency_stop_tilts_the_press_and_makes_it_slide() {
    let (study, expected) = (study("emergency_stop"), answers("job_08"));
    // The weight's own tilting moment counts at rest alone: the motion of a job is without it, and with
    // loss factors in place of damping ratios, which is 3 % of the answer's.
    let modes = &study.results.modes.frequency;
    for (i, mode) in [1, 5].into_iter().enumerate() {
        close(modes[mode], &expected["modes_without_gravity_Hz"][i], 1e-9);
    }
    let torque = "torque on the frame, in the sense of the crank's rotation";
    // In 0.1 s as a usual stop, in 0.05 s as an emergency stop.
    for (name, key, slides) in [
        ("stop of the drive", "brake_0.1s", 0.225),
        ("emergency stop of the drive", "brake_0.05s", 0.306),
    ] {
        let found = figure(&study, &format!("{name}: {torque}"));
        close(found.value, &expected[key]["torque_N_m"], 1e-9);
        let top = figure(&study, &format!("{name}: peak displacement of top"));
        close(top.value, &expected[key]["top_peak_m"], 0.03);
        let sliding = checks(&study, "friction used by all feet");
        let sliding = sliding.iter().find(|c| c.governing_case.starts_with(name)).unwrap();
        assert!((0.2 * sliding.demand / sliding.capacity - slides).abs() < 0.01, "{sliding:?}");
        assert_eq!(sliding.verdict, Verdict::No);
    }
    // A clutch straight on the flywheel.
    let start = figure(&study, &format!("start of the drive: {torque}")).value;
    assert!(start.abs() < 1e-6, "{start}");
}

#[test]
fn the_oil_of_a_hydraulic_press_holds_more_energy_than_its_frame() {
    let (study, expected) = (study("hydraulic"), answers("job_12"));
    let value = |name: &str| figure(&study, &format!("decompression: {name}")).value;
    close(value("pressure of the oil"), &expected["pressure_Pa"], 1e-9);
    close(value("stiffness of the oil column"), &expected["k_oil"], 1e-9);
    close(value("energy in the oil"), &expected["oil_energy_J"], 1e-9);
    close(value("energy in the frame"), &expected["frame_energy_J"], 1e-9);
    close(value("stiffness of oil and frame in series"), &expected["series_stiffness"], 1e-9);
    let EventLoad::Acting(Excitation { actions, .. }) = &job("trade/hydraulic").events[0].load
    else {
        panic!("a force")
    };
    // 12 t that close 2 mm in 15 ms: 2 pi m x / T^2, and no impulse in sum.
    let peak = std::f64::consts::TAU * 12e3 * 2e-3 / 0.015_f64.powi(2);
    assert!((actions[0].value(0.015 / 4.0) / peak - 1.0).abs() < 1e-12);
    assert!(actions[0].value(0.0075).abs() < 1e-9 * peak);
    assert!(value("peak dynamic force down on the floor") < peak);
}

#[test]
fn start_and_emergency_stop_are_there_by_default_with_their_sources() {
    let study = study("emergency_stop");
    let names: Vec<&str> = study.results.shocks.iter().map(|s| s.name.as_str()).collect();
    let expected = ["start of the drive", "emergency stop of the drive", "stop of the drive"];
    assert_eq!(names, expected);
    assert!(study.warnings.iter().any(|w| w.contains("shafts are stiff")), "{:?}", study.warnings);
}

fn with(section: &str) -> Job {
    read(&format!("{SMALL}\n{section}"))
}

fn refused(section: &str) -> String {
    match Job::from_text(&format!("{SMALL}\n{section}"), "job.toml") {
        Ok(_) => panic!("must be refused:\n{section}"),
        Err(error) => {
            let text = error.to_string();
            text.splitn(4, ':').nth(3).unwrap_or(&text).trim().to_owned()
        }
    }
}

const ROTATING: &str = "[[rotating]]\nname = \"fan\"\naxis = \"y\"\nspeed = \"20 Hz\"\n";

#[test]
fn a_rotor_gives_its_steady_state_and_its_run_down() {
    let job = with(&format!(
        "{ROTATING}run_down = {{ time = \"5 s\" }}\n[[rotating.plane]]\nunbalance = 0.1\n"
    ));
    let names: Vec<&str> = job.events.iter().map(|e| e.name.as_str()).collect();
    assert_eq!(names, ["fan", "fan, run-down"]);
    let study = Study::as_given(&job).unwrap();
    let peak =
        |name: &str| figure(&study, &format!("{name}: peak dynamic force down on the floor")).value;
    assert!(peak("fan, run-down") > peak("fan"), "it passes the modes below its speed");
}

#[test]
fn a_record_of_the_floor_is_read_scaled_and_judged_by_its_rate() {
    let slow = "[[record]]\nname = \"floor\"\nquantity = \"acceleration\"\ninterval = \"50 ms\"\n\
                values = [0, 1, -1, 0]\nunit = \"mm/s^2\"\ndirection = \"z\"\n";
    let study = Study::as_given(&with(slow)).unwrap();
    let warned =
        |word: &str| study.warnings.iter().any(|w| w.contains("floor") && w.contains(word));
    assert!(warned("samples a second") && warned("asks for"), "{:?}", study.warnings);
    let job = with(&format!("{slow}resample = \"2000 Hz\"\n"));
    let study = Study::as_given(&job).unwrap();
    assert!(study.warnings.iter().any(|w| w.contains("resampled from 20")), "{:?}", study.warnings);
}

#[test]
fn a_record_in_a_file_beside_the_job_travels_with_the_job() {
    let folder = std::env::temp_dir().join(format!("underfoot-record-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let record = "time,force\n0,0\n0.001,100\n0.002,-50\n0.003,0\n";
    std::fs::write(folder.join("cut.csv"), record).unwrap();
    let section = "[[record]]\nname = \"cut\"\nquantity = \"force\"\nfile = \"cut.csv\"\n\
                   unit = \"lbf\"\ndirection = \"x\"\n";
    let path = folder.join("job.toml");
    std::fs::write(&path, format!("{SMALL}\n{section}")).unwrap();
    let job = Job::load(&path).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    // The file is gone, the job still knows it.
    let job = job.with_input("machine.mass", 11e3).unwrap();
    let EventLoad::Acting(Excitation { actions, .. }) = &job.events[0].load else {
        panic!("a force")
    };
    assert!((actions[0].value(0.001) - 444.822_161_526_05).abs() < 1e-9);
    assert!(refused(section).contains("cut.csv"));
}

#[test]
fn what_no_event_can_be_is_refused_where_it_stands() {
    let blow = |more: &str| format!("[[blow]]\nname = \"b\"\nmass = 100\nspeed = 3\n{more}\n");
    let drive = |more: &str| {
        format!("[drive_train]\naxis = \"y\"\nspeed = \"1 Hz\"\nclutch_time = 0.2\n{more}\n")
    };
    let crank = "[[drive_train.rotor]]\nname = \"crank\"\ninertia = 10\nside = \"driven\"\n";
    let flywheel = "[[drive_train.rotor]]\nname = \"flywheel\"\ninertia = 10\nside = \"driving\"\n";
    let record = |more: &str| {
        format!("[[record]]\nname = \"r\"\nquantity = \"force\"\ndirection = \"z\"\n{more}\n")
    };
    for (section, words) in [
        (blow("restitution = 1.2"), ["blow[0].restitution", "between 0"]),
        (blow("restitution = 0.5\nheight = 1"), ["blow[0].speed", "leave one of them out"]),
        (blow("restitution = 0.5\nleft_max = 0.1"), ["blow[0].interval", "is missing"]),
        (blow("restitution = 0.5\ninterval = 0"), ["blow[0].interval", "greater than zero"]),
        (
            drive(&format!("brake_time = 0\n{crank}{flywheel}")),
            ["drive_train.brake_time", "greater"],
        ),
        (drive(&format!("{crank}{flywheel}")), ["drive_train.brake_time", "is missing"]),
        (drive(&format!("brake_time = 0.2\n{flywheel}")), ["drive_train.rotors", "driven side"]),
        (
            drive(&format!("brake_time = 0.2\n{crank}ratio = 0\n{flywheel}")),
            ["drive_train.rotor[0].ratio", "must not be zero"],
        ),
        (
            drive(&format!("brake_time = 0.2\ntorque_rise = 0.3\n{crank}{flywheel}")),
            ["drive_train.torque_rise", "shorter"],
        ),
        (
            drive(&format!("brake_time = 0.2\nslide = true\n{crank}{flywheel}")),
            ["drive_train.slide", "no slide drive"],
        ),
        (ROTATING.to_owned(), ["rotating[0].plane", "is missing"]),
        (
            format!("{ROTATING}[[rotating.plane]]\nunbalance = 0\n"),
            ["rotating[0].planes[0].unbalance", "greater than zero"],
        ),
        (
            format!("{ROTATING}run_up = {{ time = 0 }}\n[[rotating.plane]]\nunbalance = 1\n"),
            ["rotating[0].run_up", "greater than zero"],
        ),
        (record(""), ["record[0].file", "is missing"]),
        (record("values = [1, 2]"), ["record[0].interval", "is missing"]),
        (record("interval = 0.1\nvalues = [1]"), ["record[0].values", "two or more"]),
        (record("interval = 0.1\nvalues = [1, nan]"), ["record[0].values[1]", "number"]),
        (record("file = \"none.csv\""), ["record[0].file", "none.csv"]),
        (record("interval = 0.1\nvalues = [1, 2]\nunit = \"mm\""), ["record[0].unit", "force"]),
    ] {
        let text = refused(&section);
        assert!(words.iter().all(|word| text.contains(word)), "{section}\n{text}");
    }
}

#[test]
fn the_motion_of_a_point_by_that_of_the_floor_is_the_transpose_of_the_transmissibility() {
    let at = "points = 50\nfloor_motion_at = \"bolster\"";
    let text = SMALL.replace("points = 50", at);
    let study = Study::as_given(&read(&text)).unwrap();
    let base = study.results.base_transmissibility.as_ref().expect("asked");
    assert_eq!(base.frequency.len(), 50);
    // Along z the bolster stands over the center of mass: heave, and the force's share, are one number.
    let forces = study.results.transmissibility.as_ref().unwrap();
    for (f, (a, b)) in base.vertical.iter().zip(&forces.vertical).enumerate() {
        assert!((a / b - 1.0).abs() < 1e-9, "at {} Hz {a} is not {b}", base.frequency[f]);
    }
    let name = "vertical motion of the watched point over that of the floor, greatest";
    assert!(study.figures.iter().any(|f| f.name == name));
    assert!(Study::as_given(&read(SMALL)).unwrap().results.base_transmissibility.is_none());
    let wrong = text.replace("floor_motion_at = \"bolster\"", "floor_motion_at = \"ram\"");
    let said = Job::from_text(&wrong, "job.toml").unwrap_err().to_string();
    assert!(said.contains("transmissibility.floor_motion_at: \"ram\""), "{said}");
}

#[test]
fn a_universal_file_is_refused_with_the_way_to_read_it() {
    let record = "[[record]]\nname = \"floor\"\nquantity = \"acceleration\"\nfile = \"floor.uff\"\n\
                  direction = \"z\"\n\n[limits]";
    let said =
        Job::from_text(&SMALL.replace("[limits]", record), "job.toml").unwrap_err().to_string();
    assert!(said.contains("record[0].file: \"floor.uff\" is a universal file"), "{said}");
    assert!(said.contains("underfoot.read_uff58(\"floor.uff\").to_csv()"), "{said}");
}
