//! A cable is too long for the clock.

use finding::{Finding, Kind, Severity};
use system::buses::two_wire::delay_left;

use super::{Entry, Scene};
use crate::bus::{hertz, hertz_at_most, second, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.cable-delay",
        severity: Severity::Fail,
        title: "The answers of a bus come too late for its clock",
        explanation: include_str!("pages/bus.cable-delay.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for s in &scene.system.buses.serials {
        let (Some(link), Some(clock)) = (scene.board.links.get(s.link), s.clock_hz) else {
            continue;
        };
        if clock <= s.fastest_hz * (1.0 + 1e-9) {
            continue;
        }
        let t = &s.trip;
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{} there and back, {} of a period of {} are {}: {} at most",
                second(t.total_s()),
                report::number::share(s.share),
                hertz(clock),
                second(s.share / clock),
                hertz(s.fastest_hz)
            ),
        )
        .at(s.span)
        .at(link.cable.as_ref().map(|c| c.span))
        .working(format!(
            "t = 2 × {} cable + {} drivers + {} until data are valid + {} set-up = {}",
            second(t.cable_s),
            second(t.drivers_s),
            second(t.valid_s),
            second(t.set_up_s),
            second(t.total_s())
        ))
        .working(
            "data that the controller sends travel with its clock and have no such limit"
                .to_owned(),
        )
        .remedy(format!(
            "clock = \"{}\" or less",
            hertz_at_most(s.fastest_hz)
        ));
        if let Some(m) = s.longest_m.filter(|m| *m > 0.0) {
            f = f.remedy(format!(
                "or a cable of at most {}",
                report::number::measured(m, "m", 3)
            ));
        }
        found.push(f);
    }
    for (link, s) in segments(scene.board, scene.system) {
        let Some(trip) = s.round_trip_s else { continue };
        let left = delay_left(s.mode, s.clock_hz);
        if trip <= left {
            continue;
        }
        found.push(
            Finding::new(
                kind,
                &link.name,
                format!(
                    "{} there and back through the cable, {} are left in a low of the clock in mode {}",
                    second(trip),
                    second(left.max(0.0)),
                    s.mode.word()
                ),
            )
            .at(link.cable.as_ref().map(|c| c.span))
            .at(link.span)
            .figure(
                "left",
                second(left.max(0.0)),
                "UM10204, table 10: t_LOW − t_VD;DAT − t_SU;DAT".to_owned(),
            )
            .remedy("a slower clock or a shorter cable".to_owned()),
        );
    }
}
