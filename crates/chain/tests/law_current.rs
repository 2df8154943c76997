//! Laws with a current, a frequency or a number at the output, and shunts.

mod law_support;

use chain::law::largest_loop_resistance;
use chain::law::ne43::{Band, band};
use law_support::{close, sensor};
use quantity::Dimension;

/// NAMUR NE 43 (summary at electricalandcontrol.com): limits of the bands,
/// with the scale 0 % to 100 % over 4 mA to 20 mA and the voltage on 250 Ω.
#[test]
fn published_ne_43_currents() {
    let level = sensor("loop-current")
        .measuring(Dimension::NONE)
        .with("span-low", 0.0)
        .with("span-high", 1.0);
    for (ampere, percent, volt, verdict) in [
        (3.6e-3, -2.5, 0.900, Band::FailureLow),
        (3.8e-3, -1.25, 0.950, Band::Measurement),
        (4e-3, 0.0, 1.000, Band::Measurement),
        (12.0e-3, 50.0, 3.000, Band::Measurement),
        (20.0e-3, 100.0, 5.000, Band::Measurement),
        (20.5e-3, 103.125, 5.125, Band::Measurement),
        (21.0e-3, 106.25, 5.250, Band::FailureHigh),
    ] {
        close(level.inverse(ampere) * 100.0, percent, 1e-9);
        close(level.forward(percent / 100.0), ampere, 1e-15);
        assert_eq!(band(ampere), verdict, "{ampere} A");
        let shunt = sensor("shunt").with("resistance", 250.0);
        close(shunt.forward(ampere), volt, 1e-12);
    }
    assert_eq!(band(3.7e-3), Band::Undefined);
    assert_eq!(band(20.8e-3), Band::Undefined);
    assert_eq!(band(f64::NAN), Band::Undefined);
}

/// 24 V, a transmitter that needs 12 V, 21 mA: 571.43 Ω; and 0.66 V, 3.30 V,
/// 3.465 V on 165 Ω at 4, 20 and 21 mA. Common practice.
#[test]
fn published_loop_headroom_and_shunt() {
    let builder = tape::Builder::new();
    let largest = largest_loop_resistance(
        builder.constant(24.0),
        builder.constant(12.0),
        builder.constant(21e-3),
    );
    close(largest.nominal(), 571.43, 0.005);
    let shunt = sensor("shunt").with("resistance", 165.0);
    for (ampere, volt) in [(4e-3, 0.66), (20e-3, 3.30), (21e-3, 3.465)] {
        close(shunt.forward(ampere), volt, 1e-12);
        close(shunt.inverse(volt), ampere, 1e-15);
    }
}

/// A span stated downwards (20 mA for an empty tank).
#[test]
fn property_loop_spans_may_fall() {
    let ullage = sensor("loop-current")
        .measuring(Dimension::LENGTH)
        .with("span-low", 3.0)
        .with("span-high", 0.5);
    close(ullage.forward(3.0), 4e-3, 1e-15);
    close(ullage.forward(0.5), 20e-3, 1e-15);
    assert_eq!(ullage.validity(), Some((0.5, 3.0)));
    assert!(ullage.with("span-high", 3.0).try_curve(1.0).is_err());
}

/// Siemens BP 104 F, p. 3: 0.70 A/W on 4.84 mm² at 1 mW/cm² give 34 µA;
/// 33.88 µA before rounding. Dark current 2 nA typical, 30 nA at most.
#[test]
fn published_photodiode_current() {
    let diode = sensor("photodiode")
        .measuring(Dimension::IRRADIANCE)
        .with("responsivity", 0.70)
        .with("area", 4.84e-6)
        .with("dark-current", 2e-9);
    close(diode.forward(10.0), 33.88e-6 + 2e-9, 1e-15);
    close(diode.inverse(2e-9), 0.0, 1e-12);
    // 1 MΩ makes 50 mV of 50 nA.
    let per_lux = sensor("photodiode")
        .measuring(Dimension::ILLUMINANCE)
        .with("current-per-unit", 75e-6 / 1000.0);
    close(per_lux.forward(50e-9 / 75e-9) * 1e6, 50e-3, 1e-12);
    // A responsivity alone does not say what a lux gives.
    let unclear = sensor("photodiode")
        .measuring(Dimension::ILLUMINANCE)
        .with("responsivity", 0.70);
    assert!(unclear.try_curve(1.0).is_err());
}

/// 1 µA/K: 298.15 µA at 25 °C, by definition of the kelvin scale.
#[test]
fn published_microampere_per_kelvin() {
    let part = sensor("current-per-kelvin");
    close(part.at_celsius(25.0), 298.15e-6, 1e-15);
    close(part.celsius(273.15e-6), 0.0, 1e-9);
}

/// 100 A to 50 mA; 33 Ω burden: 1.65 V. Common practice.
#[test]
fn published_current_transformer() {
    let part = sensor("current-transformer")
        .with("ratio", 2000.0)
        .with("burden", 33.0);
    close(part.forward(100.0) * 33.0, 1.65, 1e-12);
    close(part.inverse(25e-3), 50.0, 1e-12);
    assert_eq!(part.source_resistance(1.0), Some(33.0));
    let off = part.with("ratio-error", -0.01);
    close(off.forward(100.0), 49.5e-3, 1e-15);
}

/// 450 pulses for a litre: 7.5 Hz at 1 L/min. Common practice among small
/// turbine meters.
#[test]
fn published_flow_meter() {
    let meter = sensor("pulse-rate")
        .measuring(Dimension::FLOW)
        .with("pulses-per-unit", 450e3);
    let litre_per_minute = 1e-3 / 60.0;
    close(meter.forward(litre_per_minute), 7.5, 1e-12);
    close(meter.inverse(75.0), 10.0 * litre_per_minute, 1e-15);
    // Below the flow at which it starts a slow meter gives nothing.
    let slow = meter.with("offset", -3.0);
    assert_eq!(slow.forward(0.2 * litre_per_minute), 0.0);
    close(slow.forward(litre_per_minute), 4.5, 1e-12);
}

/// R at 10 lx and 100 lx are a factor of 10^γ apart, which defines γ (common
/// practice in data sheets of photoresistors).
#[test]
fn published_photoresistor_gamma() {
    let cell = sensor("photoresistor")
        .with("resistance-10", 10e3)
        .with("gamma", 0.7);
    close(cell.forward(10.0), 10e3, 1e-8);
    close(cell.forward(100.0), 1995.262, 1e-3);
    close(cell.inverse(1995.262), 100.0, 1e-4);
    // Darkness is a large resistance, not an infinite one.
    assert!(cell.forward(0.0).is_finite() && cell.forward(-1.0).is_finite());
    assert!(cell.inverse(0.0).is_finite());
}
