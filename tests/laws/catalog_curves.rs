//! Catalog rows with a load-deflection curve: read alike from CSV, TOML and columns, refused by
//! row, column and point, and ranked as the same mounts would be judged.

use underfoot::Error;
use underfoot::law::Curve;
use underfoot::support::catalog::{Catalog, Cell, Table};

const CSV: &str = "\
name,stiffness_lateral [kN/mm],stiffness_z [kN/mm],static_stiffness_z [kN/mm],curve,dynamic_ratio,load_min [kN],load_max [kN]
cone,4,,,2 mm: 9 kN; 4 mm: 21 kN; 5 mm: 33 kN,1.3,2,30
twin,4,12,8,2 mm: 9 kN; 4 mm: 21 kN; 5 mm: 33 kN,,2,30
alike,4,,,2 mm: 9 kN; 4 mm: 21 kN; 5 mm: 33 kN,,2,30
flat,4,10,,,,2,30
";

const TOML: &str = r#"
[[model]]
name = "cone"
stiffness_lateral = "4 kN/mm"
curve = [["2 mm", "9 kN"], ["4 mm", "21 kN"], ["5 mm", "33 kN"]]
dynamic_ratio = 1.3
load_min = "2 kN"
load_max = "30 kN"
"#;

fn csv(text: &str) -> Result<Catalog, Error> {
    Catalog::from_csv(text, "shelf")
}

fn refused(text: &str) -> (String, String, String) {
    match csv(text) {
        Err(Error::Table { row, column, problem, .. }) => (row, column, problem),
        other => panic!("expected a refusal, found {other:?}"),
    }
}

/// Row and column must be these, and the problem hold each of the words.
fn expect(text: &str, row: &str, column: &str, words: &[&str]) {
    let found = refused(text);
    assert_eq!((found.0.as_str(), found.1.as_str()), (row, column), "{}", found.2);
    for word in words {
        assert!(found.2.contains(word), "{word:?} not in {:?}", found.2);
    }
}

#[test]
fn a_curve_is_that_of_its_points() {
    let catalog = csv(CSV).unwrap();
    let points = [(0.002, 9e3), (0.004, 21e3), (0.005, 33e3)];
    let curve = Curve::table(&points).unwrap();
    let at_rest = curve.tangent(0.0).unwrap();
    for (name, ratio) in [("cone", 1.3), ("twin", 1.5), ("alike", 1.0)] {
        let mount = &catalog.model(name).unwrap().mount;
        assert_eq!(mount.curve.as_ref(), Some(&curve), "{name}");
        assert_eq!(mount.static_stiffness, [4e6, 4e6, at_rest], "{name}");
        assert_eq!(mount.stiffness[2], ratio * at_rest, "{name}");
    }
    assert_eq!(catalog.model("flat").unwrap().mount.curve, None);
}

#[test]
fn every_form_of_a_curve_reads_alike() {
    let cone = csv(CSV).unwrap().models[0].clone();
    assert_eq!(Catalog::from_toml(TOML, "shelf").unwrap().models[0], cone);
    let bare = TOML.replace(
        r#"[["2 mm", "9 kN"], ["4 mm", "21 kN"], ["5 mm", "33 kN"]]"#,
        "[[0.002, 9e3], [0.004, 21000], [0.005, 33e3]]",
    );
    assert_eq!(Catalog::from_toml(&bare, "shelf").unwrap().models[0], cone);
    let in_head =
        CSV.replace(" mm: ", ": ").replace(" kN", "").replace(",curve,", ",curve [mm: kN],");
    assert_eq!(csv(&in_head).unwrap().models[0], cone);
    let written = ["2 mm", "9 kN", "4 mm", "21 kN", "5 mm", "33 kN"].map(str::to_owned);
    let points = written.chunks(2).map(|p| [p[0].clone(), p[1].clone()]).collect();
    let text = |text: &str| vec![Cell::Text(text.into())];
    let columns = vec![
        ("name".to_owned(), text("cone")),
        ("stiffness_lateral".to_owned(), vec![Cell::Number(4e6)]),
        ("curve".to_owned(), vec![Cell::Points(points)]),
        ("dynamic_ratio".to_owned(), vec![Cell::Number(1.3)]),
        ("load_min".to_owned(), text("2 kN")),
        ("load_max".to_owned(), text("30 kN")),
    ];
    let table = Table::from_columns("shelf", columns).unwrap();
    assert_eq!(Catalog::from_table(&table).unwrap().models[0], cone);
}

