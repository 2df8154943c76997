//! The clocks of an asynchronous line differ too much.

use finding::{Finding, Kind, Severity};
use report::number::relative;
use system::buses::serial::OVERSAMPLING;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "bus.clock-error",
        severity: Severity::Fail,
        title: "The clocks of an asynchronous line differ too much",
        explanation: include_str!("pages/bus.clock-error.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    let wanted = scene.board.judging.window_margin;
    for a in &scene.system.buses.asynchronous {
        let Some(link) = scene.board.links.get(a.link) else {
            continue;
        };
        let together = a.together();
        if together <= a.permitted * (1.0 - wanted) {
            continue;
        }
        let fails = together > a.permitted;
        let mut f = Finding::new(
            kind,
            &link.name,
            format!(
                "the clocks differ by up to {}, {} at most{}",
                relative(together, 2),
                relative(a.permitted, 2),
                if fails { "" } else { ", little left" }
            ),
        )
        .severity(if fails {
            Severity::Fail
        } else {
            Severity::Thin
        })
        .at(a.span)
        .at(link.span)
        .figure("near end", relative(a.near.value, 2), a.near.source.clone())
        .figure("far end", relative(a.far.value, 2), a.far.source.clone())
        .working(format!(
            "(1/2 − 1/{OVERSAMPLING})/({} − 1/2) = {} (common practice)",
            a.frame_bits,
            relative(a.permitted, 3)
        ));
        let left = a.permitted - a.near.value;
        if left > 0.0 {
            f = f.remedy(format!(
                "a far end that keeps its clock within {}",
                relative(left, 2)
            ));
        } else {
            f = f.remedy(
                "a rate that a whole divider makes of the clock, or another clock".to_owned(),
            );
        }
        found.push(f);
    }
}
