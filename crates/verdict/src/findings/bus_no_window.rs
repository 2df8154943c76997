//! No pull-up at all suits a bus.

use finding::{Finding, Kind, Severity};
use system::buses::two_wire::{RISE_TIMES, limits};

use super::{Entry, Scene};
use crate::bus::{farad, hertz, ohm, pull_up_span, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.no-window",
        severity: Severity::Fail,
        title: "No pull-up suits a bus",
        explanation: include_str!("pages/bus.no-window.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (link, s) in segments(scene.board, scene.system) {
        let (Some(low), Some(high)) = (&s.lowest, &s.largest) else {
            continue;
        };
        if !s.has_no_window() {
            continue;
        }
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "the pull-up must be {} at least and {} at most: none is both",
                ohm(low.ohm),
                ohm(high.ohm)
            ),
        )
        .at(pull_up_span(link, s))
        .at(link.span)
        .working(format!("{} ({})", low.working, low.source))
        .working(format!("{} ({})", high.working, high.source));
        if low.ohm.is_finite() && low.ohm > 0.0 {
            let rise_s = limits(s.mode).rise_s;
            f = f.remedy(format!(
                "at most {} on a line: fewer devices, a shorter cable, or a bus repeater in between",
                farad(rise_s / (RISE_TIMES * low.ohm))
            ));
            let slower = board::BusMode::ALL.iter().map(|(_, m)| *m).rfind(|m| {
                *m < s.mode && limits(*m).rise_s / (RISE_TIMES * s.line_farad) >= low.ohm
            });
            if let Some(mode) = slower {
                f = f.remedy(format!(
                    "or mode {}, {} at most",
                    mode.word(),
                    hertz(limits(mode).clock_hz)
                ));
            }
        }
        if let (Some(v), Some((_, sink))) = (s.supply, &s.weakest)
            && high.ohm > 0.0
        {
            f = f.remedy(format!(
                "or drivers that sink {} at {}",
                crate::bus::ampere((v.high - sink.value.low_v) / high.ohm),
                report::number::about(sink.value.low_v, "V")
            ));
        }
        found.push(f);
    }
}
