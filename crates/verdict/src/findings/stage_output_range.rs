//! An output stops before the voltage it should reach.

use chain::channel::CODE;
use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.output-range",
        severity: Severity::Fail,
        title: "An output cannot reach what it should",
        explanation: include_str!("pages/stage.output-range.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[
    Talk {
        check: "output-low",
        actual: "the voltage its output should have",
        limit: "the lowest it reaches",
        working: hidden,
        remedies: raise,
        needed: true,
        skip: |l, s| is_of_current(l, s, "output-sink"),
        ..PLAIN
    },
    Talk {
        check: "output-high",
        actual: "the voltage its output should have",
        limit: "the highest it reaches",
        working: hidden,
        remedies: lower,
        needed: true,
        skip: |l, s| is_of_current(l, s, "output-source"),
        ..PLAIN
    },
];

/// Whether the output stops because of the current it has to carry.
fn is_of_current(l: &Looked<'_>, study: &Study<'_>, kind: &str) -> bool {
    study
        .checks
        .iter()
        .filter(|c| c.kind == kind && c.name == l.check.name)
        .any(|c| {
            [&l.nominal, &l.worst]
                .iter()
                .any(|s| study.nominal(c.margin, &s.at) < 0.0)
        })
}

/// How much of the span cannot be seen.
fn hidden(l: &Looked<'_>, study: &Study<'_>) -> Vec<String> {
    let (low, high) = study.channel.span.value;
    let Some(q) = l.from else {
        return Vec::new();
    };
    let end = if l.at_low_end { low } else { high };
    let width = (q - end).abs();
    let mut line = format!(
        "{} of the span, from {} to {}, cannot be seen: {}",
        number::share(width / (high - low)),
        study.value(end.min(q)),
        study.value(end.max(q)),
        study.size(width, 3),
    );
    if study.codes.is_some() {
        // Codes for each unit where the stage works.
        let (inside, step) = (
            if l.at_low_end { high } else { low },
            (high - q).max(q - low),
        );
        let near = inside + 0.01 * step * if l.at_low_end { -1.0 } else { 1.0 };
        let slope =
            (study.at_quantity(CODE, inside) - study.at_quantity(CODE, near)) / (inside - near);
        line.push_str(&format!(
            ", {} codes",
            quantity::plain((slope * width).abs(), 2)
        ));
    }
    vec![line]
}

/// A pedestal, and the gain that then still fits the scale.
fn raise(l: &Looked<'_>, study: &Study<'_>) -> Vec<String> {
    let lacking = l.worst.limit - l.worst.working.unwrap_or(l.worst.actual);
    let mut list = vec![format!(
        "a pedestal of at least {} under the stage’s output (its reference pin, or a bias), which the firmware subtracts",
        number::measured(lacking, "V", 3)
    )];
    if let Some(signal) = study.signal() {
        let top = signal.at_high.max(signal.at_low);
        let room = signal.scale_high - (signal.scale_high - signal.scale_low) / signal.codes;
        let factor = (room - lacking - signal.scale_low) / (top - signal.scale_low);
        if factor < 1.0 {
            list.push(match gain(l, study) {
                Some(gain) => format!(
                    "the pedestal costs {} of the scale: a gain of {} or less instead of {}",
                    number::share(lacking / (signal.scale_high - signal.scale_low)),
                    quantity::plain(gain * factor, 4),
                    number::short(gain)
                ),
                None => format!(
                    "the pedestal costs {} of the scale: a gain smaller by the factor {}",
                    number::share(lacking / (signal.scale_high - signal.scale_low)),
                    quantity::plain(factor, 4)
                ),
            });
        }
    }
    list.push("or an amplifier whose output reaches lower, or a negative supply for it".to_owned());
    list
}

/// The gain that the stage is set to, if it is a number of the file.
fn gain(l: &Looked<'_>, study: &Study<'_>) -> Option<f64> {
    let stage = study
        .channel
        .chain
        .iter()
        .find(|s| Some(s.span) == l.check.span)?;
    stage
        .number("gain")
        .or_else(|| stage.valued("gain").map(|v| v.value.nominal))
}

fn lower(l: &Looked<'_>, study: &Study<'_>) -> Vec<String> {
    let wanted = l.worst.working.unwrap_or(l.worst.actual);
    let mut list = Vec::new();
    let factor = l.worst.limit / wanted;
    if factor > 0.0 && factor < 1.0 {
        list.push(match gain(l, study) {
            Some(gain) => format!(
                "a gain of at most {} instead of {}",
                quantity::plain(gain * factor, 4),
                number::short(gain)
            ),
            None => format!(
                "a gain smaller by the factor {}",
                quantity::plain(factor, 4)
            ),
        });
    }
    list.push(format!(
        "or a supply higher by {}, or an amplifier whose output comes closer to it",
        number::measured(wanted - l.worst.limit, "V", 3)
    ));
    list
}
