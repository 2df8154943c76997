//! Heaters.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.heater",
        severity: Severity::Hazard,
        title: "A heater is controlled or measured",
        explanation: include_str!("pages/hazard.heater.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "heater",
            "a heater can burn and set fire when a reading or the firmware is wrong",
            &[
            "a thermal cut-out or fuse in the heater’s own circuit, which no firmware can override",
            "let a broken or shorted sensor switch the heater off: readings beyond the span count as a failure",
            ],
        ));
    },
};
