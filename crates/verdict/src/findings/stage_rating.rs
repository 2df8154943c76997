//! A component of a stage is overloaded.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.rating",
        severity: Severity::Fail,
        title: "A component of a stage is overloaded",
        explanation: include_str!("pages/stage.rating.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "resistor-power",
        unit: "W",
        actual: "the power in it",
        limit: "what it is rated for",
        thin: |j| j.current_margin,
        remedies: |l, _| {
            vec![format!(
                "a resistor rated for {} or more, twice that if it must not drift with warmth",
                number::measured(l.worst.actual, "W", 2)
            )]
        },
        ..PLAIN
    },
    Talk {
        check: "clamp-current",
        unit: "A",
        actual: "the current through it",
        limit: "the most it may carry",
        remedies: series,
        ..PLAIN
    },
    Talk {
        check: "clamp-power",
        unit: "W",
        actual: "the power in it",
        limit: "the most it may turn into heat",
        remedies: series,
        ..PLAIN
    },
];

fn series(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    vec![format!(
        "a series resistor larger by the factor {} at least ahead of it",
        quantity::plain(l.worst.actual / l.worst.limit, 3)
    )]
}
