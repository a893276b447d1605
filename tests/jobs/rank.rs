//! Options of a catalog: what is accepted, why the others are not, and in which order. The loads
//! are worked by hand: equal stiffness shares the weight as W/4 (1 + y_c/b) to the rear, where the
//! center of mass lies y_c = 0.2 m behind the middle of feet at +-b = 1 m.

use underfoot::Error;
use underfoot::job::{Job, ReportUnits};
use underfoot::study::{Objective, RankOptions, Ranking, Study, rank_installation, rank_options};
use underfoot::support::Catalog;

const JOB: &str = r#"
title = "ranking"
gravity = 9.81
[machine]
mass = "40 t"
center = [0, "0.2 m", "1.5 m"]
inertia = [60e3, 50e3, 30e3]
[[mount]]
name = "front left"
stiffness = [10e6, 10e6, 20e6]
loss_factor = 0.1
position = ["-1.2 m", "-1 m", 0]
[[mount]]
name = "front right"
stiffness = [10e6, 10e6, 20e6]
loss_factor = 0.1
position = ["1.2 m", "-1 m", 0]
[[mount]]
name = "rear right"
stiffness = [10e6, 10e6, 20e6]
loss_factor = 0.1
position = ["1.2 m", "1 m", 0]
[[mount]]
name = "rear left"
stiffness = [10e6, 10e6, 20e6]
loss_factor = 0.1
position = ["-1.2 m", "1 m", 0]
[[shock]]
name = "blow"
pulse = "half_sine"
peak = "20 kN"
duration = "10 ms"
direction = "-z"
"#;

/// One stiffness, three ranges: front feet carry 78.48 kN, rear feet 117.72 kN.
const CATALOG: &str = "\
name,stiffness_lateral,stiffness_z,loss_factor,load_min [kN],load_max [kN],price
A,10e6,20e6,0.1,60,110,100
B,10e6,20e6,0.1,70,130,150
C,10e6,20e6,0.1,20,90,80
";

fn ranked(job: &str, catalog: &str, options: &RankOptions) -> Result<Ranking, Error> {
    let job = Job::from_text(job, "job.toml").unwrap();
    rank_options(&job, &Catalog::from_csv(catalog, "shelf").unwrap(), options)
}

fn asking(objectives: &[&str]) -> RankOptions {
    let objectives = objectives.iter().map(|name| Objective::new(*name)).collect();
    RankOptions { objectives, ..RankOptions::default() }
}

#[test]
fn pairs_get_the_cheapest_models_whose_ranges_hold() {
    let ranking = ranked(JOB, CATALOG, &asking(&["price"])).unwrap();
    assert_eq!(ranking.groups, [["front left", "front right"], ["rear right", "rear left"]]);
    assert_eq!(ranking.choices.len(), 9);
    let accepted: Vec<_> = ranking.accepted().map(|c| (c.label(), c.price.unwrap())).collect();
    let expected = [("C | B", 460.0), ("A | B", 500.0), ("B", 600.0)];
    assert_eq!(accepted, expected.map(|(label, price)| (label.to_owned(), price)));
    assert!(ranking.choices[0].unbeaten && !ranking.choices[1].unbeaten);
    assert!(ranking.choices[3..].iter().all(|choice| !choice.is_accepted()));
}

#[test]
fn a_rejection_says_which_foot_in_which_case_and_by_how_much() {
    let die = r#"
[[case]]
name = "heavy die"
add = [{ kind = "point", mass = "8 t", center = [0, "0.2 m", "1.2 m"] }]
"#;
    let ranking = ranked(&format!("{JOB}{die}"), CATALOG, &asking(&["price"])).unwrap();
    let all_b = ranking.choices.iter().find(|c| c.label() == "B").unwrap();
    // 48 t share 117.72 x 1.2 = 141.264 kN to each rear foot.
    let reasons = all_b.reasons(ReportUnits::Si);
    assert_eq!(reasons.len(), 2, "{reasons:?}");
    assert_eq!(
        reasons[0],
        "greatest static load of mount rear right is 141 kN in case 'heavy die'; at most 130 kN \
         (load range of the mount)"
    );
    let demand = all_b.rejected_by[0].demand;
    assert!((demand - 141_264.0).abs() < 1e-6 * demand, "{demand}");
}

#[test]
fn a_machine_that_cannot_stand_is_a_rejection_with_its_reason() {
    let slippery = CATALOG.replace("C,10e6", "C,0");
    let ranking = ranked(JOB, &slippery, &asking(&["price"])).unwrap();
    let all_c = ranking.choices.iter().find(|c| c.label() == "C").unwrap();
    let reasons = all_c.reasons(ReportUnits::Si);
    assert!(reasons[0].contains("free to slide"), "{reasons:?}");
    assert_eq!(all_c.values, [None]);
    assert!(!all_c.is_accepted());
}

