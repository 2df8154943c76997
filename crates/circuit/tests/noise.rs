//! Noise against closed forms and against scipy's quadrature.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::approx_constant,
    reason = "tests"
)]

use circuit::{
    Amplifier, BOLTZMANN, Band, Curve, Density, Dynamics, ELECTRON, InputNoise, Instrumentation,
    Linearised, Network, Node, Noise, Output, SmallSignal, StimulusKind, Wanted,
};
use serde_json::Value as Json;
use tape::Builder;

const GROUND: Node = Node::GROUND;
const WARM_K: f64 = 300.0;

fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value - expected).abs() <= relative * expected.abs(),
        "{value} is not {expected}"
    );
}

fn data() -> Json {
    serde_json::from_str(include_str!("../../../testdata/time-noise/noise.json")).unwrap()
}

fn numbers(json: &Json) -> Vec<f64> {
    json.as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

fn straight(build: impl FnOnce(&mut Network<'_>)) -> Linearised {
    let b = Builder::new();
    let mut n = Network::new(&b);
    build(&mut n);
    let solution = n.solve().unwrap();
    let out = [Output::node(solution.find("out").unwrap())];
    let wanted = Wanted {
        outputs: &out,
        fed: &[],
        noise: true,
    };
    SmallSignal::new(&solution, &wanted)
        .unwrap()
        .at(&[])
        .unwrap()
}

fn rc(sections: &[(f64, f64)]) -> Linearised {
    straight(|n| {
        let b = n.builder();
        let mut from = n.node("in");
        n.voltage_source("source", from, GROUND, b.one());
        for (k, &(ohm, farad)) in sections.iter().enumerate() {
            let name = if k + 1 == sections.len() {
                "out".to_owned()
            } else {
                format!("n{k}")
            };
            let to = n.node(&name);
            n.resistor(&format!("r{k}"), from, to, b.constant(ohm));
            n.capacitor(&format!("c{k}"), to, GROUND, b.constant(farad), None);
            from = to;
        }
    })
}

fn of<'a>(network: &'a Linearised) -> Noise<'a> {
    network.noise(0, |_| WARM_K).unwrap()
}

fn total(parts: &[f64]) -> f64 {
    parts.iter().sum()
}

/// Gain of 100 from a source of 20 kΩ, every contributor, an RC behind it.
fn stage() -> Linearised {
    straight(|n| {
        let b = n.builder();
        let c = |x: f64| b.constant(x);
        let (from, plus, minus) = (n.node("in"), n.node("plus"), n.node("minus"));
        let (top, out) = (n.node("top"), n.node("out"));
        n.voltage_source("source", from, GROUND, c(1e-3));
        n.resistor("rs", from, plus, c(20e3));
        n.resistor("rf", top, minus, c(99e3));
        n.resistor("rg", minus, GROUND, c(1e3));
        n.resistor("rl", top, out, c(1e3));
        n.capacitor("cl", out, GROUND, c(10e-9), None);
        let model = Amplifier {
            gain: Some(c(1e5)),
            dynamics: Dynamics {
                bandwidth_hz: Some(c(3e6)),
                ..Dynamics::default()
            },
            noise: InputNoise {
                white_v: Some(c(9e-9)),
                corner_v_hz: Some(c(30.0)),
                white_a: Some(c(0.4e-12)),
                corner_a_hz: Some(c(200.0)),
                output_v: None,
            },
            ..Amplifier::ideal(b)
        };
        n.amplifier("u", plus, minus, top, GROUND, GROUND, model);
    })
}

/// Number of a contributor of the stage by its name in the reference.
fn named(noise: &Noise<'_>, name: &str) -> usize {
    let (element, kind) = match name {
        "en" => ("u", StimulusKind::InputVoltage),
        "in+" => ("u", StimulusKind::PlusCurrent),
        "in-" => ("u", StimulusKind::MinusCurrent),
        resistor => (resistor, StimulusKind::Thermal),
    };
    noise
        .contributors()
        .iter()
        .position(|c| c.stimulus.element == element && c.stimulus.kind == kind)
        .unwrap()
}

