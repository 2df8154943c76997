//! Causes and symptoms: where the cause of a missed accuracy is told, the
//! missed accuracy is told with it and not once more.

use chain::channel::LIMIT;
use finding::{Finding, Severity};
use report::Verdict;
use uncertainty::propagate;

use crate::judge::Judged;

/// Findings that say why readings of a channel are wrong.
const CAUSES: &[&str] = &[
    "calibration.does-not-transfer",
    "clamp.conducts",
    "converter.code-range",
    "converter.input-leakage",
    "converter.input-loading",
    "firmware.assumed-value",
    "firmware.conversion-differs",
    "firmware.overflow",
    "firmware.straight-line",
    "firmware.truncation",
    "interference.mains-not-rejected",
    "loop.headroom",
    "reference.not-settled",
    "reference.overloaded",
    "reference.span-exceeds",
    "reference.starved",
    "sampling.unsettled",
    "sensor.fixed-auxiliary",
    "sensor.warmed",
    "stage.inner-range",
    "stage.input-range",
    "stage.output-current",
    "stage.output-range",
    "supply.dropout",
];

/// Findings that say only that readings are wrong, or what would make them
/// worse.
const SYMPTOMS: &[&str] = &[
    "accuracy.not-met",
    "accuracy.thin",
    "accuracy.undecided",
    "figure.typical-only",
    "figure.unsourced",
];

/// What is not said of a channel of which one of the others is said: it is
/// the same voltage once more, or no news beside a need that is missed.
const SAID_BETTER: &[(&str, &[&str])] = &[
    (
        "converter.input-range",
        &[
            "converter.input-leakage",
            "reference.span-exceeds",
            "stage.output-range",
        ],
    ),
    // What feeds the sensor is beyond the converter's supply before anything
    // breaks.
    ("fault.damage", &["reference.above-supply"]),
    ("figure.typical-only", &["accuracy.not-met"]),
    ("figure.unsourced", &["accuracy.not-met"]),
    ("reference.above-maximum", &["reference.above-supply"]),
];

/// Every id this file knows.
#[cfg(test)]
pub(super) fn ids() -> impl Iterator<Item = &'static str> {
    CAUSES.iter().chain(SYMPTOMS).copied().chain(
        SAID_BETTER
            .iter()
            .flat_map(|(id, better)| std::iter::once(*id).chain(better.iter().copied())),
    )
}

/// Leaves out what another finding says better, and tells in the cause how
/// far it takes the readings.
pub(super) fn settled(found: Vec<Finding>, judged: &[Judged<'_>]) -> Vec<Finding> {
    let is_cause = |f: &Finding, subject: &str| {
        f.subject == subject && f.severity == Severity::Fail && CAUSES.contains(&f.id.as_str())
    };
    let told_by_a_cause = |f: &Finding| {
        SYMPTOMS.contains(&f.id.as_str())
            && found.iter().any(|c| is_cause(c, &f.subject))
            && !judged
                .iter()
                .any(|j| j.channel.name == f.subject && has_a_spread_of_its_own(j))
    };
    let said_better = |f: &Finding| {
        SAID_BETTER.iter().any(|(id, better)| {
            f.id == *id
                && found
                    .iter()
                    .any(|c| c.subject == f.subject && better.contains(&c.id.as_str()))
        })
    };
    let keep: Vec<bool> = found
        .iter()
        .map(|f| !told_by_a_cause(f) && !said_better(f))
        .collect();
    found
        .into_iter()
        .zip(keep)
        .filter(|(_, keep)| *keep)
        .map(
            |(f, _)| match judged.iter().find(|j| is_cause(&f, &j.channel.name)) {
                Some(j) => with_reach(f, j),
                None => f,
            },
        )
        .collect()
}

/// Whether somewhere what is uncertain alone misses the accuracy, although the
/// readings are right there with every figure at its mean: no cause explains
/// that away.
fn has_a_spread_of_its_own(judged: &Judged<'_>) -> bool {
    let Some(study) = &judged.study else {
        return false;
    };
    let probability = study.board.judging.probability;
    study.model.grid().iter().any(|at| {
        let limit = study.nominal(LIMIT, at);
        propagate(&study.model, at, probability)
            .is_ok_and(|there| there.bias.abs() <= limit && there.k * there.u > limit)
    })
}

/// A cause with the size of what it leads to.
fn with_reach(f: Finding, judged: &Judged<'_>) -> Finding {
    let Some(reach) = judged.reach() else {
        return f;
    };
    let what = if judged.report.verdict == Verdict::Fails {
        "errors reach"
    } else {
        "still, errors stay within"
    };
    f.working(format!(
        "{what} ±{} where ±{} is asked",
        reach.reached, reach.asked
    ))
}
