//! A reference carries or delivers more current than it may.

use finding::{Kind, Severity};
use quantity::Series;
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.overloaded",
        severity: Severity::Fail,
        title: "A reference carries more current than it may",
        explanation: include_str!("pages/reference.overloaded.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "shunt-current-high",
        unit: "A",
        actual: "the current through it",
        limit: "the most it may carry",
        thin: |j| j.current_margin,
        remedies: |l, _| {
            let Some(least) = l.worst.working else {
                return Vec::new();
            };
            let mut list = vec![format!(
                "a series resistor of at least {}",
                number::measured(least, "Ω", 3)
            )];
            if let Some(preferred) = Series::E24.at_least(least * 1.2) {
                list.push(format!(
                    "{} (E24) leaves a margin",
                    number::amount(preferred, "Ω")
                ));
            }
            list
        },
        ..PLAIN
    },
    Talk {
        check: "reference-load",
        unit: "A",
        actual: "its load",
        limit: "the most it delivers",
        thin: |j| j.current_margin,
        remedies: |l, _| {
            vec![format!(
                "a load of at most {}, or a buffer behind the reference",
                number::measured(0.8 * l.worst.limit, "A", 2)
            )]
        },
        ..PLAIN
    },
];
