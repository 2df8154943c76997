//! Linear regulators.

use quantity::Dimension as D;

use super::shared::COMMON;
use super::spec::{FigureSpec, KindSpec, deviation, level, limit};

const OWN: &[FigureSpec] = &[
    level("output-voltage", &[D::VOLTAGE], "set point")
        .carried_by(&["accuracy", "initial-accuracy"]),
    deviation(
        "accuracy",
        &[D::NONE],
        "of the set point, over all conditions stated",
    ),
    deviation("initial-accuracy", &[D::NONE], "of the set point at 25 °C"),
    deviation(
        "line-regulation",
        &[D::NONE, D::NONE.over(D::VOLTAGE)],
        "change for each volt of input; a plain ratio is V/V",
    ),
    deviation(
        "load-regulation",
        &[D::VOLTAGE, D::NONE.over(D::CURRENT), D::RESISTANCE],
        "change over the stated load",
    ),
    limit(
        "dropout",
        &[D::VOLTAGE],
        "least input above the output at full load",
    )
    .against(&[D::VOLTAGE, D::CURRENT]),
    limit("output-current", &[D::CURRENT], "rated load"),
    limit(
        "current-limit",
        &[D::CURRENT],
        "where the output folds back",
    ),
    level("quiescent-current", &[D::CURRENT], "taken to ground").against(&[D::CURRENT]),
    level("supply-rejection", &[D::NONE], "ratio").against(&[D::FREQUENCY]),
    level("noise", &[D::VOLTAGE], "rms, over the stated band"),
    limit(
        "enable-low",
        &[D::VOLTAGE],
        "highest enable voltage that surely switches off",
    ),
    limit(
        "enable-high",
        &[D::VOLTAGE],
        "lowest enable voltage that surely switches on",
    ),
    limit(
        "output-choices",
        &[D::VOLTAGE],
        "set points that can be bought",
    ),
    limit(
        "load-capacitance",
        &[D::CAPACITANCE],
        "capacitor the output needs",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "regulator",
    "a linear regulator",
    &[COMMON, OWN],
    &["output-voltage", "dropout", "output-current"],
);
