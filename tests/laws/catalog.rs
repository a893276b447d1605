//! A catalog is read to the digit, from each form alike, and refuses slips by row and column.

use underfoot::Error;
use underfoot::support::catalog::{Catalog, Cell, Table};

const CSV: &str = "\
name,stiffness_lateral [kN/mm],stiffness_z [kN/mm],static_stiffness_z [kN/mm],loss_factor,load_min,load_max,load_dynamic_max,screw_pitch,screw_up,height [mm],length [mm],width [mm],price
soft pad,4,10,7.5,0.10,10 kN,60 kN,80 kN,2 mm,12 mm,45,160,160,210
firm pad,9,24,15,0.14,40 kN,180 kN,230 kN,,,45,160,160,240
";

const TOML: &str = r#"
[[model]]
name = "soft pad"
stiffness_lateral = "4 kN/mm"
stiffness_z = "10 kN/mm"
static_stiffness_z = "7.5 kN/mm"
loss_factor = 0.10
load_min = "10 kN"
load_max = "60 kN"
load_dynamic_max = "80 kN"
screw_pitch = "2 mm"
screw_up = "12 mm"
height = "45 mm"
length = "160 mm"
width = "160 mm"
price = 210

[[model]]
price = 240
name = "firm pad"
stiffness_lateral = "9 kN/mm"
stiffness_z = "24 kN/mm"
static_stiffness_z = "15 kN/mm"
loss_factor = 0.14
load_min = "40 kN"
load_max = "180 kN"
load_dynamic_max = "230 kN"
height = "45 mm"
length = "160 mm"
width = "160 mm"
"#;

fn csv(text: &str) -> Result<Catalog, Error> {
    Catalog::from_csv(text, "shelf")
}

/// Table, row, column and problem of the refusal.
fn refused(text: &str) -> (String, String, String) {
    match csv(text) {
        Err(Error::Table { table, row, column, problem }) => {
            assert_eq!(table, "shelf");
            (row, column, problem)
        }
        other => panic!("expected a refusal, found {other:?}"),
    }
}

#[test]
fn a_row_becomes_a_model_in_si() {
    let catalog = csv(CSV).unwrap();
    let soft = catalog.model("soft pad").unwrap();
    assert_eq!(soft.mount.stiffness, [4e6, 4e6, 10e6]);
    assert_eq!(soft.mount.static_stiffness, [4e6, 4e6, 7.5e6]);
    assert_eq!(soft.mount.loss_factor, [0.10; 3]);
    assert_eq!(soft.mount.load_range.dynamic_max, Some(80e3));
    assert_eq!(soft.footprint, Some([0.16, 0.16]));
    assert_eq!(soft.price, Some(210.0));
    let screw = soft.mount.screw.unwrap();
    assert_eq!((screw.pitch, screw.step(), screw.down, screw.up), (0.002, 0.00025, 0.0, 0.012));
    assert_eq!(catalog.model("firm pad").unwrap().mount.screw, None);
}

#[test]
fn csv_semicolons_toml_and_columns_read_alike() {
    let catalog = csv(CSV).unwrap();
    assert_eq!(csv(&CSV.replace(',', ";")).unwrap(), catalog);
    assert_eq!(Catalog::from_toml(TOML, "shelf").unwrap(), catalog);
    let table = Table::from_csv(CSV, "shelf").unwrap();
    let columns = table.columns.iter().enumerate().map(|(i, head)| {
        (head.clone(), table.rows.iter().map(|row| row[i].clone()).collect::<Vec<_>>())
    });
    let table = Table::from_columns("shelf", columns.collect()).unwrap();
    assert_eq!(Catalog::from_table(&table).unwrap(), catalog);
}

