//! A regulator or a reference is fed with more than it works with.

use finding::{Kind, Severity};
use report::number;
use system::rails::What;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::rails::{off, unspoken};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "supply.input-rating",
        severity: Severity::Fail,
        title: "A regulator or reference is fed with too much",
        explanation: include_str!("pages/supply.input-rating.md"),
    },
    look: |kind, scene, found| {
        limits::findings(kind, scene, TALKS, found);
        for (rail, row) in unspoken(scene, &[What::Input], "regulator-input") {
            found.push(off(kind, rail, row));
        }
    },
};

const TALKS: &[Talk] = &[
    Talk {
        check: "regulator-input",
        unit: "V",
        actual: "its input",
        limit: "the largest it works with",
        thin: |_| 0.0,
        remedies: less,
        ..PLAIN
    },
    Talk {
        check: "reference-supply",
        unit: "V",
        actual: "its supply",
        limit: "the largest it works with",
        thin: |_| 0.0,
        remedies: less,
        ..PLAIN
    },
];

fn less(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    let most = l.nominal.actual - (l.worst.actual - l.worst.limit);
    vec![format!(
        "feed it from {} or less, or choose a part rated for {}",
        number::measured(most, "V", 4),
        number::measured(l.worst.actual, "V", 4)
    )]
}
