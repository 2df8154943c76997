//! Figures that several kinds have in common.

use quantity::Dimension as D;

use super::spec::{FigureSpec, deviation, level, limit};
use crate::figure::DriftMethod::Butterfly;

/// Supply, temperature and ratings.
pub(crate) const COMMON: &[FigureSpec] = &[
    limit("supply", &[D::VOLTAGE], "operating range of the supply"),
    level(
        "supply-current",
        &[D::CURRENT],
        "current taken from the supply in use",
    )
    .against(&[D::FREQUENCY, D::CURRENT, D::VOLTAGE]),
    level(
        "standby-current",
        &[D::CURRENT],
        "current taken from the supply when idle or shut down",
    ),
    limit(
        "temperature-range",
        &[D::TEMPERATURE],
        "ambient range the part is made for",
    )
    .absolute(),
    level(
        "thermal-resistance",
        &[D::THERMAL_RESISTANCE],
        "junction to ambient",
    ),
    level(
        "thermal-resistance-case",
        &[D::THERMAL_RESISTANCE],
        "junction to case",
    ),
    limit(
        "junction-temperature",
        &[D::TEMPERATURE],
        "highest permitted junction temperature",
    )
    .absolute(),
    limit(
        "absolute-maximum-supply",
        &[D::VOLTAGE],
        "supply that must never be exceeded",
    ),
    limit(
        "absolute-maximum-pin",
        &[D::VOLTAGE],
        "voltage on any pin that must never be exceeded",
    ),
    level(
        "settling-time",
        &[D::TIME],
        "from power-up or a step until within the stated error",
    ),
    level(
        "decoupling",
        &[D::CAPACITANCE],
        "capacitor the maker asks for at the supply pin",
    ),
];

/// Digital levels and pin properties.
pub(crate) const LOGIC_LEVELS: &[FigureSpec] = &[
    limit(
        "input-low",
        &[D::VOLTAGE],
        "highest voltage that surely reads low",
    )
    .against(&[D::VOLTAGE]),
    limit(
        "input-high",
        &[D::VOLTAGE],
        "lowest voltage that surely reads high",
    )
    .against(&[D::VOLTAGE]),
    limit(
        "output-low",
        &[D::VOLTAGE],
        "highest low level at the stated current",
    )
    .against(&[D::CURRENT]),
    limit(
        "output-high",
        &[D::VOLTAGE],
        "lowest high level at the stated current",
    )
    .against(&[D::CURRENT]),
    limit(
        "output-low-current",
        &[D::CURRENT],
        "current at which output-low holds",
    ),
    limit(
        "output-high-current",
        &[D::CURRENT],
        "current at which output-high holds",
    ),
    limit(
        "output-supply",
        &[D::VOLTAGE],
        "supply at which output-high holds; the lowest where it is not said",
    ),
    level("output-resistance", &[D::RESISTANCE], "of a driven pin"),
    limit(
        "input-low-tolerant",
        &[D::VOLTAGE],
        "input-low of the pins that tolerate 5 V",
    ),
    limit(
        "input-high-tolerant",
        &[D::VOLTAGE],
        "input-high of the pins that tolerate 5 V",
    ),
    level(
        "input-leakage",
        &[D::CURRENT],
        "magnitude of the current into an input pin",
    ),
    level(
        "input-leakage-tolerant",
        &[D::CURRENT],
        "the same for pins that tolerate 5 V",
    ),
    level("pin-capacitance", &[D::CAPACITANCE], "of one pin"),
    level(
        "pull-up",
        &[D::RESISTANCE],
        "built-in resistor to the supply, when on",
    ),
    level(
        "pull-down",
        &[D::RESISTANCE],
        "built-in resistor to ground, when on",
    ),
    limit(
        "operating-pin",
        &[D::VOLTAGE],
        "voltage range of an ordinary pin in use",
    ),
    limit(
        "operating-pin-tolerant",
        &[D::VOLTAGE],
        "the same for pins that tolerate 5 V",
    ),
    limit(
        "absolute-maximum-pin-tolerant",
        &[D::VOLTAGE],
        "absolute maximum of pins that tolerate 5 V",
    ),
    limit(
        "pin-current",
        &[D::CURRENT],
        "current of one pin that must never be exceeded",
    ),
    limit("pin-current-total", &[D::CURRENT], "the same over all pins"),
    limit(
        "injection-current",
        &[D::CURRENT],
        "current a clamp may take without disturbing others",
    ),
    limit(
        "injection-current-tolerant",
        &[D::CURRENT],
        "the same for pins that tolerate 5 V",
    ),
    limit(
        "injection-current-total",
        &[D::CURRENT],
        "the same over all pins",
    ),
    limit(
        "clamp-current",
        &[D::CURRENT],
        "current through the input clamp that must never be exceeded",
    ),
    level(
        "sink-current",
        &[D::CURRENT],
        "current a low output can take",
    ),
    level(
        "source-current",
        &[D::CURRENT],
        "current a high output can give",
    ),
    limit("i2c-clock", &[D::FREQUENCY], "two-wire bus clock"),
    limit("spi-clock", &[D::FREQUENCY], "serial peripheral bus clock"),
    limit(
        "spi-valid",
        &[D::TIME],
        "from the clock's edge to valid data at the output of a part",
    ),
    limit(
        "spi-set-up",
        &[D::TIME],
        "data stand so long before the clock's edge that takes them",
    ),
    limit("spi-hold", &[D::TIME], "data stand so long after that edge"),
    limit(
        "spi-clock-slave",
        &[D::FREQUENCY],
        "the same when driven from outside",
    ),
    limit(
        "bus-load",
        &[D::CAPACITANCE],
        "capacitance the bus may have",
    ),
    limit(
        "bus-pull-up",
        &[D::RESISTANCE],
        "pull-up resistance the bus may have",
    ),
];

