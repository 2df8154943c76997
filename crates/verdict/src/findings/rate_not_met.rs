//! Readings come more slowly than asked.

use board::{Board, Channel};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::study::Study;

/// What is only rounding beside a rate.
const ROUNDING: f64 = 1e-9;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "rate.not-met",
        severity: Severity::Fail,
        title: "The rate asked is not met",
        explanation: include_str!("pages/rate.not-met.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        if let Some(study) = &judged.study {
            found.extend(finding(kind, study));
        }
    }
    for channel in &scene.board.channels {
        found.extend(too_seldom(kind, scene.board, channel));
        found.extend(polled_too_seldom(kind, scene, channel));
    }
}

/// A fitted device that its driver reads less often than its channel asks.
fn polled_too_seldom(kind: &Kind, scene: &Scene<'_, '_>, channel: &Channel) -> Option<Finding> {
    let asked = channel.rate_hz.as_ref()?;
    let device = channel.sensor.device?;
    let polls = &scene.system.buses.polling.polls;
    let poll = polls.iter().find(|p| p.device == device)?;
    let rate = poll.rate_hz?;
    if rate >= asked.value * (1.0 - ROUNDING) {
        return None;
    }
    Some(
        Finding::new(
            kind,
            &channel.name,
            format!(
                "{} is read {} times a second, {} are asked",
                poll.name,
                number::short(rate),
                number::short(asked.value)
            ),
        )
        .at(asked.span)
        .at(poll.span)
        .remedy(format!(
            "poll = \"{} /s\" on its link",
            number::short(asked.value)
        )),
    )
}

/// A sequence that the file starts less often than a channel is to be read.
fn too_seldom(kind: &Kind, board: &Board, channel: &Channel) -> Option<Finding> {
    let asked = channel.rate_hz.as_ref()?;
    let every = board.scan_of(channel.input.as_ref()?.device).every_s?;
    if asked.value * every.value <= 1.0 + ROUNDING {
        return None;
    }
    Some(
        Finding::new(
            kind,
            &channel.name,
            format!(
                "a sequence begins every {}: {} readings a second, {} are asked",
                number::measured(every.value, "s", 3),
                quantity::plain(1.0 / every.value, 3),
                number::short(asked.value)
            ),
        )
        .at(asked.span)
        .at(every.span)
        .remedy(format!(
            "every = \"{}\", or a rate of at most {} /s",
            number::measured(1.0 / asked.value, "s", 3),
            quantity::plain(1.0 / every.value, 3)
        )),
    )
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let asked = channel.rate_hz.as_ref()?;
    let (seconds, what, span) = match &channel.gate_s {
        None if channel.period.is_some() => return None,
        Some(gate) => (gate.value, "counting takes".to_owned(), Some(gate.span)),
        None => {
            let f = channel.sensor.figures.get("conversion-time")?;
            (
                f.max.or_else(|| f.typical())?,
                format!("a conversion takes up to ({})", f.source),
                Some(f.span),
            )
        }
    };
    if asked.value * seconds <= 1.0 {
        return None;
    }
    Some(
        Finding::new(
            kind,
            &channel.name,
            format!(
                "{what} {}: at most {} readings a second, {} are asked",
                number::measured(seconds, "s", 3),
                quantity::plain(1.0 / seconds, 3),
                number::short(asked.value)
            ),
        )
        .at(asked.span)
        .at(span)
        .remedy(format!(
            "a time of at most {} for each reading",
            number::measured(1.0 / asked.value, "s", 3)
        ))
        .remedy(format!(
            "or a rate of at most {} /s",
            quantity::plain(1.0 / seconds, 3)
        )),
    )
}
