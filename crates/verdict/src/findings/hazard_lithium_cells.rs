//! Lithium cells.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.lithium-cells",
        severity: Severity::Hazard,
        title: "Lithium cells are on the board or measured by it",
        explanation: include_str!("pages/hazard.lithium-cells.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "lithium-cells",
            "lithium cells burn when overcharged, shorted, crushed or charged in the cold; no reading of this board protects them",
            &[
            "a protection circuit of its own on every pack: charge limit of the cells’ maker (4.2 V per cell ± 1 % is usual), over-current, over-temperature, no charging below 0 °C",
            "a fuse at the pack’s terminals, before the first wire of this board; each sense wire through its own resistor or fuse at the cell",
            ],
        ));
    },
};
