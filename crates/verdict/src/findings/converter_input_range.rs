//! The signal leaves the range of voltages the converter's input takes.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "converter.input-range",
        severity: Severity::Fail,
        title: "The signal leaves the converter's input range",
        explanation: include_str!("pages/converter.input-range.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "input-range-low",
        unit: "V",
        actual: "the input",
        limit: "the lowest permitted",
        thin: |_| 0.0,
        remedies: |l, _| shift(l, "raise"),
        ..PLAIN
    },
    Talk {
        check: "input-range-high",
        unit: "V",
        actual: "the input",
        limit: "the highest permitted",
        thin: |_| 0.0,
        remedies: |l, _| shift(l, "lower"),
        ..PLAIN
    },
];

fn shift(l: &Looked<'_>, word: &str) -> Vec<String> {
    let by = (l.worst.actual - l.worst.limit).abs();
    let mut list = vec![format!(
        "{word} the signal by {} at least",
        number::measured(by, "V", 3)
    )];
    let ratio = l.worst.limit / l.worst.actual;
    if ratio > 0.0 && ratio < 1.0 {
        list.push(format!(
            "or divide it by {} at least",
            number::measured(1.0 / ratio, "", 3)
        ));
    }
    list
}
