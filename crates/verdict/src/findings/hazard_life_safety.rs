//! Readings on which a life may depend.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.life-safety",
        severity: Severity::Hazard,
        title: "A life may depend on a reading",
        explanation: include_str!("pages/hazard.life-safety.md"),
    },
    look: |kind, scene, found| {
        let channels: Vec<_> = scene
            .board
            .channels
            .iter()
            .filter(|c| c.life_safety)
            .collect();
        if channels.is_empty() {
            return;
        }
        let names: Vec<&str> = channels.iter().map(|c| c.name.as_str()).collect();
        let places: Vec<_> = channels.iter().map(|c| c.place).collect();
        found.push(caution::hazard(
            kind,
            format!(
                "a life may depend on {}: such a reading is no alarm and no protection",
                names.join(", ")
            ),
            &places,
            &[
                "certified equipment for the purpose, independent of this board",
                "let every failure be seen: a broken wire, a stuck value and a dead board must not look safe",
            ],
        ));
    },
};
