//! A clamp feeds more current into a rail than the rail uses.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, PLAIN, Talk};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "clamp.into-rail",
        severity: Severity::Fail,
        title: "A clamp feeds more current into a rail than the rail uses",
        explanation: include_str!("pages/clamp.into-rail.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "clamp-into-rail",
    unit: "A",
    actual: "the current it feeds into the rail",
    limit: "what the rail’s own loads take",
    thin: |j| j.current_margin,
    remedies: |l, _| {
        vec![
            format!(
                "a series resistor larger by the factor {} at least",
                quantity::plain(l.worst.actual / l.worst.limit, 3)
            ),
            format!(
                "or a load on the rail that takes {} more, or a shunt regulator on it",
                number::measured(l.worst.actual - l.worst.limit, "A", 3)
            ),
            "or a clamp to ground instead of to the rail".to_owned(),
        ]
    },
    ..PLAIN
}];
