//! A sensor is warmed by the current that measures it.

use finding::{Kind, Severity};
use report::number;

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "sensor.self-heating",
        severity: Severity::Thin,
        title: "The measuring current warms the sensor",
        explanation: include_str!("pages/sensor.self-heating.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "self-heating",
    unit: "K",
    actual: "the warming by its own current",
    limit: "its share of the accuracy",
    thin: |_| 0.0,
    remedies: current,
    ..PLAIN
}];

/// Warming goes with the square of the current.
fn current(l: &Looked<'_>, _: &Study<'_>) -> Vec<String> {
    let Some(now) = l.worst.working else {
        return Vec::new();
    };
    let factor = (l.worst.limit / l.worst.actual).sqrt();
    if !(factor > 0.0 && factor < 1.0) {
        return Vec::new();
    }
    vec![
        format!(
            "at most {} through the sensor instead of {}: an excitation smaller by the factor {}",
            number::measured(now * factor, "A", 3),
            number::measured(now, "A", 3),
            quantity::plain(factor, 3)
        ),
        format!(
            "or current for at most {} of the time, if the sensor is much slower than that",
            number::share(factor * factor)
        ),
    ]
}
