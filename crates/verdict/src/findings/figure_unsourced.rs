//! A verdict rests on figures that no document states.

use finding::{Kind, Severity};

use super::Entry;
use crate::weak::{self, Looked};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "figure.unsourced",
        severity: Severity::Thin,
        title: "The verdict rests on figures without a document",
        explanation: include_str!("pages/figure.unsourced.md"),
    },
    look: |kind, scene, found| weak::findings(kind, scene, &LOOKED, found),
};

const LOOKED: Looked = Looked {
    weak: |_, c| !c.published,
    one: "rests on no document",
    more: "rest on no document",
    remedy: "find the figure in the data sheet of the part that will be fitted and write it into \
             the file with basis, document and place",
};
