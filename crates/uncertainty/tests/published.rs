//! Worked examples of the guides, and properties that fail when the method is
//! wrong.
#![allow(clippy::unwrap_used, reason = "tests")]

use statistics::Shape;
use tape::{Builder, Value};
use uncertainty::{Input, Model, Settings, propagate, sample, worst_case};

/// Builds a model of `f` over board inputs (name, nominal, shape).
fn model(inputs: &[(&str, f64, Shape)], f: impl for<'t> Fn(&[Value<'t>]) -> Value<'t>) -> Model {
    let builder = Builder::new();
    let values: Vec<Value<'_>> = inputs
        .iter()
        .map(|(n, x, _)| builder.input(n, "", *x))
        .collect();
    let error = f(&values);
    Model {
        tape: builder.finish(&[error]),
        inputs: inputs
            .iter()
            .enumerate()
            .map(|(i, (n, _, s))| Input::board(n, "", *s, i as u64 + 1))
            .collect(),
        error: 0,
        limit: None,
    }
}

fn rectangular(half: f64) -> Shape {
    Shape::Rectangular {
        low: -half,
        high: half,
    }
}

#[test]
fn published_end_gauge_first_order() {
    // JCGM 100:2008, H.1: l = l_s + d − l_s(δα·θ + α_s·δθ), lengths in nm;
    // contributions 25, 9.7, 2.9, 16.6 and u_c = 32 nm, 31.71 from the rounded
    // inputs; ν_eff = 16 rounded down, t99 = 2.92, U99 = 93.
    let normal = |mean: f64, deviation: f64| Shape::Normal { mean, deviation };
    let mut m = model(
        &[
            ("l_s", 50_000_623.0, normal(50_000_623.0, 25.0)),
            ("d", 215.0, normal(215.0, 9.7)),
            ("alpha_s", 11.5e-6, normal(11.5e-6, 1.2e-6)),
            ("theta", -0.1, normal(-0.1, 0.41)),
            ("delta_alpha", 0.0, normal(0.0, 0.58e-6)),
            ("delta_theta", 0.0, normal(0.0, 0.029)),
        ],
        |v| v[0] + v[1] - v[0] * (v[4] * v[3] + v[2] * v[5]),
    );
    for (i, dof) in [18.0, 25.6, f64::INFINITY, f64::INFINITY, 50.0, 2.0]
        .into_iter()
        .enumerate()
    {
        m.inputs[i].dof = dof;
    }
    let p = propagate(&m, &[], 0.99).unwrap();
    assert_eq!(p.bias, 50_000_838.0);
    let part = |i: usize| {
        p.contributions
            .iter()
            .find(|c| c.input == i)
            .map_or(0.0, |c| c.contribution.abs())
    };
    assert!((part(0) - 25.0).abs() < 0.1);
    assert!((part(1) - 9.7).abs() < 0.1);
    assert!((part(4) - 2.900).abs() < 0.01);
    assert!((part(5) - 16.675).abs() < 0.01);
    assert!((p.u - 31.71).abs() < 0.05);
    assert_eq!(p.dof, Some(16.0));
    assert!((p.k - 2.92078).abs() < 0.0005);
    assert!((p.k * p.u - 92.62).abs() < 0.1);
}

#[test]
fn published_sums_of_distributions() {
    // JCGM 101:2008, 9.2.3: four rectangular inputs of unit deviation; exact
    // end 2√3·(2 − (3/5)^(1/4)) = 3.879407, first order 3.92. 9.2.4: one input
    // ten times wider, 17.0 against 19.9.
    let unit = 3.0_f64.sqrt();
    let settings = Settings {
        probability: 0.95,
        most_trials: 1 << 21,
        tolerance: 0.001,
        ..Settings::default()
    };
    fn four<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0] + v[1] + v[2] + v[3]
    }
    let m = model(
        &[
            ("a", 0.0, rectangular(unit)),
            ("b", 0.0, rectangular(unit)),
            ("c", 0.0, rectangular(unit)),
            ("d", 0.0, rectangular(unit)),
        ],
        four,
    );
    let s = sample(&m, &[], &settings).unwrap();
    assert!(
        (s.half_width - 3.879_407).abs() < 3.0 * s.half_width_tolerance + 1e-9,
        "{s:?}"
    );
    assert!((s.deviation - 2.0).abs() < 0.005);
    let p = propagate(&m, &[], 0.95).unwrap();
    assert!((p.half_width - 3.919_928).abs() < 1e-5);
    let m = model(
        &[
            ("a", 0.0, rectangular(unit)),
            ("b", 0.0, rectangular(unit)),
            ("c", 0.0, rectangular(unit)),
            ("d", 0.0, rectangular(10.0 * unit)),
        ],
        four,
    );
    let s = sample(&m, &[], &settings).unwrap();
    assert!((s.half_width - 17.0).abs() < 0.06, "{}", s.half_width);
    let p = propagate(&m, &[], 0.95).unwrap();
    assert!((p.half_width - 19.8918).abs() < 0.001);
    assert_eq!(
        p.dof, None,
        "one rectangular input holds more than half of the variance"
    );
}

