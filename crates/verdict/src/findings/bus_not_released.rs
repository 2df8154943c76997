//! A device drives a shared line while another one is selected.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.not-released",
        severity: Severity::Fail,
        title: "A device does not let go of a shared data line",
        explanation: include_str!("pages/bus.not-released.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for s in &scene.system.buses.serials {
        let Some(link) = scene.board.links.get(s.link) else {
            continue;
        };
        for name in &s.holding {
            let device = scene.board.devices.iter().find(|d| &d.name == name);
            let others = link.members.len().saturating_sub(1);
            found.push(
                Finding::new(
                    kind,
                    &link.name,
                    format!(
                        "{name} keeps its data output driven when it is not selected, against {others} other{} on the line",
                        if others == 1 { "" } else { "s" }
                    ),
                )
                .at(device.map(|d| d.span))
                .at(link.span)
                .remedy(format!(
                    "a buffer with an output that can be switched off behind {name}, enabled by its select, such as 74hct125"
                ))
                .remedy(format!("or a bus of its own for {name}")),
            );
        }
    }
}
