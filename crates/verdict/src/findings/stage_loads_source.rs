//! The chain draws current from a source that has a resistance.

use chain::channel::{CODE, VOLT};
use finding::{Finding, Kind, Severity};
use report::number;

use super::{Entry, Scene};
use crate::causes::{self, on, with_channel};
use crate::known;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.loads-source",
        severity: Severity::Note,
        title: "The chain loads its source",
        explanation: include_str!("pages/stage.loads-source.md"),
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

/// Share of the signal that may be lost without a word where the conversion
/// makes up for it.
const LOST: f64 = 0.05;

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let source = channel.sensor.source_resistance.as_ref()?;
    let open = with_channel(study.board, &channel.name, |c| {
        if let Some(r) = &mut c.sensor.source_resistance {
            // A thousandth of what is there is no load worth the name and
            // keeps the network as it is.
            r.value.nominal *= 1e-6;
        }
    })?;
    let (low, high) = channel.span.value;
    let travel = |s: &Study<'_>| s.at_quantity(VOLT, high) - s.at_quantity(VOLT, low);
    let left = travel(study) / on(&open, &channel.name, travel)?;
    if !(left.is_finite() && left < 1.0) {
        return None;
    }
    // With a formula of its own the firmware may not know of it.
    let points = causes::effect(study, &open)?;
    let severity = known::largest(&points).and_then(|p| known::severity(study, p));
    let severity = match severity {
        Some(severity) => severity,
        None if 1.0 - left > LOST => Severity::Note,
        None => return None,
    };
    let ohm = number::amount(source.value.nominal, "Ω");
    let known_to_firmware = known::largest(&points)
        .and_then(|p| known::severity(study, p))
        .is_none();
    let what = if known_to_firmware {
        "the conversion makes up for it as long as the source keeps its resistance".to_owned()
    } else {
        known::nature_words(study, &points)
    };
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the chain loads its source of {ohm}: {} of the signal is left; {what}",
            number::measured(left, "", 4)
        ),
    )
    .severity(severity)
    .at(source.span);
    let input = source.value.nominal * left / (1.0 - left);
    f = f.working(format!(
        "{} / ({} + {}) = {}: the chain is as good as {} to ground",
        number::measured(input, "Ω", 3),
        number::measured(input, "Ω", 3),
        ohm,
        number::measured(left, "", 4),
        number::measured(input, "Ω", 3),
    ));
    for q in [0.5 * (low + high), high] {
        let code = |s: &Study<'_>| s.at_quantity(CODE, q);
        let mut line = format!(
            "{} at the source stands at {} with the chain connected",
            study.value(q),
            number::measured(left * q, "V", 4)
        );
        if study.codes.is_some() {
            line.push_str(&format!(
                ", code {} instead of {}",
                number::count(code(study)),
                number::count(on(&open, &channel.name, code)?)
            ));
        }
        if channel.dimension == quantity::Dimension::VOLTAGE {
            f = f.working(line);
        }
    }
    f = f.remedy(format!(
        "a source of at most {} for 1 % of loading, or a buffer ahead of the chain",
        number::measured(input * 0.01 / 0.99, "Ω", 3)
    ));
    Some(f.remedy(format!(
        "or a chain of at least {}",
        number::measured(99.0 * source.value.nominal, "Ω", 3)
    )))
}
