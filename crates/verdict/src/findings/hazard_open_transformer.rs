//! Current transformers whose secondary may be opened.

use finding::{Kind, Severity};

use super::Entry;
use crate::caution;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "hazard.open-transformer",
        severity: Severity::Hazard,
        title: "A current transformer must not be opened",
        explanation: include_str!("pages/hazard.open-transformer.md"),
    },
    look: |kind, scene, found| {
        let channels: Vec<_> = scene
            .board
            .channels
            .iter()
            .filter(|c| c.sensor.law == "current-transformer")
            .collect();
        if channels.is_empty() {
            return;
        }
        let names: Vec<&str> = channels.iter().map(|c| c.name.as_str()).collect();
        let places: Vec<_> = channels.iter().map(|c| c.sensor.span).collect();
        found.push(caution::hazard(
            kind,
            format!(
                "{}: an open secondary drives itself to hundreds of volts while the primary carries current",
                names.join(", ")
            ),
            &places,
            &[
                "solder the burden to the transformer, ahead of every plug and fuse, or clamp the secondary with two anti-parallel suppressors",
                "short the secondary before the burden is taken off",
            ],
        ));
    },
};
