//! Resistors.

use quantity::Dimension as D;

use super::spec::{FigureSpec, KindSpec, deviation, level, limit};
use crate::figure::DriftMethod::Butterfly;

const OWN: &[FigureSpec] = &[
    level("resistance", &[D::RESISTANCE], "nominal value").carried_by(&["tolerance"]),
    deviation(
        "tolerance",
        &[D::NONE],
        "of the nominal value at the reference temperature",
    ),
    deviation("drift", &[D::PER_KELVIN], "temperature coefficient").drift(Butterfly),
    deviation(
        "tracking-drift",
        &[D::PER_KELVIN],
        "difference between the coefficients of one network",
    )
    .drift(Butterfly),
    deviation(
        "matching",
        &[D::NONE],
        "difference between the resistors of one network",
    ),
    deviation("ageing", &[D::NONE], "change over the stated time"),
    level(
        "noise-index",
        &[D::NONE],
        "excess noise, volts for each volt and decade",
    ),
    limit("power", &[D::POWER], "rated dissipation"),
    limit("voltage", &[D::VOLTAGE], "rated voltage"),
    level(
        "thermal-resistance",
        &[D::THERMAL_RESISTANCE],
        "body to ambient",
    ),
    limit("series", &[D::NONE], "preferred series it is made in"),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "resistor",
    "a fixed resistor",
    &[OWN],
    &["tolerance", "drift"],
);
