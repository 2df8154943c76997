//! Checks of figures.

use finding::InputFault;
use quantity::Dimension;

use super::Group;
use crate::figure::{Column, Figure, Role};
use crate::provenance::Basis;

/// Pairs that both carry the deviation of one value.
const DOUBLE: [(&str, &str); 4] = [
    ("voltage", "initial-accuracy"),
    ("output-voltage", "accuracy"),
    ("resistance", "tolerance"),
    ("capacitance", "tolerance"),
];

/// Dimensions of which a part never has a negative amount.
const NEVER_NEGATIVE: [Dimension; 4] = [
    Dimension::RESISTANCE,
    Dimension::CAPACITANCE,
    Dimension::VOLTAGE_NOISE_DENSITY,
    Dimension::CURRENT_NOISE_DENSITY,
];

/// A noise says whether it is given from peak to peak, which is six to seven
/// times the rms, and over which band, without which it is no density.
pub(super) fn noise_is_stated(group: &Group<'_>) -> Vec<InputFault> {
    let mut faults = Vec::new();
    for figure in group.each() {
        if figure.name == "noise-low-frequency" && figure.peak_to_peak.is_none() {
            faults.push(InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} does not say how it is given",
                    figure.name, group.place
                ),
                "given-as = \"peak-to-peak\" or given-as = \"rms\"",
            ));
        }
        if figure.name == "noise-wide" && figure.band_hz.is_none() {
            faults.push(InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} does not say over which band",
                    figure.name, group.place
                ),
                "band = \"10 Hz to 10 kHz\"",
            ));
        }
    }
    faults
}

/// min ≤ typ ≤ max; a deviation's typical value is not larger than its limits.
pub(super) fn columns_in_order(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter(|figure| !in_order(figure))
        .map(|figure| {
            InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} has columns out of order",
                    figure.name, group.place
                ),
                "min not above typ, typ not above max",
            )
        })
        .collect()
}

fn in_order(figure: &Figure) -> bool {
    let not_above = |low: Option<f64>, high: Option<f64>| match (low, high) {
        (Some(low), Some(high)) => low <= high,
        _ => true,
    };
    if figure.follows_supply() {
        // Which of the two is larger depends on the supply.
        return true;
    }
    if figure.role == Role::Deviation {
        let largest = match (figure.min, figure.max) {
            (Some(low), Some(high)) => Some(low.abs().max(high.abs())),
            (one, other) => one.or(other).map(f64::abs),
        };
        return not_above(figure.min, figure.max) && not_above(figure.typ.map(f64::abs), largest);
    }
    not_above(figure.min, figure.typ)
        && not_above(figure.typ, figure.max)
        && not_above(figure.min, figure.max)
}

/// A published figure names its document, a measured one who measured.
pub(super) fn published_has_document(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter(|figure| figure.basis.is_documented() && figure.source.document.is_empty())
        .map(|figure| {
            let expected = match figure.basis {
                Basis::Measured => "document = \"…\" saying where the measurement is written down",
                _ => "document = \"…\", or a source for the whole part",
            };
            InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} is {} but names no document",
                    figure.name, group.place, figure.basis
                ),
                expected,
            )
        })
        .collect()
}

/// `part-of` names a figure beside it.
pub(super) fn contained_figure_exists(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter_map(|figure| {
            let whole = figure.part_of.as_ref()?;
            let exists = group.figures.contains_key(whole) && *whole != figure.name;
            (!exists).then(|| {
                InputFault::new(
                    figure.span,
                    format!(
                        "`{}` is part of `{whole}`, which {} does not have",
                        figure.name, group.place
                    ),
                    "the name of another figure in the same table",
                )
                .suggest(finding::nearest_of(
                    whole,
                    group.figures.keys().map(String::as_str),
                ))
            })
        })
        .collect()
}

/// No deviation is given twice, once as limits of the value and once beside it.
pub(super) fn one_tolerance(group: &Group<'_>) -> Vec<InputFault> {
    DOUBLE
        .iter()
        .filter_map(|(value, deviation)| {
            let figure = group.figures.get(*value)?;
            let other = group.figures.get(*deviation)?;
            let twice = figure.min.is_some() && figure.max.is_some() && other.part_of.is_none();
            twice.then(|| {
                InputFault::new(
                    figure.span,
                    format!(
                        "{} gives the deviation of `{value}` twice: as its limits and as `{deviation}`",
                        group.place
                    ),
                    format!("either limits or `{deviation}`, or part-of on `{deviation}`"),
                )
            })
        })
        .collect()
}

/// Resistances, capacitances and noise are not negative.
pub(super) fn positive_property(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter(|figure| {
            let columns = [Column::Min, Column::Typ, Column::Max];
            figure.role != Role::Deviation
                && NEVER_NEGATIVE.contains(&figure.dimension)
                && columns
                    .iter()
                    .filter_map(|column| figure.column(*column))
                    .chain(figure.points.iter().map(|(_, value)| *value))
                    .any(|value| value < 0.0)
        })
        .map(|figure| {
            InputFault::new(
                figure.span,
                format!("`{}` of {} is negative", figure.name, group.place),
                "zero or more",
            )
        })
        .collect()
}

/// A relative drift says whether it is a slope, a box or a butterfly.
pub(super) fn drift_has_method(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter(|figure| {
            figure.role == Role::Deviation
                && figure.dimension == Dimension::PER_KELVIN
                && figure.method.is_none()
        })
        .map(|figure| {
            InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} is a drift without a method",
                    figure.name, group.place
                ),
                "method = \"slope\", \"box\" or \"butterfly\"",
            )
        })
        .collect()
}

/// No figure is NaN or infinite.
pub(super) fn numbers_are_finite(group: &Group<'_>) -> Vec<InputFault> {
    group
        .each()
        .filter(|figure| {
            let columns = [figure.min, figure.typ, figure.max];
            let numbers = columns.iter().flatten().copied();
            !numbers
                .chain(figure.points.iter().flat_map(|(x, y)| [*x, *y]))
                .chain(figure.choices.iter().copied())
                .all(f64::is_finite)
        })
        .map(|figure| {
            InputFault::new(
                figure.span,
                format!(
                    "`{}` of {} is not a finite number",
                    figure.name, group.place
                ),
                "a number",
            )
        })
        .collect()
}
