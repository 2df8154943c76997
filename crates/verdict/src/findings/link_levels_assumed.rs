//! A part names no thresholds of its own.

use finding::{Kind, Severity};

use super::{Entry, Scene};
use crate::link::{about_pair, pairs, volt};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.levels-assumed",
        severity: Severity::Note,
        title: "A part names no logic levels, and the usual ones were taken",
        explanation: include_str!("pages/link.levels-assumed.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    let mut said: Vec<usize> = Vec::new();
    for (link, _, p) in pairs(scene.board, scene.system) {
        let (high, low) = (&p.understood.high, &p.understood.low);
        let assumed = !high.threshold.origin.is_given() || !low.threshold.origin.is_given();
        if !assumed || said.contains(&p.devices.1) {
            continue;
        }
        said.push(p.devices.1);
        let headline = format!(
            "the part of {} names no input levels: {} and {} were taken, 0.3 and 0.7 of its supply",
            p.receiver,
            volt(low.threshold_v),
            volt(high.threshold_v)
        );
        found.push(
            about_pair(kind, scene.board, link, p, headline)
                .working(high.threshold.origin.text())
                .remedy(
                    "write input-low and input-high from its data sheet into its figures"
                        .to_owned(),
                ),
        );
    }
}
