//! A gain outside what the amplifier can be set to.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.gain-range",
        severity: Severity::Fail,
        title: "A gain outside what the amplifier can be set to",
        explanation: include_str!("pages/stage.gain-range.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "gain-low",
        unit: "",
        actual: "the gain it is set to",
        limit: "the least it works with",
        remedies: another,
        ..PLAIN
    },
    Talk {
        check: "gain-high",
        unit: "",
        actual: "the gain it is set to",
        limit: "the most it works with",
        remedies: another,
        ..PLAIN
    },
];

fn another(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    vec![format!(
        "a gain of {} here and the rest, {}, in another stage",
        number::measured(l.nominal.limit, "", 3),
        quantity::plain(l.nominal.actual / l.nominal.limit, 3)
    )]
}
