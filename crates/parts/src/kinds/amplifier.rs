//! Operational amplifiers.

use quantity::Dimension as D;

use super::shared::{AMPLIFIER_COMMON, COMMON};
use super::spec::{FigureSpec, KindSpec, deviation, level};

const OWN: &[FigureSpec] = &[
    level("open-loop-gain", &[D::NONE], "ratio, at direct current").against(&[D::RESISTANCE]),
    level(
        "gain-bandwidth",
        &[D::FREQUENCY],
        "product of gain and bandwidth",
    ),
    deviation(
        "guard-offset-voltage",
        &[D::VOLTAGE],
        "offset of the built-in guard buffer",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "amplifier",
    "an operational amplifier",
    &[COMMON, AMPLIFIER_COMMON, OWN],
    &["offset-voltage", "supply"],
);
