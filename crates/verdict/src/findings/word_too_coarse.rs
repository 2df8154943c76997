//! One code of a word is more than is to be told apart.

use finding::{Finding, Kind, Severity};
use report::number::{amount, measured};

use super::{Entry, Scene};
use crate::words::error_unit;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "word.too-coarse",
        severity: Severity::Fail,
        title: "One code of a word is more than is to be told apart",
        explanation: include_str!("pages/word.too-coarse.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for word in &scene.board.words {
        let Some(channel) = word.channel.and_then(|c| scene.board.channels.get(c)) else {
            continue;
        };
        let unit = error_unit(channel);
        let step = word.step.abs();
        let show = |si: f64| channel.unit.number_of_difference(si);
        let (low, high) = channel.span.value;
        let least = [low, high]
            .into_iter()
            .filter_map(|q| channel.limit_at(q))
            .reduce(f64::min);
        let told = channel.resolution.as_ref().map(|r| r.value);
        let (severity, span, what, wanted) = match (told, least) {
            (Some(wanted), _) if step > wanted * (1.0 + 1e-9) => (
                Severity::Fail,
                channel.resolution.as_ref().map(|r| r.span),
                format!("{} must be told apart", amount(show(wanted), unit)),
                wanted,
            ),
            (_, Some(limit)) if 0.5 * step > limit => (
                Severity::Fail,
                channel.accuracy.as_ref().map(|a| a.span),
                format!("±{} are permitted", amount(show(limit), unit)),
                2.0 * limit,
            ),
            _ => continue,
        };
        let mut bits = 0;
        let mut left = step;
        while left > wanted && bits < 48 {
            left *= 0.5;
            bits += 1;
        }
        found.push(
            Finding::new(
                kind,
                &channel.name,
                format!(
                    "one code of {} is {}, and {what}",
                    word.name,
                    measured(show(step), unit, 3)
                ),
            )
            .severity(severity)
            .at(word.span)
            .at(span)
            .figure("step", measured(show(step), unit, 3), word.source.clone())
            .remedy(format!(
                "{bits} more {} in the word, if the part can be set so",
                if bits == 1 { "bit" } else { "bits" }
            )),
        );
    }
}
