//! Microcontrollers.

use quantity::Dimension as D;

use super::shared::{COMMON, LOGIC_LEVELS};
use super::spec::{FigureSpec, KindSpec, level, limit};

const OWN: &[FigureSpec] = &[
    limit(
        "analog-supply",
        &[D::VOLTAGE],
        "operating range of the analog supply",
    ),
    limit(
        "io-supply",
        &[D::VOLTAGE],
        "operating range of the pin supply",
    ),
    limit("clock", &[D::FREQUENCY], "of the core"),
    level(
        "transmit-current",
        &[D::CURRENT],
        "supply current while the radio sends",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec {
    has_converters: true,
    has_pins: true,
    ..KindSpec::plain(
        "controller",
        "a microcontroller",
        &[COMMON, LOGIC_LEVELS, OWN],
        &["supply"],
    )
};