#[test]
fn slips_in_a_curve_are_refused_by_point() {
    expect(
        &CSV.replacen("4 mm: 21 kN", "4 mm: 8 kN", 1),
        "1 (cone)",
        "curve",
        &["point 2 = 8000 N", "must rise"],
    );
    expect(
        &CSV.replacen("4 mm: 21 kN", "1 mm: 21 kN", 1),
        "1 (cone)",
        "curve",
        &["point 2 = 0.001 m", "compression must rise"],
    );
    expect(&CSV.replacen("4 mm: 21 kN", "4 mm 21 kN", 1), "1 (cone)", "curve", &["no point"]);
    expect(
        &CSV.replacen("4 mm: 21 kN", "0.16 in: 21 kN", 1),
        "1 (cone)",
        "curve",
        &["point 2", "\"in\"", "\"mm\"", "one unit"],
    );
    let in_inches = "0.1 in: 9 kN; 0.2 in: 21 kN,,2,30\nflat";
    expect(
        &CSV.replace("2 mm: 9 kN; 4 mm: 21 kN; 5 mm: 33 kN,,2,30\nflat", in_inches),
        "3 (alike)",
        "curve",
        &["in: kN", "row 1", "mm: kN"],
    );
    expect(&CSV.replacen("21 kN", "21 kg", 1), "1 (cone)", "curve", &["kg", "\"kN\""]);
    expect(&CSV.replace("4,10,,,,", "4,,,,,"), "4 (flat)", "stiffness_z", &["or a curve"]);
    expect(
        &CSV.replace("4,10,,,,", "4,10,,,1.2,"),
        "4 (flat)",
        "dynamic_ratio",
        &["needs a curve"],
    );
    expect(&CSV.replace("twin,4,12,8", "twin,4,12,"), "2 (twin)", "stiffness_z", &["alone"]);
    expect(&CSV.replace("cone,4,,", "cone,4,12,8"), "1 (cone)", "dynamic_ratio", &["one of both"]);
    expect(&CSV.replace(",1.3,", ",-1.3,"), "1 (cone)", "dynamic_ratio", &["-1.3"]);
    let neither = "name,stiffness_lateral,load_min,load_max\nA,1e6,1,2\n";
    expect(neither, "", "stiffness_z", &["missing", "or a curve"]);
    let list = "[[model]]\nname = \"A\"\nstiffness_lateral = [[1, 2]]\n";
    let list = format!("{list}stiffness_z = 1e6\nload_min = 1\nload_max = 2\n");
    let error = Catalog::from_toml(&list, "shelf").unwrap_err().to_string();
    assert!(error.contains("row 1 (A), column stiffness_lateral: holds a list"), "{error}");
    let odd = TOML.replace("[\"4 mm\", \"21 kN\"]", "[\"4 mm\"]");
    let error = Catalog::from_toml(&odd, "shelf").unwrap_err().to_string();
    assert!(error.contains("row 1, column curve") && error.contains("list of points"), "{error}");
}

#[test]
fn numbers_that_are_none_are_refused() {
    for slip in ["nan", "inf", "4,5"] {
        let quoted = format!("\"{slip}\"");
        let text = CSV.replace("flat,4,10", &format!("flat,4,{quoted}"));
        expect(&text, "4 (flat)", "stiffness_z", &[slip]);
    }
    let unquoted = CSV.replace("flat,4,10", "flat,4,5,10");
    let (row, _, problem) = refused(&unquoted);
    assert_eq!(row, "4");
    assert!(problem.contains("decimal point"), "{problem}");
    let upside_down = CSV.replace("load_max [kN]", "load_max [kN],load_dynamic_max [kN]");
    let upside_down = upside_down.replace(",30\n", ",30,20\n");
    expect(&upside_down, "1 (cone)", "load_dynamic_max", &["20000 N", "30000 N"]);
}
