use super::*;
use crate::{Shape, stream};

#[test]
fn published_conformance_probabilities() {
    // JCGM 106:2012 (inputs and results from memory): 7.3 breakdown voltage
    // of a Zener diode and pressure of a vessel, 7.4 kinematic viscosity.
    let cases = [
        (-5.47, 0.05, Limits::at_most(-5.40), 0.92, 0.919_243),
        (509.7, 8.6, Limits::at_least(490.0), 0.99, 0.989_010),
        (13.6, 1.8, Limits::between(12.5, 16.3), 0.66, 0.662_630),
    ];
    for (estimate, u, limits, printed, recomputed) in cases {
        let p = conformance_probability(estimate, u, limits);
        assert!((p - printed).abs() < 0.005, "{p}");
        assert!((p - recomputed).abs() < 5e-7, "{p}");
    }
}

#[test]
fn published_guard_bands() {
    // JCGM 106:2012, 8.3: a guard band of U = 2u leaves 97.7 % at the
    // acceptance limit; 1.645 u leaves 95 %.
    let u = 0.7;
    for (factor, expected) in [(2.0, 0.977_250), (1.645, 0.950_015)] {
        let tolerance = Limits::at_most(10.0);
        let acceptance = tolerance.guarded(factor * u);
        let p = acceptance
            .high
            .map(|limit| conformance_probability(limit, u, tolerance));
        assert!(p.is_some_and(|p| (p - expected).abs() < 5e-7), "{p:?}");
        assert!((guard_band(u, expected) - factor * u).abs() < 1e-4);
    }
}

#[test]
fn published_resistor_lot() {
    // JCGM 106:2012, 9.5 (from memory): resistors of 1500 ohm, tolerance
    // 0.2 ohm, process 0.12 ohm, measuring 0.04 ohm. Printed: 90 % conform;
    // with acceptance limits at 0.18 ohm risks of about 1 % and 7 %. Six
    // digits recomputed with scipy; ±0.16 and ±0.22 derived the same way.
    let tolerance = Limits::between(1499.8, 1500.2);
    for (half_width, consumer, producer) in [
        (0.20, 0.018_942, 0.037_208),
        (0.18, 0.009_878, 0.069_027),
        (0.16, 0.004_334, 0.114_657),
        (0.22, 0.031_145, 0.017_554),
    ] {
        let acceptance = Limits::between(1500.0 - half_width, 1500.0 + half_width);
        let risks = global_risks(1500.0, 0.12, 0.04, tolerance, acceptance);
        assert!((risks.conforming - 0.904_419).abs() < 5e-7);
        assert!((risks.consumer - consumer).abs() < 6e-7, "{risks:?}");
        assert!((risks.producer - producer).abs() < 6e-7, "{risks:?}");
    }
}

#[test]
fn property_shares_add_up_for_any_proportions() {
    // accepted = conforming − wrongly rejected + wrongly accepted; the left
    // side is a closed form, the right side comes from the quadrature.
    let limits = [
        Limits::between(-1.0, 1.0),
        Limits::at_most(0.8),
        Limits::at_least(-2.0),
    ];
    for u in [1e-9, 1e-4, 0.01, 0.2, 1.0, 8.0] {
        for process in [0.05, 0.4, 3.0] {
            for mean in [0.0, 0.9, -3.0] {
                for tolerance in limits {
                    for guard in [0.0, 0.1, -0.3] {
                        let risks =
                            global_risks(mean, process, u, tolerance, tolerance.guarded(guard));
                        let sum = risks.conforming - risks.producer + risks.consumer;
                        assert!(
                            (sum - risks.accepted).abs() < 1e-12,
                            "{mean} {process} {u} {tolerance:?} {guard}: {risks:?}"
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn property_risks_match_drawn_items() {
    let n = 400_000;
    let (mut items, mut errors) = (vec![0.0; n], vec![0.0; n]);
    let normal = |deviation| Shape::Normal {
        mean: 0.3,
        deviation,
    };
    normal(0.5).fill(stream::key(5, 0), 0, &mut items);
    normal(0.2).fill(stream::key(5, 1), 0, &mut errors);
    let tolerance = Limits::between(-0.6, 0.9);
    let acceptance = tolerance.guarded(0.1);
    let (mut consumer, mut producer) = (0.0, 0.0);
    for (item, error) in items.iter().zip(&errors) {
        let accepted = acceptance.contain(item + (error - 0.3));
        match (tolerance.contain(*item), accepted) {
            (false, true) => consumer += 1.0,
            (true, false) => producer += 1.0,
            _ => {}
        }
    }
    let risks = global_risks(0.3, 0.5, 0.2, tolerance, acceptance);
    for (found, expected) in [(consumer, risks.consumer), (producer, risks.producer)] {
        let share = found / n as f64;
        let allowed = 5.0 * (expected * (1.0 - expected) / n as f64).sqrt();
        assert!((share - expected).abs() < allowed, "{share} {expected}");
    }
}

#[test]
fn property_certain_processes_and_perfect_measuring() {
    let tolerance = Limits::between(-1.0, 1.0);
    let perfect = global_risks(0.2, 0.8, 0.0, tolerance, tolerance);
    assert_eq!((perfect.consumer, perfect.producer), (0.0, 0.0));
    let certain = global_risks(0.0, 0.0, 0.5, tolerance, tolerance);
    assert_eq!(certain.consumer, 0.0);
    assert!((certain.producer - 2.0 * normal::cdf(-2.0)).abs() < 1e-15);
    let bad = global_risks(1.5, 0.0, 0.5, tolerance, tolerance);
    assert!((bad.consumer - (normal::cdf(-1.0) - normal::cdf(-5.0))).abs() < 1e-15);
    assert_eq!(conformance_probability(0.5, 0.0, tolerance), 1.0);
    assert_eq!(conformance_probability(1.5, 0.0, tolerance), 0.0);
    assert!(conformance_probability(1.5, -1.0, tolerance).is_nan());
    assert!(
        global_risks(0.0, -1.0, 0.1, tolerance, tolerance)
            .consumer
            .is_nan()
    );
    let nothing = global_risks(0.0, 0.5, 0.1, tolerance, tolerance.guarded(1.5));
    assert_eq!((nothing.accepted, nothing.consumer), (0.0, 0.0));
    assert!((nothing.producer - nothing.conforming).abs() < 1e-12);
}

#[test]
fn property_measuring_an_item_pulls_towards_the_population() {
    let (mean, deviation) = measured_item(10.0, 3.0, 20.0, 4.0);
    // weight 9/25
    assert!((mean - 13.6).abs() < 1e-14);
    assert!((deviation - 2.4).abs() < 1e-14);
    assert_eq!(measured_item(10.0, 3.0, 20.0, 0.0), (20.0, 0.0));
}
