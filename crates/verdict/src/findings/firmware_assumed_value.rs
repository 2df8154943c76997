//! The firmware assumes another value than is fitted.

use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::firmware::Firmware;
use crate::known::{self, Nature};
use crate::study::Study;
use crate::words;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "firmware.assumed-value",
        severity: Severity::Fail,
        title: "The firmware assumes another value than is fitted",
        explanation: include_str!("pages/firmware.assumed-value.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for (judged, firmware) in scene.judged.iter().zip(&scene.firmware) {
        if let (Some(study), Some(firmware)) = (&judged.study, firmware) {
            found.extend(finding(kind, scene, study, firmware));
        }
    }
}

fn finding(
    kind: &Kind,
    scene: &Scene<'_, '_>,
    study: &Study<'_>,
    firmware: &Firmware,
) -> Option<Finding> {
    let c = &study.channel.conversion;
    if c.assume.is_empty() && c.assumed_reference_v.is_none() {
        return None;
    }
    let points = firmware.marks(study);
    let worst = known::largest(&points)?;
    let severity = known::severity(study, worst)?;
    let text = scene.sources.text(study.channel.place.source);
    let mut values = Vec::new();
    let mut spans = Vec::new();
    let mut remedies = Vec::new();
    for (path, value) in &c.assume {
        let fitted = board::locate(text, path).ok();
        let written = fitted
            .as_ref()
            .map_or("another value", |s| words::unquoted(&s.text));
        values.push(format!(
            "{} for {path} where {written} is fitted",
            value.value
        ));
        let share = fitted
            .as_ref()
            .and_then(|s| Some(nominal(&value.value)? / nominal(words::unquoted(&s.text))?));
        if let Some(share) = share.filter(|s| s.is_finite()) {
            remedies.push(format!(
                "{} is {} of what is fitted: put {written} into the firmware",
                value.value,
                quantity::plain(share, 4)
            ));
        } else {
            remedies.push(format!("put {written} for {path} into the firmware"));
        }
        spans.push(value.span);
        spans.extend(fitted.map(|s| finding::Span {
            source: study.channel.place.source,
            ..s.span
        }));
    }
    if let Some(v) = &c.assumed_reference_v {
        let fitted = study.at_quantity(
            chain::channel::REFERENCE,
            0.5 * (study.channel.span.value.0 + study.channel.span.value.1),
        );
        values.push(format!(
            "a reference of {} where {} is fitted",
            number::amount(v.value, "V"),
            number::amount(fitted, "V")
        ));
        remedies.push(format!(
            "{} is {} of what is fitted: put {} into the firmware",
            number::amount(v.value, "V"),
            quantity::plain(v.value / fitted, 4),
            number::amount(fitted, "V")
        ));
        spans.push(v.span);
    }
    let mut f = Finding::new(
        kind,
        &study.channel.name,
        format!(
            "the firmware assumes {}: {}",
            words::listed(&values),
            known::nature_words(study, &points)
        ),
    )
    .severity(severity);
    for span in spans {
        f = f.at(span);
    }
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    if let Nature::Factor(k) = known::nature(study.channel, &points) {
        f = f.working(format!(
            "{} of the reading, {} codes at the end of the scale",
            number::share((k - 1.0).abs()),
            quantity::plain((k - 1.0).abs() * (firmware.last + 1.0), 3)
        ));
    }
    f = f.working(known::nature_advice(study, &points));
    for line in remedies {
        f = f.remedy(line);
    }
    Some(f)
}

/// The number of a written value, SI.
fn nominal(text: &str) -> Option<f64> {
    let end = text
        .find(['±', '+'])
        .or_else(|| text.match_indices(' ').nth(1).map(|(i, _)| i))
        .unwrap_or(text.len());
    quantity::any(text.get(..end)?.trim()).ok().map(|q| q.value)
}
