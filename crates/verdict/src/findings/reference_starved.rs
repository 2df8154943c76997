//! A shunt reference gets less current than it needs to regulate.

use finding::{Kind, Severity};
use quantity::Series;
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.starved",
        severity: Severity::Fail,
        title: "A shunt reference gets too little current",
        explanation: include_str!("pages/reference.starved.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "shunt-current-low",
    unit: "A",
    actual: "the current through it",
    limit: "the least it needs",
    thin: |j| j.current_margin,
    remedies: resistor,
    ..PLAIN
}];

/// The largest series resistor: (least supply − largest reference) / (least
/// current + load).
fn resistor(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    let Some(most) = l.worst.working else {
        return Vec::new();
    };
    let mut list = vec![format!(
        "a series resistor of at most {}",
        number::measured(most, "Ω", 3)
    )];
    if let Some(preferred) = Series::E24.at_most(most / 1.2) {
        list.push(format!(
            "{} (E24) leaves a margin of 20 % or more",
            number::amount(preferred, "Ω")
        ));
    }
    list
}
