//! Mains on or near the board.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.mains",
        severity: Severity::Hazard,
        title: "Mains voltage is on or near the board",
        explanation: include_str!("pages/hazard.mains.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "mains",
            "mains voltage is present: it kills, and an instrument or a USB cable can join it to everything",
            &[
            "insulation, creepage and clearance by IEC 60664-1, a fuse in every pole that is fed, protective earth on metal that can be touched",
            "measure through certified isolation; work on it only with the supply locked off",
            ],
        ));
    },
};
