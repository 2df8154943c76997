//! Propagation and sampling against general-purpose libraries on PyPI:
//! `uncertainties` and `GTC`, each differentiating the same formula on its own
//! (`reference/propagation.py`), and numpy's sampling
//! (`reference/sampling.py`).
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use std::collections::HashMap;

use statistics::Shape;
use support::{normal, rectangular};
use tape::{Builder, Reading, Value};
use uncertainty::{Input, Model, Sampled, Settings, covariance, propagate, sample};

const PROPAGATION: &str = include_str!("../../../testdata/reference/propagation.csv");
const SAMPLING: &str = include_str!("../../../testdata/reference/sampling.csv");
const ICE_K: f64 = 273.15;

/// (name, what) to value, of one case.
fn case(table: &str, wanted: &str) -> HashMap<(String, String), f64> {
    let found: HashMap<_, _> = table
        .lines()
        .skip(1)
        .map(|line| {
            let [case, name, what, value] = line.split(',').collect::<Vec<_>>()[..] else {
                panic!("{line}");
            };
            (case, name, what, value)
        })
        .filter(|(case, ..)| *case == wanted)
        .map(|(_, name, what, value)| ((name.to_owned(), what.to_owned()), value.parse().unwrap()))
        .collect();
    assert!(!found.is_empty(), "no case {wanted}");
    found
}

/// Inputs in the order of the reference formulas.
struct Inputs<'t> {
    b: &'t Builder,
    list: Vec<Input>,
}

impl<'t> Inputs<'t> {
    fn new(b: &'t Builder) -> Self {
        Inputs {
            b,
            list: Vec::new(),
        }
    }
    fn of(&mut self, shape: Shape) -> Value<'t> {
        let name = format!("x{}", self.list.len());
        self.list
            .push(Input::board(&name, "", shape, self.list.len() as u64 + 1));
        self.b.input(&name, "", shape.mean())
    }
    fn within(&mut self, half: f64) -> Value<'t> {
        self.of(rectangular(half))
    }
    fn normal(&mut self, mean: f64, deviation: f64) -> Value<'t> {
        self.of(normal(mean, deviation))
    }
    fn model(self, outputs: &[Value<'t>]) -> Model {
        Model {
            tape: self.b.finish(outputs),
            inputs: self.list,
            error: 0,
            limit: None,
        }
    }
}

/// Value, u and all slopes of one output against the table.
fn compare(name: &str, output: &str, model: &Model) {
    let table = case(PROPAGATION, name);
    let get = |what: &str| table[&(output.to_owned(), what.to_owned())];
    let p = propagate(model, &[], 0.95).unwrap();
    let (value, u) = (get("value"), get("u"));
    assert!(
        (p.bias - value).abs() <= 1e-9 * u,
        "{name} {output}: {} is not {value}",
        p.bias
    );
    assert!(
        (p.u - u).abs() <= 1e-9 * u,
        "{name} {output}: u {} is not {u}",
        p.u
    );
    let centre: Vec<f64> = model.inputs.iter().map(|i| i.shape.mean()).collect();
    let slopes = model.tape.gradient(&centre, 0, Reading::Smooth);
    let count = table
        .keys()
        .filter(|(o, w)| o == output && w.starts_with("slope"))
        .count();
    assert_eq!(count, slopes.len(), "{name} {output}");
    for (n, (slope, input)) in slopes.iter().zip(&model.inputs).enumerate() {
        let wanted = get(&format!("slope {n}"));
        let size = u / input.shape.deviation();
        assert!(
            (slope - wanted).abs() <= 1e-9 * size,
            "{name} {output}: slope {n} {slope} is not {wanted}"
        );
    }
}

/// The thermistor divider of the reference, its code rounded or not.
fn thermistor(celsius: f64, ambient: f64, rounded: bool) -> Model {
    let b = Builder::new();
    let mut i = Inputs::new(&b);
    let one = b.one();
    let reference = i.within(0.005) + 3.0;
    let mut pull_up = (i.within(0.001) + 1.0) * 1e4;
    pull_up = pull_up * (i.within(25e-6) * (ambient - 25.0) + 1.0);
    pull_up = pull_up * (i.within(0.0005) + 1.0);
    let r25 = (i.within(0.01) + 1.0) * 1e4;
    let beta = (i.within(0.005) + 1.0) * 3950.0;
    let (knot, offset, gain) = (i.within(1.0), i.within(1.5), i.within(0.0005));
    let leakage = i.within(50e-9);
    let noise = i.normal(0.0, 0.4);
    let kelvin = i.within(0.01) + celsius + ICE_K;
    let thermistor = r25 * (beta * (one / kelvin - 1.0 / 298.15)).exp();
    let node = (reference / pull_up + leakage) / (one / pull_up + one / thermistor);
    let share = node / reference;
    let exact = share * (gain + 1.0) * 4096.0 + offset + knot * share * (one - share) * 4.0 + noise;
    let ratio = if rounded {
        (exact.quantised() + 0.5) / 4096.0
    } else {
        exact / 4096.0
    };
    let found = one / ((ratio / (one - ratio)).ln() / 3950.0 + 1.0 / 298.15);
    let error = found - kelvin;
    i.model(&[error])
}

