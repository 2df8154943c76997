//! Faults in input files, and the nearest right spelling.

use serde::Serialize;

use crate::place::Span;

/// Something in a file that cannot be used as written.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct InputFault {
    /// Where.
    pub span: Span,
    /// What is wrong, one sentence.
    pub message: String,
    /// What was expected, with an example; may be empty.
    pub expected: String,
    /// The nearest right spelling, if one is near.
    pub suggestion: Option<String>,
}

impl InputFault {
    /// A fault with message and expectation.
    #[must_use]
    pub fn new(span: Span, message: impl Into<String>, expected: impl Into<String>) -> Self {
        InputFault {
            span,
            message: message.into(),
            expected: expected.into(),
            suggestion: None,
        }
    }

    /// With the nearest right spelling.
    #[must_use]
    pub fn suggest(mut self, suggestion: Option<impl Into<String>>) -> Self {
        self.suggestion = suggestion.map(Into::into);
        self
    }
}

/// The candidate closest to `word` by the number of letters to change, insert,
/// leave out or swap, if that is at most a third of its length (at least one).
#[must_use]
pub fn nearest_of<'a>(
    word: &str,
    candidates: impl IntoIterator<Item = &'a str>,
) -> Option<&'a str> {
    let word_letters: Vec<char> = word.to_lowercase().chars().take(64).collect();
    candidates
        .into_iter()
        .map(|c| {
            (
                distance(
                    &word_letters,
                    &c.to_lowercase().chars().take(64).collect::<Vec<_>>(),
                ),
                c,
            )
        })
        .filter(|(d, c)| *d <= (c.chars().count().max(word_letters.len()) / 3).max(1))
        .min_by_key(|(d, c)| (*d, *c))
        .map(|(_, c)| c)
}

/// Edits between two words (swap of neighbours counts one), restricted
/// Damerau–Levenshtein distance.
fn distance(a: &[char], b: &[char]) -> usize {
    let mut before = vec![0; b.len() + 1];
    let mut last: Vec<usize> = (0..=b.len()).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; b.len() + 1];
        for j in 1..=b.len() {
            let change = last[j - 1] + usize::from(a[i - 1] != b[j - 1]);
            row[j] = change.min(last[j] + 1).min(row[j - 1] + 1);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut last, row);
    }
    last[b.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nearest_spelling() {
        let keys = ["accuracy", "span", "sensor", "reference"];
        assert_eq!(nearest_of("acuracy", keys), Some("accuracy"));
        assert_eq!(nearest_of("refernece", keys), Some("reference"));
        assert_eq!(nearest_of("Span", keys), Some("span"));
        assert_eq!(nearest_of("voltage", keys), None);
        assert_eq!(nearest_of("", keys), None);
    }
}
