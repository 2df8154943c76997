//! The table of laws as a whole: every law described, every law tried.

mod law_support;

use std::collections::BTreeSet;

use chain::law::{Electrical, LawFault, Parameters, find, names};
use law_support::{ICE, Sensor, check_properties, sensor};
use quantity::Dimension;
use tape::Builder;

/// One sensor of every law, with every number other than zero, and the range
/// of the quantity over which it is tried.
fn samples() -> Vec<(Sensor, f64, f64)> {
    vec![
        (
            sensor("platinum")
                .with("nominal-resistance", 1000.0)
                .with("class-at-zero", 0.15)
                .with("class-slope", 0.002),
            -200.0 + ICE,
            850.0 + ICE,
        ),
        (
            sensor("thermistor-beta")
                .with("resistance-25", 10e3)
                .with("beta", 3950.0),
            -55.0 + ICE,
            300.0 + ICE,
        ),
        (
            sensor("thermistor-steinhart")
                .with("a", 1.129148e-3)
                .with("b", 2.34125e-4)
                .with("c", 8.76741e-8)
                .with("shift", 0.1),
            -55.0 + ICE,
            300.0 + ICE,
        ),
        (
            sensor("thermistor-polynomial")
                .with("resistance-25", 10e3)
                .with("a", -14.6337)
                .with("b", 4791.842)
                .with("c", -115334.0)
                .with("d", -3.730535e6)
                .with("beta-deviation", -0.004),
            -40.0 + ICE,
            150.0 + ICE,
        ),
        (
            sensor("resistance-table")
                .points(
                    "points",
                    &[(280.0, 900.0), (300.0, 1000.0), (350.0, 1400.0)],
                )
                .with("factor", 1.01)
                .with("shift", 0.5),
            280.0,
            349.0,
        ),
        (
            sensor("photoresistor")
                .with("resistance-10", 10e3)
                .with("gamma", 0.7),
            10.0,
            100.0,
        ),
        (
            sensor("potentiometer")
                .measuring(Dimension::LENGTH)
                .with("travel-low", 0.01)
                .with("travel-high", 0.11)
                .with("ratio-low", 0.02)
                .with("ratio-high", 0.97)
                .with("linearity", 0.003)
                .with("resistance", 5e3),
            0.01,
            0.11,
        ),
        (
            sensor("bridge")
                .measuring(Dimension::PRESSURE)
                .with("sensitivity", 2e-3)
                .with("rated", 1e6)
                .with("zero-balance", 20e-6)
                .with("resistance", 350.0),
            -1e6,
            1e6,
        ),
        (
            sensor("strain-gauge")
                .word("gauges", "quarter")
                .with("gauge-factor", 2.07)
                .with("zero-balance", 13e-6),
            -0.03,
            0.03,
        ),
        (
            sensor("strain-gauge")
                .word("gauges", "full-poisson")
                .with("gauge-factor", 2.07)
                .with("poisson", 0.33),
            -0.03,
            0.03,
        ),
        (
            sensor("gauge")
                .with("nominal-resistance", 350.0)
                .with("gauge-factor", 2.07),
            -0.03,
            0.03,
        ),
        (
            sensor("hall")
                .measuring(Dimension::MAGNETIC_FLUX_DENSITY)
                .with("offset-ratio", 0.51)
                .with("slope-ratio", 13.0)
                .with("output-resistance", 1.0),
            -0.03,
            0.03,
        ),
        (
            sensor("linear-voltage")
                .with("offset", 0.5)
                .with("slope", 0.01)
                .with("origin", 273.2),
            230.0,
            400.0,
        ),
        (
            sensor("ratiometric-voltage")
                .measuring(Dimension::HUMIDITY)
                .with("offset-ratio", 0.16)
                .with("slope-ratio", 0.0062),
            0.0,
            100.0,
        ),
        (
            sensor("polynomial-voltage")
                .measuring(Dimension::LENGTH)
                .with("c0", 0.3)
                .with("c1", -2.0)
                .with("c2", 0.4)
                .with("c3", -1.1)
                .with("origin", 0.1)
                .with("valid-low", 0.05)
                .with("valid-high", 0.95),
            0.05,
            0.95,
        ),
        (
            sensor("ratiometric-polynomial")
                .measuring(Dimension::LENGTH)
                .with("c0", 0.1)
                .with("c1", 0.9)
                .with("c2", 0.2)
                .with("c5", 0.03)
                .with("c6", -0.01)
                .with("valid-low", 0.0)
                .with("valid-high", 1.0),
            0.0,
            1.0,
        ),
        (
            sensor("voltage-table")
                .measuring(Dimension::LENGTH)
                .points("points", &[(0.1, 2.7), (0.2, 1.4), (0.4, 0.75), (0.8, 0.4)])
                .with("offset", 0.02)
                .with("factor", 0.98)
                .with("shift", 0.01),
            0.1,
            0.79,
        ),
        (
            sensor("ratiometric-table")
                .measuring(Dimension::LENGTH)
                .points("points", &[(0.0, 0.1), (0.5, 0.4), (1.0, 0.9)])
                .word("curve", "straight")
                .with("offset", 0.002)
                .with("factor", 0.98),
            0.0,
            1.0,
        ),
        (
            sensor("thermocouple")
                .word("type", "N")
                .beside("cold-junction", 301.0)
                .with("class-absolute", 1.5)
                .with("class-relative", 0.004)
                .with("class-share", 0.5)
                .with("extension-voltage", 10e-6)
                .with("loop-resistance", 12.0),
            -260.0 + ICE,
            1290.0 + ICE,
        ),
        (
            sensor("glass-electrode")
                .beside("temperature", 285.0)
                .with("slope-share", 0.96)
                .with("zero-point", 6.9)
                .with("iso-potential", 6.6)
                .with("zero-offset", 0.004)
                .with("resistance-25", 120e6)
                .with("doubling-interval", 8.5),
            0.0,
            14.0,
        ),
        (sensor("shunt").with("resistance", 2e-3), -50.0, 50.0),
        (sensor("direct-voltage"), -10.0, 10.0),
        (sensor("direct-current"), 0.0, 0.02),
        (sensor("direct-resistance"), 1.0, 1e6),
        (
            sensor("loop-current")
                .measuring(Dimension::LENGTH)
                .with("span-low", 0.2)
                .with("span-high", 3.0)
                .with("current-low", 4e-3)
                .with("current-high", 20e-3),
            0.2,
            3.0,
        ),
        (
            sensor("current-transformer")
                .with("ratio", 2000.0)
                .with("ratio-error", 0.01)
                .with("burden", 33.0),
            -100.0,
            100.0,
        ),
        (
            sensor("current-per-kelvin")
                .with("slope", 1e-6)
                .with("offset", 0.4e-6),
            220.0,
            420.0,
        ),
        (
            sensor("photodiode")
                .measuring(Dimension::POWER)
                .with("responsivity", 0.62)
                .with("dark-current", 2e-9),
            0.0,
            1e-3,
        ),
        (
            sensor("pulse-rate")
                .measuring(Dimension::FLOW)
                .with("pulses-per-unit", 450e3)
                .with("offset", 0.3),
            1e-5,
            5e-4,
        ),
        (
            sensor("digital")
                .measuring(Dimension::HUMIDITY)
                .with("gain-error", 0.01)
                .with("offset", 1.5)
                .with("origin", 20.0),
            0.0,
            100.0,
        ),
    ]
}