#[test]
fn published_thermal_noise() {
    // √(4kTR) of the exact k: 4.070355 nV/√Hz for 1 kΩ at 300 K; 100 kΩ in
    // 1 MHz: 40.7035 µV (40.69 µV with a rounded k, tutorialsweb.com); 1 kΩ
    // through one pole at 10 kHz: 0.510143 µV.
    let network = straight(|n| {
        let b = n.builder();
        let out = n.node("out");
        n.resistor("r", out, GROUND, b.constant(100e3));
    });
    let noise = of(&network);
    close(noise.density(1.0)[0].sqrt(), 40.703_548e-9, 1e-7);
    let band = noise.power(&Band::flat(0.0, 1e6)).unwrap();
    close(band[0].sqrt(), 40.7035e-6, 2e-6);
    assert_eq!(
        noise.power(&Band::flat(0.0, f64::INFINITY)).unwrap()[0],
        f64::INFINITY
    );
    let farad = 1.0 / (std::f64::consts::TAU * 1e3 * 10e3);
    let network = rc(&[(1e3, farad)]);
    let all = of(&network).power(&Band::flat(0.0, f64::INFINITY)).unwrap();
    close(all[0].sqrt(), 0.510_143e-6, 2e-6);
}

#[test]
fn published_noise_of_a_sampled_capacitor() {
    // √(kT/C), whatever the resistor: 1 pF 64.358 µV, 14 pF 17.200 µV,
    // 1 nF 2.0352 µV at 300 K.
    for (farad, expected) in [(1e-12, 64.358e-6), (14e-12, 17.200e-6), (1e-9, 2.0352e-6)] {
        for ohm in [50.0, 10e3, 1e9] {
            let network = rc(&[(ohm, farad)]);
            let noise = of(&network);
            let exact = BOLTZMANN * WARM_K / farad;
            let power = noise.power(&Band::flat(0.0, f64::INFINITY)).unwrap();
            let sampled = noise.sampled(1e3, 1, 1e-3).unwrap();
            close(power[0], exact, 1e-9);
            close(sampled[0], exact, 1e-13);
            close(power[0].sqrt(), expected, 5e-5);
        }
    }
    // Behind a network of resistors the capacitor has the same.
    let network = straight(|n| {
        let b = n.builder();
        let (from, out) = (n.node("in"), n.node("out"));
        n.voltage_source("source", from, GROUND, b.one());
        n.resistor("a", from, out, b.constant(10e3));
        n.resistor("b", out, GROUND, b.constant(3e3));
        n.capacitor("c", out, GROUND, b.constant(1e-9), None);
    });
    close(
        total(&of(&network).sampled(1e3, 1, 1e-3).unwrap()),
        BOLTZMANN * WARM_K / 1e-9,
        1e-13,
    );
}

#[test]
fn reference_two_sections() {
    let all = data();
    let expected = &all["two-sections"];
    let network = rc(&[(10e3, 1e-9), (47e3, 220e-12)]);
    let noise = of(&network);
    let hz = numbers(&expected["hz"]);
    for (hz, parts) in hz.into_iter().zip(expected["density"].as_array().unwrap()) {
        for (found, expected) in noise.density(hz).into_iter().zip(numbers(parts)) {
            close(found, expected, 1e-11);
        }
    }
    let power = noise.power(&Band::flat(0.0, f64::INFINITY)).unwrap();
    let sampled = noise.sampled(1.0, 1, 0.1).unwrap();
    for (k, expected) in numbers(&expected["power"]).into_iter().enumerate() {
        close(power[k], expected, 1e-9);
        close(sampled[k], expected, 1e-11);
    }
    let band = numbers(&expected["band"]);
    let power = noise.power(&Band::flat(band[0], band[1])).unwrap();
    for (found, expected) in power.into_iter().zip(numbers(&expected["in_band"])) {
        close(found, expected, 1e-10);
    }
    // Independent: together the last capacitor has kT/C.
    close(total(&sampled), BOLTZMANN * WARM_K / 220e-12, 1e-12);
}

#[test]
fn reference_amplifier_stage() {
    let all = data();
    let expected = &all["amplifier"];
    let network = stage();
    let noise = of(&network);
    let names: Vec<String> = expected["names"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_str().unwrap().to_owned())
        .collect();
    assert_eq!(noise.contributors().len(), names.len());
    let hz = numbers(&expected["hz"]);
    for (hz, parts) in hz.into_iter().zip(expected["density"].as_array().unwrap()) {
        let found = noise.density(hz);
        for (name, expected) in names.iter().zip(numbers(parts)) {
            close(found[named(&noise, name)], expected, 1e-10);
        }
    }
    let band = numbers(&expected["band"]);
    let power = noise.power(&Band::flat(band[0], band[1])).unwrap();
    for (name, expected) in names.iter().zip(numbers(&expected["in_band"])) {
        close(power[named(&noise, name)], expected, 1e-9);
    }
}

