//! A timer overflows before a period of slow pulses ends.

use finding::{Kind, Severity};

use super::Entry;
use crate::limits::{self, Looked, PLAIN, Talk};
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "pulse.timer-overflow",
        severity: Severity::Fail,
        title: "The timer overflows before a period ends",
        explanation: include_str!("pages/pulse.timer-overflow.md"),
    },
    look: |kind, scene, found| limits::findings(kind, scene, TALKS, found),
};

const TALKS: &[Talk] = &[Talk {
    check: "timer-lowest",
    unit: "Hz",
    actual: "the pulse rate",
    limit: "the lowest that the timer measures",
    remedies: slower,
    ..PLAIN
}];

/// The clock, the periods and the counter go into the lowest rate alike.
fn slower(l: &Looked<'_>, study: &Study<'_>) -> Vec<String> {
    let Some(timer) = study.channel.period.as_ref().map(|p| p.value) else {
        return Vec::new();
    };
    let ratio = l.worst.limit / l.worst.actual.max(0.0);
    if !ratio.is_finite() {
        return vec![
            "a pulse rate of nothing has no period: let the firmware end the wait and read zero"
                .to_owned(),
        ];
    }
    let mut bits = 0_u32;
    while bits < 32 && f64::from(1_u32 << bits.min(31)) < ratio {
        bits += 1;
    }
    vec![
        format!("{bits} more bits of the counter"),
        format!(
            "or a timer clock of at most {}",
            report::number::measured(timer.clock_hz / ratio, "Hz", 3)
        ),
    ]
}
