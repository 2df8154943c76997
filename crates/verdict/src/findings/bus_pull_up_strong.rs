//! The pull-ups of a bus ask more of its drivers than they sink.

use finding::{Finding, Kind, Severity};

use super::{Entry, Scene};
use crate::bus::{ampere, boards, ohm, proposals, pull_up_span, segments};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.pull-up-strong",
        severity: Severity::Fail,
        title: "The pull-ups of a bus are too strong",
        explanation: include_str!("pages/bus.pull-up-strong.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let wanted = scene.board.judging.window_margin;
    for (link, s) in segments(scene.board, scene.system) {
        let (Some(fitted), Some(lowest)) = (s.fitted, s.lowest.as_ref()) else {
            continue;
        };
        let margin = fitted.low / lowest.ohm - 1.0;
        if margin >= wanted || s.has_no_window() {
            continue;
        }
        let fails = s.is_too_strong() == Some(true);
        let sinking = s
            .sink_a
            .zip(s.weakest.as_ref())
            .map(|(a, (name, sink))| (a, sink.value.current_a, sink.value.low_v, name));
        let asks = sinking
            .as_ref()
            .map_or_else(String::new, |(a, limit, low, name)| {
                format!(
                    ": {} to sink for a low of {}, {:.1} times the {} of {name}",
                    ampere(*a),
                    report::number::about(*low, "V"),
                    a / limit,
                    ampere(*limit)
                )
            });
        let count = if s.pull_ups.len() > 1 {
            format!("{} pull-ups in parallel are ", s.pull_ups.len())
        } else {
            "the pull-up is ".to_owned()
        };
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "{count}{}, {} at least{}{asks}",
                ohm(fitted.nominal),
                ohm(lowest.ohm),
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
        .working(format!("{} ({})", lowest.working, lowest.source));
        if let Some((name, sink)) = &s.weakest {
            f = f.figure(
                &format!("{name}: sinks"),
                ampere(sink.value.current_a),
                sink.source.clone(),
            );
        }
        for line in proposals(s) {
            f = f.remedy(line);
        }
        if let Some(line) = boards(s) {
            f = f.remedy(line);
        }
        found.push(f);
    }
    for w in &scene.system.buses.singles {
        let Some(link) = scene.board.links.get(w.link) else {
            continue;
        };
        if let (Some(fitted), Some(lowest)) = (w.fitted, &w.lowest)
            && fitted.low < lowest.value * (1.0 - 1e-9)
        {
            found.push(
                Finding::new(
                    kind,
                    &link.name,
                    format!(
                        "the pull-up is {}, {} at least",
                        ohm(fitted.nominal),
                        ohm(lowest.value)
                    ),
                )
                .at(link.pull_ups.first().map(|p| p.span))
                .at(link.span)
                .working(format!("R_low = {}", lowest.source))
                .remedy(format!("a pull-up of {} or more", ohm(lowest.value))),
            );
        }
    }
}
