//! What disturbing tones leave in readings.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use circuit::interference::{Family, Readout, SincFilter, Together, arrivals, decibel};
use circuit::{Linearised, Network, Node, Output, SmallSignal, StimulusKind, Wanted};
use serde_json::Value as Json;

fn golden() -> Json {
    serde_json::from_str(include_str!(
        "../../../testdata/time-noise/interference.json"
    ))
    .unwrap()
}

fn number(json: &Json, key: &str) -> f64 {
    json[key].as_f64().unwrap()
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value / expected - 1.0).abs() <= relative,
        "{value} is not {expected}"
    );
}

fn whole(json: &Json, key: &str) -> u32 {
    number(json, key) as u32
}

#[test]
fn reference_filter_and_averaging_keep_as_their_impulse_response_does() {
    // reference/time_noise/generate.py, scipy.
    for case in golden()["kept"].as_array().unwrap() {
        let order = whole(case, "order");
        let readout = Readout {
            sample_rate_hz: number(case, "sample_hz"),
            count: whole(case, "count"),
            reading_rate_hz: 1.0,
            filter: (order > 0).then(|| SincFilter {
                order,
                notch_hz: number(case, "notch_hz"),
                decimation: Some(whole(case, "decimation")),
            }),
        };
        let (low, high) = (number(case, "low"), number(case, "high"));
        let family = Family {
            low_hz: low,
            nominal_hz: 0.5 * (low + high),
            high_hz: high,
            harmonics: 5,
            amplitudes: vec![],
        };
        let arrived = arrivals(&family, &readout, &[1.0; 5]).unwrap();
        let kept = case["kept"].as_array().unwrap();
        assert_eq!(arrived.len(), kept.len());
        for (a, kept) in arrived.iter().zip(kept) {
            close(a.kept, kept.as_f64().unwrap(), 1e-6);
        }
    }
}

#[test]
fn reference_tones_show_where_the_spectrum_of_the_readings_has_them() {
    for case in golden()["seen"].as_array().unwrap() {
        let rate = number(case, "rate_hz");
        let seen = statistics::alias::frequency(number(case, "tone_hz"), rate);
        // A bin of the spectrum is a millionth of the rate wide.
        assert!((seen - number(case, "seen_hz")).abs() <= 2e-6 * rate);
    }
}

/// An RC low-pass behind a source.
fn low_pass(ohm: f64, farad: f64) -> Linearised {
    let builder = tape::Builder::new();
    let mut net = Network::new(&builder);
    let (input, out) = (net.node("in"), net.node("out"));
    net.voltage_source("v", input, Node::GROUND, builder.constant(1.0));
    net.resistor("r", input, out, builder.constant(ohm));
    net.capacitor("c", out, Node::GROUND, builder.constant(farad), None);
    let solution = net.solve().unwrap();
    let wanted = Wanted {
        outputs: &[Output::node(out)],
        fed: &[],
        noise: false,
    };
    SmallSignal::new(&solution, &wanted)
        .unwrap()
        .nominal()
        .unwrap()
}

/// 50 Hz ± 0.5 Hz with five harmonics.
fn mains(amplitudes: &[f64]) -> Family {
    Family {
        low_hz: 49.5,
        nominal_hz: 50.0,
        high_hz: 50.5,
        harmonics: 5,
        amplitudes: amplitudes.to_vec(),
    }
}

