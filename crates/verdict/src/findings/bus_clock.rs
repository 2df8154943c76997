//! A bus is clocked faster than one of its ends bears.

use finding::{Finding, Kind, Severity};
use system::buses::two_wire::limits;

use super::{Entry, Scene};
use crate::bus::{hertz, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.clock",
        severity: Severity::Fail,
        title: "A bus is clocked faster than one of its ends bears",
        explanation: include_str!("pages/bus.clock.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (link, s) in segments(scene.board, scene.system) {
        let place = link.clock_hz.as_ref().map(|c| c.span);
        let most = limits(s.mode).clock_hz;
        if s.clock_hz > most * (1.0 + 1e-9) {
            found.push(
                Finding::new(
                    kind,
                    &link.name,
                    format!(
                        "{} in mode {}, {} at most",
                        hertz(s.clock_hz),
                        s.mode.word(),
                        hertz(most)
                    ),
                )
                .at(place)
                .at(link.span)
                .figure("most", hertz(most), "UM10204, table 10".to_owned())
                .remedy(format!("clock = \"{}\"", report::number::about(most, "Hz"))),
            );
        }
        for c in &s.contacts {
            let Some(range) = &c.clock_hz else { continue };
            let (low, high) = range.value;
            if s.clock_hz > high * (1.0 + 1e-9) {
                found.push(too_fast(
                    kind,
                    link,
                    &c.name,
                    s.clock_hz,
                    high,
                    &range.source,
                ));
            } else if s.clock_hz < low * (1.0 - 1e-9) {
                found.push(
                    Finding::new(
                        kind,
                        &link.name,
                        format!(
                            "{}, and {} asks for {} at least",
                            hertz(s.clock_hz),
                            c.name,
                            hertz(low)
                        ),
                    )
                    .at(place)
                    .at(link.span)
                    .figure("least", hertz(low), range.source.clone())
                    .remedy(format!("clock = \"{}\"", report::number::about(low, "Hz"))),
                );
            }
        }
    }
    for s in &scene.system.buses.serials {
        let (Some(link), Some(clock)) = (scene.board.links.get(s.link), s.clock_hz) else {
            continue;
        };
        for l in &s.limits {
            if clock > l.hz * (1.0 + 1e-9) {
                found.push(too_fast(kind, link, &l.name, clock, l.hz, &l.source));
            }
        }
    }
}

fn too_fast(
    kind: &Kind,
    link: &board::Link,
    who: &str,
    clock_hz: f64,
    most_hz: f64,
    source: &str,
) -> Finding {
    Finding::new(
        kind,
        &link.name,
        format!(
            "{}, and {who} bears {} at most",
            hertz(clock_hz),
            hertz(most_hz)
        ),
    )
    .at(link.clock_hz.as_ref().map(|c| c.span))
    .at(link.span)
    .figure(&format!("{who}: most"), hertz(most_hz), source.to_owned())
    .remedy(format!(
        "clock = \"{}\", the fastest that it bears",
        report::number::about(most_hz, "Hz")
    ))
}
