//! Ready-made controller boards.

use quantity::Dimension as D;

use super::shared::COMMON;
use super::spec::{FigureSpec, KindSpec, deviation, level, limit};

/// Figures of a supply that a carrier brings out.
pub(crate) const RAIL: &[FigureSpec] = &[
    level(
        "voltage",
        &[D::VOLTAGE],
        "nominal voltage with its set-point tolerance",
    ),
    deviation("ripple", &[D::VOLTAGE], "ripple, peak to peak"),
    limit(
        "output-current",
        &[D::CURRENT],
        "current available to the board plugged on",
    ),
    level(
        "series-resistance",
        &[D::RESISTANCE],
        "between the source and the header",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec {
    carries_controller: true,
    ..KindSpec::plain(
        "carrier",
        "a ready-made controller board with pin headers",
        &[COMMON],
        &[],
    )
};
