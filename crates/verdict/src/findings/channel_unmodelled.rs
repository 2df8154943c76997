//! A channel uses something that has no equations.

use finding::{Finding, Kind, Severity};
use report::Verdict;

use super::{Entry, Scene};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "channel.unmodelled",
        severity: Severity::Fail,
        title: "A channel cannot be judged",
        explanation: include_str!("pages/channel.unmodelled.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if judged.report.verdict == Verdict::Unmodelled {
            let reason = &judged.report.reason;
            let f = Finding::new(
                kind,
                &judged.channel.name,
                format!("cannot be judged: {reason}"),
            )
            .at(judged.obstacle)
            .at(judged.channel.place);
            // A network without a solution names its cure itself.
            found.push(if reason.ends_with("would fix it") {
                f
            } else {
                f.remedy(
                    "describe the channel without it, and add what it contributes under \
                     `other` with its size"
                        .to_owned(),
                )
            });
        }
    }
}
