//! Devices of a serial peripheral bus want different modes.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.spi-mode",
        severity: Severity::Fail,
        title: "The devices of a serial bus want another mode",
        explanation: include_str!("pages/bus.spi-mode.md"),
    },
    look,
};

fn list(modes: &[u8]) -> String {
    let each: Vec<String> = modes.iter().map(u8::to_string).collect();
    each.join(" or ")
}

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for s in &scene.system.buses.serials {
        let Some(link) = scene.board.links.get(s.link) else {
            continue;
        };
        if s.unlike.is_empty() {
            continue;
        }
        let each: Vec<String> = s
            .unlike
            .iter()
            .map(|(name, modes)| format!("{name} takes mode {}", list(modes)))
            .collect();
        let headline = match s.mode {
            Some(mode) => format!("the bus runs in mode {mode}, {}", each.join(", ")),
            None => format!("no mode suits all: {}", each.join(", ")),
        };
        let mut f = Finding::new(kind, &link.name, headline)
            .at(link.spi_mode.as_ref().map(|m| m.span))
            .at(link.span);
        f = match s.modes.as_deref() {
            Some(common) if !common.is_empty() => f.remedy(format!("mode = {}", common[0])),
            _ => f.remedy(
                "set the mode anew before each selection, or give each mode a bus of its own"
                    .to_owned(),
            ),
        };
        found.push(f);
    }
}
