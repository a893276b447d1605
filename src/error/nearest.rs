//! "Did you mean ...?"

/// ` did you mean "stiffness"?` with the nearest word, or nothing if none is near.
pub fn did_you_mean<'a>(word: &str, words: impl Iterator<Item = &'a str>) -> String {
    let lower = word.to_lowercase();
    let near = words
        .map(|w| (distance(&lower, &w.to_lowercase()), w))
        .filter(|(d, w)| *d <= 1 + w.chars().count() / 4)
        .min_by_key(|(d, _)| *d);
    near.map_or_else(String::new, |(_, w)| format!(" did you mean {w:?}?"))
}

/// Insertions, deletions, replacements that turn `a` into `b`.
pub(crate) fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    // A word far longer than any key needs no exact count.
    if a.len() > 100 {
        return a.len();
    }
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.chars().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, y) in b.iter().enumerate() {
            let replaced = diagonal + usize::from(x != *y);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_of_the_pen_finds_the_word_and_nonsense_does_not() {
        let words = ["stiffness", "position", "damping", "x"];
        assert_eq!(did_you_mean("stifness", words.into_iter()), " did you mean \"stiffness\"?");
        assert_eq!(did_you_mean("Position", words.into_iter()), " did you mean \"position\"?");
        assert_eq!(did_you_mean("furlongs", words.into_iter()), "");
        assert_eq!(did_you_mean(&"x".repeat(10_000), words.into_iter()), "");
    }
}
