//! Part of the span lies beyond the converter's scale.

use board::{Board, Channel, FieldValue};
use chain::channel::CODE;
use finding::{Finding, Kind, Severity};
use quantity::Series;
use report::number;
use uncertainty::inverse::{Answer, Search, largest, smallest};

use super::{Entry, Scene};
use crate::judge::Judged;
use crate::study::Study;

/// Codes beyond the scale that are only rounding.
const ROUNDING: f64 = 1.0;
/// Share of the scale at which the end of the span should lie.
const WANTED: f64 = 0.95;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "reference.span-exceeds",
        severity: Severity::Fail,
        title: "The signal exceeds the converter's scale over part of the span",
        explanation: include_str!("pages/reference.span-exceeds.md"),
    },
    look,
};

fn look(kind: &Kind, scene: &Scene<'_, '_>, found: &mut Vec<Finding>) {
    for judged in scene.judged {
        found.extend(finding(kind, scene, judged));
    }
}

/// Whether the span leaves the scale with everything nominal.
pub(super) fn is_nominally_beyond(study: &Study<'_>) -> bool {
    let Some((first, last)) = study.codes else {
        return false;
    };
    let (low, high) = study.channel.span.value;
    [low, high]
        .map(|q| study.at_quantity(CODE, q))
        .iter()
        .any(|code| (code - last).max(first - code) > ROUNDING)
}

fn finding(kind: &Kind, scene: &Scene<'_, '_>, judged: &Judged<'_>) -> Option<Finding> {
    let study = judged.study.as_ref()?;
    let signal = judged.report.signal?;
    let (first, last) = study.codes?;
    let (low, high) = judged.channel.span.value;
    let ends = [low, high].map(|q| (q, study.at_quantity(CODE, q)));
    let beyond = |code: f64| (code - last).max(first - code);
    let (worst, code) = if beyond(ends[0].1) > beyond(ends[1].1) {
        ends[0]
    } else {
        ends[1]
    };
    if !(beyond(code) > ROUNDING) {
        return None;
    }
    let above = code > last;
    let edge = if above { last } else { first };
    let volt = |v: f64| number::measured(v, "V", 4);
    let at_worst = if worst == low {
        signal.at_low
    } else {
        signal.at_high
    };
    let scale_end = if above {
        signal.scale_high
    } else {
        signal.scale_low
    };
    let quantity = study.quantity_at_code(edge);
    let stop = quantity.map_or_else(
        || "no value of the span can be read".to_owned(),
        |q| format!("readings stop at {}", study.value(q)),
    );
    let headline = format!(
        "{} gives {}, the scale ends at {}: {stop}",
        study.value(worst),
        volt(at_worst),
        volt(scale_end),
    );
    let mut f = Finding::new(kind, &judged.channel.name, headline)
        .at(judged.channel.span.span)
        .at(judged.channel.reference.as_ref().map(|r| r.span))
        .figure(
            "end of the scale",
            volt(scale_end),
            format!("{} codes", number::count(last - first)),
        )
        .working(format!(
            "code at {} = {} of {}",
            study.value(worst),
            quantity::plain(code, 5),
            number::count(edge)
        ));
    if above {
        let room = (scale_end - signal.scale_low) * WANTED;
        f = f.remedy(format!(
            "a signal smaller by the factor {}: {} at {} of the scale",
            quantity::plain(room / (at_worst - signal.scale_low), 3),
            volt(room),
            number::share(WANTED),
        ));
        for line in resistors(scene.board, judged.channel, worst, last) {
            f = f.remedy(line);
        }
        f = f.remedy(format!(
            "or a scale that ends at {} or above",
            volt(at_worst / WANTED)
        ));
    } else {
        f = f.remedy(format!(
            "raise the signal by {} so that the span begins above the lowest code",
            volt(scale_end - at_worst)
        ));
    }
    if let Some(q) = quantity {
        let rest = if worst == high { (low, q) } else { (q, high) };
        f = f.remedy(format!(
            "or a span of {} to {}",
            study.value(rest.0),
            study.value(rest.1)
        ));
    }
    Some(f)
}

/// Single resistors of dividers in the chain that bring the end of the span
/// to the wanted share of the scale, as the next E96 value on the safe side.
fn resistors(board: &Board, channel: &Channel, worst: f64, last: f64) -> Vec<String> {
    let mut lines = Vec::new();
    for (n, stage) in channel.chain.iter().enumerate() {
        for (key, is_smaller_better) in [("bottom", true), ("top", false)] {
            let Some(written) = stage.valued(key) else {
                continue;
            };
            let now = written.value.nominal;
            // One copy of the board for all values: it may be large.
            let mut changed = board.clone();
            let code = |r: f64| {
                set_resistor(&mut changed, &channel.name, n, key, r)?;
                let channel = changed.channels.iter().find(|c| c.name == channel.name)?;
                let study = Study::new(&changed, channel).ok()?;
                Some(study.at_quantity(CODE, worst))
            };
            let search = Search {
                scan: 9,
                tolerance: 1e-4,
            };
            let (answer, wanted): (Answer, fn(Series, f64) -> Option<f64>) = if is_smaller_better {
                let a = largest(code, now * 1e-3, now, WANTED * last, &search);
                (a, Series::at_most)
            } else {
                let a = smallest(code, now, now * 1e3, WANTED * last, &search);
                (a, Series::at_least)
            };
            if let Answer::Value { value, .. } = answer
                && let Some(preferred) = wanted(Series::E96, value)
            {
                lines.push(format!(
                    "{} {key}: {} instead of {} (E96; {} exactly)",
                    stage.kind,
                    number::amount(preferred, "Ω"),
                    number::amount(now, "Ω"),
                    number::measured(value, "Ω", 4),
                ));
            }
        }
    }
    lines
}

/// Gives a resistor of a channel's chain another value.
pub(super) fn set_resistor(
    board: &mut Board,
    channel: &str,
    stage: usize,
    key: &str,
    ohm: f64,
) -> Option<()> {
    let channel = board.channels.iter_mut().find(|c| c.name == channel)?;
    match &mut channel.chain.get_mut(stage)?.fields.get_mut(key)?.value {
        FieldValue::Valued(v) => v.nominal = ohm,
        _ => return None,
    }
    Some(())
}
