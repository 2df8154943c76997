//! The sensor laws by name, with the figures each one takes.
//!
//! The equations are elsewhere; here stands what a part file must give for
//! them, so that a file can be checked without solving anything.

use quantity::Dimension as D;

use crate::figure::Role::{Deviation, Level, Limit};
use crate::kinds::{Allowed, FigureSpec, deviation, level, limit, of_quantity};

/// A sensor law as part files see it.
#[derive(Clone, Copy, Debug)]
pub struct LawSpec {
    /// Name as written in files.
    pub name: &'static str,
    /// What it describes.
    pub meaning: &'static str,
    /// Name of the quantity, where only one makes sense.
    pub quantity: Option<&'static str>,
    /// Figures it takes.
    pub figures: &'static [FigureSpec],
    /// Those it cannot do without.
    pub required: &'static [&'static str],
    /// Options it takes, with the words allowed.
    pub options: &'static [(&'static str, &'static [&'static str])],
}

const fn law_spec(
    name: &'static str,
    meaning: &'static str,
    quantity: Option<&'static str>,
    figures: &'static [FigureSpec],
    required: &'static [&'static str],
) -> LawSpec {
    LawSpec {
        name,
        meaning,
        quantity,
        figures,
        required,
        options: &[],
    }
}

const CURVE: (&str, &[&str]) = ("curve", &["smooth", "straight"]);

/// Figures of a sensor that carry the deviation of its slope.
const SLOPE_ERRORS: &[&str] = &["accuracy", "accuracy-of-span", "sensitivity-error"];

/// Figures of a sensor that carry the deviation of its zero.
const OFFSET_ERRORS: &[&str] = &[
    "accuracy",
    "accuracy-of-span",
    "offset-error",
    "offset-voltage",
];

const OHM: &[D] = &[D::RESISTANCE];
const VOLT: &[D] = &[D::VOLTAGE];
const AMP: &[D] = &[D::CURRENT];
const RATIO: &[D] = &[D::NONE];
const KELVIN: &[D] = &[D::TEMPERATURE];
const PER_KELVIN: &[D] = &[D::PER_KELVIN];

const fn origin() -> FigureSpec {
    of_quantity(
        "origin",
        Allowed::QuantityValue,
        Limit,
        "quantity at which the output is the offset",
    )
}

const fn shift() -> FigureSpec {
    of_quantity(
        "shift",
        Allowed::Quantity,
        Deviation,
        "deviation between parts, in the quantity",
    )
}

const fn points(dimensions: &'static [D], meaning: &'static str) -> FigureSpec {
    level("points", dimensions, meaning).against_quantity()
}

const fn coefficient(name: &'static str, power: i8, dimensions: &'static [D]) -> FigureSpec {
    of_quantity(
        name,
        Allowed::PerQuantityPower(dimensions, power),
        Level,
        "coefficient of this power",
    )
}

const PLATINUM: &[FigureSpec] = &[
    limit("nominal-resistance", OHM, "resistance at 0 °C"),
    deviation("class-at-zero", KELVIN, "tolerance of the class at 0 °C"),
    deviation(
        "class-slope",
        RATIO,
        "tolerance of the class for each kelvin away from 0 °C",
    ),
];

const THERMISTOR_BETA: &[FigureSpec] = &[
    level("resistance-25", OHM, "resistance at 25 °C"),
    level("beta", KELVIN, "exponent of the resistance over 1/T"),
];

const THERMISTOR_STEINHART: &[FigureSpec] = &[
    limit("a", PER_KELVIN, "constant term of 1/T"),
    limit("b", PER_KELVIN, "factor of ln(R/Ω)"),
    limit("c", PER_KELVIN, "factor of ln(R/Ω)³"),
    shift(),
];