#[test]
fn reference_mean_of_correlated_samples() {
    // Sixteen samples while the stage remembers several: white noise by its
    // covariance, 1/f noise through the window, each by scipy.
    let all = data();
    let expected = &all["amplifier"]["sampled"];
    let get = |key: &str| expected[key].as_f64().unwrap();
    let network = stage();
    let noise = of(&network);
    let en = named(&noise, "en");
    let found = noise
        .sampled(
            get("rate_hz"),
            expected["count"].as_u64().unwrap() as u32,
            get("low_hz"),
        )
        .unwrap();
    let white = Noise::clone(&noise);
    let one = white.sampled(get("rate_hz"), 1, get("low_hz")).unwrap();
    assert!(found[en] < one[en] / 3.0 && found[en] > one[en] / 12.0);
    close(found[en], get("white") + get("flicker"), 3e-4);
}

#[test]
fn property_one_over_f_does_not_average() {
    // A source with 1/f noise alone through an RC far above the sampling:
    // 4096 samples leave more than a third of what one sample shows, where
    // white noise falls to 1/4096.
    let network = rc(&[(1e3, 1e-9)]);
    let source = network.find("source", StimulusKind::Voltage).unwrap();
    let noise = of(&network).with(source, Density::with_corner(1e-9, 1e6));
    let last = noise.contributors().len() - 1;
    let at = |count| noise.sampled(1e3, count, 1e-4).unwrap();
    let (one, many) = (at(1), at(4096));
    assert!(many[last] / one[last] > 0.3, "{}", many[last] / one[last]);
    close(many[0] / one[0], 1.0 / 4096.0, 1e-9);
}

#[test]
fn published_noise_bandwidth_of_poles() {
    // Equal poles one after another, buffered: π/2, 1.220331, 1.155395,
    // 1.128499 times the −3 dB frequency (closed form; S. Winder, Analog and
    // Digital Filter Design, p. 426 for the Butterworth family).
    for (poles, expected) in [
        (1, 1.570_796),
        (2, 1.220_331),
        (3, 1.155_395),
        (4, 1.128_499),
    ] {
        let network = straight(|n| {
            let b = n.builder();
            let mut from = n.node("in");
            n.voltage_source("source", from, GROUND, b.one());
            for k in 0..poles {
                let to = n.node(&format!("n{k}"));
                let name = if k + 1 == poles {
                    "out".to_owned()
                } else {
                    format!("b{k}")
                };
                let next = n.node(&name);
                n.resistor(&format!("r{k}"), from, to, b.constant(1e3));
                n.capacitor(&format!("c{k}"), to, GROUND, b.constant(1e-7), None);
                n.amplifier(
                    &format!("u{k}"),
                    to,
                    next,
                    next,
                    GROUND,
                    GROUND,
                    Amplifier::ideal(b),
                );
                from = next;
            }
        });
        let source = network.find("source", StimulusKind::Voltage).unwrap();
        let noise = of(&network).with(
            source,
            Density {
                white: 1.0,
                flicker: 0.0,
            },
        );
        let last = noise.contributors().len() - 1;
        let corner = network
            .response(0, source)
            .unwrap()
            .falls_to(0.5_f64.sqrt())
            .unwrap();
        let band = noise.power(&Band::flat(0.0, f64::INFINITY)).unwrap()[last];
        close(band / corner, expected, 5e-7);
        close(noise.sampled(1.0, 1, 1.0).unwrap()[last], band, 1e-9);
    }
}

#[test]
fn shot_noise_of_a_conductor() {
    // 1 mA through a junction: 2qI beside its slope of 25.85 Ω and 1 kΩ.
    let network = straight(|n| {
        let b = n.builder();
        let out = n.node("out");
        n.current_source("bias", GROUND, out, b.constant(1e-3));
        n.conductor(
            "d",
            out,
            GROUND,
            Curve::junction(b.constant(1e-14), b.constant(25.85e-3)),
        );
    });
    close(
        of(&network).density(1e3)[0],
        2.0 * ELECTRON * 1e-3 * 25.85 * 25.85,
        1e-9,
    );
}

