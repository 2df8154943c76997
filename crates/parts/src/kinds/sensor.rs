//! Sensors with an electrical output. The figures of each law are beside the laws.

use quantity::Dimension as D;

use super::shared::COMMON;
use super::spec::{Allowed, FigureSpec, KindSpec, level, limit, of_quantity};
use crate::figure::DriftMethod::Butterfly;
use crate::figure::Role::{Deviation, Level, Limit};

const OWN: &[FigureSpec] = &[
    of_quantity(
        "accuracy",
        Allowed::QuantityOrShare,
        Deviation,
        "all errors together, in the quantity's unit or of the reading",
    )
    .against_quantity(),
    of_quantity(
        "accuracy-at-25",
        Allowed::QuantityOrShare,
        Deviation,
        "the same at 25 °C",
    ),
    of_quantity(
        "accuracy-of-span",
        Allowed::These(&[D::NONE]),
        Deviation,
        "all errors together, as a share of the span",
    ),
    of_quantity(
        "offset-error",
        Allowed::QuantityOrShare,
        Deviation,
        "error at zero, in the quantity's unit or of the span",
    ),
    of_quantity(
        "offset-voltage",
        Allowed::These(&[D::VOLTAGE]),
        Deviation,
        "error at zero, in volts at the output",
    ),
    of_quantity(
        "offset-drift",
        Allowed::QuantityPer(&[D::TEMPERATURE]),
        Deviation,
        "change of the zero",
    )
    .drift(Butterfly),
    of_quantity(
        "offset-drift-of-span",
        Allowed::These(&[D::PER_KELVIN]),
        Deviation,
        "change of the zero, as a share of the span",
    )
    .drift(Butterfly),
    of_quantity(
        "sensitivity-error",
        Allowed::These(&[D::NONE]),
        Deviation,
        "relative error of the slope",
    ),
    of_quantity(
        "sensitivity-drift",
        Allowed::These(&[D::PER_KELVIN]),
        Deviation,
        "change of the slope",
    )
    .drift(Butterfly),
    of_quantity(
        "supply-sensitivity",
        Allowed::QuantityPer(&[D::VOLTAGE]),
        Deviation,
        "change with the supply",
    ),
    of_quantity(
        "load-regulation",
        Allowed::QuantityPer(&[D::CURRENT]),
        Deviation,
        "change with the current drawn from the output",
    ),
    of_quantity(
        "hysteresis",
        Allowed::QuantityOrShare,
        Deviation,
        "between rising and falling; never calibrates out",
    ),
    of_quantity(
        "repeatability",
        Allowed::QuantityOrShare,
        Deviation,
        "between readings of the same value",
    ),
    of_quantity(
        "nonlinearity",
        Allowed::QuantityOrShare,
        Deviation,
        "departure from the law, of the span",
    ),
    of_quantity(
        "ageing",
        Allowed::QuantityOrShare,
        Deviation,
        "change over the stated time",
    ),
    of_quantity(
        "creep",
        Allowed::QuantityOrShare,
        Deviation,
        "change under constant load, over the stated time",
    ),
    of_quantity(
        "self-heating",
        Allowed::QuantityPer(&[D::POWER]),
        Level,
        "rise for each watt",
    ),
    of_quantity("span", Allowed::QuantityValue, Limit, "measuring range"),
    of_quantity(
        "overload",
        Allowed::QuantityValue,
        Limit,
        "largest value it survives",
    ),
    of_quantity(
        "noise-density",
        Allowed::QuantityPer(&[D::FREQUENCY.sqrt_of()]),
        Level,
        "in the quantity's unit for each root hertz",
    )
    .against(&[D::VOLTAGE]),
    level(
        "noise",
        &[D::VOLTAGE, D::NONE],
        "at the output, peak to peak unless it says rms; points are against the bandwidth",
    )
    .against(&[D::FREQUENCY])
    .peak_to_peak(),
    limit(
        "output-range",
        &[D::VOLTAGE, D::CURRENT],
        "range of the output",
    ),
    level(
        "dissipation",
        &[D::DISSIPATION],
        "power for each kelvin of self-heating",
    ),
    level("time-constant", &[D::TIME], "to 63 % of a step"),
    level("response-time", &[D::TIME], "to the stated share of a step"),
    level("output-resistance", &[D::RESISTANCE], "of the output"),
    level(
        "filter-resistance",
        &[D::RESISTANCE],
        "in series with the filter pin",
    ),
    limit("load-current", &[D::CURRENT], "current the output can give"),
    limit(
        "load-resistance",
        &[D::RESISTANCE],
        "load the output needs at least",
    ),
    limit(
        "load-capacitance",
        &[D::CAPACITANCE],
        "capacitive load the output bears",
    ),
    limit(
        "measuring-current",
        &[D::CURRENT],
        "usual excitation current",
    ),
    limit("excitation", &[D::VOLTAGE], "usual excitation voltage"),
    limit("power", &[D::POWER], "largest dissipation"),
    level(
        "bandwidth",
        &[D::FREQUENCY],
        "where the response has fallen by 3 dB",
    ),
    level("capacitance", &[D::CAPACITANCE], "across the element").against(&[D::VOLTAGE]),
    level(
        "short-circuit-current",
        &[D::CURRENT],
        "light current at the stated illumination",
    ),
    limit("reverse-voltage", &[D::VOLTAGE], "largest reverse voltage"),
    level("area", &[D::AREA], "sensitive area"),
    level(
        "conductor-resistance",
        &[D::RESISTANCE],
        "of the path the measured current takes",
    ),
    limit(
        "isolation",
        &[D::VOLTAGE],
        "voltage between the measured circuit and the output",
    ),
    limit(
        "input-low",
        &[D::VOLTAGE],
        "highest voltage of a control pin that surely reads low",
    ),
    limit(
        "input-high",
        &[D::VOLTAGE],
        "lowest voltage of a control pin that surely reads high",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec {
    measures_by_law: true,
    ..KindSpec::plain(
        "sensor",
        "an element that turns a quantity into an electrical value",
        &[COMMON, OWN],
        &[],
    )
};
