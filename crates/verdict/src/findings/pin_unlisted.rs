//! A pin that the part file does not list.

use finding::{Finding, Kind, Severity};
use system::pins::{PinUse, Trouble};

use super::{Entry, Scene};
use crate::pin::list;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.unlisted",
        severity: Severity::Note,
        title: "A pin that the part file does not list",
        explanation: include_str!("pages/pin.unlisted.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for d in &scene.system.pins.devices {
        let Some(device) = scene.board.devices.get(d.device) else {
            continue;
        };
        let uses: Vec<&PinUse> = d
            .troubles
            .iter()
            .filter_map(|t| match t {
                Trouble::Unlisted(i) => d.uses.get(*i),
                _ => None,
            })
            .collect();
        let Some(first) = uses.first() else {
            continue;
        };
        let mut names: Vec<String> = uses.iter().map(|u| u.pin.clone()).collect();
        names.dedup();
        let headline = format!(
            "the part file of {} does not list {}: what {} can do is not judged",
            device.name,
            list(&names),
            if names.len() == 1 { "it" } else { "they" }
        );
        let mut f = Finding::new(kind, &device.name, headline).at(first.span);
        for u in uses.iter().skip(1) {
            f = f.at(u.span);
        }
        for u in &uses {
            f = f.working(format!("{} is used by {}", u.pin, u.user));
        }
        found.push(
            f.remedy(
                "if the names are right, add the pins with their functions to a part of your own"
                    .to_owned(),
            ),
        );
    }
}
