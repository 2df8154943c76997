//! Diodes and clamps, described by points of their curve.

use quantity::Dimension as D;

use super::shared::COMMON;
use super::spec::{FigureSpec, KindSpec, level, limit};

const OWN: &[FigureSpec] = &[
    level(
        "forward-voltage",
        &[D::VOLTAGE],
        "forward voltage against current",
    )
    .against(&[D::CURRENT]),
    level(
        "zener-voltage",
        &[D::VOLTAGE],
        "reverse voltage against current",
    )
    .against(&[D::CURRENT]),
    level(
        "leakage",
        &[D::CURRENT],
        "reverse current at the stated voltage",
    )
    .against(&[D::VOLTAGE]),
    level(
        "forward-drift",
        &[D::VOLTAGE.over(D::TEMPERATURE)],
        "change of the forward voltage",
    ),
    level("dynamic-resistance", &[D::RESISTANCE], "in breakdown"),
    level("capacitance", &[D::CAPACITANCE], "at zero voltage"),
    limit("reverse-voltage", &[D::VOLTAGE], "largest reverse voltage"),
    limit("forward-current", &[D::CURRENT], "largest forward current"),
    limit("power", &[D::POWER], "largest dissipation"),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "diode",
    "a diode or Zener used as a clamp",
    &[COMMON, OWN],
    &["forward-voltage"],
);
