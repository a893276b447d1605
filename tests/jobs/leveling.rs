//! `[leveling]` of a job: shims, target loads, settlement from load and ground, and what is refused.

use crate::{SMALL, read};
use underfoot::analysis::leveling::LevelingPlan;
use underfoot::job::Job;
use underfoot::study::Study;

/// The small job on four feet with shims, leveled as `asked` says.
fn leveled(asked: &str) -> String {
    let foot = |name: &str, x: i32, y: i32| {
        format!(
            "[[mount]]\nname = \"{name}\"\nmodel = \"pad\"\nposition = [{x}, {y}, 0]\n\
             screw = {{ shim = \"0.5 mm\", down = \"5 mm\", up = \"5 mm\" }}\n\n"
        )
    };
    let feet = [foot("a", -1, -1), foot("b", 1, -1), foot("c", -1, 1), foot("d", 1, 1)].concat();
    let (from, to) = (SMALL.find("[[mount]]").unwrap(), SMALL.find("[[point]]").unwrap());
    format!("{}{feet}{}\n[leveling]\n{asked}\n", &SMALL[..from], &SMALL[to..])
}

fn refusal(text: &str) -> String {
    Job::from_text(text, "job.toml").unwrap_err().to_string()
}

fn plan(job: &Job) -> LevelingPlan {
    Study::as_given(job).unwrap().results.leveling.expect("asked").plan().expect("a plan")
}

const SETTLED: &str = "\n[[leveling.settlement]]\nmount = \"a\"\ndown = \"2.2 mm\"\n";

#[test]
fn feet_on_shims_are_set_by_whole_shims() {
    let job = read(&leveled(SETTLED));
    let screw = job.installation.mounts[0].screw.unwrap();
    assert!(screw.is_shims);
    assert_eq!((screw.pitch, screw.steps_per_turn, screw.down, screw.up), (5e-4, 1, 5e-3, 5e-3));
    let plan = plan(&job);
    assert!(plan.adjustment.iter().any(|a| *a != 0.0));
    for a in &plan.adjustment {
        assert!((a / 5e-4 - (a / 5e-4).round()).abs() < 1e-9, "{a} is no whole number of shims");
    }
    let both = leveled(SETTLED).replacen("shim = ", "pitch = \"2 mm\", shim = ", 1);
    assert!(refusal(&both).contains("by a screw (pitch, steps_per_turn) or by shims: give one"));
    let thin = leveled(SETTLED).replacen("shim = \"0.5 mm\"", "shim = \"0 mm\"", 1);
    assert!(refusal(&thin).contains("shim"), "{}", refusal(&thin));
}

#[test]
fn target_loads_are_given_for_all_mounts_or_none() {
    let target = |name: &str, load: &str| {
        format!("\n[[leveling.target]]\nmount = \"{name}\"\nload = \"{load}\"\n")
    };
    let all: String = [("a", "26 kN"), ("b", "23 kN"), ("c", "23 kN"), ("d", "26 kN")]
        .map(|(n, l)| target(n, l))
        .concat();
    let job = read(&leveled(&format!("load_band = \"20 %\"\n{all}")));
    let asked = job.leveling.as_ref().unwrap();
    assert_eq!(asked.target.as_deref(), Some(&[26e3, 23e3, 23e3, 26e3][..]));
    let some = leveled(&[target("a", "26 kN"), target("c", "23 kN")].concat());
    let said = refusal(&some);
    assert!(said.contains("all mounts or none; add [[leveling.target]] for b, d"), "{said}");
    let twice = leveled(&[target("a", "26 kN"), target("a", "23 kN")].concat());
    assert!(refusal(&twice).contains("leveling.target[1].mount"), "{}", refusal(&twice));
    let unknown = leveled(&target("e", "26 kN"));
    assert!(refusal(&unknown).contains("leveling.target[0].mount: \"e\""), "{}", refusal(&unknown));
}

#[test]
fn the_ground_settles_under_the_loads_of_the_job() {
    let ground = "subgrade_modulus = \"50 MN/m^3\"\nplate_area = \"400 cm^2\"\n";
    let job = read(&leveled(ground));
    let plan = plan(&job);
    // Four feet about the center carry a quarter each: s = m g / 4 / (k A).
    let expected = 10e3 * 9.81 / 4.0 / (50e6 * 0.04);
    for settled in plan.settlement.as_ref().expect("from the ground") {
        assert!((settled / expected - 1.0).abs() < 1e-9, "{settled} against {expected}");
    }
    let alone = refusal(&leveled("subgrade_modulus = \"50 MN/m^3\"\n"));
    assert!(alone.contains("leveling.subgrade_modulus: needs plate_area beside it"), "{alone}");
    let alone = refusal(&leveled("plate_area = \"400 cm^2\"\n"));
    assert!(alone.contains("leveling.plate_area: needs subgrade_modulus beside it"), "{alone}");
    let both = refusal(&leveled(&format!("{ground}{SETTLED}")));
    assert!(both.contains("either settlement, or subgrade_modulus and plate_area"), "{both}");
}

#[test]
fn divisions_need_the_level_they_are_counted_on() {
    let reading = |n: usize, x: f64, along: &str| {
        format!(
            "\n[[leveling.reading]]\nstation = \"s{n}\"\nat = [{x}, {y}, 1]\nalong = \"{along}\"\n\
             divisions = 2\n",
            y = (n % 2) as f64 - 0.5
        )
    };
    let places = [-0.8, 0.0, 0.8];
    let read_at = |(n, x): (usize, &f64)| [reading(n, *x, "x"), reading(n + 3, *x, "y")].concat();
    let all: String = places.iter().enumerate().map(read_at).collect();
    let said = refusal(&leveled(&all));
    assert!(said.contains("leveling.reading[0].divisions: counts divisions of a level"), "{said}");
    assert!(said.contains("add division = \"0.0005 in/ft\""), "{said}");
    let job = read(&leveled(&format!("division = \"0.0005 in/ft\"\n{all}")));
    let plane = job.leveling.unwrap().plane.unwrap();
    let slope: f64 = 2.0 * 0.0005 / 12.0;
    assert!((plane.tilt[0].value - slope).abs() < 1e-12 * slope, "{:?}", plane.tilt);
    assert!((plane.tilt[1].value + slope).abs() < 1e-12 * slope, "{:?}", plane.tilt);
}
