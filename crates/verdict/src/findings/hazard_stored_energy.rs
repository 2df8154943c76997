//! Energy that stays when the supply is off.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.stored-energy",
        severity: Severity::Hazard,
        title: "Energy is stored on the board",
        explanation: include_str!("pages/hazard.stored-energy.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "stored-energy",
            "capacitors, cells or springs hold energy after the supply is off: a short circuit burns and throws metal",
            &[
            "a bleeder that brings every store below 60 V within 5 s (usual practice), and a mark where it is slower",
            "a fuse at each store rated to break its short-circuit current",
            ],
        ));
    },
};
