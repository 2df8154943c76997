//! The reference lies above the converter's supply.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.above-supply",
        severity: Severity::Fail,
        title: "The reference lies above the converter's supply",
        explanation: include_str!("pages/reference.above-supply.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "reference-above-supply",
    unit: "V",
    actual: "the reference",
    limit: "the analog supply",
    thin: |_| 0.0,
    remedies: |l, _| {
        let over = l.worst.actual - l.worst.limit;
        vec![
            format!(
                "a reference of {} or less",
                number::measured(l.nominal.actual - over, "V", 4)
            ),
            format!(
                "or an analog supply of {} or more, where the converter permits it",
                number::measured(l.nominal.limit + over, "V", 4)
            ),
        ]
    },
    ..PLAIN
}];
