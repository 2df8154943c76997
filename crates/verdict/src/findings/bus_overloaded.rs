//! A bus has more to carry than time.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::{hertz, second};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.overloaded",
        severity: Severity::Fail,
        title: "A bus has more to carry than its clock allows",
        explanation: include_str!("pages/bus.overloaded.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let wanted = scene.board.judging.window_margin;
    for o in &scene.system.buses.polling.occupied {
        let Some(link) = scene.board.links.get(o.link) else {
            continue;
        };
        if o.share <= 1.0 - wanted {
            continue;
        }
        let fails = o.share > 1.0;
        let each: Vec<String> =
            o.of.iter()
                .map(|(name, hz, s)| format!("{name} {} × {}", quantity::plain(*hz, 3), second(*s)))
                .collect();
        let clock = link.clock_hz.as_ref().map_or(0.0, |c| c.value);
        found.push(
            Finding::new(
                kind,
                &link.name,
                format!(
                    "all readings together take {} of the time on the bus",
                    report::number::share(o.share)
                ),
            )
            .severity(if fails {
                Severity::Fail
            } else {
                Severity::Thin
            })
            .at(link.poll_hz.as_ref().map(|p| p.span))
            .at(link.clock_hz.as_ref().map(|c| c.span))
            .at(link.span)
            .working(format!(
                "{} = {}",
                each.join(" + "),
                report::number::share(o.share)
            ))
            .remedy(format!(
                "a clock of {} or more, or readings that are rarer by the factor {}",
                hertz(clock * o.share / (1.0 - wanted)),
                quantity::plain(o.share / (1.0 - wanted), 3)
            )),
        );
    }
}