#[test]
fn reference_thermistor_divider() {
    for celsius in [-10.0, 25.0, 50.0] {
        for ambient in [0.0, 40.0] {
            let model = thermistor(celsius, ambient, false);
            compare(
                &format!("thermistor {celsius:?} {ambient:?}"),
                "error",
                &model,
            );
        }
    }
}

#[test]
fn reference_ratiometric_bridge() {
    for strain in [0.0, 1e-3] {
        for feed in [0.0, 10.0] {
            for (output, shared) in [("share", true), ("absolute", false)] {
                let b = Builder::new();
                let mut i = Inputs::new(&b);
                let rail = i.normal(5.0, 0.05);
                let arms = [-1.0, 1.0, 1.0, -1.0]
                    .map(|sign: f64| (i.normal(0.0, 1e-4) + 1.0) * (350.0 * (1.0 + sign * strain)));
                let gain = (i.normal(0.0, 5e-4) + 1.0) * 128.0;
                let series = i.normal(0.0, 0.1) + feed;
                let (left, right) = (arms[0] + arms[1], arms[2] + arms[3]);
                let excitation = rail / (series * (b.one() / left + b.one() / right) + 1.0);
                let difference = excitation * (arms[1] / left - arms[3] / right);
                let against = if shared { rail } else { b.constant(5.0) };
                let model = i.model(&[gain * difference / against]);
                compare(&format!("ratiometric {strain:?} {feed:?}"), output, &model);
            }
        }
    }
}

#[test]
fn reference_two_point_calibration() {
    for quantity in [0.0, 45.0, 100.0] {
        for ambient in [21.0, 38.0] {
            let b = Builder::new();
            let mut i = Inputs::new(&b);
            let (offset, gain, bow) =
                (i.normal(0.0, 0.8), i.normal(0.0, 0.01), i.normal(0.0, 0.15));
            let (drift_offset, drift_gain) = (i.normal(0.0, 0.01), i.normal(0.0, 2e-4));
            let (common, then) = (i.normal(0.0, 0.03), i.normal(21.0, 0.5));
            let noise = [(); 3].map(|()| i.normal(0.0, 0.02));
            let own = [(); 2].map(|()| i.normal(0.0, 0.01));
            let raw = |x, ambient, noise| {
                let t = ambient - 21.0;
                let share = x / 100.0;
                x * (gain + drift_gain * t + 1.0)
                    + offset
                    + drift_offset * t
                    + bow * share * (b.one() - share) * 4.0
                    + noise
            };
            let first = raw(common + own[0] + 10.0, then, noise[0]);
            let second = raw(common + own[1] + 80.0, then, noise[1]);
            let reading = raw(b.constant(quantity), b.constant(ambient), noise[2]);
            let found = (reading - first) * 70.0 / (second - first) + 10.0;
            let error = found - quantity;
            let model = i.model(&[error]);
            compare(
                &format!("calibrated {quantity:?} {ambient:?}"),
                "error",
                &model,
            );
        }
    }
}

#[test]
fn reference_correlated_impedance() {
    // JCGM 100:2008, H.2. The correlated inputs are built from independent
    // ones by the Cholesky factor, as the libraries do not.
    let r: [f64; 3] = [-0.355_311, 0.857_624, -0.645_111];
    let b1 = (1.0 - r[0] * r[0]).sqrt();
    let c1 = (r[2] - r[0] * r[1]) / b1;
    let c2 = (1.0 - r[1] * r[1] - c1 * c1).sqrt();
    let b = Builder::new();
    let mut i = Inputs::new(&b);
    let z = [(); 3].map(|()| i.normal(0.0, 1.0));
    let volt = z[0] * 0.003_209_36 + 4.9990;
    let ampere = (z[0] * r[0] + z[1] * b1) * 0.009_471_01e-3 + 19.6610e-3;
    let phase = (z[0] * r[1] + z[1] * c1 + z[2] * c2) * 0.000_752_06 + 1.044_46;
    let impedance = volt / ampere;
    let model = i.model(&[impedance * phase.cos(), impedance * phase.sin(), impedance]);
    let table = case(PROPAGATION, "impedance");
    let found = covariance(&model, &[], &[0, 1, 2]).unwrap();
    let centre = [0.0; 3];
    let values = model.tape.values(&centre, Reading::Smooth);
    for (n, name) in ["resistance", "reactance", "impedance"]
        .into_iter()
        .enumerate()
    {
        let get = |what: &str| table[&(name.to_owned(), what.to_owned())];
        assert!((values[n] - get("value")).abs() <= 1e-12 * get("value"));
        let u = found[n][n].sqrt();
        assert!((u - get("u")).abs() <= 1e-9 * get("u"), "{name} {u}");
    }
}

