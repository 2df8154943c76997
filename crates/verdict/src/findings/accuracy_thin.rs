//! The need is met with little to spare.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};

use super::accuracy_not_met::{budget_lines, with_main_figures};
use super::{Entry, Scene};
use crate::judge::Judged;
use crate::{remedy, words};

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
    let study = judged.study.as_ref()?;
    let worst = judged.evaluation.as_ref()?.worst_sampled()?;
    let limit = worst.limit?;
    let sampled = &worst.sampled;
    let digits = number::digits(sampled.half_width, sampled.half_width_tolerance);
    let reached = study.size(sampled.half_width, digits);
    let wanted = scene.board.judging.accuracy_margin;
    let headline = format!(
        "errors reach ±{reached} of the ±{} asked: {} is left, {} is wanted",
        words::limit(judged.channel, limit),
        number::share(1.0 - sampled.half_width / limit),
        number::share(wanted),
    );
    let mut f = Finding::new(kind, &judged.channel.name, headline).at(judged
        .channel
        .accuracy
        .as_ref()
        .map(|a| a.span));
    for line in budget_lines(judged) {
        f = f.working(line);
    }
    f = with_main_figures(f, judged);
    for line in remedy::tighten(judged, (1.0 - wanted) * limit) {
        f = f.remedy(line);
    }
    Some(f)
}