#[test]
fn published_quantile_of_two_rectangular_inputs() {
    // The sum of two equal rectangular variables is triangular: P(|s| ≤ h) =
    // 1 − (2 − h)²/4 for half-widths of one, so h = 2 − 2·√0.0027 at 99.73 %.
    fn two<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0] + v[1]
    }
    let m = model(
        &[("a", 0.0, rectangular(1.0)), ("b", 0.0, rectangular(1.0))],
        two,
    );
    let s = sample(&m, &[], &Settings::default()).unwrap();
    let exact = 2.0 - 2.0 * 0.0027_f64.sqrt();
    assert!(
        (s.half_width - exact).abs() < 2.0 * s.half_width_tolerance,
        "{} {exact}",
        s.half_width
    );
    assert!(s.reached);
    let w = worst_case(&m).unwrap();
    assert_eq!((w.low.error, w.high.error), (-2.0, 2.0));
}

/// Divider ratio with 1 % parts about 10 kΩ and 3.3 kΩ, relative error of it.
fn divider<'t>(v: &[Value<'t>]) -> Value<'t> {
    let (top, bottom) = (v[0] * 10e3 + 10e3, v[1] * 3.3e3 + 3.3e3);
    bottom / (top + bottom) / (3.3 / 13.3) - 1.0
}

#[test]
fn published_worst_case_of_a_divider() {
    // 10 kΩ over 3.3 kΩ with 1 % parts: +1.5114 % and −1.4962 % (Horowitz and
    // Hill, The Art of Electronics, ch. 1, from memory; values by hand).
    let m = model(
        &[
            ("top", 0.0, rectangular(0.01)),
            ("bottom", 0.0, rectangular(0.01)),
        ],
        divider,
    );
    let w = worst_case(&m).unwrap();
    assert!((w.high.error - 0.015_114).abs() < 1e-6, "{}", w.high.error);
    assert!((w.low.error + 0.014_962).abs() < 1e-6, "{}", w.low.error);
    assert!(w.bound);
}

#[test]
fn property_corners_and_inside_lie_within_the_worst_case() {
    let m = model(
        &[
            ("top", 0.0, rectangular(0.05)),
            ("bottom", 0.0, rectangular(0.2)),
        ],
        divider,
    );
    let w = worst_case(&m).unwrap();
    let mut reached = (f64::INFINITY, f64::NEG_INFINITY);
    for i in 0..=20 {
        for j in 0..=20 {
            let x = [
                0.05 * (f64::from(i) / 10.0 - 1.0),
                0.2 * (f64::from(j) / 10.0 - 1.0),
            ];
            let e = m.tape.values(&x, tape::Reading::Exact)[0];
            reached = (reached.0.min(e), reached.1.max(e));
        }
    }
    assert!(reached.1 <= w.high.error + 1e-15 && reached.0 >= w.low.error - 1e-15);
    assert!(
        (reached.1 - w.high.error).abs() < 1e-15,
        "attained, not inflated"
    );
}

#[test]
fn property_the_same_bits_on_any_threads_and_blocks() {
    let m = model(
        &[
            ("top", 0.0, rectangular(0.01)),
            (
                "bottom",
                0.0,
                Shape::Normal {
                    mean: 0.0,
                    deviation: 0.004,
                },
            ),
        ],
        divider,
    );
    let mut results = Vec::new();
    for threads in [1, 2, 7] {
        for lanes in [64, 100, 256] {
            let pool = rayon::ThreadPoolBuilder::new()
                .num_threads(threads)
                .build()
                .unwrap();
            let settings = Settings {
                lanes,
                ..Settings::default()
            };
            results.push(pool.install(|| sample(&m, &[], &settings).unwrap()));
        }
    }
    assert!(results.windows(2).all(|w| w[0] == w[1]));
}

#[test]
fn property_a_shared_variable_cancels_and_a_separate_one_does_not() {
    // Code of a ratiometric sensor: rail·share/rail; of an absolute one:
    // volt/rail.
    fn ratiometric<'t>(v: &[Value<'t>]) -> Value<'t> {
        (v[0] + 5.0) * 0.3 / (v[0] + 5.0)
    }
    fn absolute<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0].builder().constant(1.5) / (v[0] + 5.0)
    }
    let rail = [("rail", 0.0, rectangular(0.25))];
    assert!(propagate(&model(&rail, ratiometric), &[], 0.95).unwrap().u < 1e-16);
    let kept = propagate(&model(&rail, absolute), &[], 0.95).unwrap().u;
    assert!((kept - 1.5 / 25.0 * 0.25 / 3.0_f64.sqrt()).abs() < 1e-12);
}

#[test]
fn a_model_that_does_not_fit_is_refused() {
    let mut m = model(&[("a", 0.0, rectangular(1.0))], |v| v[0]);
    m.inputs.clear();
    assert!(propagate(&m, &[], 0.95).is_err());
    assert!(worst_case(&m).is_err());
    assert!(sample(&m, &[], &Settings::default()).is_err());
}