#[test]
fn mains_through_a_low_pass_and_an_average() {
    // 10 kΩ and 1 µF, 15.9155 Hz: at 49.5 Hz 1/√(1 + 3.11018²) = 0.306091.
    // 20 conversions at 1000 per second keep sin(0.99·π)/(20·sin(0.0495·π)) =
    // 0.0101402. 100 mV leave 310.4 µV; they show between 0 and 0.5 Hz at two
    // readings per second, and stand still at exactly 50 Hz.
    let network = low_pass(1e4, 1e-6);
    let source = network.find("v", StimulusKind::Voltage).unwrap();
    let response = network.response(0, source).unwrap();
    let readout = Readout {
        sample_rate_hz: 1000.0,
        count: 20,
        reading_rate_hz: 2.0,
        filter: None,
    };
    let arrived = response.family(&mains(&[0.1]), &readout).unwrap();
    assert_eq!(arrived.len(), 5);
    let first = arrived[0];
    close(first.response, 0.306_091, 1e-5);
    close(first.kept, 0.010_140_2, 1e-5);
    close(first.amplitude.unwrap(), 310.38e-6, 1e-4);
    close(first.chain_db(1.0), 10.283, 1e-3);
    close(first.kept_db(), 39.88, 1e-3);
    assert!(first.kept_nominal < 1e-12);
    assert_eq!(first.alias_hz, (0.0, 0.5));
    assert!(first.stands_still);
    // The fifth has a fifth of the amplitude, and 247.5 to 252.5 Hz folds at
    // both ends of what two readings per second can show.
    assert_eq!(arrived[4].hz, (247.5, 250.0, 252.5));
    assert_eq!(arrived[4].alias_hz, (0.0, 1.0));
    close(
        arrived[4].amplitude.unwrap(),
        0.02 * arrived[4].response * arrived[4].kept,
        1e-12,
    );
    let together = Together::of(&arrived);
    let peak: f64 = arrived.iter().filter_map(|a| a.amplitude).sum();
    close(together.peak, peak, 1e-12);
    assert_eq!(together.unknown, 0);
    // Nobody knows an amplitude: shares are told, no error.
    let unknown = response.family(&mains(&[]), &readout).unwrap();
    assert_eq!(unknown[0].amplitude, None);
    close(unknown[0].kept, first.kept, 1e-15);
    assert_eq!(
        Together::of(&unknown),
        Together {
            peak: 0.0,
            deviation: 0.0,
            unknown: 5
        }
    );
    // A list tells of as many harmonics as it is long.
    let listed = response.family(&mains(&[0.1, 0.02]), &readout).unwrap();
    assert_eq!(listed.iter().filter(|a| a.amplitude.is_none()).count(), 3);
}

#[test]
fn published_a_tone_of_unknown_phase_is_arcsine_distributed() {
    // JCGM 101, 6.4.6: a·sin Φ with Φ uniform has the variance a²/2; two tones
    // 3 and 4: √(9/2 + 16/2).
    let readout = Readout {
        sample_rate_hz: 1e4,
        count: 1,
        reading_rate_hz: 1e4,
        filter: None,
    };
    let family = Family {
        low_hz: 50.0,
        nominal_hz: 50.0,
        high_hz: 50.0,
        harmonics: 2,
        amplitudes: vec![3.0, 4.0],
    };
    let together = Together::of(&arrivals(&family, &readout, &[1.0; 5]).unwrap());
    close(together.deviation, 12.5_f64.sqrt(), 1e-14);
    assert_eq!(together.peak, 7.0);
    // The same by drawing phases on a grid.
    let mut power = 0.0;
    for i in 0..64 {
        for j in 0..64 {
            let at = |k: i32| std::f64::consts::TAU * f64::from(k) / 64.0;
            power += (3.0 * elementary::sin(at(i)) + 4.0 * elementary::sin(at(j))).powi(2);
        }
    }
    close(together.deviation, (power / 4096.0).sqrt(), 1e-12);
}

#[test]
fn property_the_worst_is_met_and_never_exceeded() {
    for (order, notch, sample, count, low, high) in [
        (3, 60.0, 60.0, 4, 49.0, 51.0),
        (1, 16.7, 16.7, 1, 49.5, 60.5),
        (2, 1000.0, 500.0, 30, 3e3, 1.3e4),
        (0, 1.0, 1234.0, 17, 2e5, 3.3e5),
    ] {
        let readout = Readout {
            sample_rate_hz: sample,
            count,
            reading_rate_hz: 1.0,
            filter: (order > 0).then_some(SincFilter {
                order,
                notch_hz: notch,
                decimation: None,
            }),
        };
        let largest = readout.largest(low, high);
        let seen = (0..=50_000)
            .map(|k| readout.kept(low + (high - low) * f64::from(k) / 5e4))
            .fold(0.0, f64::max);
        assert!(seen <= largest * (1.0 + 1e-9), "{seen} exceeds {largest}");
        assert!(largest <= seen * 1.05, "{largest} is not met: {seen}");
    }
}

#[test]
fn what_makes_no_sense_has_no_answer() {
    let readout = Readout {
        sample_rate_hz: 100.0,
        count: 4,
        reading_rate_hz: 1.0,
        filter: None,
    };
    let one = &[1.0; 5];
    let backwards = Family {
        low_hz: 51.0,
        ..mains(&[])
    };
    assert_eq!(arrivals(&backwards, &readout, one), None);
    let still = Readout {
        reading_rate_hz: 0.0,
        ..readout
    };
    assert_eq!(arrivals(&mains(&[]), &still, one), None);
    assert!(arrivals(&mains(&[]), &readout, one).is_some());
    assert_eq!(arrivals(&mains(&[]), &readout, &one[..4]), None);
    close(decibel(10.0), 20.0, 1e-12);
}
