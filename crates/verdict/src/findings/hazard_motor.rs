//! Motors and pumps.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.motor",
        severity: Severity::Hazard,
        title: "A motor is controlled or measured",
        explanation: include_str!("pages/hazard.motor.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "motor",
            "a motor can start by itself, catch fingers and drive its voltage back into the board",
            &[
            "an emergency stop and an isolator that act on the motor’s own supply, not through the firmware",
            "a path for the energy it feeds back when it brakes",
            ],
        ));
    },
};
