use super::*;
use crate::{Input, sample};
use statistics::irwin_hall;
use tape::{Builder, Value};

fn model(shapes: &[Shape], f: impl for<'t> Fn(&[Value<'t>]) -> Value<'t>) -> Model {
    let b = Builder::new();
    let mut inputs = Vec::new();
    let values: Vec<Value<'_>> = shapes
        .iter()
        .enumerate()
        .map(|(n, s)| {
            inputs.push(Input::board(&format!("x{n}"), "", *s, n as u64 + 1));
            b.input(&format!("x{n}"), "", s.mean())
        })
        .collect();
    let error = f(&values);
    let limit = b.constant(1.0);
    Model {
        tape: b.finish(&[error, limit]),
        inputs,
        error: 0,
        limit: Some(1),
    }
}

fn sum<'t>(v: &[Value<'t>]) -> Value<'t> {
    v.iter().copied().reduce(|a, b| a + b).unwrap()
}

fn rectangular(half: f64) -> Shape {
    Shape::Rectangular {
        low: -half,
        high: half,
    }
}

fn normal_of(mean: f64, deviation: f64) -> Shape {
    Shape::Normal { mean, deviation }
}

/// Share of seeds whose 95 % interval holds the true value, and the mean
/// number of trials.
fn coverage(model: &Model, p: f64, truth: f64) -> (f64, f64) {
    let seeds = 100;
    let (mut held, mut trials) = (0, 0);
    for seed in 0..seeds {
        let settings = Settings {
            seed,
            probability: p,
            ..Settings::default()
        };
        let t = sample_tails(model, &[], &settings).unwrap();
        assert!(t.reached);
        assert!(t.half_width_tolerance <= 0.01 * t.half_width);
        held += u32::from((t.half_width - truth).abs() <= t.half_width_tolerance);
        trials += t.trials;
    }
    (f64::from(held) / seeds as f64, trials as f64 / seeds as f64)
}

#[test]
fn reference_half_widths_that_are_known_exactly() {
    // Normal: 2.999977 deviations; far from zero one-sided, 2.78215. Sum of
    // six rectangles: Irwin and Hall's quantile.
    let six = [rectangular(0.5); 6];
    let exact = irwin_hall::quantile(6, 0.99865) - 3.0;
    for (m, truth) in [
        (
            model(&[normal_of(0.0, 0.6), normal_of(0.0, 0.8)], sum),
            2.999_977,
        ),
        (model(&[normal_of(40.0, 1.0)], sum), 42.782_15),
        (model(&[normal_of(-40.0, 1.0)], sum), 42.782_15),
        (model(&six, sum), exact),
    ] {
        let (held, trials) = coverage(&m, 0.9973, truth);
        assert!(held >= 0.9, "{truth}: {held}");
        // Plain trials need more than 60 000.
        assert!(trials < 8000.0, "{truth}: {trials}");
    }
}

#[test]
fn reference_far_tails_without_more_trials() {
    // 1 − 1e-6 of a normal variable: 4.891638 deviations.
    let m = model(&[normal_of(0.0, 1.0)], sum);
    let settings = Settings {
        probability: 1.0 - 1e-6,
        most_trials: 1 << 16,
        ..Settings::default()
    };
    let t = sample_tails(&m, &[], &settings).unwrap();
    assert!((t.half_width - 4.891_638).abs() < 0.05, "{t:?}");
}

#[test]
fn property_a_model_unlike_its_tangent_is_answered_rightly() {
    // Flat at its mean; clipped; a spike that no sensitivity tells of; a
    // shape that cannot be tilted.
    fn square<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0] * v[0]
    }
    fn clipped<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0].min(v[0].builder().constant(1.5)) + v[1]
    }
    fn spike<'t>(v: &[Value<'t>]) -> Value<'t> {
        let b = v[0].builder();
        // In two of a hundred boards 10 more, on the side of the small errors.
        b.select(v[1] - 0.98, b.constant(10.0), b.zero()) + v[0]
    }
    let triangle = Shape::Triangular {
        low: -1.0,
        high: 1.0,
    };
    let unit = Shape::Rectangular {
        low: 0.0,
        high: 1.0,
    };
    let cases = [
        model(&[normal_of(0.0, 1.0)], square),
        model(&[normal_of(0.0, 1.0), rectangular(0.2)], clipped),
        model(&[normal_of(0.0, 1.0), unit], spike),
        model(&[triangle, triangle], sum),
    ];
    for (n, m) in cases.iter().enumerate() {
        let plain = Settings {
            tolerance: 0.0,
            first_trials: 1 << 20,
            most_trials: 1 << 20,
            ..Settings::default()
        };
        let truth = sample(m, &[], &plain).unwrap();
        let (mut held, seeds) = (0, 40);
        for seed in 0..seeds {
            let settings = Settings {
                seed,
                ..Settings::default()
            };
            let t = sample_tails(m, &[], &settings).unwrap();
            let slack = t.half_width_tolerance + truth.half_width_tolerance;
            held += u64::from((t.half_width - truth.half_width).abs() <= slack);
            let (share, low, high) = t.met.unwrap();
            assert!(low <= share && share <= high);
            let exact = truth.met.unwrap().0;
            assert!(
                (share - exact).abs() < 3.0 * (high - low) + 2e-4,
                "{n}: {share} {exact}"
            );
        }
        assert!(held >= seeds * 9 / 10 - 2, "{n}: {held} of {seeds}");
    }
}

#[test]
fn property_the_same_bits_on_any_number_of_threads() {
    let m = model(&[normal_of(0.0, 1.0), rectangular(1.0)], sum);
    let settings = Settings {
        tolerance: 1e-3,
        most_trials: 1 << 17,
        ..Settings::default()
    };
    let run = |threads: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| sample_tails(&m, &[], &settings).unwrap())
    };
    let one = run(1);
    assert!(one.trials > 50_000);
    assert_eq!(one, run(2));
    assert_eq!(one, run(7));
}

#[test]
fn what_is_no_number_lies_beyond_every_limit() {
    // The root of a variable that is negative in a third of the cases.
    fn root<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0].sqrt()
    }
    let shape = Shape::Rectangular {
        low: -1.0,
        high: 2.0,
    };
    let m = model(&[shape], root);
    let t = sample_tails(&m, &[], &Settings::default()).unwrap();
    assert!(t.half_width.is_infinite());
    let (share, low, high) = t.met.unwrap();
    assert!(low <= 1.0 / 3.0 && 1.0 / 3.0 <= high + 0.02, "{share}");
}
