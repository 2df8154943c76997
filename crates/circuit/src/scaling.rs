//! How leakage and insulation change.

use tape::Value;

/// A leakage or CMOS bias current at a temperature: i·2^((T − T_spec)/10 K).
///
/// The doubling per 10 K is common practice; downwards it is a rule and not a
/// limit. Temperatures in kelvin, the current in any unit.
#[must_use]
pub fn doubling<'t>(at_spec: Value<'t>, kelvin: Value<'t>, spec_kelvin: f64) -> Value<'t> {
    at_spec * ((kelvin - spec_kelvin) * (std::f64::consts::LN_2 / 10.0)).exp()
}

/// Insulation resistance, Ω, of a capacitor from its product in Ω·F (s) and
/// its capacitance in F.
#[must_use]
pub fn insulation_ohm<'t>(product_s: Value<'t>, farad: Value<'t>) -> Value<'t> {
    product_s / farad
}

#[cfg(test)]
mod tests {
    use super::*;
    use tape::Builder;

    #[test]
    fn published_leakage_falls_to_a_sixteenth_in_forty_kelvin() {
        // ST10F296E data sheet, p. 232: 100 nA at the maximum temperature,
        // halving for every 10 °C of cooling.
        let b = Builder::new();
        let cooler = doubling(b.constant(100e-9), b.constant(398.15 - 40.0), 398.15);
        assert!((cooler.nominal() - 100e-9 / 16.0).abs() < 1e-21);
    }
}
