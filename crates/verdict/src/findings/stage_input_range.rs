//! A stage's inputs leave their range.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.input-range",
        severity: Severity::Fail,
        title: "A stage's inputs leave their range",
        explanation: include_str!("pages/stage.input-range.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "input-low",
        actual: "its input",
        limit: "the lowest it works with",
        remedies: |l, _| {
            vec![
                format!(
                    "raise the common mode by {} at least",
                    number::measured(l.worst.limit - l.worst.actual, "V", 3)
                ),
                "or an amplifier whose inputs reach lower".to_owned(),
            ]
        },
        ..PLAIN
    },
    Talk {
        check: "input-high",
        actual: "its input",
        limit: "the highest it works with",
        remedies: |l, _| {
            vec![
                format!(
                    "lower the common mode by {} at least, or raise the supply by as much",
                    number::measured(l.worst.actual - l.worst.limit, "V", 3)
                ),
                "or an amplifier whose inputs reach higher".to_owned(),
            ]
        },
        ..PLAIN
    },
    Talk {
        check: "differential-input",
        actual: "the voltage between its inputs",
        limit: "the most it bears",
        remedies: |l, _| {
            vec![format!(
                "divide the difference by {} at least ahead of it",
                quantity::plain(l.worst.actual / l.worst.limit, 3)
            )]
        },
        ..PLAIN
    },
];
