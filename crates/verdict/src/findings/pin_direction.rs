//! One user drives a pin that another one hears something else on.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, list, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.direction",
        severity: Severity::Fail,
        title: "A pin is to drive and to listen",
        explanation: include_str!("pages/pin.direction.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::Directions(i, k) = *t else {
            continue;
        };
        let (Some(a), Some(b)) = (usage(d, i), usage(d, k)) else {
            continue;
        };
        let headline = format!(
            "{device}.{} drives one of {} and {} and listens on the other",
            a.pin, a.user, b.user
        );
        found.push(about(kind, b, headline).at(a.span).remedy(format!(
            "a pin for each direction; nothing uses {}",
            list(&d.unused)
        )));
    }
}
