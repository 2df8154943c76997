//! Diodes at the signal.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use chain::channel::{CODE, VOLT};
use stage_support::{at, check, close, model, volt};

/// A Schottky diode by the two drops that were measured on it.
const INPUT: &str = r#"
[parts.clamp-diode]
kind = "diode"
[parts.clamp-diode.figures]
forward-voltage = { points = [["1 µA", "0.06 V"], ["1.6 mA", "0.23 V"], ["5.5 mA", "0.232 V"]] }
leakage = { typ = "0.2 µA", max = "1 µA" }
forward-current = { max = "200 mA" }
[rails.logic]
voltage = "3.28 V"
load = "3 mA"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 9 V"
chain = [
  { series = "1 kΩ" },
  { clamp = { high = "clamp-diode", to = "logic", low = "clamp-diode" } },
]
input = "adc"
reference = "logic"
"#;

#[test]
fn published_clamp_lets_the_pin_rise_above_the_supply() {
    // 3.28 V, a Schottky diode to it behind 1 kΩ: 3.51 V at the pin with 5.1 V
    // and with 9 V at the input; 1.59 mA and 5.49 mA into the rail. A public
    // forum thread on inputs of an audio board. Both read full scale.
    let m = model(INPUT);
    for (input, pin, current) in [(5.1, 3.51, 1.59e-3), (9.0, 3.512, 5.49e-3)] {
        let o = at(&m, &[("channels.x.quantity", input)]);
        close(o[VOLT], pin, 0.001);
        let clamp = check(&m, "clamp-into-rail");
        close(o[clamp.actual], current, 0.01);
        // The rail's own loads take 3 mA: with 9 V it would rise.
        assert_eq!(o[clamp.margin] > 0.0, input < 6.0);
        assert!(o[CODE] > 4096.0);
        // Above the supply by less than 0.3 V, if only by 0.07 V.
        let above = o[VOLT] - 3.28;
        close(0.3 - above, 0.07, 0.05);
    }
}

#[test]
fn property_clamp_leaks_through_the_series_resistor() {
    // In range the diodes only leak: 0.2 µA each, both through 1 kΩ, the upper
    // one in, the lower one out. With one of them at its 1 µA limit the pin
    // moves by 0.8 µA·1 kΩ = 0.8 mV; 10 K warmer by twice that.
    let m = model(INPUT);
    let set = ("channels.x.quantity", 1.5);
    let high = ("channels.x.chain.1.high.leakage", 0.8e-6);
    let cool = ("ambient", 298.15);
    let usual = volt(&m, &[set, cool]);
    close(usual, 1.5, 1e-6);
    close(volt(&m, &[set, cool, high]) - usual, 0.8e-3, 1e-3);
    let warm = ("ambient", 308.15);
    close(
        volt(&m, &[set, warm, high]) - volt(&m, &[set, warm]),
        1.6e-3,
        1e-3,
    );
}

#[test]
fn property_soft_zener_knee_conducts_far_below_its_rating() {
    // The generic 3.3 V Zener passes 100 µA at 2.2 V (common practice, library
    // curve): behind 10 kΩ a source of 2.2 V + 10 kΩ·100 µA = 3.2 V leaves
    // 2.2 V, a whole volt short, although 3.2 V lies below the rating.
    let m = model(
        r#"
[channels.x]
quantity = "voltage"
span = "0 V to 3.2 V"
sensor = { law = "direct-voltage", source-resistance = "10 kΩ" }
chain = [{ clamp = { zener = "zener-3v3" } }]
"#,
    );
    close(volt(&m, &[("channels.x.quantity", 3.2)]), 2.2, 1e-6);
    // It takes current from where its curve begins: 1 µA at 1.3 V.
    let conducts = check(&m, "clamp-conducts");
    let begins = 1.3 + 10e3 * 1e-6;
    assert!(at(&m, &[("channels.x.quantity", begins)])[conducts.margin].abs() < 1e-12);
    assert!(at(&m, &[("channels.x.quantity", 1.0)])[conducts.margin] > 0.0);
    // The reverse of the low side: forward at about 0.6 V.
    let below = volt(&m, &[("channels.x.quantity", -12.0)]);
    assert!(below < -0.6 && below > -0.7, "{below}");
}

#[test]
fn property_forward_drift_moves_the_drop() {
    // Between its first two points the diode follows 60 mV for each decade;
    // with −2 mV/K, 30 K of warming move the drop at one current by −60 mV, so
    // that the current grows tenfold at one voltage.
    let m = model(
        r#"
[conditions]
ambient = "0 °C to 80 °C"
[parts.d]
kind = "diode"
[parts.d.figures]
forward-voltage = { points = [["1 µA", "0.3 V"], ["10 µA", "0.36 V"], ["100 µA", "0.42 V"], ["1 mA", "0.48 V"]] }
forward-drift = { typ = "-2 mV/K" }
[channels.x]
quantity = "voltage"
span = "0 V to 5 V"
sensor = { law = "direct-voltage", source-resistance = "100 kΩ" }
chain = [{ clamp = { low = "d", high = "d", to = "zero" } }]
[rails.zero]
voltage = "0 V"
"#,
    );
    // At 25 °C: 10 µA at 0.36 V from 1.36 V. At 55 °C the drop at 10 µA is
    // 0.30 V, so that the source must be 1.30 V.
    let drop = |source: f64, kelvin: f64| {
        volt(&m, &[("channels.x.quantity", source), ("ambient", kelvin)])
    };
    close(drop(1.36, 298.15), 0.36, 1e-4);
    close(drop(1.30, 328.15), 0.30, 1e-4);
}
