//! Instrumentation amplifiers.

use quantity::Dimension as D;

use super::shared::{AMPLIFIER_COMMON, COMMON};
use super::spec::{FigureSpec, KindSpec, deviation, level, limit};
use crate::figure::DriftMethod::Butterfly;

const OWN: &[FigureSpec] = &[
    level(
        "gain-resistance",
        &[D::RESISTANCE],
        "R0 in gain = 1 + R0 / R_gain",
    ),
    limit("gain-range", &[D::NONE], "gains that can be set"),
    deviation("gain-error", &[D::NONE], "without the external resistor").against(&[D::NONE]),
    deviation(
        "gain-drift",
        &[D::PER_KELVIN],
        "without the external resistor",
    )
    .drift(Butterfly)
    .against(&[D::NONE]),
    deviation("nonlinearity", &[D::NONE], "of the output span").against(&[D::NONE]),
    deviation(
        "output-offset-voltage",
        &[D::VOLTAGE],
        "part of the offset that does not grow with gain",
    ),
    deviation(
        "output-offset-drift",
        &[D::VOLTAGE.over(D::TEMPERATURE)],
        "change of the output offset",
    )
    .drift(Butterfly),
    level(
        "output-noise-density",
        &[D::VOLTAGE_NOISE_DENSITY],
        "part of the noise that does not grow with gain",
    ),
    level(
        "current-noise-low-frequency",
        &[D::CURRENT],
        "0.1 Hz to 10 Hz, peak to peak",
    )
    .band(0.1, 10.0)
    .peak_to_peak(),
    level("bandwidth", &[D::FREQUENCY], "small signals").against(&[D::NONE]),
    limit(
        "common-mode-low",
        &[D::VOLTAGE],
        "least common mode against the output, both above the negative supply",
    )
    .against(&[D::VOLTAGE]),
    limit(
        "common-mode-high",
        &[D::VOLTAGE],
        "largest common mode against the output, both above the negative supply",
    )
    .against(&[D::VOLTAGE]),
    limit(
        "inner-headroom-low",
        &[D::VOLTAGE],
        "how far above the negative supply the inner nodes must stay",
    ),
    limit(
        "inner-headroom-high",
        &[D::VOLTAGE],
        "how far below the positive supply the inner nodes must stay",
    ),
    limit(
        "first-stage-gain",
        &[D::NONE],
        "gain ahead of the inner nodes, as a share of the whole gain",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "instrumentation-amplifier",
    "an amplifier of a difference, with a gain set by resistors and a reference pin",
    &[COMMON, AMPLIFIER_COMMON, OWN],
    &["offset-voltage", "gain-range", "supply"],
);
