//! A pin is read at the start.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.strapping",
        severity: Severity::Note,
        title: "A pin also decides how the controller starts",
        explanation: include_str!("pages/pin.strapping.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::Strapping(i) = *t else {
            continue;
        };
        let Some(u) = usage(d, i) else {
            continue;
        };
        let headline = format!(
            "{} is at {device}.{}, whose level decides how the controller starts",
            u.user, u.pin
        );
        found.push(about(kind, u, headline).remedy(
            "see that nothing pulls it the other way while the controller starts, or take another pin"
                .to_owned(),
        ));
    }
}
