//! The reference is smaller than the converter works with.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.below-minimum",
        severity: Severity::Fail,
        title: "The reference is below what the converter works with",
        explanation: include_str!("pages/reference.below-minimum.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "reference-low",
    unit: "V",
    actual: "the reference",
    limit: "the permitted minimum",
    thin: |_| 0.0,
    remedies: |l, _| {
        let needed = l.nominal.actual + (l.worst.limit - l.worst.actual);
        vec![
            format!(
                "a reference of {} or more (its tolerance then keeps the minimum)",
                number::measured(needed, "V", 4)
            ),
            "to resolve a small signal, use gain before the converter instead of a small reference"
                .to_owned(),
        ]
    },
    ..PLAIN
}];
