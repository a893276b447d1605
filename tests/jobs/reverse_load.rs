//! Reverse load from the job file to the finding: the table over softening, residual force and break
//! time, and clearance alone (numbers of others, `tests/reference/jobs`, rel 1e-6 and 1e-5).

use serde_json::Value;
use underfoot::checks::Verdict;
use underfoot::study::Study;

use crate::{job, read};

fn answers(name: &str) -> Value {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/reference/jobs");
    let text = std::fs::read_to_string(format!("{folder}/{name}.json")).unwrap();
    serde_json::from_str::<Value>(&text).unwrap()["answers"].clone()
}

fn number(value: &Value) -> f64 {
    value.as_str().unwrap().parse().unwrap()
}

fn figure(study: &Study, name: &str) -> f64 {
    study.figures.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name}")).value
}

fn near(found: f64, expected: f64, relative: f64, what: &str) {
    assert!((found / expected - 1.0).abs() < relative, "{what}: {found} is not {expected}");
}

const FORCE: f64 = 1.6e6;

#[test]
fn softening_residual_and_a_slower_break_bring_the_reverse_load_down() {
    let study = Study::of(&job("trade/reverse_load")).unwrap();
    let table = answers("job_reverse_load_table");
    let floor = answers("job_11");
    let rows = table["rows"].as_object().unwrap();
    let mut last = f64::MAX;
    for name in ["R0", "R1", "R2", "R3", "R4", "R5"] {
        let of_name = |key: &str| key.starts_with(&format!("{name}_")) && !key.contains("for_ever");
        let (_, row) = rows.iter().find(|(key, _)| of_name(key)).unwrap();
        let of = |what: &str| figure(&study, &format!("{name}: {what}"));
        near(
            of("reverse load in the drive over the force"),
            -number(&row["drive_min"]),
            1e-6,
            name,
        );
        let column = of("reverse load in the column") / FORCE;
        near(column, -number(&row["column_min"]), 1e-6, name);
        let up = of("peak dynamic force up on the floor") / FORCE;
        near(up, number(&row["mount_max_up"]), 1e-6, name);
        if let Some(value) = floor.get(format!("mount_peak_over_F0_{name}")) {
            near(up, number(value), 1e-6, name);
        }
        near(of("energy stored in frame and drive"), FORCE * FORCE / 2.0 * 7.0 / 12e9, 1e-12, name);
        let drive = of("reverse load in the drive");
        assert!(drive < last, "{name}");
        last = drive;
    }
    // 10 % of a rating of 2.5 MN: only the last keeps it.
    let verdicts: Vec<_> = study
        .checks
        .iter()
        .filter(|c| c.question == "reverse load in the drive")
        .map(|c| c.verdict.clone())
        .collect();
    assert_eq!(verdicts.len(), 6);
    assert_eq!(verdicts.iter().filter(|v| **v == Verdict::Ok).count(), 1);
    assert_eq!(verdicts[5], Verdict::Ok);
    assert!(study.summary().contains("When the material breaks"));
}

#[test]
fn clearance_alone_is_worse_for_the_drive_and_better_for_the_column() {
    let study = Study::of(&job("trade/reverse_load_clearance")).unwrap();
    let all = answers("job_reverse_load_table")["clearance"].clone();
    for (name, key) in [("R1", "force_clipped"), ("R0", "force_clipped_on_R0")] {
        let of = |what: &str| figure(&study, &format!("{name}: {what}"));
        let drive = of("reverse load in the drive over the force");
        near(drive, -number(&all[key]["drive_min"]), 1e-5, name);
        near(
            of("reverse load in the column") / FORCE,
            -number(&all[key]["column_min"]),
            1e-5,
            name,
        );
    }
}

#[test]
fn a_work_force_on_a_rigid_machine_or_above_the_rating_is_refused() {
    let file = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/jobs/trade/reverse_load.toml");
    let text = std::fs::read_to_string(file).unwrap();
    let refusal = |text: &str| {
        underfoot::job::Job::from_text(text, "job.toml").map(|_| ()).unwrap_err().to_string()
    };
    let start = text.find("[press]").unwrap();
    let end = text.find("[[mount]]").unwrap();
    let rigid = format!("{}{}", &text[..start], &text[end..]);
    assert!(refusal(&rigid).contains("a rigid machine does not feel it"), "{}", refusal(&rigid));
    let heavy = text.replace("crown_mass = \"12 t\"", "crown_mass = \"31 t\"");
    assert!(refusal(&heavy).contains("whole machine"), "{}", refusal(&heavy));
    let zero = text.replacen("release = \"1 ms\"", "release = 0", 1);
    assert!(refusal(&zero).contains("release"), "{}", refusal(&zero));
    let play = text.replace("rated_force = \"2.5 MN\"", "clearance = \"-0.1 mm\"");
    assert!(refusal(&play).contains("clearance"), "{}", refusal(&play));
    let twice = text.replace("frame_damping = 5e5", "frame_damping = 5e5\nframe_loss_factor = 0.1");
    assert!(refusal(&twice).contains("only one of"), "{}", refusal(&twice));
    let over = text.replace("rated_force = \"2.5 MN\"", "rated_force = \"1.5 MN\"");
    assert!(refusal(&over).contains("break_through[0].force"), "{}", refusal(&over));
    assert!(refusal(&over).contains("rated_force"), "{}", refusal(&over));
    let allowed = over.replace("rise = \"20 ms\"", "rise = \"20 ms\"\noverload = true");
    let study = Study::of(&read(&allowed)).unwrap();
    assert!(study.warnings.iter().any(|w| w.contains("above the rated force")));
    assert!(
        study.checks.iter().any(|c| c.question == "force of the work" && c.verdict == Verdict::No)
    );
}
