//! Nothing says what a device draws from a rail that has a limit.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rail.load-unknown",
        severity: Severity::Note,
        title: "Nothing says what a device draws",
        explanation: include_str!("pages/rail.load-unknown.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for &(rail, device) in &scene.system.rails.loads.unknown {
        let (Some(r), Some(d)) = (scene.board.rails.get(rail), scene.board.devices.get(device))
        else {
            continue;
        };
        // Who says what the rail may give, or must last, wants to know the sum.
        let limited = r.limit_a.is_some()
            || r.power.battery.is_some()
            || r.power
                .connector
                .as_ref()
                .is_some_and(|c| c.each_a.is_some());
        if !limited || d.part.kind == "transistor" {
            continue;
        }
        found.push(
            Finding::new(
                kind,
                &r.name,
                format!(
                    "nothing says what {} draws: the current of rail {} is without it",
                    d.name, r.name
                ),
            )
            .at(d.span)
            .remedy(format!(
                "write what it draws as the firmware uses it, `current = \"20 mA to 40 mA\"`, with the table of {}",
                d.name
            )),
        );
    }
}