#[test]
fn objectives_rank_in_their_order_and_mark_what_nothing_beats() {
    // Softer pads pass less of the blow and cost more.
    let catalog = "\
name,stiffness_lateral,stiffness_z,loss_factor,load_min [kN],load_max [kN],price
soft,3e6,6e6,0.1,20,200,300
firm,10e6,20e6,0.1,20,200,200
firm and dear,10e6,20e6,0.1,20,200,250
";
    let force = "blow: peak dynamic force down on the floor";
    let options = RankOptions { mixed: false, ..asking(&[force, "price"]) };
    let ranking = ranked(JOB, catalog, &options).unwrap();
    let labels: Vec<_> = ranking.choices.iter().map(|c| c.label()).collect();
    assert_eq!(labels, ["soft", "firm", "firm and dear"]);
    let values = |i: usize| ranking.choices[i].values[0].unwrap();
    assert!(values(0) < values(1) && values(1) == values(2));
    assert_eq!(ranking.units, ["N", ""]);
    let unbeaten: Vec<_> = ranking.choices.iter().map(|c| c.unbeaten).collect();
    assert_eq!(unbeaten, [true, true, false]);
}

#[test]
fn without_objectives_price_goes_first_and_then_the_margin() {
    let ranking = ranked(JOB, CATALOG, &RankOptions::default()).unwrap();
    let names: Vec<_> = ranking.objectives.iter().map(|o| o.name.as_str()).collect();
    assert_eq!(names, ["price", "margin"]);
    let unpriced = CATALOG.replace(",80", ",");
    let ranking = ranked(JOB, &unpriced, &RankOptions::default()).unwrap();
    assert_eq!(ranking.objectives, [Objective::new("margin")]);
    let margins: Vec<_> = ranking.accepted().map(|c| c.margin.unwrap()).collect();
    assert!(margins.windows(2).all(|w| w[0] >= w[1]), "{margins:?}");
}

#[test]
fn slips_are_refused() {
    let refused = |options: &RankOptions| ranked(JOB, CATALOG, options).unwrap_err().to_string();
    let error = refused(&asking(&["prise"]));
    assert!(error.contains("did you mean \"price\"?"), "{error}");
    let error = refused(&RankOptions { most: 5, ..RankOptions::default() });
    assert!(error.contains("9 options (3 models in 2 groups)"), "{error}");
    let groups = |names: &[&[&str]]| RankOptions {
        groups: Some(names.iter().map(|g| g.iter().map(|n| (*n).to_owned()).collect()).collect()),
        ..RankOptions::default()
    };
    let error = refused(&groups(&[&["front left", "front"]]));
    assert!(error.contains("\"front\" is not known"), "{error}");
    let error = refused(&groups(&[&["front left", "front left"]]));
    assert!(error.contains("stands twice"), "{error}");
    let error = refused(&groups(&[&["front left", "front right"], &["rear left"]]));
    assert!(error.contains("\"rear right\" is in none"), "{error}");
    let unpriced = CATALOG.replace(",80", ",");
    let error = ranked(JOB, &unpriced, &asking(&["price"])).unwrap_err().to_string();
    assert!(error.contains("\"C\" has none"), "{error}");
}

const OFFERED: &str = r#"
[[mount_model]]
name = "soft"
stiffness = [10e6, 10e6, 12e6]
loss_factor = 0.1
load_range = { min = "60 kN", max = "130 kN" }
price = 90
height = "80 mm"
footprint = ["200 mm", "200 mm"]
[[mount_model]]
name = "weak"
stiffness = [10e6, 10e6, 20e6]
loss_factor = 0.1
load_range = { max = "90 kN" }
price = 50
[options]
models = ["soft", "weak"]
objectives = ["price"]
"#;

#[test]
fn a_job_names_its_options_and_the_study_ranks_them() {
    let study =
        Study::of(&Job::from_text(&format!("{JOB}{OFFERED}"), "job.toml").unwrap()).unwrap();
    let ranking = study.options.as_ref().unwrap();
    let labels: Vec<_> = ranking.choices.iter().map(|c| (c.label(), c.is_accepted())).collect();
    assert_eq!(labels, [("soft".into(), true), ("weak".into(), false)]);
    assert_eq!(ranking.choices[0].price, Some(360.0));
    let summary = study.summary();
    assert!(summary.contains("## Mount options"), "{summary}");
    assert!(summary.contains("is 118 kN in case"), "{summary}");
    assert!(summary.contains("200 mm x 200 mm"), "{summary}");
    assert!(study.to_json().unwrap().contains("\"options\""));
}

