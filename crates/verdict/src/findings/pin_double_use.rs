//! Two users want one pin.

use finding::{Kind, Severity};
use system::pins::{Trouble, free_for};

use super::{Entry, Scene};
use crate::pin::{about, list, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.double-use",
        severity: Severity::Fail,
        title: "A pin has two users",
        explanation: include_str!("pages/pin.double-use.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::DoubleUse(i, k) = *t else {
            continue;
        };
        let (Some(a), Some(b)) = (usage(d, i), usage(d, k)) else {
            continue;
        };
        let headline = format!("{device}.{} is used by {} and by {}", a.pin, a.user, b.user);
        let mut f = about(kind, b, headline).at(a.span);
        let part = scene.board.devices.get(d.device).map(|d| &d.part);
        for u in [a, b] {
            let free = part.map_or_else(Vec::new, |p| free_for(p, d, u));
            if !free.is_empty() {
                f = f.remedy(format!(
                    "free pins that would do for {}: {}",
                    u.user,
                    list(&free)
                ));
            }
        }
        found.push(f);
    }
}
