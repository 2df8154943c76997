//! Analog-to-digital converters, and the figures of one inside a controller.

use quantity::Dimension as D;

use super::shared::{COMMON, LOGIC_LEVELS};
use super::spec::{FigureSpec, KindSpec, deviation, level, limit};
use crate::figure::DriftMethod::Butterfly;

/// Figures of one converter unit.
pub(crate) const UNIT: &[FigureSpec] = &[
    deviation(
        "total-unadjusted-error",
        &[D::CODE, D::VOLTAGE, D::NONE],
        "all errors together; replaces offset, gain and linearity",
    ),
    deviation("offset-error", &[D::CODE, D::VOLTAGE, D::NONE], "at zero").against(&[D::NONE]),
    deviation(
        "gain-error",
        &[D::CODE, D::VOLTAGE, D::NONE],
        "at full scale, the offset taken out",
    )
    .against(&[D::NONE]),
    deviation(
        "inl",
        &[D::CODE, D::VOLTAGE, D::NONE],
        "departure from a straight line, of full scale",
    )
    .against(&[D::NONE]),
    deviation(
        "dnl",
        &[D::CODE],
        "departure of a code width from its nominal",
    )
    .against(&[D::CODE]),
    deviation(
        "gain-mismatch",
        &[D::NONE],
        "between the settings of a programmable gain",
    ),
    deviation("gain-drift", &[D::PER_KELVIN], "change of the gain")
        .drift(Butterfly)
        .against(&[D::NONE]),
    deviation(
        "offset-drift",
        &[
            D::VOLTAGE.over(D::TEMPERATURE),
            D::CODE.over(D::TEMPERATURE),
            D::PER_KELVIN,
        ],
        "change of the offset",
    )
    .drift(Butterfly)
    .against(&[D::NONE]),
    level(
        "noise",
        &[D::VOLTAGE, D::CODE, D::NONE],
        "referred to the input, rms",
    )
    .against(&[D::NONE]),
    level(
        "effective-bits",
        &[D::NONE],
        "from the ratio of signal to noise and distortion",
    ),
    level(
        "signal-to-noise",
        &[D::NONE],
        "ratio of a full-scale sine to noise",
    ),
    level(
        "input-leakage",
        &[D::CURRENT],
        "magnitude of the current into the pin",
    ),
    level(
        "input-current",
        &[D::CURRENT],
        "magnitude of the average current into a buffered input",
    )
    .against(&[D::NONE]),
    level("input-resistance", &[D::RESISTANCE], "of the pin to ground"),
    level(
        "input-current-per-volt",
        &[D::CONDUCTANCE],
        "average current into an unbuffered input for each volt",
    ),
    level(
        "sample-capacitor",
        &[D::CAPACITANCE],
        "charged during acquisition",
    ),
    level(
        "switch-resistance",
        &[D::RESISTANCE],
        "in series with the sample capacitor",
    ),
    level(
        "pin-capacitance",
        &[D::CAPACITANCE],
        "at the pin when not sampling",
    ),
    limit(
        "reference-range",
        &[D::VOLTAGE],
        "reference voltages the converter works with",
    ),
    level(
        "reference-input-current",
        &[D::CURRENT],
        "taken from the reference",
    )
    .against(&[D::FREQUENCY]),
    level(
        "reference-input-resistance",
        &[D::RESISTANCE],
        "between the reference pins",
    ),
    level(
        "reference-current-per-volt",
        &[D::CONDUCTANCE],
        "average current into a sampled reference input for each volt",
    ),
    deviation(
        "reference-source-effect",
        &[D::NONE.over(D::RESISTANCE)],
        "gain change for each ohm of the reference source",
    ),
    limit(
        "analog-supply",
        &[D::VOLTAGE],
        "operating range of the analog supply",
    ),
    limit(
        "digital-supply",
        &[D::VOLTAGE],
        "operating range of the digital supply",
    ),
    limit("clock", &[D::FREQUENCY], "converter clock"),
    limit(
        "sample-cycles",
        &[D::NONE],
        "acquisition time in converter clocks",
    ),
    limit("sample-time", &[D::TIME], "acquisition time").against(&[D::RESISTANCE]),
    limit(
        "conversion-cycles",
        &[D::NONE],
        "from the end of acquisition to the code, in converter clocks",
    ),
    limit("conversion-time", &[D::TIME], "from start to code"),
    limit(
        "calibration-cycles",
        &[D::NONE],
        "self-calibration, in converter clocks",
    ),
    limit(
        "source-resistance-limit",
        &[D::RESISTANCE],
        "largest source the maker allows",
    )
    .against(&[D::NONE, D::TIME]),
    limit(
        "sample-rate",
        &[D::FREQUENCY],
        "conversions or outputs per second",
    ),
    limit(
        "data-rates",
        &[D::FREQUENCY],
        "output rates that can be set",
    ),
    limit(
        "filter-order",
        &[D::NONE],
        "of the filter of a converter that averages by its nature: 3 is sin³x/x³",
    ),
    limit(
        "filter-notch",
        &[D::FREQUENCY],
        "lowest frequency that filter nulls, and its multiples; the output rate where not given",
    ),
    limit(
        "settling-conversions",
        &[D::NONE],
        "outputs until a channel that was switched to is right; the filter's order where not given",
    ),
    limit(
        "input-low",
        &[D::VOLTAGE, D::NONE],
        "lowest voltage at an input; a share is of the reference",
    ),
    limit(
        "input-high",
        &[D::VOLTAGE, D::NONE],
        "highest voltage at an input; a share is of the reference",
    ),
    limit(
        "input-span",
        &[D::NONE, D::VOLTAGE],
        "range converted; a share is of the reference",
    ),
    level("mains-rejection", &[D::NONE], "ratio, 50 Hz and 60 Hz").against(&[D::FREQUENCY]),
    level("common-mode-rejection", &[D::NONE], "ratio"),
    level("supply-rejection", &[D::NONE], "ratio"),
    deviation(
        "channel-coupling",
        &[D::NONE],
        "share of another channel's voltage",
    ),
    deviation(
        "injection-coupling",
        &[D::NONE],
        "share of a neighbour's injected current",
    ),
    limit(
        "injection-current",
        &[D::CURRENT],
        "current into a neighbour that does not disturb",
    ),
    level("supply-current", &[D::CURRENT], "taken while converting").against(&[D::FREQUENCY]),
    level(
        "excitation-current",
        &[D::CURRENT],
        "of the built-in current source",
    ),
    deviation(
        "excitation-accuracy",
        &[D::NONE],
        "of the built-in current source",
    ),
    deviation(
        "excitation-drift",
        &[D::PER_KELVIN],
        "of the built-in current source",
    )
    .drift(Butterfly),
    deviation(
        "excitation-matching",
        &[D::NONE],
        "between two built-in current sources",
    ),
    level(
        "temperature-sensor-slope",
        &[D::VOLTAGE.over(D::TEMPERATURE)],
        "of the built-in sensor",
    ),
    level(
        "temperature-sensor-25",
        &[D::VOLTAGE],
        "of the built-in sensor at 25 °C",
    ),
    level("no-missing-codes", &[D::NONE], "bits"),
];