#[test]
fn property_every_law_reads_back_is_monotone_and_has_true_slopes() {
    for (sensor, low, high) in samples() {
        check_properties(&sensor, low, high);
    }
}

/// Trials in one block, of which each iterates on its own, give the bits of
/// single readings.
#[test]
fn property_many_at_once_equal_one_by_one() {
    for (sensor, low, high) in samples() {
        let curve = sensor.curve();
        let place = |i: u32| low + (high - low) * f64::from(i) / 100.0;
        let quantities: Vec<f64> = (0..=100).map(place).collect();
        let [forward, back] = curve.block(&quantities);
        for (i, &q) in quantities.iter().enumerate() {
            let name = sensor.law.name();
            assert_eq!(forward[i].to_bits(), curve.forward(q).to_bits(), "{name}");
            let alone = curve.there_and_back(q);
            assert_eq!(back[i].to_bits(), alone.to_bits(), "{name} at {q}");
        }
    }
}

#[test]
fn property_every_law_is_tried() {
    let tried: BTreeSet<&str> = samples().iter().map(|s| s.0.law.name()).collect();
    assert_eq!(tried, names().collect());
}

#[test]
fn property_the_table_is_in_order() {
    let all: Vec<&str> = names().collect();
    let once: BTreeSet<&str> = all.iter().copied().collect();
    assert_eq!(once.len(), all.len(), "two laws of one name");
    for name in all {
        let law = find(name).expect("a listed law");
        assert_eq!(law.name(), name);
        let mut keys = BTreeSet::new();
        for spec in law.parameters() {
            assert!(keys.insert(spec.name), "{name}: two of {}", spec.name);
            assert!(!spec.meaning.is_empty());
            assert!(!(spec.required && spec.default.is_some()), "{name}");
        }
        for spec in law.words() {
            assert!(keys.insert(spec.name), "{name}: two of {}", spec.name);
            let default = spec.default.into_iter();
            assert!(default.into_iter().all(|d| spec.choices.contains(&d)));
        }
        for spec in law.points() {
            assert!(keys.insert(spec.name), "{name}: two of {}", spec.name);
        }
        let plain = |key: &&str| {
            let mut letters = key.chars();
            letters.all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-')
        };
        assert!(keys.iter().all(plain), "{name}: {keys:?}");
    }
    assert!(find("no such law").is_none());
}