const THERMISTOR_POLYNOMIAL: &[FigureSpec] = &[
    level("resistance-25", OHM, "resistance at 25 °C"),
    limit("a", RATIO, "constant term of ln(R/R25)"),
    limit("b", KELVIN, "factor of 1/T"),
    limit("c", &[D::TEMPERATURE.power(2)], "factor of 1/T²"),
    limit("d", &[D::TEMPERATURE.power(3)], "factor of 1/T³"),
    deviation("beta-deviation", RATIO, "relative deviation of beta"),
    limit("inverse-a", PER_KELVIN, "constant term of 1/T"),
    limit("inverse-b", PER_KELVIN, "factor of ln(R/R25)"),
    limit("inverse-c", PER_KELVIN, "factor of ln(R/R25)²"),
    limit("inverse-d", PER_KELVIN, "factor of ln(R/R25)³"),
];

const RESISTANCE_TABLE: &[FigureSpec] = &[
    points(OHM, "resistance against the quantity"),
    level("factor", RATIO, "factor on all resistances"),
    shift(),
];

const VOLTAGE_TABLE: &[FigureSpec] = &[
    points(VOLT, "output against the quantity"),
    deviation("offset", VOLT, "deviation added to the output"),
    level("factor", RATIO, "factor on all points"),
    shift(),
];

const RATIOMETRIC_TABLE: &[FigureSpec] = &[
    points(RATIO, "share of the supply against the quantity"),
    deviation("offset", RATIO, "deviation added to the output"),
    level("factor", RATIO, "factor on all points"),
    shift(),
];

const POTENTIOMETER: &[FigureSpec] = &[
    of_quantity(
        "travel-low",
        Allowed::QuantityValue,
        Limit,
        "quantity at the low end of the travel",
    ),
    of_quantity(
        "travel-high",
        Allowed::QuantityValue,
        Limit,
        "quantity at the high end of the travel",
    ),
    level("ratio-low", RATIO, "share of the voltage at the low end"),
    level("ratio-high", RATIO, "share of the voltage at the high end"),
    deviation(
        "linearity",
        RATIO,
        "deviation of the share from the straight line",
    ),
    level("resistance", OHM, "whole track"),
];

const PHOTORESISTOR: &[FigureSpec] = &[
    level("resistance-10", OHM, "resistance at 10 lx"),
    level("gamma", RATIO, "exponent of the illuminance"),
    limit("dark-resistance", OHM, "least resistance in the dark"),
];

const BRIDGE: &[FigureSpec] = &[
    level(
        "sensitivity",
        RATIO,
        "output at the rated quantity for each volt of excitation",
    )
    .carried_by(SLOPE_ERRORS),
    of_quantity("rated", Allowed::QuantityValue, Limit, "rated quantity"),
    deviation(
        "zero-balance",
        RATIO,
        "output without load for each volt of excitation",
    ),
    level("resistance", OHM, "between the output terminals"),
    level("input-resistance", OHM, "between the excitation terminals"),
];

const STRAIN_GAUGE: &[FigureSpec] = &[
    level(
        "gauge-factor",
        RATIO,
        "relative change of resistance for each strain",
    ),
    level("poisson", RATIO, "transverse contraction for each strain"),
    deviation(
        "zero-balance",
        RATIO,
        "output without strain for each volt of excitation",
    ),
    level("resistance", OHM, "between the output terminals"),
];

const GAUGE: &[FigureSpec] = &[
    level("nominal-resistance", OHM, "resistance without strain"),
    level(
        "gauge-factor",
        RATIO,
        "relative change of resistance for each strain",
    ),
];

const LINEAR_VOLTAGE: &[FigureSpec] = &[
    level("offset", VOLT, "output at the origin").carried_by(OFFSET_ERRORS),
    of_quantity(
        "slope",
        Allowed::PerQuantity(VOLT),
        Level,
        "output for each unit of the quantity",
    )
    .carried_by(SLOPE_ERRORS),
    origin(),
    level("output-resistance", OHM, "of the output"),
];

