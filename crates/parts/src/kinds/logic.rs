//! Buffers, translators and bus repeaters.

use quantity::Dimension as D;

use super::shared::{COMMON, LOGIC_LEVELS};
use super::spec::{FigureSpec, KindSpec, level, limit};

const OWN: &[FigureSpec] = &[
    limit("supply-a", &[D::VOLTAGE], "supply of side A"),
    limit("supply-b", &[D::VOLTAGE], "supply of side B"),
    limit("input-range", &[D::VOLTAGE], "voltages an input accepts"),
    limit("input-low-b", &[D::VOLTAGE], "input-low of side B"),
    limit("input-high-b", &[D::VOLTAGE], "input-high of side B"),
    limit(
        "output-low-b",
        &[D::VOLTAGE],
        "static low level that side B puts out",
    ),
    limit(
        "contention-low-b",
        &[D::VOLTAGE],
        "input level of side B that is told from its own low",
    ),
    level("delay", &[D::TIME], "from input to output"),
    limit("data-rate", &[D::FREQUENCY], "fastest signal").against(&[D::VOLTAGE]),
    level(
        "holding-resistance",
        &[D::RESISTANCE],
        "behind which a translator that senses the direction holds a level",
    ),
    level(
        "off-leakage",
        &[D::CURRENT],
        "current of an output that is switched off",
    ),
    level(
        "supply-current-per-input",
        &[D::CURRENT],
        "extra supply current for each input held off the rails",
    ),
];

pub(crate) const KIND: KindSpec = KindSpec::plain(
    "logic",
    "a buffer, level translator or bus repeater",
    &[COMMON, LOGIC_LEVELS, OWN],
    &["input-low", "input-high"],
);
