//! How leakage and insulation change.

use tape::{Table, Value};

/// A leakage or CMOS bias current at a temperature: i·2^((T − T_spec)/10 K).
///
/// The doubling per 10 K is common practice; downwards it is a rule and not a
/// limit. Temperatures in kelvin, the current in any unit.
#[must_use]
pub fn doubling<'t>(at_spec: Value<'t>, kelvin: Value<'t>, spec_kelvin: f64) -> Value<'t> {
    at_spec * ((kelvin - spec_kelvin) * (std::f64::consts::LN_2 / 10.0)).exp()
}

/// Insulation resistance, Ω, of a capacitor from its product in Ω·F (which is
/// seconds: the time in which it loses 63 % of its charge) and its
/// capacitance in F, but no more than `most_ohm` where the data sheet names
/// the lesser of both.
#[must_use]
pub fn insulation_ohm<'t>(
    product_s: Value<'t>,
    farad: Value<'t>,
    most_ohm: Option<Value<'t>>,
) -> Value<'t> {
    let ohm = product_s / farad;
    match most_ohm {
        Some(most) => ohm.min(most),
        None => ohm,
    }
}

/// Capacitance of a class 2 ceramic capacitor, F, at a direct voltage and a
/// temperature: C·bias(|V|)·temperature(T), each factor given by points that
/// hold their last value beyond their ends. The loss is the same for both
/// directions of the voltage.
///
/// A 10 µF part in a small case may keep only a third of it at its rated
/// voltage: take the points of the very part, not of its class.
#[must_use]
pub fn class_2_farad<'t>(
    farad: Value<'t>,
    bias_v: Value<'t>,
    bias: &Table,
    kelvin: Value<'t>,
    temperature: &Table,
) -> Value<'t> {
    let builder = farad.builder();
    let held = |table: &Table, x: Value<'t>| {
        let (low, high) = table.domain();
        builder.lookup(
            table,
            x.clamp(builder.constant(low), builder.constant(high)),
        )
    };
    farad * held(bias, bias_v.abs()) * held(temperature, kelvin)
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

    #[test]
    fn insulation_is_the_lesser_of_both_statements() {
        // 500 Ω·F or 10 GΩ: 1 µF has 500 MΩ, 1 nF would have 500 GΩ.
        let b = Builder::new();
        let most = Some(b.constant(10e9));
        let of = |farad: f64| insulation_ohm(b.constant(500.0), b.constant(farad), most).nominal();
        assert!((of(1e-6) / 500e6 - 1.0).abs() < 1e-15);
        assert_eq!(of(1e-9), 10e9);
    }

    #[test]
    fn bias_and_temperature_multiply_and_hold_beyond_their_points() {
        // 10 µF; 80 % at 2 V, 50 % at 4 V, so 65 % at 3 V of either sign;
        // 90 % at 273.15 K, 100 % at 298.15 K.
        let b = Builder::new();
        let bias = Table::lines(&[0.0, 2.0, 4.0], &[1.0, 0.8, 0.5]).unwrap();
        let warm = Table::lines(&[273.15, 298.15], &[0.9, 1.0]).unwrap();
        let at = |v: f64, t: f64| {
            class_2_farad(
                b.constant(10e-6),
                b.constant(v),
                &bias,
                b.constant(t),
                &warm,
            )
            .nominal()
        };
        for (v, t, expected) in [
            (0.0, 298.15, 10e-6),
            (3.0, 298.15, 6.5e-6),
            (-3.0, 298.15, 6.5e-6),
            (3.0, 285.65, 6.5e-6 * 0.95),
            (9.0, 250.0, 5e-6 * 0.9),
        ] {
            assert!((at(v, t) / expected - 1.0).abs() < 1e-12, "{v} {t}");
        }
    }
}
