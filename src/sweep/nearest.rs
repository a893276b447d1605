//! Which names are nearest to one that is not known?

use crate::error::distance;

/// ` did you mean "a", "b" or "c"?` with at most three names: those nearest in spelling, or those
/// that hold the word; nothing if none is near.
pub fn nearest<'a>(word: &str, names: impl Iterator<Item = &'a str>) -> String {
    let lower = word.to_lowercase();
    let mut near: Vec<(usize, &str)> = names
        .filter_map(|name| {
            let other = name.to_lowercase();
            let d = distance(&lower, &other);
            let holds = lower.len() > 2 && (other.contains(&lower) || lower.contains(&other));
            (holds || d <= 1 + other.chars().count() / 4).then_some((d, name))
        })
        .collect();
    near.sort_by_key(|(d, _)| *d);
    near.truncate(3);
    let quoted: Vec<String> = near.iter().map(|(_, name)| format!("{name:?}")).collect();
    match &quoted[..] {
        [] => String::new(),
        [one] => format!("did you mean {one}?"),
        [first @ .., last] => format!("did you mean {} or {last}?", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_and_parts_of_names_find_them() {
        let names = ["mounts.stiffness", "mounts.stiffness[z]", "mass"];
        assert_eq!(
            nearest("mount.stiffness[z]", names.into_iter()),
            "did you mean \"mounts.stiffness[z]\" or \"mounts.stiffness\"?"
        );
        assert_eq!(nearest("mas", names.into_iter()), "did you mean \"mass\"?");
        assert!(nearest("stiffness", names.into_iter()).contains("mounts.stiffness"));
        assert_eq!(nearest("furlongs", names.into_iter()), "");
    }
}
