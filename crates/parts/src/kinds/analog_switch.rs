//! Analog multiplexers and switches.

use quantity::Dimension as D;

use super::shared::{COMMON, LOGIC_LEVELS};
use super::spec::{FigureSpec, KindSpec, level, limit};

const OWN: &[FigureSpec] = &[
    level("on-resistance", &[D::RESISTANCE], "of a closed path").against(&[D::VOLTAGE]),
    level(
        "on-resistance-flatness",
        &[D::RESISTANCE],
        "change over the signal range",
    ),
    level("off-leakage", &[D::CURRENT], "of an open path"),
    level("on-leakage", &[D::CURRENT], "of a closed path"),
    level("off-capacitance", &[D::CAPACITANCE], "of an open path"),
    level("on-capacitance", &[D::CAPACITANCE], "of a closed path"),
    level(
        "charge-injection",
        &[D::CHARGE],
        "put on the signal when switching",
    ),
    level(
        "switching-time",
        &[D::TIME],
        "until the path is closed or open",
    ),
    limit("signal-range", &[D::VOLTAGE], "voltages the path passes"),
    limit("channels", &[D::NONE], "number of paths"),
];

pub(crate) const MULTIPLEXER: KindSpec = KindSpec::plain(
    "multiplexer",
    "an analog multiplexer",
    &[COMMON, LOGIC_LEVELS, OWN],
    &["on-resistance", "channels"],
);

pub(crate) const SWITCH: KindSpec = KindSpec::plain(
    "switch",
    "an analog switch",
    &[COMMON, LOGIC_LEVELS, OWN],
    &["on-resistance"],
);
