//! Connection to a body.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.patient",
        severity: Severity::Hazard,
        title: "Something is connected to a body",
        explanation: include_str!("pages/hazard.patient.md"),
    },
    look: |kind, scene, found| {
        found.extend(caution::of_danger(
            kind,
            scene,
            "patient",
            "an electrode or sensor on a body: microamperes through the heart kill, and only certified apparatus may be connected",
            &[
            "isolation and leakage currents by IEC 60601-1, proven on the whole apparatus by an accredited laboratory",
            "until then nothing that has a connection to the mains, a charger or a computer",
            ],
        ));
    },
};
