//! A device is read faster than it makes numbers.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::second;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.polled-too-fast",
        severity: Severity::Fail,
        title: "A device is read faster than it makes numbers",
        explanation: include_str!("pages/bus.polled-too-fast.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for p in &scene.system.buses.polling.polls {
        let (Some(link), Some(rate), Some(most), Some(conversion)) = (
            scene.board.links.get(p.link),
            p.rate_hz,
            p.fastest_hz(),
            &p.conversion_s,
        ) else {
            continue;
        };
        if !p.is_too_fast() {
            continue;
        }
        let what = if p.is_restarted {
            "each reading restarts the conversion, so it never updates"
        } else {
            "readings in between repeat the number before"
        };
        found.push(
            Finding::new(
                kind,
                &link.name,
                format!(
                    "{} is read every {} and needs up to {} for a number: {what}",
                    p.name,
                    second(1.0 / rate),
                    second(conversion.value)
                ),
            )
            .severity(if p.is_restarted {
                Severity::Fail
            } else {
                Severity::Note
            })
            .at(p.span)
            .at(link.span)
            .figure(
                "conversion time",
                second(conversion.value),
                conversion.source.clone(),
            )
            .working(format!(
                "1/{} = {} readings a second at most",
                second(conversion.value),
                quantity::plain(most, 3)
            ))
            .remedy(format!(
                "read {} every {} or less often: poll = \"{} /s\"",
                p.name,
                second(conversion.value),
                quantity::plain((most * 100.0).floor() / 100.0, 3)
            )),
        );
    }
}
