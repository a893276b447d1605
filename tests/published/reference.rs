//! Reads the numbers under `tests/reference`: JSON files with their source beside them.

use num_complex::Complex64;
use serde_json::Value;

/// A reference file, `folder/name` without its extension.
pub fn load(path: &str) -> Value {
    let file = format!("{}/tests/reference/{path}.json", env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(&file).unwrap_or_else(|e| panic!("{file}: {e}"));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{file}: {e}"))
}

/// A number, also when it stands as text with fifty digits.
pub fn number(value: &Value) -> f64 {
    match value {
        Value::Number(x) => x.as_f64().unwrap(),
        Value::String(text) => text.parse().unwrap_or_else(|_| panic!("{text:?} is no number")),
        other => panic!("{other} is no number"),
    }
}

/// A list of numbers.
pub fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().unwrap_or_else(|| panic!("{value} is no list")).iter().map(number).collect()
}

/// Three numbers.
pub fn triple(value: &Value) -> [f64; 3] {
    numbers(value).try_into().unwrap()
}

/// A pair [real, imaginary].
pub fn complex(value: &Value) -> Complex64 {
    let [re, im] = numbers(value).try_into().unwrap();
    Complex64::new(re, im)
}
