//! Glass electrodes against Nernst's equation.

mod law_support;

use law_support::{ICE, Sensor, close, sensor};

fn electrode(celsius: f64) -> Sensor {
    sensor("glass-electrode").beside("temperature", celsius + ICE)
}

/// ln 10·R·T/F with the CODATA 2018 constants; 59.16 mV at 25 °C is printed
/// everywhere (for example by Reagecon), and the pharmacopoeia's chapter on pH
/// has 0.05916 + 0.000198·(t − 25) V.
#[test]
fn published_nernst_slopes() {
    for (t, millivolt) in [
        (0.0, 54.1988),
        (10.0, 56.1830),
        (20.0, 58.1672),
        (25.0, 59.1593),
        (30.0, 60.1515),
        (37.0, 61.5404),
        (50.0, 64.1199),
        (60.0, 66.1041),
        (80.0, 70.0725),
        (100.0, 74.0410),
    ] {
        let curve = electrode(t).curve();
        close(curve.slope(5.0) * 1e3, -millivolt, 5.1e-5);
        close(curve.forward(7.0), 0.0, 1e-18);
        let pharmacopoeia = 59.16 + 0.198 * (t - 25.0);
        close(-curve.slope(5.0) * 1e3, pharmacopoeia, 0.035);
    }
    close((electrode(25.0).forward(4.0)) * 1e3, 177.478, 5.1e-4);
}

/// A worked example of a blood analyser (alpfmedical.info): 61.5 mV/pH at
/// 37 °C, buffer 6.840, 33.5 mV below it: 7.384.
#[test]
fn published_worked_example() {
    let at_37 = electrode(37.0)
        .with("zero-point", 6.84)
        .with("slope-share", 61.5 / 61.5404);
    close(at_37.inverse(-33.5e-3), 7.384_715, 2e-6);
}

/// An electrode of 300 MΩ on an input of 25 MΩ keeps 1/13 of its signal:
/// 4.55 mV/pH (electronics.stackexchange.com, question 20918).
#[test]
fn published_loading_of_a_glass_electrode() {
    let part = electrode(25.0).with("resistance-25", 300e6);
    let source = part.source_resistance(7.0).expect("given");
    let share = 25e6 / (25e6 + source);
    close(share, 1.0 / 13.0, 1e-12);
    close(-part.curve().slope(7.0) * share * 1e3, 4.55, 0.005);
}

/// 100 MΩ: 1 pA makes 0.1 mV, 1 TΩ takes 0.01 %. Ten kelvin of cooling double
/// it where its maker says so (common practice: 8 K to 10 K).
#[test]
fn published_glass_resistance() {
    let glass = |celsius: f64| {
        let part = electrode(celsius)
            .with("resistance-25", 100e6)
            .with("doubling-interval", 10.0);
        part.source_resistance(7.0).expect("given")
    };
    close(glass(25.0) * 1e-12, 0.1e-3, 1e-15);
    close(glass(25.0) / (glass(25.0) + 1e12), 1e-4, 1e-8);
    close(glass(15.0), 200e6, 1.0);
    close(glass(5.0), 400e6, 1.0);
    close(glass(35.0), 50e6, 1.0);
    assert_eq!(electrode(25.0).source_resistance(7.0), None);
}

/// Isotherms meet at the isopotential point; at the zero point the electrode
/// gives nothing at 25 °C and only there.
#[test]
fn property_isopotential_and_zero_point() {
    let part = |celsius: f64| {
        electrode(celsius)
            .with("iso-potential", 6.5)
            .with("zero-point", 7.1)
            .with("slope-share", 0.97)
    };
    let there = part(25.0).forward(6.5);
    close(part(5.0).forward(6.5), there, 1e-15);
    close(part(60.0).forward(6.5), there, 1e-15);
    close(part(25.0).forward(7.1), 0.0, 1e-15);
    assert!(part(60.0).forward(7.1).abs() > 1e-3);
    let shifted = part(25.0).with("zero-offset", 0.012);
    close(shifted.forward(7.1), 0.012, 1e-15);
    // Not told otherwise, temperature does not count at the zero point.
    let plain = |celsius: f64| electrode(celsius).with("zero-point", 7.3);
    close(plain(60.0).forward(7.3), 0.0, 1e-15);
}
