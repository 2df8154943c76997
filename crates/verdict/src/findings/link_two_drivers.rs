//! Two push-pull outputs meet on one pin.

use finding::{Kind, Severity};
use system::pins::Trouble;

use super::{Entry, Scene};
use crate::pin::{about, troubles, usage};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "link.two-drivers",
        severity: Severity::Fail,
        title: "Two outputs drive one wire",
        explanation: include_str!("pages/link.two-drivers.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<finding::Finding>) {
    for (device, d, t) in troubles(scene.board, scene.system) {
        let Trouble::TwoDrivers(i, k) = *t else {
            continue;
        };
        let (Some(a), Some(b)) = (usage(d, i), usage(d, k)) else {
            continue;
        };
        let headline = format!(
            "{device}.{} is driven by two outputs: {} and {}",
            a.pin, a.user, b.user
        );
        found.push(about(kind, b, headline).at(a.span).remedy(
            "one driver for each wire; where both must, open-drain outputs and a pull-up, or a gate"
                .to_owned(),
        ));
    }
}
