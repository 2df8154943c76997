//! Within tolerance the codes end before the span does.

use finding::{Finding, Kind, Severity};
use report::number;

use super::reference_span_exceeds::is_nominally_beyond;
use super::{Entry, Scene};
use crate::limits;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "converter.code-range",
        severity: Severity::Fail,
        title: "Some boards run out of codes before the end of the span",
        explanation: include_str!("pages/converter.code-range.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
}

/// Share of the span that may be lost where no accuracy is asked.
const OF_SPAN: f64 = 0.01;

/// Value from which on the codes have ended on the worst board, and the end
/// of the span, where more than the accuracy lies between.
pub(crate) fn lost_from(study: &Study<'_>, looked: &limits::Looked<'_>) -> Option<(f64, f64)> {
    let (low, high) = study.channel.span.value;
    let q = looked.worst_from.filter(|_| looked.worst.margin < 0.0)?;
    let end = if looked.at_low_end { low } else { high };
    let permitted = study
        .channel
        .limit_at(end)
        .unwrap_or(OF_SPAN * (high - low));
    ((end - q).abs() > permitted).then_some((q, end))
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    if is_nominally_beyond(study) {
        return None;
    }
    let (low, high) = study.channel.span.value;
    let (first, last) = study.codes?;
    study
        .checks
        .iter()
        .filter(|c| matches!(c.kind, "code-low" | "code-high"))
        .find_map(|check| {
            let looked = limits::look(study, check);
            let (q, end) = lost_from(study, &looked)?;
            let lost = (end - q).abs();
            let codes = (looked.worst.actual - looked.worst.limit).abs();
            let share = (last - first) / (last - first + codes);
            let mut f = Finding::new(
                kind,
                &study.channel.name,
                format!(
                    "on the worst board the codes end at {}: {} of the span is lost, from there on every reading is the same",
                    study.value(q),
                    study.size(lost, 3),
                ),
            )
            .at(study.channel.span.span)
            .at(study.channel.reference.as_ref().map(|r| r.span))
            .working(format!(
                "code at {} = {} with everything nominal, {} with every figure at the limit that hurts, of {}",
                study.value(end),
                number::count(looked.nominal.actual),
                number::count(looked.worst.actual),
                number::count(looked.worst.limit)
            ));
            if check.kind == "code-high" {
                f = f.remedy(format!(
                    "a signal smaller by the factor {} (gain, divider or resistor)",
                    quantity::plain(share, 4)
                ));
            } else {
                f = f.remedy(format!(
                    "raise the signal by {} codes at least",
                    number::count(codes.ceil())
                ));
            }
            Some(f.remedy(format!(
                "or a span of {} to {}",
                study.value(if looked.at_low_end { q } else { low }),
                study.value(if looked.at_low_end { high } else { q })
            )))
        })
}