const RATIOMETRIC_VOLTAGE: &[FigureSpec] = &[
    level("offset-ratio", RATIO, "share of the supply at the origin").carried_by(OFFSET_ERRORS),
    of_quantity(
        "slope-ratio",
        Allowed::PerQuantity(RATIO),
        Level,
        "share of the supply for each unit of the quantity",
    )
    .carried_by(SLOPE_ERRORS),
    origin(),
    level("output-resistance", OHM, "of the output"),
];

const fn polynomial(dimensions: &'static [D]) -> [FigureSpec; 10] {
    [
        coefficient("c0", 0, dimensions),
        coefficient("c1", 1, dimensions),
        coefficient("c2", 2, dimensions),
        coefficient("c3", 3, dimensions),
        coefficient("c4", 4, dimensions),
        coefficient("c5", 5, dimensions),
        coefficient("c6", 6, dimensions),
        origin(),
        of_quantity(
            "valid-low",
            Allowed::QuantityValue,
            Limit,
            "low end of the valid range",
        ),
        of_quantity(
            "valid-high",
            Allowed::QuantityValue,
            Limit,
            "high end of the valid range",
        ),
    ]
}

const POLYNOMIAL_VOLTAGE: &[FigureSpec] = &polynomial(VOLT);
const RATIOMETRIC_POLYNOMIAL: &[FigureSpec] = &polynomial(RATIO);

const LOOP_CURRENT: &[FigureSpec] = &[
    of_quantity(
        "span-low",
        Allowed::QuantityValue,
        Limit,
        "quantity at the low current",
    ),
    of_quantity(
        "span-high",
        Allowed::QuantityValue,
        Limit,
        "quantity at the high current",
    ),
    limit("current-low", AMP, "current at the low end of the span"),
    limit("current-high", AMP, "current at the high end of the span"),
    limit(
        "minimum-voltage",
        VOLT,
        "least voltage the transmitter needs across itself",
    ),
    limit("saturation-low", AMP, "lowest current that still measures"),
    limit(
        "saturation-high",
        AMP,
        "highest current that still measures",
    ),
    limit(
        "fault-low",
        AMP,
        "at or below this the transmitter says it has failed",
    ),
    limit(
        "fault-high",
        AMP,
        "at or above this the transmitter says it has failed",
    ),
];

const PHOTODIODE: &[FigureSpec] = &[
    of_quantity(
        "current-per-unit",
        Allowed::PerQuantity(AMP),
        Level,
        "current for each unit of the quantity",
    )
    .carried_by(SLOPE_ERRORS),
    level(
        "responsivity",
        &[D::CURRENT.over(D::POWER)],
        "current for each watt of light",
    ),
    level("area", &[D::AREA], "sensitive area"),
    level("dark-current", AMP, "current without light"),
];

const CURRENT_PER_KELVIN: &[FigureSpec] = &[
    level(
        "slope",
        &[D::CURRENT.over(D::TEMPERATURE)],
        "current for each kelvin",
    )
    .carried_by(SLOPE_ERRORS),
    deviation("offset", AMP, "deviation added to the current"),
];

const THERMOCOUPLE: &[FigureSpec] = &[
    deviation("class-absolute", KELVIN, "tolerance of the class near 0 °C"),
    deviation(
        "class-relative",
        RATIO,
        "tolerance of the class as a share of the temperature; the larger holds",
    ),
    deviation(
        "extension-voltage",
        VOLT,
        "of the extension wires between both of their ends",
    ),
    level("loop-resistance", OHM, "of the wire loop"),
];

const GLASS_ELECTRODE: &[FigureSpec] = &[
    level("slope-share", RATIO, "slope as a share of Nernst's"),
    level("zero-point", &[D::PH], "pH without voltage at 25 °C"),
    level(
        "iso-potential",
        &[D::PH],
        "pH at which temperature does not count",
    ),
    deviation("zero-offset", VOLT, "deviation added to the voltage"),
    level("resistance-25", OHM, "glass at 25 °C"),
    level(
        "doubling-interval",
        KELVIN,
        "cooling that doubles the resistance",
    ),
];