/// Figures of an internal reference.
pub(crate) const REFERENCE: &[FigureSpec] = &[
    level("voltage", &[D::VOLTAGE], "output voltage").carried_by(&["initial-accuracy"]),
    deviation(
        "initial-accuracy",
        &[D::NONE, D::VOLTAGE],
        "error at 25 °C when new",
    ),
    deviation("drift", &[D::PER_KELVIN], "change with temperature")
        .drift(crate::figure::DriftMethod::Box),
    deviation(
        "spread-over-temperature",
        &[D::VOLTAGE],
        "total change over the range",
    ),
    deviation(
        "ageing",
        &[
            D::NONE,
            D::NONE.over(D::TIME),
            D::NONE.over(D::TIME.sqrt_of()),
        ],
        "change with time",
    ),
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
    level("supply-rejection", &[D::NONE], "ratio").against(&[D::FREQUENCY]),
    limit("output-current", &[D::CURRENT], "load it can take"),
    limit("load-capacitance", &[D::CAPACITANCE], "capacitor it needs"),
    limit("analog-supply", &[D::VOLTAGE], "supply it needs"),
    limit(
        "sample-time",
        &[D::TIME],
        "acquisition time needed to read it",
    ),
    level(
        "pin-resistance",
        &[D::RESISTANCE],
        "from the reference pin to ground",
    ),
    level("settling-time", &[D::TIME], "after it is switched on"),
];

/// Figures of one measuring range.
pub(crate) const RANGE: &[FigureSpec] = &[
    limit("span", &[D::VOLTAGE], "voltages converted in this range"),
    deviation(
        "total-error",
        &[D::VOLTAGE, D::CODE],
        "all errors together in this range",
    ),
    deviation("gain-error", &[D::NONE], "in this range"),
    deviation("offset-error", &[D::VOLTAGE, D::CODE], "in this range"),
    level("input-resistance", &[D::RESISTANCE], "in this range"),
];

pub(crate) const KIND: KindSpec = KindSpec {
    has_converters: true,
    has_pins: true,
    ..KindSpec::plain(
        "converter",
        "an analog-to-digital converter as a part of its own",
        &[COMMON, LOGIC_LEVELS],
        &["supply"],
    )
};
