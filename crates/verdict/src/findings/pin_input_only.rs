//! A pin that only listens is to drive.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, instead, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.input-only",
        severity: Severity::Fail,
        title: "A pin that only listens is to drive",
        explanation: include_str!("pages/pin.input-only.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::InputOnly { usage: i, others } = t else {
            continue;
        };
        let Some(u) = usage(d, *i) else {
            continue;
        };
        let headline = format!(
            "{} drives {device}.{}, which is an input only",
            u.user, u.pin
        );
        found.push(instead(about(kind, u, headline), others));
    }
}