const SHUNT: &[FigureSpec] = &[
    level("resistance", OHM, "between the sense terminals"),
    deviation("drift", PER_KELVIN, "temperature coefficient")
        .drift(crate::figure::DriftMethod::Butterfly),
];

const HALL: &[FigureSpec] = &[
    level(
        "offset-ratio",
        RATIO,
        "share of the supply without current or field",
    )
    .carried_by(OFFSET_ERRORS),
    of_quantity(
        "slope-ratio",
        Allowed::PerQuantity(RATIO),
        Level,
        "share of the supply for each unit",
    )
    .carried_by(SLOPE_ERRORS),
    level("output-resistance", OHM, "of the output"),
];

const CURRENT_TRANSFORMER: &[FigureSpec] = &[
    limit("ratio", RATIO, "primary current for each secondary current"),
    deviation(
        "ratio-error",
        RATIO,
        "relative deviation of the secondary current",
    ),
    deviation(
        "phase-error",
        RATIO,
        "phase between primary and secondary current, radian",
    ),
    level("burden", OHM, "built-in burden"),
    limit(
        "burden-limit",
        OHM,
        "largest burden at which the figures hold",
    ),
];

const PULSE_RATE: &[FigureSpec] = &[
    of_quantity(
        "pulses-per-unit",
        Allowed::PerQuantity(&[D::FREQUENCY]),
        Level,
        "frequency for each unit of the quantity",
    )
    .carried_by(SLOPE_ERRORS),
    level(
        "offset",
        &[D::FREQUENCY],
        "frequency at zero, from the straight line",
    ),
];

const DIGITAL: &[FigureSpec] = &[
    deviation("gain-error", RATIO, "relative deviation"),
    of_quantity(
        "offset",
        Allowed::Quantity,
        Deviation,
        "deviation at the origin",
    ),
    origin(),
];

/// Types of thermocouple with a reference function in IEC 60584-1:2013.
const THERMOCOUPLE_TYPES: &[&str] = &["B", "E", "J", "K", "N", "R", "S", "T"];