#[test]
fn instrumentation_amplifier_by_hand() {
    // Gain 50: input noise 50 times at the output, output noise once; with
    // 10 kΩ at both inputs each current makes 10 kΩ·50.
    let network = straight(|n| {
        let b = n.builder();
        let c = |x: f64| b.constant(x);
        let (p, m, out) = (n.node("p"), n.node("m"), n.node("out"));
        n.resistor("rp", p, GROUND, c(10e3));
        n.resistor("rm", m, GROUND, c(10e3));
        let model = Instrumentation {
            noise: InputNoise {
                white_v: Some(c(8e-9)),
                white_a: Some(c(0.1e-12)),
                output_v: Some(c(75e-9)),
                ..InputNoise::default()
            },
            ..Instrumentation::ideal(c(50.0))
        };
        n.instrumentation("u", p, m, GROUND, out, GROUND, GROUND, model);
    });
    let noise = of(&network);
    let at = |kind| {
        let k = noise
            .contributors()
            .iter()
            .position(|c| c.stimulus.kind == kind)
            .unwrap();
        noise.density(100.0)[k].sqrt()
    };
    close(at(StimulusKind::InputVoltage), 400e-9, 1e-12);
    close(at(StimulusKind::OutputVoltage), 75e-9, 1e-12);
    close(at(StimulusKind::PlusCurrent), 50e-9, 1e-12);
    close(at(StimulusKind::MinusCurrent), 50e-9, 1e-12);
    close(at(StimulusKind::Thermal), 50.0 * 12.871_592e-9, 1e-7);
}

#[test]
fn property_powers_add_and_bands_join() {
    let network = stage();
    let noise = of(&network);
    let (low, middle, high) = (0.3, 777.0, 3e5);
    let whole = noise.power(&Band::flat(low, high)).unwrap();
    let first = noise.power(&Band::flat(low, middle)).unwrap();
    let second = noise.power(&Band::flat(middle, high)).unwrap();
    for ((whole, first), second) in whole.iter().zip(first).zip(second) {
        close(first + second, *whole, 1e-9);
    }
    // Temperature of one resistor alone.
    let cold = network
        .noise(0, |name| if name == "rs" { 150.0 } else { WARM_K })
        .unwrap();
    let (warm, cold) = (noise.density(1e3), cold.density(1e3));
    let rs = named(&noise, "rs");
    for k in 0..warm.len() {
        close(
            cold[k],
            if k == rs { 0.5 * warm[k] } else { warm[k] },
            1e-12,
        );
    }
}

#[test]
fn property_a_filter_with_a_null_lets_nothing_through_there() {
    // A narrow band about a null of the mean of 8 samples.
    let network = rc(&[(1e3, 1e-9)]);
    let noise = of(&network);
    let rate = 1000.0;
    let window = |hz: f64| statistics::averaging::window_power(hz / rate, 8);
    let narrow = |centre: f64| {
        let band = Band {
            low_hz: centre - 0.01,
            high_hz: centre + 0.01,
            filter: &window,
            breaks_hz: &[centre],
        };
        noise.power(&band).unwrap()[0]
    };
    assert!(narrow(125.0) < 1e-8 * narrow(1.0));
}

#[test]
fn one_over_f_noise_from_zero_is_infinite() {
    let network = stage();
    let noise = of(&network);
    let power = noise.power(&Band::flat(0.0, 1e3)).unwrap();
    assert_eq!(power[named(&noise, "en")], f64::INFINITY);
    assert!(power[named(&noise, "rs")].is_finite());
    let sampled = noise.sampled(1e3, 4, 0.0).unwrap();
    assert_eq!(sampled[named(&noise, "en")], f64::INFINITY);
    assert!(sampled[named(&noise, "rs")].is_finite());
}

#[test]
fn a_reference_stated_by_its_low_band_has_that_noise_there() {
    // 3.3 µV peak to peak from 0.1 to 10 Hz (0.5 µV rms) and 60 nV/√Hz white:
    // both come back; a white part larger than the band leaves no 1/f.
    let network = rc(&[(1.0, 1e-12)]);
    let source = network.find("source", StimulusKind::Voltage).unwrap();
    let density = Density::with_band(60e-9, 0.5e-6, 0.1, 10.0);
    let noise = of(&network).with(source, density);
    let last = noise.contributors().len() - 1;
    let band = noise.power(&Band::flat(0.1, 10.0)).unwrap();
    close(band[last].sqrt(), 0.5e-6, 1e-9);
    close(noise.density(1e6)[last].sqrt(), 60e-9, 1e-4);
    assert_eq!(Density::with_band(1e-6, 0.5e-6, 0.1, 10.0).flicker, 0.0);
}
