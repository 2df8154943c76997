//! An atmosphere that can burn.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.explosive-gas",
        severity: Severity::Hazard,
        title: "The board may stand in an explosive atmosphere",
        explanation: include_str!("pages/hazard.explosive-gas.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "explosive-gas",
            "gas, vapour or dust that can burn: only certified apparatus may stand there",
            &[
            "keep this board and its wires outside the hazardous zone, or behind certified barriers with certified sensors",
            "have voltage, current, power, capacitance and inductance of every circuit into the zone compared with the barrier’s limits",
            ],
        ));
    },
};