/// Every sensor law.
#[must_use]
pub fn laws() -> &'static [LawSpec] {
    const TABLE: &[LawSpec] = &[
        law_spec(
            "platinum",
            "platinum resistance thermometer, IEC 60751",
            Some("temperature"),
            PLATINUM,
            &["nominal-resistance"],
        ),
        law_spec(
            "thermistor-beta",
            "thermistor by beta",
            Some("temperature"),
            THERMISTOR_BETA,
            &["resistance-25", "beta"],
        ),
        law_spec(
            "thermistor-steinhart",
            "thermistor by three coefficients of 1/T",
            Some("temperature"),
            THERMISTOR_STEINHART,
            &["a", "b"],
        ),
        LawSpec {
            options: &[("conversion", &["exact", "published"])],
            ..law_spec(
                "thermistor-polynomial",
                "thermistor by a polynomial of 1/T",
                Some("temperature"),
                THERMISTOR_POLYNOMIAL,
                &["resistance-25", "a", "b"],
            )
        },
        LawSpec {
            options: &[CURVE, ("scale", &["logarithmic", "linear"])],
            ..law_spec(
                "resistance-table",
                "resistance by a table",
                None,
                RESISTANCE_TABLE,
                &["points"],
            )
        },
        law_spec(
            "potentiometer",
            "position by a share of a voltage",
            None,
            POTENTIOMETER,
            &["travel-high"],
        ),
        law_spec(
            "photoresistor",
            "resistance falling with light",
            Some("illuminance"),
            PHOTORESISTOR,
            &["resistance-10", "gamma"],
        ),
        law_spec(
            "bridge",
            "bridge with a rated output",
            None,
            BRIDGE,
            &["sensitivity", "rated"],
        ),
        LawSpec {
            options: &[
                (
                    "gauges",
                    &[
                        "quarter",
                        "half-bending",
                        "half-poisson",
                        "full-bending",
                        "full-poisson",
                    ],
                ),
                ("conversion", &["exact", "linear"]),
            ],
            ..law_spec(
                "strain-gauge",
                "strain by gauges in a bridge",
                Some("strain"),
                STRAIN_GAUGE,
                &["gauge-factor"],
            )
        },
        law_spec(
            "gauge",
            "strain by a single gauge",
            Some("strain"),
            GAUGE,
            &["nominal-resistance", "gauge-factor"],
        ),
        law_spec(
            "linear-voltage",
            "voltage along a straight line",
            None,
            LINEAR_VOLTAGE,
            &["slope"],
        ),
        law_spec(
            "ratiometric-voltage",
            "share of the supply along a straight line",
            None,
            RATIOMETRIC_VOLTAGE,
            &["slope-ratio"],
        ),
        law_spec(
            "polynomial-voltage",
            "voltage along a polynomial",
            None,
            POLYNOMIAL_VOLTAGE,
            &["c1", "valid-low", "valid-high"],
        ),
        law_spec(
            "ratiometric-polynomial",
            "share of the supply along a polynomial",
            None,
            RATIOMETRIC_POLYNOMIAL,
            &["c1", "valid-low", "valid-high"],
        ),
        LawSpec {
            options: &[CURVE],
            ..law_spec(
                "voltage-table",
                "voltage by a table",
                None,
                VOLTAGE_TABLE,
                &["points"],
            )
        },
        LawSpec {
            options: &[CURVE],
            ..law_spec(
                "ratiometric-table",
                "share of the supply by a table",
                None,
                RATIOMETRIC_TABLE,
                &["points"],
            )
        },
        law_spec(
            "loop-current",
            "current loop, 4 mA to 20 mA",
            None,
            LOOP_CURRENT,
            &["span-low", "span-high"],
        ),
        law_spec(
            "photodiode",
            "current growing with light",
            None,
            PHOTODIODE,
            &[],
        ),
        law_spec(
            "current-per-kelvin",
            "current growing with temperature",
            Some("temperature"),
            CURRENT_PER_KELVIN,
            &[],
        ),
        LawSpec {
            options: &[("type", THERMOCOUPLE_TYPES)],
            ..law_spec(
                "thermocouple",
                "thermocouple, IEC 60584-1",
                Some("temperature"),
                THERMOCOUPLE,
                &[],
            )
        },
        law_spec(
            "glass-electrode",
            "glass electrode after Nernst",
            Some("ph"),
            GLASS_ELECTRODE,
            &[],
        ),
        law_spec(
            "direct-voltage",
            "a voltage measured as it is",
            Some("voltage"),
            &[],
            &[],
        ),
        law_spec(
            "direct-current",
            "a current measured as it is",
            Some("current"),
            &[],
            &[],
        ),
        law_spec(
            "direct-resistance",
            "a resistance measured as it is",
            Some("resistance"),
            &[],
            &[],
        ),
        law_spec(
            "shunt",
            "current through a resistor",
            Some("current"),
            SHUNT,
            &["resistance"],
        ),
        law_spec(
            "hall",
            "Hall sensor whose output follows its supply",
            None,
            HALL,
            &["slope-ratio"],
        ),
        law_spec(
            "current-transformer",
            "current transformer",
            Some("current"),
            CURRENT_TRANSFORMER,
            &["ratio"],
        ),
        law_spec(
            "pulse-rate",
            "pulses for each unit",
            None,
            PULSE_RATE,
            &["pulses-per-unit"],
        ),
        law_spec("digital", "a number put out as it is", None, DIGITAL, &[]),
    ];
    TABLE
}

/// The law of this name.
#[must_use]
pub fn law(name: &str) -> Option<&'static LawSpec> {
    laws().iter().find(|l| l.name == name)
}
