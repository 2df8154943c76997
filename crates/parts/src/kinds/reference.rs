//! Voltage references.

use quantity::Dimension as D;

use super::shared::{COMMON, VOLTAGE_SOURCE};
use super::spec::{FigureSpec, KindSpec, deviation, level, limit};

const SERIES: &[FigureSpec] = &[
    deviation(
        "line-regulation",
        &[D::NONE.over(D::VOLTAGE)],
        "relative change for each volt of supply",
    ),
    deviation(
        "load-regulation",
        &[D::NONE.over(D::CURRENT)],
        "relative change for each ampere of load",
    ),
    limit("dropout", &[D::VOLTAGE], "least supply above the output"),
    limit(
        "output-current",
        &[D::CURRENT],
        "sourced (max) and sunk (min, negative)",
    ),
];

const SHUNT: &[FigureSpec] = &[
    limit(
        "minimum-current",
        &[D::CURRENT],
        "least current that keeps the voltage",
    ),
    limit(
        "maximum-current",
        &[D::CURRENT],
        "largest current that keeps the figures",
    ),
    level(
        "dynamic-resistance",
        &[D::RESISTANCE],
        "change of voltage for each ampere",
    ),
    level(
        "current-change",
        &[D::VOLTAGE],
        "change of voltage against current",
    )
    .against(&[D::CURRENT]),
];

pub(crate) const SERIES_KIND: KindSpec = KindSpec::plain(
    "series-reference",
    "a voltage reference in series with its supply",
    &[COMMON, VOLTAGE_SOURCE, SERIES],
    &["voltage"],
);

pub(crate) const SHUNT_KIND: KindSpec = KindSpec::plain(
    "shunt-reference",
    "a voltage reference fed through a resistor",
    &[COMMON, VOLTAGE_SOURCE, SHUNT],
    &["voltage", "minimum-current"],
);
