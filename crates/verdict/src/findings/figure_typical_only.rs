//! A verdict rests on typical values.

use finding::{Kind, Severity};

use super::Entry;
use crate::weak::{self, Looked};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "figure.typical-only",
        severity: Severity::Thin,
        title: "The verdict rests on typical values",
        explanation: include_str!("pages/figure.typical-only.md"),
    },
    look: |kind, scene, found| weak::findings(kind, scene, &LOOKED, found),
};

const LOOKED: Looked = Looked {
    // Noise is a level: its typical value is what it is. A contributor that
    // the board file itself states as normal is no data sheet's.
    weak: |study, c| {
        study.variables.get(c.input).is_some_and(|v| {
            !c.bound
                && v.basis.is_some_and(parts::Basis::is_documented)
                && v.kind != chain::variables::Kind::Random
        })
    },
    one: "is a typical value without limits",
    more: "are typical values without limits",
    remedy: "ask the maker for limits, choose a grade that has them, or test each part at \
             incoming inspection and state the limit of the test",
};
