//! No pin is left for what the file leaves open.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pin.none-left",
        severity: Severity::Fail,
        title: "No pin is left for something that needs one",
        explanation: include_str!("pages/pin.none-left.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for d in &scene.system.pins.devices {
        let Some(device) = scene.board.devices.get(d.device) else {
            continue;
        };
        for need in &d.proposal.without {
            let headline = format!("no free pin of {} can be {need}", device.name);
            found.push(
                Finding::new(kind, &device.name, headline)
                    .at(device.span)
                    .remedy(
                        "free a pin that can: move a channel or a plain wire, or take a part with more pins"
                            .to_owned(),
                    ),
            );
        }
    }
}
