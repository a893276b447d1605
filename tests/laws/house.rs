//! The house in order: which room may name which, how long a file is, who may panic.
//!
//! Reads the sources of this repository; nothing here is about physics.

use std::fs;
use std::path::{Path, PathBuf};

/// The rooms in their order: each may use those before it.
const ROOMS: [&str; 15] = [
    "error",
    "units",
    "lanes",
    "law",
    "system",
    "machine",
    "support",
    "excitation",
    "installation",
    "analysis",
    "checks",
    "job",
    "study",
    "sweep",
    "bindings",
];

/// Lines no file may pass.
const LONGEST: usize = 550;

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// Files below a folder whose names end so.
fn files(folder: &str, endings: &[&str]) -> Vec<PathBuf> {
    fn walk(folder: &Path, found: &mut Vec<PathBuf>) {
        for entry in fs::read_dir(folder).expect("the folder can be listed") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                walk(&path, found);
            } else {
                found.push(path);
            }
        }
    }
    let mut found = Vec::new();
    walk(&root().join(folder), &mut found);
    found.retain(|path| endings.iter().any(|end| path.to_string_lossy().ends_with(end)));
    found.sort();
    assert!(!found.is_empty(), "no {endings:?} in {folder}");
    found
}

fn short(path: &Path) -> String {
    path.strip_prefix(root()).expect("below the root").to_string_lossy().replace('\\', "/")
}

fn read(path: &Path) -> String {
    fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Room of a file of src/: its first folder, or its name.
fn room(path: &Path) -> String {
    let name = short(path);
    let inside = name.strip_prefix("src/").expect("in src/");
    inside.split(['/', '.']).next().expect("a first part").to_string()
}

/// The code with comments blanked out; the sources hold no `//` inside a text but in this file.
fn code(text: &str) -> String {
    text.lines().map(|line| line.split("//").next().unwrap_or("")).collect::<Vec<_>>().join("\n")
}

/// The code before the unit tests of the file, which stand at its end.
fn without_tests(text: &str) -> &str {
    text.split("#[cfg(test)]").next().unwrap_or("")
}

/// A file that is wholly the tests of its parent: `tests.rs`, which the parent names behind
/// `#[cfg(test)]`.
fn is_test_module(path: &Path) -> bool {
    if path.file_name().is_none_or(|name| name != "tests.rs") {
        return false;
    }
    let parent = path.parent().expect("in a folder");
    let places = [parent.with_extension("rs"), parent.join("mod.rs")];
    let mut parents = places.iter().filter(|place| place.exists()).map(|place| read(place));
    parents.any(|text| text.contains("#[cfg(test)]\nmod tests;"))
}

/// First names of the paths that start at `crate::`, braces opened one level.
fn named(code: &str) -> Vec<String> {
    let first = |text: &str| -> String {
        text.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
    };
    let mut names = Vec::new();
    for rest in code.split("crate::").skip(1) {
        let Some(group) = rest.strip_prefix('{') else {
            names.push(first(rest));
            continue;
        };
        let mut depth = 0;
        let mut item = String::new();
        for c in group.chars() {
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => break,
                '}' => depth -= 1,
                ',' if depth == 0 => names.push(first(&std::mem::take(&mut item))),
                _ if depth == 0 => item.push(c),
                _ => {}
            }
        }
        names.push(first(&item));
    }
    names.retain(|name| !name.is_empty());
    names
}

#[test]
fn house_paths_are_read_with_braces_and_without() {
    let text =
        "use crate::error::{Error, Result};\nuse crate::{law::{A, B}, system};\ncrate::job::x()";
    assert_eq!(named(text), ["error", "law", "system", "job"]);
    assert_eq!(named("use super::x;"), Vec::<String>::new());
}

#[test]
fn house_rooms_are_the_modules_of_the_crate() {
    let lib = code(&read(&root().join("src/lib.rs")));
    let mut modules: Vec<&str> = lib
        .lines()
        .filter_map(|line| line.trim_start_matches("pub ").strip_prefix("mod ")?.strip_suffix(';'))
        .collect();
    let mut rooms = ROOMS.to_vec();
    modules.sort_unstable();
    rooms.sort_unstable();
    assert_eq!(modules, rooms);
}

#[test]
fn house_a_room_uses_only_rooms_above_it() {
    let place = |name: &str| ROOMS.iter().position(|room| *room == name);
    let mut uses = 0;
    let mut wrong = Vec::new();
    for path in files("src", &[".rs"]) {
        let Some(own) = place(&room(&path)) else {
            assert_eq!(short(&path), "src/lib.rs");
            continue;
        };
        for name in named(&code(&read(&path))) {
            // `crate::Error` and `crate::Result` are re-exports of the first room.
            let other = if ["Error", "Result"].contains(&name.as_str()) { "error" } else { &name };
            uses += 1;
            if place(other).is_none_or(|other| other > own) {
                wrong.push(format!("{} uses crate::{name}", short(&path)));
            }
        }
    }
    assert!(uses > 50, "only {uses} uses found: the reader is broken");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn house_only_the_bindings_know_python() {
    for path in files("src", &[".rs"]) {
        let text = code(&read(&path));
        if room(&path) != "bindings" {
            for name in ["pyo3", "numpy", "Python"] {
                assert!(!text.contains(name), "{} names {name}", short(&path));
            }
        }
    }
    let bindings: String = files("src/bindings", &[".rs"]).iter().map(|path| read(path)).collect();
    assert!(bindings.contains("pyo3"));
}

#[test]
fn house_no_file_is_too_long() {
    let mut all = files("src", &[".rs", ".toml"]);
    all.extend(files("python/underfoot", &[".py"]));
    for path in all {
        let lines = read(&path).lines().count();
        assert!(lines <= LONGEST, "{} has {lines} lines, more than {LONGEST}", short(&path));
    }
}

#[test]
fn house_every_source_opens_by_saying_what_it_answers() {
    for path in files("src", &[".rs"]) {
        let text = read(&path);
        let opens = text.starts_with("//!") || short(&path) == "src/lib.rs";
        assert!(opens, "{} does not start with //!", short(&path));
    }
    assert!(read(&root().join("src/lib.rs")).contains("doc = include_str!"));
}

#[test]
fn house_nothing_outside_tests_may_panic() {
    let forbidden =
        [".unwrap()", ".expect(", "panic!(", "todo!(", "unimplemented!(", "unreachable!("];
    let mut wrong = Vec::new();
    for path in files("src", &[".rs"]) {
        if is_test_module(&path) {
            continue;
        }
        let text = code(&read(&path));
        for (i, line) in without_tests(&text).lines().enumerate() {
            if forbidden.iter().any(|word| line.contains(word)) {
                wrong.push(format!("{}:{}: {}", short(&path), i + 1, line.trim()));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
