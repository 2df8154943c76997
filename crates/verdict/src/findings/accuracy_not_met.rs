//! The error may be larger than is asked.

use finding::{Finding, Kind, Severity};
use report::{Verdict, number};

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::remedy;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "accuracy.not-met",
        severity: Severity::Fail,
        title: "The accuracy asked is not met",
        explanation: include_str!("pages/accuracy.not-met.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if judged.report.verdict == Verdict::Fails {
            found.extend(finding(kind, scene, judged));
        }
    }
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, judged: &Judged<'_>) -> Option<Finding> {
    let reach = judged.reach()?;
    let headline = format!(
        "errors reach ±{} where ±{} is asked",
        reach.reached, reach.asked
    );
    Some(
        with_budget(kind, judged, headline, reach.limit).remedy(format!(
            "or ask for what this circuit gives: ±{} at {} of the readings",
            reach.reached,
            number::share(scene.board.judging.probability)
        )),
    )
}

/// A finding on a channel's accuracy: how its error comes about, the figures
/// behind it, and what would bring it within `target`, SI.
pub(super) fn with_budget(
    kind: &Kind,
    judged: &Judged<'_>,
    headline: String,
    target: f64,
) -> Finding {
    let place = judged.channel.accuracy.as_ref().map(|a| a.span);
    let mut f = Finding::new(kind, &judged.channel.name, headline).at(place);
    for line in budget_lines(judged) {
        f = f.working(line);
    }
    f = with_main_figures(f, judged);
    for line in remedy::tighten(judged, target) {
        f = f.remedy(line);
    }
    f
}

/// How the half-width comes about at the worst point.
fn budget_lines(judged: &Judged<'_>) -> Vec<String> {
    let (Some(study), Some(evaluation)) = (&judged.study, &judged.evaluation) else {
        return Vec::new();
    };
    let Some(worst) = evaluation.worst_sampled() else {
        return Vec::new();
    };
    let there = &evaluation.propagated_there;
    let at: Vec<String> = judged
        .report
        .worst_at
        .iter()
        .map(|c| format!("{} {}", c.name, number::amount(c.value, &c.unit)))
        .collect();
    let parts: Vec<String> = there
        .contributions
        .iter()
        .take(4)
        .map(|c| study.size(c.contribution.abs(), 3))
        .collect();
    let more = if there.contributions.len() > 4 {
        " ⊕ …"
    } else {
        ""
    };
    let mut lines = vec![
        format!("at {}", at.join(", ")),
        format!(
            "u = {}{more} = {} (⊕: root of the sum of squares)",
            parts.join(" ⊕ "),
            study.size(there.u, 3)
        ),
        format!(
            "propagation: k·u = {} · {} = {}",
            quantity::plain(there.k, 3),
            study.size(there.u, 3),
            study.size(there.expanded, 3)
        ),
    ];
    if there.bias.abs() > 0.05 * worst.sampled.half_width {
        lines.push(format!(
            "with every figure at its mean the error there is already {}",
            study.size(there.bias, 3)
        ));
    }
    if let Some((share, low, high)) = worst.sampled.met {
        lines.push(format!(
            "sampling: {} of the readings are within the limit ({} to {}; {} trials), {} asked",
            number::share(share),
            number::share(low),
            number::share(high),
            worst.sampled.trials,
            number::share(study.board.judging.probability),
        ));
    }
    lines
}

/// The figures behind the largest contributors.
fn with_main_figures(mut f: Finding, judged: &Judged<'_>) -> Finding {
    let (Some(study), Some(evaluation)) = (&judged.study, &judged.evaluation) else {
        return f;
    };
    for c in evaluation.propagated_there.contributions.iter().take(3) {
        let variable = &study.variables[c.input];
        f = f.figure(
            &format!("{} ({})", c.name, number::part(c.share)),
            remedy::limits(variable, 1.0),
            variable.source.clone(),
        );
    }
    f
}
