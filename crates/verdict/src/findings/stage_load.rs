//! An output is loaded more than its figures hold for.

use finding::{Kind, Severity};

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.load",
        severity: Severity::Thin,
        title: "An output is loaded more than its figures hold for",
        explanation: include_str!("pages/stage.load.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "output-load",
        unit: "A",
        actual: "its output current",
        limit: "what its output swing is stated for",
        remedies: larger,
        ..PLAIN
    },
    Talk {
        check: "sensor-load",
        unit: "A",
        actual: "the current it gives",
        limit: "the most it is stated for",
        remedies: larger,
        ..PLAIN
    },
];

fn larger(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    vec![format!(
        "a load resistance larger by the factor {} at least",
        quantity::plain(l.worst.actual / l.worst.limit, 3)
    )]
}