/// Leaving any one required thing out is a fault that names it.
#[test]
fn property_what_is_missing_is_named() {
    for (full, low, high) in samples() {
        let at = 0.5 * (low + high);
        for spec in full.law.parameters().iter().filter(|s| s.required) {
            let mut less = full.clone();
            less.numbers.retain(|n| n.0 != spec.name);
            let builder = Builder::new();
            let p = less.parameters(&builder).expect("known names");
            let law = full.law.name();
            let name = spec.name;
            let fault = LawFault::MissingParameter { law, name };
            assert_eq!(p.missing(), vec![fault]);
            assert!(less.try_curve(at).is_err(), "{law} without {name}");
        }
        for name in full.law.auxiliaries() {
            let mut less = full.clone();
            less.auxiliaries.retain(|n| n.0 != *name);
            let law = full.law.name();
            let fault = less.try_curve(at).err();
            assert_eq!(fault, Some(LawFault::MissingAuxiliary { law, name }));
        }
        for spec in full.law.words().iter().filter(|s| s.default.is_none()) {
            let mut less = full.clone();
            less.words.retain(|n| n.0 != spec.name);
            assert!(less.try_curve(at).is_err());
        }
        for _ in full.law.points() {
            let mut less = full.clone();
            less.points.clear();
            assert!(less.try_curve(at).is_err());
        }
        let builder = Builder::new();
        let complete = full.parameters(&builder).expect("known names");
        assert!(complete.missing().is_empty());
    }
}

#[test]
fn property_wrong_names_words_and_points_are_refused() {
    let builder = Builder::new();
    let couple = find("thermocouple").expect("a listed law");
    let mut p = Parameters::new(&builder, couple, Dimension::TEMPERATURE);
    assert!(matches!(
        p.set("beta", builder.one()),
        Err(LawFault::UnknownName { .. })
    ));
    assert!(matches!(
        p.set_word("type", "Q"),
        Err(LawFault::UnknownWord { .. })
    ));
    assert!(p.set_word("kind", "K").is_err());
    let table = find("voltage-table").expect("a listed law");
    let mut p = Parameters::new(&builder, table, Dimension::LENGTH);
    for bad in [
        vec![],
        vec![(0.0, 1.0)],
        vec![(0.0, 1.0), (0.0, 2.0)],
        vec![(0.0, 1.0), (1.0, f64::NAN)],
        vec![(f64::INFINITY, 1.0), (1.0, 2.0)],
    ] {
        assert!(p.set_points("points", bad).is_err());
    }
    // Any order will do.
    let points = vec![(2.0, 5.0), (0.0, 1.0), (1.0, 2.0)];
    assert!(p.set_points("points", points).is_ok());
    assert_eq!(p.ends("points"), Some((0.0, 2.0)));
}

/// Parameters per unit of the quantity take their dimension from it.
#[test]
fn property_dimensions_follow_the_quantity() {
    let linear = find("linear-voltage").expect("a listed law");
    assert_eq!(linear.electrical(), Electrical::Voltage);
    let dimension = |name: &str, quantity: Dimension| {
        let mut specs = linear.parameters().iter();
        let spec = specs.find(|s| s.name == name).expect("a parameter");
        spec.dimension_for(quantity)
    };
    assert_eq!(
        dimension("slope", Dimension::TEMPERATURE),
        Dimension::VOLTAGE.over(Dimension::TEMPERATURE)
    );
    assert_eq!(
        dimension("origin", Dimension::PRESSURE),
        Dimension::PRESSURE
    );
    assert_eq!(dimension("offset", Dimension::PRESSURE), Dimension::VOLTAGE);
}
