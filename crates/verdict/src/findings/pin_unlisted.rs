//! A pin that the part file does not list.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.unlisted",
        severity: Severity::Note,
        title: "A pin that the part file does not list",
        explanation: include_str!("pages/pin.unlisted.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::Unlisted { usage: i, near } = t else {
            continue;
        };
        let Some(u) = usage(d, *i) else {
            continue;
        };
        let headline = format!(
            "{} uses {device}.{}, which the part file does not list: what it can do is not judged",
            u.user, u.pin
        );
        let mut f = about(kind, u, headline);
        if let Some(near) = near {
            f = f.remedy(format!("if {near} is meant, write that"));
        }
        found.push(f.remedy("add the pin with its functions to a part of your own".to_owned()));
    }
}