#[test]
fn reference_degrees_of_freedom() {
    // Rounded down, as JCGM 100:2008, G.4.1 says.
    let inf = f64::INFINITY;
    let gauge = {
        let b = Builder::new();
        let mut i = Inputs::new(&b);
        let v = [
            (50_000_623.0, 25.0),
            (215.0, 9.7),
            (11.5e-6, 1.2e-6),
            (-0.1, 0.41),
            (0.0, 0.58e-6),
            (0.0, 0.029),
        ]
        .map(|(x, u)| i.normal(x, u));
        i.model(&[v[0] + v[1] - v[0] * (v[4] * v[3] + v[2] * v[5])])
    };
    let product = {
        let b = Builder::new();
        let mut i = Inputs::new(&b);
        let v = [0.0025, 0.0057, 0.0082].map(|u| i.normal(1.0, u));
        i.model(&[v[0] * v[1] * v[2]])
    };
    for (name, output, mut model, dofs) in [
        (
            "gauge",
            "length",
            gauge,
            vec![18.0, 25.6, inf, inf, 50.0, 2.0],
        ),
        ("product", "product", product, vec![9.0, 4.0, 14.0]),
    ] {
        for (input, dof) in model.inputs.iter_mut().zip(dofs) {
            input.dof = dof;
        }
        let table = case(PROPAGATION, name);
        let get = |what: &str| table[&(output.to_owned(), what.to_owned())];
        let p = propagate(&model, &[], 0.95).unwrap();
        assert!((p.u - get("u")).abs() <= 1e-9 * get("u"), "{name} {}", p.u);
        assert_eq!(p.dof, Some(get("dof").floor()), "{name}");
    }
}

fn sampled(name: &str, model: &Model) {
    let settings = Settings {
        probability: 0.9973,
        first_trials: 1 << 22,
        most_trials: 1 << 22,
        ..Settings::default()
    };
    let found: Sampled = sample(model, &[], &settings).unwrap();
    let table = case(SAMPLING, name);
    // Both tolerances are 95 %; half as much again makes a false alarm rare.
    let close = |key: &str, value: f64, own: f64| {
        let get = |what: &str| table[&(key.to_owned(), what.to_owned())];
        let (wanted, theirs) = (get("value"), get("tolerance"));
        let slack = 1.5 * (own * own + theirs * theirs).sqrt();
        assert!(
            (value - wanted).abs() <= slack,
            "{name} {key}: {value} is not {wanted} ± {slack}"
        );
    };
    let trials = found.trials as f64;
    close("mean", found.mean, 1.96 * found.deviation / trials.sqrt());
    close("half-width", found.half_width, found.half_width_tolerance);
    close("low", found.interval.0, found.interval_tolerance);
    close("high", found.interval.1, found.interval_tolerance);
    let deviation = table[&("deviation".to_owned(), "value".to_owned())];
    // Of a million trials, for shapes with a kurtosis up to 6.
    assert!((found.deviation / deviation - 1.0).abs() < 1.5 * 1.96 * (1.25 * 5.0 / trials).sqrt());
}

#[test]
fn reference_sampling() {
    for (celsius, ambient) in [(-10.0, 40.0), (50.0, 40.0)] {
        sampled(
            &format!("thermistor {celsius:?} {ambient:?}"),
            &thermistor(celsius, ambient, true),
        );
    }
    let b = Builder::new();
    let mut i = Inputs::new(&b);
    let clipped = i.normal(0.0, 1.0).min(b.constant(1.5)) + i.within(0.2);
    sampled("clipped", &i.model(&[clipped]));
    let b = Builder::new();
    let mut i = Inputs::new(&b);
    let (numerator, denominator) = (
        i.normal(1.0, 0.1),
        i.of(Shape::Rectangular {
            low: 0.7,
            high: 1.3,
        }),
    );
    let exponent = i.of(Shape::Triangular {
        low: -0.3,
        high: 0.3,
    });
    let quotient = numerator * exponent.exp() / denominator - 1.0;
    sampled("quotient", &i.model(&[quotient]));
}