#[test]
fn a_catalog_beside_the_job_is_kept_with_it() {
    let folder = std::env::temp_dir().join(format!("underfoot-options-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    std::fs::write(folder.join("shelf.csv"), CATALOG).unwrap();
    let text = format!("{JOB}\n[options]\ncatalog = \"shelf.csv\"\n");
    let file = folder.join("job.toml");
    std::fs::write(&file, &text).unwrap();
    let job = Job::load(&file).unwrap();
    std::fs::remove_dir_all(&folder).unwrap();
    assert_eq!(job.options.as_ref().unwrap().catalog.models.len(), 3);
    // The file is gone; the job is read again all the same.
    let moved = job.with_input("machine.mass", 41e3).unwrap();
    assert_eq!(moved.options, job.options);
    let ranking = Study::as_given(&job).unwrap().options.unwrap();
    assert_eq!(ranking.choices[0].label(), "B");
    let missing = Job::from_text(&text, "elsewhere/job.toml").unwrap_err().to_string();
    assert!(missing.contains("options.catalog: ") && missing.contains("no such file"), "{missing}");
}

#[test]
fn options_that_cannot_be_are_refused_at_their_key() {
    for (from, to, words) in [
        (
            "\"weak\"]",
            "\"week\"]",
            "options.models[1]: \"week\" is not known; did you mean \"weak\"?",
        ),
        ("\"weak\"]", "\"soft\"]", "options.models: \"soft\" stands in it twice"),
        ("[\"soft\", \"weak\"]", "[]", "options.models: names no model"),
        ("price = 90", "price = -90", "mount_model[0].price: -90"),
        ("[\"200 mm\", \"200 mm\"]", "[\"200 mm\"]", "mount_model[0].footprint: is a list of 1"),
        ("[\"price\"]", "[{ name = \"price\" }]", "options.objectives[0].sense: is missing"),
    ] {
        let text = format!("{JOB}{}", OFFERED.replacen(from, to, 1));
        let message = Job::from_text(&text, "job.toml").unwrap_err().to_string();
        assert!(message.contains(words), "{message}");
    }
}

#[test]
fn an_installation_without_a_job_is_ranked_by_what_its_mounts_allow() {
    let job = Job::from_text(JOB, "job.toml").unwrap();
    let catalog = Catalog::from_csv(CATALOG, "shelf").unwrap();
    let options = RankOptions { mixed: false, ..RankOptions::default() };
    let limits = underfoot::job::Limits::default();
    let found = rank_installation(&job.installation, limits, &catalog, &options).unwrap();
    assert_eq!(found.choices[0].label(), "B");
    assert_eq!(found.accepted().count(), 1);
}

/// Four equal feet below the center of mass carry W/4 = 98.1 kN each, the third point of the curve;
/// the press bounces on the tangent there: f = sqrt(4 r k / m) / 2 pi.
#[test]
fn a_curved_model_is_judged_at_its_working_load() {
    let shelf = "name,stiffness_lateral,curve,dynamic_ratio,loss_factor,load_min,load_max\n\
                 cone,10e6,2 mm: 40 kN; 4 mm: 98.1 kN; 5 mm: 150 kN,1.3,0.1,20 kN,140 kN\n\
                 short,10e6,2 mm: 40 kN; 4 mm: 90 kN,1.3,0.1,20 kN,140 kN\n";
    let centered = JOB.replace("\"0.2 m\", \"1.5 m\"", "0, \"1.5 m\"");
    let one_model = |objective: &str| {
        let options = RankOptions { mixed: false, ..asking(&[objective]) };
        ranked(&centered, shelf, &options).unwrap()
    };
    let points = [(0.002, 40e3), (0.004, 98.1e3), (0.005, 150e3)];
    let tangent = underfoot::law::Curve::table(&points).unwrap().tangent(0.004).unwrap();
    let bounce = (4.0 * 1.3 * tangent / 40e3).sqrt() / std::f64::consts::TAU;
    let found: Vec<f64> = (1..=6)
        .filter_map(|mode| one_model(&format!("frequency of mode {mode}")).choices[0].values[0])
        .collect();
    assert!(found.iter().any(|f| (f / bounce - 1.0).abs() < 1e-9), "{found:?} lack {bounce}");
    let ranking = one_model("margin");
    let short = ranking.choices.iter().find(|choice| choice.label() == "short").unwrap();
    let failed = short.failed.as_ref().expect("the curve ends below the load");
    assert!(failed.contains("front left") && failed.contains("curve"), "{failed}");
}
