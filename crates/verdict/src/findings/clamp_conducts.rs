//! A clamp conducts within the span.

use finding::{Finding, Kind, Severity};

use chain::channel::ERROR;

use super::{Entry, Scene};
use crate::causes::{self, on, with_channel};
use crate::known;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "clamp.conducts",
        severity: Severity::Fail,
        title: "A clamp conducts within the span",
        explanation: include_str!("pages/clamp.conducts.md"),
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

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let clamp = channel.chain.iter().find(|s| s.kind == "clamp")?;
    let path = clamp.path.clone();
    let without = with_channel(study.board, &channel.name, |c| {
        c.chain.retain(|s| s.path != path);
    })?;
    let points = causes::effect(study, &without)?;
    let worst = known::largest(&points)?;
    let severity = known::severity(study, worst)?;
    // From which value on the error is worth telling.
    let (low, high) = channel.span.value;
    let worth = channel
        .limit_at(worst.right)
        .map_or(0.002 * (high - low), |l| {
            study.board.judging.known_error * l
        });
    let from = on(&without, &channel.name, |bare| {
        let error = |q: f64| (study.at_quantity(ERROR, q) - bare.at_quantity(ERROR, q)).abs();
        let (mut inside, mut outside) = points
            .iter()
            .find(|p| p.error().abs() <= worth)
            .map(|p| (p.right, worst.right))?;
        for _ in 0..50 {
            let middle = 0.5 * (inside + outside);
            if error(middle) <= worth {
                inside = middle;
            } else {
                outside = middle;
            }
        }
        Some(inside)
    })
    .flatten();
    let from = from.map_or_else(
        || "everywhere".to_owned(),
        |q| {
            let word = if worst.right > q { "above" } else { "below" };
            format!("{word} {}", study.value(q))
        },
    );
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!("the clamp conducts {from}: {}", known::reads(study, worst)),
    )
    .severity(severity)
    .at(clamp.span);
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    Some(
        f.remedy(
            "a clamp with a harder knee or a higher voltage: diodes to a rail conduct later than a \
             Zener diode of that voltage"
                .to_owned(),
        )
        .remedy("or a smaller resistance ahead of it, if its rating allows the current".to_owned()),
    )
}
