//! Resistance of wires and of copper on a board.

use board::{Cable, Copper, Gauge};

/// Resistivity of annealed copper at 20 °C, Ω·m (IEC 60028).
pub const COPPER_OHM_M: f64 = 1.7241e-8;

/// Natural logarithm of 92, by which 39 gauges divide a diameter.
const LN_92: f64 = 4.521_788_577_049_041;

/// Resistance of a copper wire of an American gauge at 20 °C, Ω/m.
///
/// Diameter 0.127 mm · 92^((36 − n)/39) (ASTM B258), resistivity of annealed
/// copper 1.7241·10⁻⁸ Ω·m (IEC 60028). Gauges 00 to 0000 are −1 to −3.
///
/// ```
/// assert!((system::wire::gauge_ohm_per_m(24.0) - 0.0842).abs() < 1e-4);
/// ```
#[must_use]
pub fn gauge_ohm_per_m(gauge: f64) -> f64 {
    let diameter_m = 0.127e-3 * elementary::exp((36.0 - gauge) / 39.0 * LN_92);
    COPPER_OHM_M / (0.25 * std::f64::consts::PI * diameter_m * diameter_m)
}

/// Resistance of one conductor of a cable for each metre, Ω/m, and where that
/// comes from; `None` where the cable says nothing of it.
#[must_use]
pub fn ohm_per_m(cable: &Cable) -> Option<(f64, String)> {
    if let Some(r) = &cable.resistance_per_m {
        return Some((r.value.nominal, "the board file".to_owned()));
    }
    match cable.gauge.as_ref()?.value {
        Gauge::Awg(n) => Some((
            gauge_ohm_per_m(n),
            format!("{n} AWG, ASTM B258; copper at 20 °C, IEC 60028"),
        )),
        Gauge::Area(area) => Some((COPPER_OHM_M / area, "copper at 20 °C, IEC 60028".to_owned())),
    }
}

/// Resistance of a strip of copper at 20 °C, Ω: ρ·length/(width·thickness).
#[must_use]
pub fn copper_ohm(copper: &Copper) -> f64 {
    COPPER_OHM_M * copper.length_m / (copper.width_m * copper.thickness_m)
}

/// Relative change of the resistance of copper at 20 °C, 1/K (IEC 60028).
const COPPER_PER_K: f64 = 0.00393;

/// Resistance of copper at a temperature, as a multiple of that at 20 °C.
#[must_use]
pub fn copper_at(kelvin: f64) -> f64 {
    1.0 + COPPER_PER_K * (kelvin - 293.15)
}
