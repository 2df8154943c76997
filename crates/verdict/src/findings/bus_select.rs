//! Devices of a serial peripheral bus cannot be told apart.

use finding::{Finding, Kind, Severity};
use system::buses::serial::Select;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.select",
        severity: Severity::Fail,
        title: "Devices of a serial bus are not selected apart",
        explanation: include_str!("pages/bus.select.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for s in &scene.system.buses.serials {
        let Some(link) = scene.board.links.get(s.link) else {
            continue;
        };
        let span = |name: &str| {
            link.members
                .iter()
                .find(|m| {
                    scene
                        .board
                        .devices
                        .get(m.port.device)
                        .is_some_and(|d| d.name == name)
                })
                .map(|m| m.span)
        };
        for select in &s.selects {
            let (headline, who) = match select {
                Select::Missing(name) => (
                    format!("{name} shares the bus and has no select of its own"),
                    name,
                ),
                Select::Shared(pin, a, b) => (
                    format!("{a} and {b} are both selected by {pin}: both drive the data line"),
                    b,
                ),
            };
            found.push(
                Finding::new(kind, &link.name, headline)
                    .at(span(who))
                    .at(link.span)
                    .remedy(format!("select = \"PIN\" of its own for {who}")),
            );
        }
    }
}
