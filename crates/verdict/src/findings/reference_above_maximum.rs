//! The reference is larger than the converter permits.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.above-maximum",
        severity: Severity::Fail,
        title: "The reference is above what the converter permits",
        explanation: include_str!("pages/reference.above-maximum.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "reference-high",
    unit: "V",
    actual: "the reference",
    limit: "the permitted maximum",
    thin: |_| 0.0,
    remedies: |l, _| {
        let most = l.nominal.actual - (l.worst.actual - l.worst.limit);
        vec![format!(
            "a reference of {} or less, or a divider before the reference pin",
            number::measured(most, "V", 4)
        )]
    },
    ..PLAIN
}];
