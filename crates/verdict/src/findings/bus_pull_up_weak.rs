//! The pull-ups of a bus raise its lines too slowly.

use finding::{Finding, Kind, Severity};
use quantity::Series;

use super::{Entry, Scene};
use crate::bus::{farad, ohm, proposals, pull_up_span, second, segments, shorter_cable};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.pull-up-weak",
        severity: Severity::Fail,
        title: "The pull-ups of a bus are too weak",
        explanation: include_str!("pages/bus.pull-up-weak.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let wanted = scene.board.judging.window_margin;
    for (link, s) in segments(scene.board, scene.system) {
        let (Some(fitted), Some(largest)) = (s.fitted, s.largest.as_ref()) else {
            continue;
        };
        if 1.0 - fitted.high / largest.ohm >= wanted || s.has_no_window() {
            continue;
        }
        let fails = s.is_too_weak() == Some(true);
        let rise_limit = system::buses::two_wire::limits(s.mode).rise_s;
        // Either the rise time or the inputs' current sets the largest one.
        let by_rise = s
            .rise_s
            .is_some_and(|r| (r * largest.ohm / (fitted.high * rise_limit) - 1.0).abs() < 0.02);
        let rises = s.rise_s.filter(|_| by_rise).map_or_else(
            || {
                ": beyond it the current that the inputs take pulls the high level too low"
                    .to_owned()
            },
            |r| {
                format!(
                    ": {} on {} rise in {}, {} in mode {}",
                    farad(s.line_farad),
                    ohm(fitted.high),
                    second(r),
                    second(rise_limit),
                    s.mode.word()
                )
            },
        );
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "the pull-up is {}, {} at most{}{rises}",
                ohm(fitted.nominal),
                ohm(largest.ohm),
                if fails { "" } else { ", little left" }
            ),
        )
        .severity(if fails {
            Severity::Fail
        } else {
            Severity::Thin
        })
        .at(pull_up_span(link, s))
        .at(link.span)
        .working(format!("{} ({})", largest.working, largest.source));
        let parts: Vec<String> = s
            .shares
            .iter()
            .map(|(name, c)| format!("{name} {}", farad(*c)))
            .collect();
        if !parts.is_empty() {
            f = f.working(format!(
                "C = {} = {}",
                parts.join(" + "),
                farad(s.line_farad)
            ));
        }
        for line in proposals(s) {
            f = f.remedy(line);
        }
        if let Some(c) = s.proposal.farad.filter(|_| by_rise) {
            f = f.remedy(format!(
                "or at most {} on a line with {}",
                farad(c),
                ohm(fitted.high)
            ));
        }
        if let Some(line) = s
            .proposal
            .farad
            .filter(|_| by_rise)
            .and_then(|most| shorter_cable(link, s, most))
        {
            f = f.remedy(line);
        }
        if let Some(mode) = s.proposal.slower.filter(|_| by_rise) {
            f = f.remedy(format!(
                "or mode {}, {} at most",
                mode.word(),
                crate::bus::hertz(system::buses::two_wire::limits(mode).clock_hz)
            ));
        }
        found.push(f);
    }
    for w in &scene.system.buses.singles {
        let Some(link) = scene.board.links.get(w.link) else {
            continue;
        };
        let (Some(fitted), Some(largest), Some(rise)) = (w.fitted, &w.largest, w.rise_s) else {
            continue;
        };
        if fitted.high <= largest.value * (1.0 + 1e-9) {
            continue;
        }
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "the pull-up is {}, {} at most: the wire of {} reads high after {}, {} are left",
                ohm(fitted.nominal),
                ohm(largest.value),
                farad(w.line_farad),
                second(rise),
                second(w.time_s)
            ),
        )
        .at(link.pull_ups.first().map(|p| p.span))
        .at(link.span)
        .working(format!("R_high = {}", largest.source));
        if let Some(value) = Series::E12.at_most(largest.value)
            && w.lowest.as_ref().is_none_or(|l| value >= l.value)
        {
            f = f.remedy(format!("a pull-up of {}", ohm(value)));
        }
        if let Some(m) = w.longest_m.filter(|m| *m > 0.0) {
            f = f.remedy(format!(
                "or a cable of at most {}",
                report::number::measured(m, "m", 2)
            ));
        }
        found.push(f);
    }
}
