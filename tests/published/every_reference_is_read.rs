//! A number that no test reads proves nothing: each file under `tests/reference` is either named
//! in a test, or listed here with the reason.

use std::fs;
use std::path::{Path, PathBuf};

/// Files (folder/stem) that no test reads, and why.
const NOT_READ: [(&str, &str); 3] = [
    ("sixdof/cf_C12", "states a law, holds no numbers; the law is tried in closed_forms_general"),
    ("sixdof/cf_C14", "states a law, holds no numbers; the law is tried in closed_forms_general"),
    ("sixdof/cf_C17", "states a law, holds no numbers; the law is tried in closed_forms_general"),
];

fn tests() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests")
}

/// Every file below a folder.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut out = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { out.extend(files(&path)) } else { out.push(path) }
    }
    out.sort();
    out
}

/// Sources that could read a reference: tests in Rust and Python, but not this file.
fn sources() -> String {
    let wanted = |path: &PathBuf| {
        let extension = path.extension().and_then(|e| e.to_str());
        matches!(extension, Some("rs" | "py")) && !path.ends_with("every_reference_is_read.rs")
    };
    let all = files(&tests()).into_iter().filter(wanted);
    all.map(|path| fs::read_to_string(path).unwrap()).collect()
}

/// True if the stem stands there as a name of its own, as in "folder/stem" or "stem.json".
fn names(source: &str, stem: &str) -> bool {
    source.match_indices(stem).any(|(at, _)| {
        let before = source[..at].chars().next_back();
        let after = source[at + stem.len()..].chars().next();
        matches!(before, Some('/' | '"' | '\'')) && matches!(after, Some('"' | '\'' | '.'))
    })
}

/// folder/stem of every reference file; notes in plain words are not numbers.
fn references() -> Vec<String> {
    let root = tests().join("reference");
    files(&root)
        .into_iter()
        .filter(|path| path.extension().is_none_or(|e| e != "md"))
        .map(|path| {
            let inside = path.strip_prefix(&root).unwrap().with_extension("");
            inside.to_str().unwrap().replace('\\', "/")
        })
        .collect()
}

#[test]
fn every_reference_file_is_read_by_a_test_or_listed_with_its_reason() {
    let source = sources();
    let stem = |name: &str| name.rsplit('/').next().unwrap().to_owned();
    let unread: Vec<_> =
        references().into_iter().filter(|name| !names(&source, &stem(name))).collect();
    let listed: Vec<_> = NOT_READ.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(unread, listed, "left: not read by any test; right: listed as not read");
}

#[test]
fn a_name_counts_only_where_it_stands_alone() {
    assert!(names(r#"load("sixdof/cf_C1")"#, "cf_C1"));
    assert!(names(r#"instance("cf_C1")"#, "cf_C1"));
    assert!(names("open('reference/cf_C1.json')", "cf_C1"));
    assert!(!names(r#"load("sixdof/cf_C11")"#, "cf_C1"));
    assert!(!names("see cf_C1 in the pack", "cf_C1"));
}
