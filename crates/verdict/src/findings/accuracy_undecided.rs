//! The trials made cannot tell whether the need is met.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};

use super::accuracy_not_met::with_budget;
use super::{Entry, Scene};
use crate::judge::Judged;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "accuracy.undecided",
        severity: Severity::Thin,
        title: "Whether the accuracy is met cannot be told",
        explanation: include_str!("pages/accuracy.undecided.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if judged.report.verdict == Verdict::Undecided {
            found.extend(finding(kind, scene, judged));
        }
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, judged: &Judged<'_>) -> Option<Finding> {
    let worst = judged.evaluation.as_ref()?.worst_sampled()?;
    let (_, low, high) = worst.sampled.met?;
    let limit = worst.limit?;
    let headline = format!(
        "between {} and {} of the readings are within ±{}; {} is asked",
        number::share(low),
        number::share(high),
        words::limit(judged.channel, limit),
        number::share(scene.board.judging.probability),
    );
    Some(
        with_budget(kind, judged, headline, 0.98 * limit)
            .remedy("treat it as not met: the design stands exactly on its limit".to_owned()),
    )
}
