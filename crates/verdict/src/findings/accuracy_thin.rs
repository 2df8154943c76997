//! The need is met with little to spare.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};

use super::accuracy_not_met::with_budget;
use super::{Entry, Scene};
use crate::judge::Judged;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "accuracy.thin",
        severity: Severity::Thin,
        title: "The accuracy is met with little margin",
        explanation: include_str!("pages/accuracy.thin.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if judged.report.verdict == Verdict::Thin {
            found.extend(finding(kind, scene, judged));
        }
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, judged: &Judged<'_>) -> Option<Finding> {
    let reach = judged.reach()?;
    let wanted = scene.board.judging.accuracy_margin;
    let headline = format!(
        "errors reach ±{} of the ±{} asked: {} is left, {} is wanted",
        reach.reached,
        reach.asked,
        number::share(1.0 - reach.share),
        number::share(wanted),
    );
    Some(with_budget(
        kind,
        judged,
        headline,
        (1.0 - wanted) * reach.limit,
    ))
}
