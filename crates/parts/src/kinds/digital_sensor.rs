//! Sensors that put out numbers over a bus.

use quantity::Dimension as D;

use super::shared::{COMMON, LOGIC_LEVELS};
use super::spec::{Allowed, FigureSpec, KindSpec, level, limit, of_quantity};
use crate::figure::DriftMethod::Butterfly;
use crate::figure::Role::{Deviation, Level, Limit};

/// Figures of one measured quantity.
pub(crate) const MEASURE: &[FigureSpec] = &[
    of_quantity(
        "accuracy",
        Allowed::QuantityOrShare,
        Deviation,
        "all errors together",
    )
    .against_quantity(),
    of_quantity(
        "relative-accuracy",
        Allowed::QuantityOrShare,
        Deviation,
        "of changes within the stated range",
    ),
    of_quantity(
        "repeatability",
        Allowed::QuantityOrShare,
        Deviation,
        "between readings of the same value",
    ),
    of_quantity(
        "resolution",
        Allowed::Quantity,
        Level,
        "one step of the number put out",
    ),
    of_quantity("range", Allowed::QuantityValue, Limit, "measuring range"),
    of_quantity(
        "hysteresis",
        Allowed::QuantityOrShare,
        Deviation,
        "between rising and falling; never calibrates out",
    ),
    of_quantity(
        "drift-per-year",
        Allowed::QuantityOrShare,
        Deviation,
        "change in one year",
    ),
    of_quantity(
        "offset-error",
        Allowed::QuantityOrShare,
        Deviation,
        "error at zero",
    ),
    of_quantity(
        "offset-error-z",
        Allowed::QuantityOrShare,
        Deviation,
        "error at zero along the third axis",
    ),
    of_quantity(
        "offset-drift",
        Allowed::QuantityPer(&[D::TEMPERATURE]),
        Deviation,
        "change of the zero",
    )
    .drift(Butterfly),
    of_quantity(
        "offset-drift-z",
        Allowed::QuantityPer(&[D::TEMPERATURE]),
        Deviation,
        "the same along the third axis",
    )
    .drift(Butterfly),
    of_quantity(
        "sensitivity-drift",
        Allowed::These(&[D::PER_KELVIN]),
        Deviation,
        "change of the scale",
    )
    .drift(Butterfly),
    of_quantity(
        "nonlinearity",
        Allowed::QuantityOrShare,
        Deviation,
        "departure from a straight line, of full scale",
    ),
    of_quantity(
        "cross-axis",
        Allowed::These(&[D::NONE]),
        Deviation,
        "share of the other axes",
    ),
    of_quantity(
        "supply-sensitivity",
        Allowed::QuantityPer(&[D::VOLTAGE]),
        Deviation,
        "change with the supply",
    ),
    of_quantity(
        "error-over-supply",
        Allowed::Quantity,
        Deviation,
        "error over the whole supply range",
    ),
    of_quantity("noise", Allowed::Quantity, Level, "rms, as stated").against(&[D::NONE]),
    of_quantity(
        "noise-codes",
        Allowed::These(&[D::CODE]),
        Level,
        "rms, as stated",
    ),
    of_quantity(
        "noise-codes-z",
        Allowed::These(&[D::CODE]),
        Level,
        "rms along the third axis",
    ),
    of_quantity(
        "noise-z",
        Allowed::Quantity,
        Level,
        "rms along the third axis",
    ),
    of_quantity(
        "noise-density",
        Allowed::QuantityPer(&[D::FREQUENCY.sqrt_of()]),
        Level,
        "for each root hertz",
    ),
    of_quantity(
        "code-step",
        Allowed::CodeStep,
        Level,
        "quantity for each code, or codes for each unit",
    )
    .carried_by(&["accuracy"])
    .against_quantity(),
    of_quantity(
        "code-zero",
        Allowed::QuantityValue,
        Limit,
        "quantity at code zero",
    ),
    level("response-time", &[D::TIME], "to the stated share of a step"),
    limit(
        "output-rate",
        &[D::FREQUENCY],
        "readings per second that can be set",
    ),
    limit(
        "conversion-time",
        &[D::TIME],
        "from the command to the number",
    )
    .against(&[D::NONE]),
    limit("integration-time", &[D::TIME], "that can be set"),
    limit("bits", &[D::NONE], "of the number put out"),
];

const OWN: &[FigureSpec] = &[
    limit(
        "conversion-time",
        &[D::TIME],
        "from the command to the number",
    ),
    limit(
        "start-up-time",
        &[D::TIME],
        "from power or reset to the first valid number",
    ),
    limit(
        "io-supply",
        &[D::VOLTAGE],
        "operating range of the pin supply",
    ),
    level(
        "peak-current",
        &[D::CURRENT],
        "largest current during a conversion",
    ),
    level("heater-power", &[D::POWER], "of a built-in heater"),
];

pub(crate) const KIND: KindSpec = KindSpec {
    measures_digitally: true,
    ..KindSpec::plain(
        "digital-sensor",
        "a sensor that puts out numbers over a bus",
        &[COMMON, LOGIC_LEVELS, OWN],
        &["supply"],
    )
};
