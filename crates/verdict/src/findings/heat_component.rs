//! A component of a chain, or a reference, is warmed by what sits near it.

use board::FieldValue;
use chain::channel::VOLT;
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::study::Study;
use crate::{causes, known};

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "heat.component",
        severity: Severity::Note,
        title: "Something near a component warms it out of step with the rest",
        explanation: include_str!("pages/heat.component.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for channel in &scene.board.channels {
        for (path, swings) in &scene.board.surroundings.warming_k {
            let Some(own) = path.strip_prefix(&format!("channels.{}.", channel.name)) else {
                continue;
            };
            found.extend(one(kind, scene, channel, path, own, swings));
        }
    }
}

fn one(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    channel: &board::Channel,
    path: &str,
    own: &str,
    swings: &[board::Swing],
) -> Option<Finding> {
    // The drift of an ordinary component has no sign on paper: what it is at
    // most is what is told.
    let mut with = causes::with_channel(scene.board, &channel.name, |c| {
        for stage in &mut c.chain {
            let at = stage.path.clone();
            for (key, field) in &mut stage.fields {
                if format!("{at}.{key}") == path
                    && let FieldValue::Valued(v) = &mut field.value
                {
                    v.drift_signed = true;
                    if v.drift_per_k.is_none() {
                        v.drift_per_k = Some(100e-6);
                    }
                }
            }
        }
    })?;
    let most: f64 = swings.iter().map(|s| s.high).sum();
    let moved = swings
        .iter()
        .map(|s| board::Swing {
            low: s.high,
            usual: s.high,
            ..s.clone()
        })
        .collect();
    with.surroundings.warming_k.insert(path.to_owned(), moved);
    let mut without = with.clone();
    without.surroundings.warming_k.remove(path);
    let changed = with.channels.iter().find(|c| c.name == channel.name)?;
    let study = Study::new(&with, changed).ok()?;
    let points = causes::effect(&study, &without)?;
    let worst = known::largest(&points)?;
    let fragment = channel.accuracy.is_none();
    let severity = match known::severity(&study, worst) {
        Some(s) => s,
        // In a fragment every effect is an answer.
        None if fragment && worst.error() != 0.0 => Severity::Note,
        None => return None,
    };
    let cause = swings.first().map_or("", |s| s.cause.as_str());
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{own} is {} warmer than the rest, {cause}: {} at {}",
            number::about(most, "K"),
            known::off_by(&study, worst.error()),
            study.value(worst.right)
        ),
    )
    .severity(if fragment { Severity::Note } else { severity })
    .at(swings.first().map(|s| s.span));
    let bare = causes::on(&without, &channel.name, |s| {
        s.at_quantity(VOLT, worst.right)
    })?;
    let volt = study.at_quantity(VOLT, worst.right);
    f = f.working(format!(
        "{} without it, {} with it: {} at the end of the chain",
        number::measured(bare, "V", 5),
        number::measured(volt, "V", 5),
        number::measured(volt - bare, "V", 3)
    ));
    let codes = study.codes_per_volt();
    if study.codes.is_some() && codes.is_finite() {
        f = f.working(format!(
            "{} codes",
            number::measured((volt - bare) * codes, "", 2)
        ));
    }
    Some(
        f.remedy(
            "put it and its partner side by side, away from what warms them: of two alike that are equally warm nothing is left"
                .to_owned(),
        )
        .remedy("or take resistors that drift together, of one network".to_owned()),
    )
}
