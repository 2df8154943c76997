//! The inner nodes of an instrumentation amplifier saturate.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.inner-range",
        severity: Severity::Fail,
        title: "The inner nodes of an instrumentation amplifier saturate",
        explanation: include_str!("pages/stage.inner-range.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "inner-low",
        actual: "the voltage an inner node should have",
        limit: "the lowest it reaches",
        remedies: less,
        ..PLAIN
    },
    Talk {
        check: "inner-high",
        actual: "the voltage an inner node should have",
        limit: "the highest it reaches",
        remedies: less,
        ..PLAIN
    },
    Talk {
        check: "common-mode-region",
        actual: "the common mode",
        limit: "the edge of the region the data sheet draws",
        remedies: less,
        ..PLAIN
    },
];

fn less(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    vec![
        format!(
            "move the common mode by {} towards the middle of the supply",
            number::measured((l.worst.actual - l.worst.limit).abs(), "V", 3)
        ),
        "or less gain in the first stage and more after it".to_owned(),
    ]
}
