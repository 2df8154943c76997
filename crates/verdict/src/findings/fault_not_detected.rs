//! A fault that must be told reads like a value.

use finding::{Finding, Kind, Severity};
use report::number;
use system::faults::Told;

use super::{Entry, Scene};
use crate::{faults, words};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "fault.not-detected",
        severity: Severity::Fail,
        title: "A fault that must be told reads like a value",
        explanation: include_str!("pages/fault.not-detected.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for f in &scene.system.faults.channels {
        let Some(channel) = scene.board.channels.get(f.channel) else {
            continue;
        };
        let hidden: Vec<_> = f
            .rows
            .iter()
            .filter(|r| r.must_detect && matches!(r.told, Told::No { .. }))
            .collect();
        let Some(first) = hidden.first() else {
            continue;
        };
        let more = match hidden.len() {
            1 => String::new(),
            n => format!(" ({} more faults)", n - 1),
        };
        let (_, reads) = faults::told(channel, first);
        let place = f
            .terminal
            .and_then(|t| scene.board.terminals.get(t)?.must_detect.span);
        let mut one = Finding::new(
            kind,
            &channel.name,
            format!(
                "{} and reads {reads}, which is taken for real{more}",
                first.what
            ),
        )
        .at(place)
        .at(first.span.filter(|s| Some(*s) != place));
        let (low, high) = f.valid.band;
        one = one.figure(
            "taken for real",
            format!(
                "{} to {}",
                words::value(channel, low),
                words::value(channel, high)
            ),
            f.valid.by.to_owned(),
        );
        for row in &hidden {
            one = one.working(format!(
                "{}: reads {}",
                row.what,
                faults::told(channel, row).1
            ));
        }
        let pull = hidden
            .iter()
            .find_map(|r| system::faults::pull(scene.board, f, r).map(|p| (p, r)));
        if let Some((p, row)) = pull {
            let reads = if p.open_reading.is_finite() {
                format!("then reads {}", words::value(channel, p.open_reading))
            } else {
                "then gives no number".to_owned()
            };
            one = one.remedy(format!(
                "{} from the signal wire to {}: {} {reads}; uncorrected it costs {} of the reading at most",
                number::amount(p.ohm, "Ω"),
                p.to,
                row.what,
                words::size(channel, p.cost, 2)
            ));
        }
        one = one.remedy(
            "or a narrower band of readings taken for real (`valid`), or a second input that sees the wire"
                .to_owned(),
        );
        found.push(one);
    }
}
