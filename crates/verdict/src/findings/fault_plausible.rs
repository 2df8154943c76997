//! Faults of wires that read like values.

use finding::{Finding, Kind, Severity};
use system::faults::Told;

use super::{Entry, Scene};
use crate::faults;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "fault.plausible",
        severity: Severity::Note,
        title: "Faults of wires read like values",
        explanation: include_str!("pages/fault.plausible.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let mut names: Vec<String> = Vec::new();
    let mut lines = Vec::new();
    let mut places = Vec::new();
    for f in &scene.system.faults.channels {
        let Some(channel) = scene.board.channels.get(f.channel) else {
            continue;
        };
        // Who says nothing of a sensor's wires asks nothing of them; `leastbit
        // faults` has them all the same.
        let terminals = &scene.board.terminals;
        if !terminals.iter().any(|t| t.channel == f.channel) {
            continue;
        }
        for row in &f.rows {
            if !row.judged || row.must_detect || !matches!(row.told, Told::No { .. }) {
                continue;
            }
            if !names.contains(&channel.name) {
                names.push(channel.name.clone());
                places.extend(row.span);
            }
            lines.push(format!(
                "{}: {}: reads {}",
                channel.name,
                row.what,
                faults::told(channel, row).1
            ));
        }
    }
    if lines.is_empty() {
        return;
    }
    let count = lines.len();
    let mut f = Finding::new(
        kind,
        "",
        format!(
            "{} of {} {} like a value: nothing in the firmware can tell",
            if count == 1 {
                "a fault of the wires".to_owned()
            } else {
                format!("{count} faults of the wires")
            },
            crate::words::listed(&names),
            if count == 1 { "reads" } else { "read" }
        ),
    );
    for place in places {
        f = f.at(place);
    }
    let more = count.saturating_sub(SHOWN);
    for line in lines.into_iter().take(SHOWN) {
        f = f.working(line);
    }
    if more > 0 {
        f = f.working(format!("and {more} more; `leastbit faults` lists them"));
    }
    found.push(f.remedy(
        "where it matters, [terminals.NAME] must-detect = true: what to change is then worked out"
            .to_owned(),
    ));
}

/// Lines shown.
const SHOWN: usize = 6;
