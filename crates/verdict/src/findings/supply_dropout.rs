//! A regulator or a series reference has too little voltage above its output.

use finding::{Kind, Severity};
use report::number;
use system::rails::What;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::rails::{off, unspoken};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "supply.dropout",
        severity: Severity::Fail,
        title: "A regulator or reference has too little headroom",
        explanation: include_str!("pages/supply.dropout.md"),
    },
    look: |kind, scene, found| {
        limits::findings(kind, scene, TALKS, found);
        for (rail, row) in unspoken(scene, &[What::Dropout], "regulator-dropout") {
            found.push(off(kind, rail, row));
        }
    },
};

const TALKS: &[Talk] = &[
    Talk {
        check: "regulator-dropout",
        unit: "V",
        actual: "its input",
        limit: "output and drop-out together",
        thin: |_| 0.0,
        remedies: headroom,
        ..PLAIN
    },
    Talk {
        check: "reference-dropout",
        unit: "V",
        actual: "its supply",
        limit: "output and drop-out together",
        thin: |_| 0.0,
        remedies: headroom,
        ..PLAIN
    },
];

fn headroom(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    let feed = l.nominal.actual + (l.worst.limit - l.worst.actual);
    vec![
        format!(
            "feed it from {} or more (nominal, with the tolerance the feeding rail has)",
            number::measured(feed, "V", 4)
        ),
        format!(
            "or choose an output lower by {}, or a part with a smaller drop-out",
            number::measured(l.worst.limit - l.worst.actual, "V", 3)
        ),
    ]
}
