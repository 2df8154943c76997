//! Gas that takes the place of air.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.asphyxiating-gas",
        severity: Severity::Hazard,
        title: "Gas that can suffocate may gather",
        explanation: include_str!("pages/hazard.asphyxiating-gas.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "fermentation-gas",
            "fermentation gas (carbon dioxide) can gather and kill; no reading of this board is an alarm",
            &[
            "a certified alarm with its own sensor, supply and siren, at the height where the gas gathers (carbon dioxide: near the floor)",
            "ventilation that does not depend on this board; nobody enters alone",
            ],
        ));
    },
};
