//! Transistors used as switches and level translators.

use quantity::Dimension as D;

use super::shared::COMMON;
use super::spec::{FigureSpec, KindSpec, level, limit};

const OWN: &[FigureSpec] = &[
    limit(
        "drain-voltage",
        &[D::VOLTAGE],
        "largest drain to source voltage",
    ),
    limit(
        "gate-voltage",
        &[D::VOLTAGE],
        "largest gate to source voltage",
    ),
    limit(
        "drain-current",
        &[D::CURRENT],
        "largest continuous drain current",
    ),
    level(
        "gate-threshold",
        &[D::VOLTAGE],
        "gate voltage at which it starts to conduct",
    ),
    level(
        "gate-threshold-drift",
        &[D::VOLTAGE.over(D::TEMPERATURE)],
        "change of the threshold",
    ),
    level(
        "on-resistance",
        &[D::RESISTANCE],
        "drain to source, fully on",
    )
    .against(&[D::VOLTAGE]),
    level("leakage", &[D::CURRENT], "drain current when off").against(&[D::VOLTAGE]),
    level("input-capacitance", &[D::CAPACITANCE], "of the gate"),
    level("output-capacitance", &[D::CAPACITANCE], "of the drain"),
    level("transfer-capacitance", &[D::CAPACITANCE], "gate to drain"),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "transistor",
    "a field-effect transistor used as a switch",
    &[COMMON, OWN],
    &["gate-threshold", "on-resistance"],
);
