//! One resistor and a resistive sensor: the value that spreads the span most.

use chain::channel::CODE;
use finding::{Finding, Kind, Severity};
use quantity::Series;
use report::number;

use super::reference_span_exceeds::set_resistor;
use super::{Entry, Scene};
use crate::causes::on;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "stage.pull-span",
        severity: Severity::Note,
        title: "Another resistor would spread the span over more codes",
        explanation: include_str!("pages/stage.pull-span.md"),
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

/// Codes to be gained that are worth a note, as a share of those used.
const WORTH: f64 = 0.05;
/// The same where an accuracy is asked: other things count there too.
const WORTH_BESIDE_A_NEED: f64 = 0.25;
/// A code of at most this share of the permitted error is fine enough.
const FINE: f64 = 0.05;
/// So many codes are enough where no accuracy is asked.
const ENOUGH: f64 = 1000.0;

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let signal = study.signal()?;
    let (low, high) = channel.span.value;
    let widest = signal.code_width_low.max(signal.code_width_high);
    let fine = match channel.limit_at(low) {
        Some(limit) => widest <= FINE * channel.unit.number_of_difference(limit),
        None => signal.codes_used >= ENOUGH,
    };
    let (n, stage) = channel
        .chain
        .iter()
        .enumerate()
        .find(|(_, s)| matches!(s.kind, "pull-up" | "pull-down"))?;
    // With amplifiers behind it the range is theirs.
    if fine || channel.chain.len() > 2 {
        return None;
    }
    let key = "r";
    let now = stage.valued(key)?.value.nominal;
    // One copy of the board for all values: it may be large.
    let mut changed = study.board.clone();
    let mut used = |ohm: f64| -> Option<f64> {
        set_resistor(&mut changed, &channel.name, n, key, ohm)?;
        on(&changed, &channel.name, |s| {
            (s.at_quantity(CODE, high) - s.at_quantity(CODE, low)).abs()
        })
    };
    // Codes over the logarithm of the resistor have one maximum: thirds of the
    // interval, by ratios.
    let (mut from, mut to) = (now * 1e-3, now * 1e3);
    // Thirty steps leave six decades a thousandth of a decade wide.
    for _ in 0..30 {
        let third = cube_root(to / from);
        let (a, b) = (from * third, to / third);
        // Far off the code hardly depends on the sensor and no model is built.
        if used(a).unwrap_or(0.0) < used(b).unwrap_or(0.0) {
            from = a;
        } else {
            to = b;
        }
    }
    let best = (from * to).sqrt();
    let (most, as_it_is) = (used(best)?, used(now)?);
    let worth = if channel.accuracy.is_some() {
        WORTH_BESIDE_A_NEED
    } else {
        WORTH
    };
    if most < (1.0 + worth) * as_it_is {
        return None;
    }
    let share = |codes: f64| number::share(codes / signal.codes);
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "{} uses {} of {} codes; {} would use {}, the most that one resistor can",
            number::amount(now, "Ω"),
            number::count(as_it_is),
            number::count(signal.codes),
            number::measured(best, "Ω", 3),
            number::count(most)
        ),
    )
    .at(stage.span_of(key))
    .working(format!(
        "best resistor = √(R at one end · R at the other) = {}",
        number::measured(best, "Ω", 4)
    ))
    .working(format!(
        "{} of the scale instead of {}; the whole scale cannot be had with one resistor and the reference as excitation",
        share(most),
        share(as_it_is)
    ));
    if let Some(preferred) = Series::E96.nearest(best) {
        f = f.remedy(format!("{} (E96)", number::amount(preferred, "Ω")));
    }
    Some(f.remedy("an amplifier with an offset, if more is needed".to_owned()))
}

/// Newton's iteration; the argument is at least one.
fn cube_root(x: f64) -> f64 {
    let mut y = x.sqrt().max(1.0);
    for _ in 0..60 {
        y = (2.0 * y + x / (y * y)) / 3.0;
    }
    y
}
