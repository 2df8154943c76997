//! The converter's input takes current from a source that cannot spare it.

use board::Board;
use chain::channel::{ERROR, VOLT};
use finding::{Finding, Kind, Severity};
use parts::{ConverterUnit, Figure, Part};
use quantity::Dimension;
use report::number;

use super::{Entry, Scene};
use crate::causes::{self, on, with_converter};
use crate::known;
use crate::study::Study;

pub(super) const ENTRY: Entry = Entry {
    kind: Kind {
        id: "converter.input-loading",
        severity: Severity::Fail,
        title: "The converter's input loads its source",
        explanation: include_str!("pages/converter.input-loading.md"),
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

/// What conducts at the input.
const LOADS: [&str; 2] = ["input-resistance", "input-current-per-volt"];

fn without(unit: &mut ConverterUnit, part: &mut Part) {
    for name in LOADS {
        unit.figures.remove(name);
        part.figures.remove(name);
    }
}

fn finding(kind: &Kind, study: &Study<'_>) -> Option<Finding> {
    let channel = study.channel;
    let input = channel.input.as_ref()?;
    let part = &study.board.devices.get(input.device)?.part;
    let unit = part.converters.get(input.unit)?;
    let figure = LOADS
        .iter()
        .find_map(|n| unit.figures.get(*n).or_else(|| part.figures.get(*n)))?;
    let free = with_converter(study.board, channel, without)?;
    let points = causes::effect(study, &free)?;
    let worst = known::largest(&points)?;
    let severity = known::severity(study, worst)?;
    let (low, high) = channel.span.value;
    let travel = |s: &Study<'_>| s.at_quantity(VOLT, high) - s.at_quantity(VOLT, low);
    let (loaded, open) = (travel(study), on(&free, &channel.name, travel)?);
    let left = loaded / open;
    let units = channel.unit.number_of_difference(high - low);
    let each = |v: f64| number::measured((v / units).abs(), "V", 3);
    let unit_word = crate::words::error_unit(channel);
    let mut f = Finding::new(
        kind,
        &channel.name,
        format!(
            "the converter's input loads the source: {} of the signal is left, {} for each {unit_word} instead of {}: {}",
            number::measured(left, "", 3),
            each(loaded),
            each(open),
            known::nature_words(study, &points)
        ),
    )
    .severity(severity)
    .at(input.span)
    .figure(&figure.name, figure.text.clone(), figure.source.to_string());
    for &p in &points {
        f = f.working(known::reads(study, p));
    }
    let limit = |q: f64| channel.limit_at(q).unwrap_or(0.01 * (high - low));
    if figure.dimension == Dimension::RESISTANCE
        && let Some(least) = least_resistance(study, figure, &limit)
    {
        f = f.remedy(format!(
            "an input resistance of at least {} for loading alone to stay within ±{}: a buffer with inputs of that kind ahead of the converter",
            number::measured(least, "Ω", 3),
            study.size(limit(worst.right), 3)
        ));
    }
    if let Some(most) = most_bias(study, &free, figure, &limit) {
        f = f.remedy(format!(
            "and a bias current of at most {} for it alone to stay within ±{}",
            number::measured(most, "A", 3),
            study.size(limit(worst.right), 3)
        ));
    }
    Some(f)
}

/// The smallest input resistance with which the loading stays within the
/// limit everywhere, by bisection over ratios.
fn least_resistance(study: &Study<'_>, figure: &Figure, limit: &dyn Fn(f64) -> f64) -> Option<f64> {
    let name = &study.channel.name;
    let marks = known::marks(study.channel);
    let free = with_converter(study.board, study.channel, without)?;
    let bare = on(&free, name, |s| {
        marks
            .iter()
            .map(|&q| s.at_quantity(ERROR, q))
            .collect::<Vec<f64>>()
    })?;
    let is_enough = |ohm: f64| -> Option<bool> {
        let mut exact = figure.clone();
        (exact.min, exact.typ, exact.max) = (None, Some(ohm), None);
        let changed = with_converter(study.board, study.channel, |unit, part| {
            without(unit, part);
            unit.figures.insert(exact.name.clone(), exact);
        })?;
        on(&changed, name, |s| {
            marks
                .iter()
                .zip(&bare)
                .all(|(&q, e)| (s.at_quantity(ERROR, q) - e).abs() <= limit(q))
        })
    };
    let mut low = figure.typical().or(figure.min)?;
    let mut high = low;
    for _ in 0..60 {
        if is_enough(high)? {
            break;
        }
        low = high;
        high *= 4.0;
    }
    if !is_enough(high)? {
        return None;
    }
    for _ in 0..30 {
        let middle = (low * high).sqrt();
        if is_enough(middle)? {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}

/// The largest current into the source with which its error stays within the
/// limit everywhere: from the change for a picoampere.
fn most_bias(
    study: &Study<'_>,
    free: &Board,
    figure: &Figure,
    limit: &dyn Fn(f64) -> f64,
) -> Option<f64> {
    const STEP_A: f64 = 1e-12;
    let mut leakage = figure.clone();
    leakage.name = "input-leakage".to_owned();
    leakage.dimension = Dimension::CURRENT;
    (leakage.min, leakage.typ, leakage.max) = (None, None, Some(STEP_A));
    leakage.reference_temperature_k = None;
    let changed = with_converter(free, study.channel, |unit, part| {
        part.figures.remove("input-leakage");
        unit.figures.insert(leakage.name.clone(), leakage);
    })?;
    let marks = known::marks(study.channel);
    on(&changed, &study.channel.name, |s| {
        let place = s
            .variables
            .iter()
            .position(|v| v.key.ends_with(".leakage") && v.unit == "A")?;
        let each = |q: f64| {
            let mut at = s.usual_conditions();
            if let Some(x) = at.first_mut() {
                *x = q;
            }
            s.with_input(ERROR, &at, place, STEP_A) - s.nominal(ERROR, &at)
        };
        marks
            .iter()
            .map(|&q| limit(q) / (each(q) / STEP_A).abs())
            .filter(|x| x.is_finite())
            .min_by(f64::total_cmp)
    })?
}
