//! A pin stays on the carrier.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, instead, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.not-exposed",
        severity: Severity::Fail,
        title: "The carrier does not bring a pin out",
        explanation: include_str!("pages/pin.not-exposed.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::NotExposed { usage: i, others } = t else {
            continue;
        };
        let Some(u) = usage(d, *i) else {
            continue;
        };
        let headline = format!(
            "{} uses {device}.{}, which the carrier does not bring out",
            u.user, u.pin
        );
        found.push(instead(about(kind, u, headline), others));
    }
}
