//! A rail lies outside the range a device works with.

use finding::{Kind, Severity};
use report::number;
use system::rails::What;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::rails::{off, unspoken};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "supply.device-range",
        severity: Severity::Fail,
        title: "A rail lies outside the supply range of a device",
        explanation: include_str!("pages/supply.device-range.md"),
    },
    look: |kind, scene, found| {
        limits::shared_findings(kind, scene, TALKS, found);
        // Either end of the range has a check of its own; whose rows are both
        // looked at under the one that fits.
        for (rail, row) in unspoken(scene, &[What::PartSupply], "supply-low") {
            if row.low.is_some() {
                found.push(off(kind, rail, row));
            }
        }
        for (rail, row) in unspoken(scene, &[What::PartSupply], "supply-high") {
            if row.high.is_some() {
                found.push(off(kind, rail, row));
            }
        }
    },
};

const TALKS: &[Talk] = &[
    Talk {
        check: "supply-low",
        unit: "V",
        actual: "its supply",
        limit: "the operating minimum",
        thin: |_| 0.0,
        remedies: |l, _| rail(l, "more"),
        ..PLAIN
    },
    Talk {
        check: "supply-high",
        unit: "V",
        actual: "its supply",
        limit: "the operating maximum",
        thin: |_| 0.0,
        remedies: |l, _| rail(l, "less"),
        ..PLAIN
    },
];

fn rail(l: &Looked<'_>, word: &str) -> Vec<String> {
    let nominal = l.nominal.actual + (l.worst.limit - l.worst.actual);
    vec![format!(
        "a rail of {} or {word} with the same tolerance, or a tighter one",
        number::measured(nominal, "V", 4)
    )]
}
