//! A converter pin is shared with the radio.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.radio-shared",
        severity: Severity::Note,
        title: "A converter that the radio uses as well",
        explanation: include_str!("pages/pin.radio-shared.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::RadioShared(i) = *t else {
            continue;
        };
        let Some(u) = usage(d, i) else {
            continue;
        };
        let headline = format!(
            "{} is measured at {device}.{}, which cannot be read while the radio runs",
            u.user, u.pin
        );
        found.push(about(kind, u, headline).remedy(
            "a pin of the other converter, or read only while the radio is off".to_owned(),
        ));
    }
}