#[test]
fn a_model_takes_the_place_of_a_mount() {
    let catalog = csv(CSV).unwrap();
    let old = underfoot::support::Mount::new([1.0, -0.5, 0.0].into(), [1e6; 3])
        .unwrap()
        .with_name("front right");
    let mount = catalog.models[0].in_place_of(&old);
    assert_eq!((mount.position, mount.name.as_str()), (old.position, "front right"));
    assert_eq!(mount.stiffness, [4e6, 4e6, 10e6]);
    assert_eq!(mount.screw, catalog.models[0].mount.screw);
}

#[test]
fn slips_are_refused_by_row_and_column() {
    let (row, column, problem) = refused(&CSV.replace("firm pad", "soft pad"));
    assert_eq!((row.as_str(), column.as_str()), ("2 (soft pad)", "name"));
    assert!(problem.contains("row 1"), "{problem}");

    let (row, column, problem) = refused(&CSV.replace("40 kN,180 kN", "180 kN,40 kN"));
    assert_eq!((row.as_str(), column.as_str()), ("2 (firm pad)", "load_max"));
    assert!(problem.contains("180000"), "{problem}");

    let (row, column, problem) = refused(&CSV.replace("40 kN,180 kN", "9 000 lbf,180 kN"));
    assert_eq!((row.as_str(), column.as_str()), ("2 (firm pad)", "load_min"));
    assert!(problem.contains("lbf") && problem.contains("kN"), "{problem}");

    let (row, column, problem) = refused(&CSV.replace("9,24,15", "9,24 kN/mm,15"));
    assert_eq!((row.as_str(), column.as_str()), ("2 (firm pad)", "stiffness_z"));
    assert!(problem.contains("once"), "{problem}");

    let (_, column, problem) = refused(&CSV.replace("load_max", "load_maxx"));
    assert_eq!(column, "load_maxx");
    assert!(problem.contains("did you mean \"load_max\"?"), "{problem}");

    let (row, column, problem) = refused(&CSV.replace("stiffness_lateral [kN/mm]", "price2"));
    assert_eq!((row.as_str(), column.as_str()), ("", "price2"), "{problem}");

    let (_, column, _) = refused("name,stiffness_z,load_min,load_max\nA,1e6,1,2\n");
    assert_eq!(column, "stiffness_lateral");
    let (_, column, _) = refused("name,stiffness_lateral,stiffness_z,load_max\nA,1e6,1e6,2\n");
    assert_eq!(column, "load_min");

    let (row, column, problem) = refused(&CSV.replace("4,10,7.5", "-4,10,7.5"));
    assert_eq!((row.as_str(), column.as_str()), ("1 (soft pad)", "stiffness_lateral"), "{problem}");
    let (row, column, _) = refused(&CSV.replace("40 kN,180 kN", "40 kg,180 kg"));
    assert_eq!((row.as_str(), column.as_str()), ("2 (firm pad)", "load_min"));
    let (row, _, problem) = refused(&CSV.replace(",240", ""));
    assert_eq!(row, "2", "{problem}");
    let (_, _, problem) = refused(CSV.lines().next().unwrap());
    assert!(problem.contains("no model"), "{problem}");
    let (row, column, _) = refused(&CSV.replace("2 mm,12 mm", ",12 mm"));
    assert_eq!((row.as_str(), column.as_str()), ("1 (soft pad)", "screw_up"));
}

#[test]
fn columns_of_a_frame_are_of_one_length() {
    let columns = vec![
        ("name".to_owned(), vec![Cell::Text("A".into()), Cell::Text("B".into())]),
        ("stiffness_z".to_owned(), vec![Cell::Number(1e6)]),
    ];
    let error = Table::from_columns("frame", columns).unwrap_err().to_string();
    assert!(error.contains("frame, column stiffness_z: has 1 values"), "{error}");
}

#[test]
fn numbers_without_a_unit_are_si() {
    let catalog =
        csv("name,stiffness_lateral,stiffness_z,load_min,load_max\nA,1e6,2.5e6,1e3,2e4\n").unwrap();
    assert_eq!(catalog.models[0].mount.stiffness, [1e6, 1e6, 2.5e6]);
    assert_eq!(catalog.models[0].mount.load_range.max, Some(2e4));
}
