//! Capacitors.

use quantity::Dimension as D;

use super::spec::{FigureSpec, KindSpec, deviation, level, limit};
use crate::figure::DriftMethod::Butterfly;

const OWN: &[FigureSpec] = &[
    level("capacitance", &[D::CAPACITANCE], "nominal value").carried_by(&["tolerance"]),
    deviation("tolerance", &[D::NONE], "of the nominal value"),
    deviation("drift", &[D::PER_KELVIN], "temperature coefficient").drift(Butterfly),
    deviation(
        "temperature-change",
        &[D::NONE],
        "largest change within the temperature range",
    ),
    deviation(
        "bias-change",
        &[D::NONE],
        "change against the share of the rated voltage applied",
    )
    .against(&[D::NONE]),
    deviation("ageing", &[D::NONE], "change in each decade of time"),
    level(
        "insulation",
        &[D::TIME],
        "product of insulation resistance and capacitance, Ω·F",
    ),
    level(
        "insulation-resistance",
        &[D::RESISTANCE],
        "insulation resistance of small values",
    ),
    limit("voltage", &[D::VOLTAGE], "rated voltage"),
    limit(
        "temperature-range",
        &[D::TEMPERATURE],
        "range of the dielectric class",
    )
    .absolute(),
    level(
        "dielectric-absorption",
        &[D::NONE],
        "share of a charge that returns",
    ),
    level("loss", &[D::NONE], "loss factor"),
];

pub(crate) const KIND: KindSpec =
    KindSpec::plain("capacitor", "a fixed capacitor", &[OWN], &["tolerance"]);