/// Errors of a part that puts out a voltage by itself.
pub(crate) const VOLTAGE_SOURCE: &[FigureSpec] = &[
    level("voltage", &[D::VOLTAGE], "output voltage").carried_by(&["initial-accuracy"]),
    deviation(
        "initial-accuracy",
        &[D::NONE, D::VOLTAGE],
        "error at 25 °C when new",
    ),
    deviation("drift", &[D::PER_KELVIN], "change with temperature")
        .drift(crate::figure::DriftMethod::Box),
    deviation(
        "ageing",
        &[
            D::NONE,
            D::NONE.over(D::TIME),
            D::NONE.over(D::TIME.sqrt_of()),
        ],
        "change with time, per thousand hours or per root of thousand hours",
    ),
    deviation("hysteresis", &[D::NONE], "change after a temperature cycle"),
    level(
        "noise-low-frequency",
        &[D::VOLTAGE, D::NONE],
        "0.1 Hz to 10 Hz; says whether peak to peak or rms",
    )
    .band(0.1, 10.0),
    level("noise-wide", &[D::VOLTAGE], "rms over the stated band"),
    level("noise-density", &[D::VOLTAGE_NOISE_DENSITY], "white part"),
    level(
        "load-capacitance",
        &[D::CAPACITANCE],
        "capacitor at the output",
    ),
];

/// Offset-like figures of amplifiers of both kinds.
pub(crate) const AMPLIFIER_COMMON: &[FigureSpec] = &[
    deviation("offset-voltage", &[D::VOLTAGE], "input offset at 25 °C"),
    deviation(
        "offset-drift",
        &[D::VOLTAGE.over(D::TEMPERATURE)],
        "change of the input offset",
    )
    .drift(Butterfly),
    deviation(
        "offset-ageing",
        &[D::VOLTAGE],
        "change of the input offset with time",
    ),
    deviation(
        "offset-hysteresis",
        &[D::VOLTAGE],
        "change of the input offset after a temperature cycle",
    ),
    level(
        "bias-current",
        &[D::CURRENT],
        "magnitude of the current into each input",
    )
    .against(&[D::TEMPERATURE]),
    level(
        "bias-current-drift",
        &[D::CURRENT.over(D::TEMPERATURE)],
        "change of the bias current",
    ),
    deviation(
        "offset-current",
        &[D::CURRENT],
        "difference of the bias currents",
    ),
    level(
        "common-mode-rejection",
        &[D::NONE],
        "ratio, at direct current",
    )
    .against(&[D::NONE, D::FREQUENCY]),
    level("supply-rejection", &[D::NONE], "ratio, at direct current")
        .against(&[D::NONE, D::FREQUENCY]),
    level(
        "slew-rate",
        &[D::SLEW_RATE],
        "largest rate of change of the output",
    ),
    level(
        "output-current",
        &[D::CURRENT],
        "short-circuit or rated output current",
    ),
    limit(
        "swing-low",
        &[D::VOLTAGE],
        "how near the output comes to the negative supply",
    )
    .against(&[D::CURRENT]),
    limit(
        "swing-high",
        &[D::VOLTAGE],
        "how near the output comes to the positive supply",
    )
    .against(&[D::CURRENT]),
    level(
        "swing-low-current",
        &[D::CURRENT],
        "current the output can sink and still stay within swing-low",
    ),
    level(
        "swing-high-current",
        &[D::CURRENT],
        "current the output can source and still stay within swing-high",
    ),
    limit(
        "swing-low-beyond",
        &[D::VOLTAGE],
        "distance from the negative supply when sinking more than swing-low-current",
    ),
    limit(
        "swing-high-beyond",
        &[D::VOLTAGE],
        "distance from the positive supply when sourcing more than swing-high-current",
    ),
    limit(
        "swing-load",
        &[D::RESISTANCE, D::CURRENT],
        "load at which the swing holds",
    ),
    limit(
        "input-headroom-low",
        &[D::VOLTAGE],
        "how far above the negative supply the inputs must stay; negative is below it",
    ),
    limit(
        "input-headroom-high",
        &[D::VOLTAGE],
        "how far below the positive supply the inputs must stay; negative is above it",
    ),
    level(
        "input-capacitance",
        &[D::CAPACITANCE],
        "of one input to ground",
    ),
    level(
        "input-capacitance-differential",
        &[D::CAPACITANCE],
        "between the inputs",
    ),
    level(
        "input-resistance",
        &[D::RESISTANCE],
        "of one input to ground",
    ),
    level(
        "input-resistance-differential",
        &[D::RESISTANCE],
        "between the inputs",
    ),
    limit(
        "differential-input",
        &[D::VOLTAGE],
        "largest difference between the inputs",
    ),
    limit(
        "load-capacitance",
        &[D::CAPACITANCE],
        "largest capacitive load",
    ),
    level(
        "noise-density",
        &[D::VOLTAGE_NOISE_DENSITY],
        "input voltage noise, white part",
    ),
    level(
        "noise-corner",
        &[D::FREQUENCY],
        "where 1/f noise equals the white part",
    ),
    level(
        "noise-low-frequency",
        &[D::VOLTAGE],
        "0.1 Hz to 10 Hz, peak to peak",
    )
    .against(&[D::NONE])
    .band(0.1, 10.0)
    .peak_to_peak(),
    level(
        "current-noise-density",
        &[D::CURRENT_NOISE_DENSITY],
        "input current noise",
    ),
    level(
        "overload-recovery",
        &[D::TIME],
        "from saturation back to the linear range",
    ),
];
