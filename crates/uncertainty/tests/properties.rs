//! Properties that fail when a method is wrong.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use statistics::Shape;
use support::{model, normal, rectangular};
use tape::{Builder, Reading, Value};
use uncertainty::inverse::{Answer, Search, largest, smallest};
use uncertainty::{
    Conclusion, Input, Model, ModelFault, Points, Role, Settings, evaluate, propagate, sample,
    smallest_case, worst_case, yield_share,
};

fn in_threads<T: Send>(threads: usize, run: impl FnOnce() -> T + Send) -> T {
    rayon::ThreadPoolBuilder::new()
        .num_threads(threads)
        .build()
        .unwrap()
        .install(run)
}

/// A quantity and an ambient temperature, a gain, an offset, a drift, noise
/// and a converter of 10 bits over 0 to 1: error of the reading, limit 0.01.
fn channel(gain: f64, noise: f64, limit: f64) -> Model {
    let b = Builder::new();
    let q = b.input("quantity", "", 0.5);
    let t = b.input("ambient", "°C", 25.0);
    let g = b.input("gain error", "", 0.0);
    let o = b.input("offset", "", 0.0);
    let d = b.input("drift", "1/K", 0.0);
    let n = b.input("noise", "", 0.0);
    let r = b.input("rounding", "", 0.0);
    let volt = q * (g + 1.0) + o + d * (t - 25.0) + n;
    let reading = ((volt * 1024.0).quantised() + 0.5 + r) / 1024.0;
    let error = reading - q;
    let limit = b.constant(limit) + q * 0.0;
    let tape = b.finish(&[error, limit]);
    let mut inputs = vec![
        Input::condition("quantity", "", vec![0.05, 0.3, 0.55, 0.9]),
        Input::condition("ambient", "°C", vec![0.0, 25.0, 60.0]),
        Input::board("gain error", "", rectangular(gain), 1),
        Input::board("offset", "", rectangular(0.001), 2),
        Input::board("drift", "1/K", rectangular(2e-5), 3),
        Input::board("noise", "", normal(0.0, noise), 4),
        Input::board("rounding", "", rectangular(0.5), 5),
    ];
    inputs[5].role = Role::Reading;
    inputs[6].sampled = false;
    Model {
        tape,
        inputs,
        error: 0,
        limit: Some(1),
    }
}

#[test]
fn property_corners_and_inside_lie_within_the_worst_case_which_is_attained() {
    // Models with products of inputs of mean zero, a maximum inside, and a
    // kink: all 2^k corners and an interior grid of 9 points per input.
    fn product<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0] * v[1] + v[2] * v[0] * 0.3 - v[1] * 0.1
    }
    fn hill<'t>(v: &[Value<'t>]) -> Value<'t> {
        v[0] * 2.0 - v[1].squared() + v[1] * 0.5 - (v[2] * v[1]).abs()
    }
    fn waves<'t>(v: &[Value<'t>]) -> Value<'t> {
        (v[0] * 2.0).sin() + (v[1] * 1.5).cos() * v[2]
    }
    fn clipped<'t>(v: &[Value<'t>]) -> Value<'t> {
        (v[0] + v[1] * v[2]).max(v[1] - v[0]) * (v[2] + 2.0)
    }
    let functions: [for<'t> fn(&[Value<'t>]) -> Value<'t>; 4] = [product, hill, waves, clipped];
    for (n, f) in functions.into_iter().enumerate() {
        let m = model(
            &[
                ("a", rectangular(1.0)),
                ("b", rectangular(0.8)),
                ("c", rectangular(1.3)),
            ],
            f,
        );
        let w = worst_case(&m).unwrap();
        // One end alone is the same end.
        let low = smallest_case(&m).unwrap();
        assert_eq!(low.error.to_bits(), w.low.error.to_bits());
        let mut reached = (f64::INFINITY, f64::NEG_INFINITY);
        for i in 0..=8 {
            for j in 0..=8 {
                for k in 0..=8 {
                    let at = |i: i32, half: f64| half * (f64::from(i) / 4.0 - 1.0);
                    let x = [at(i, 1.0), at(j, 0.8), at(k, 1.3)];
                    let e = m.tape.values(&x, Reading::Smooth)[0];
                    reached = (reached.0.min(e), reached.1.max(e));
                }
            }
        }
        assert!(
            w.low.error <= reached.0 + 1e-12,
            "{n}: {} {}",
            w.low.error,
            reached.0
        );
        assert!(
            w.high.error >= reached.1 - 1e-12,
            "{n}: {} {}",
            w.high.error,
            reached.1
        );
        // Not inflated: the inputs given lie within their limits and give the
        // error given.
        for end in [&w.low, &w.high] {
            assert_eq!(m.tape.values(&end.inputs, Reading::Smooth)[0], end.error);
            for (x, input) in end.inputs.iter().zip(&m.inputs) {
                let (low, high) = input.corners();
                assert!(*x >= low && *x <= high);
            }
        }
    }
}

#[test]
fn property_a_maximum_between_grid_points_is_found() {
    // Error 0.1·sin(πc) over c in 0, 0.4, 1: largest at ½, between points.
    let b = Builder::new();
    let c = b.input("c", "", 0.0);
    let a = b.input("a", "", 0.0);
    let tape = b.finish(&[(c * std::f64::consts::PI).sin() * 0.1 + a * 0.01]);
    let m = Model {
        tape,
        inputs: vec![
            Input::condition("c", "", vec![0.0, 0.4, 1.0]),
            Input::board("a", "", rectangular(1.0), 1),
        ],
        error: 0,
        limit: None,
    };
    let w = worst_case(&m).unwrap();
    assert!((w.high.error - 0.11).abs() < 1e-6, "{}", w.high.error);
    assert!((w.high.conditions[0] - 0.5).abs() < 1e-3);
}

#[test]
fn property_an_ideal_ratio_loses_the_shared_rail_and_a_resistor_leaves_its_remainder() {
    // Rail V, sensor share 0.3 of it, converted against V: nothing left. With
    // 10 Ω before the sensor's 10 kΩ: a change of V still cancels, the 10 Ω
    // leave 0.3·10/10010 of full scale.
    fn ratio<'t>(v: &[Value<'t>], series: f64) -> Value<'t> {
        let rail = v[0] + 5.0;
        let sensor = rail * 10e3 / (v[1] * series + (10e3 + series)) * 0.3;
        sensor / rail - 0.3
    }
    let inputs = [("rail", rectangular(0.25)), ("series", rectangular(0.01))];
    let ideal = model(&inputs, |v| ratio(v, 0.0));
    assert!(propagate(&ideal, &[], 0.95).unwrap().u < 1e-15);
    let left = model(&inputs, |v| ratio(v, 10.0));
    let p = propagate(&left, &[], 0.95).unwrap();
    assert!((p.bias + 0.3 * 10.0 / 10_010.0).abs() < 1e-15);
    assert!(
        p.contributions
            .iter()
            .all(|c| c.name != "rail" || c.contribution.abs() < 1e-15)
    );
}

#[test]
fn property_halving_a_tolerance_shrinks_the_result_as_its_share_says() {
    let halves = [0.4, 0.3, 0.2];
    let build = |halves: &[f64]| {
        let inputs: Vec<(&str, Shape)> = halves.iter().map(|&h| ("x", rectangular(h))).collect();
        model(&inputs, |v| v[0] * 1.2 - v[1] + v[2] * 0.7)
    };
    let whole = propagate(&build(&halves), &[], 0.9973).unwrap();
    for i in 0..3 {
        let mut less = halves;
        less[i] *= 0.5;
        let share = whole
            .contributions
            .iter()
            .find(|c| c.input == i)
            .unwrap()
            .share;
        let found = propagate(&build(&less), &[], 0.9973).unwrap();
        let predicted = whole.u * (1.0 - 0.75 * share).sqrt();
        assert!((found.u - predicted).abs() < 1e-12);
    }
}

#[test]
fn property_every_contribution_matters_to_all_three_answers() {
    let m = channel(0.002, 0.0005, 0.01);
    let settings = Settings {
        first_trials: 1 << 12,
        most_trials: 1 << 12,
        ..Settings::default()
    };
    let conditions = [0.9, 60.0];
    let (p, w, s) = (
        propagate(&m, &conditions, 0.9973).unwrap(),
        worst_case(&m).unwrap(),
        sample(&m, &conditions, &settings).unwrap(),
    );
    for i in 2..m.inputs.len() {
        let mut without = m.clone();
        without.inputs[i].shape = Shape::Fixed { value: 0.0 };
        assert!(
            propagate(&without, &conditions, 0.9973).unwrap().u < 0.9999 * p.u,
            "{i}"
        );
        assert!(
            worst_case(&without).unwrap().high.error < 0.9999 * w.high.error,
            "{i}"
        );
        if m.inputs[i].sampled {
            let found = sample(&without, &conditions, &settings).unwrap();
            assert_ne!(found.deviation, s.deviation, "{i}");
        }
    }
}

#[test]
fn property_results_are_the_same_bits_on_any_threads_and_blocks() {
    let m = channel(0.002, 0.0005, 0.004);
    for points in [Points::Streams, Points::Scrambled] {
        let mut results = Vec::new();
        for threads in [1, 2, 7] {
            for lanes in [64, 100, 256] {
                let settings = Settings {
                    lanes,
                    points,
                    control: true,
                    most_boards: 3000,
                    ..Settings::default()
                };
                results.push(in_threads(threads, || {
                    (
                        sample(&m, &[0.9, 60.0], &settings).unwrap(),
                        yield_share(&m, &settings).unwrap().unwrap(),
                    )
                }));
            }
        }
        assert!(results.windows(2).all(|w| w[0] == w[1]), "{points:?}");
    }
}

#[test]
fn property_the_worst_case_encloses_all_trials_when_bounded() {
    let mut m = channel(0.002, 0.0, 0.01);
    m.inputs[5].shape = rectangular(0.0005);
    m.inputs[5].bound = true;
    let w = worst_case(&m).unwrap();
    assert!(w.bound);
    for conditions in m.grid() {
        let s = sample(&m, &conditions, &Settings::default()).unwrap();
        for (error, _) in &s.worst_trials {
            assert!(*error <= w.high.error + 1e-15 && *error >= w.low.error - 1e-15);
        }
        assert_eq!(s.lost, 0);
    }
    m.inputs[5].shape = normal(0.0, 0.0005);
    m.inputs[5].bound = false;
    assert!(!worst_case(&m).unwrap().bound);
}

#[test]
fn property_the_yield_is_at_most_the_smallest_probability() {
    let m = channel(0.004, 0.0003, 0.004);
    let settings = Settings {
        most_boards: 1 << 14,
        first_trials: 1 << 16,
        ..Settings::default()
    };
    let found = yield_share(&m, &settings).unwrap().unwrap();
    let smallest = m
        .grid()
        .iter()
        .map(|c| sample(&m, c, &settings).unwrap().met.unwrap().0)
        .fold(1.0, f64::min);
    assert!(found.share < 1.0 && smallest < 1.0);
    // Two independent estimates: three of their standard deviations.
    let slack = 3.0 * (smallest * (1.0 - smallest) / found.boards as f64).sqrt();
    assert!(
        found.share <= smallest + slack,
        "{} {smallest}",
        found.share
    );
    assert!(found.lower_95 < found.share);
    assert_eq!(found.worst_counts.iter().sum::<u64>(), found.boards);
}

#[test]
fn reference_yield_of_one_shared_offset() {
    // One offset, uniform within ±1, limit 0.8, two conditions with the same
    // error: the board variable is shared, so 80 % pass both, not 64 %.
    let build = |role: Role| {
        let b = Builder::new();
        let c = b.input("c", "", 0.0);
        let o = b.input("offset", "", 0.0);
        let tape = b.finish(&[o + c * 0.0, b.constant(0.8)]);
        let mut offset = Input::board("offset", "", rectangular(1.0), 1);
        offset.role = role;
        Model {
            tape,
            inputs: vec![Input::condition("c", "", vec![0.0, 1.0]), offset],
            error: 0,
            limit: Some(1),
        }
    };
    for (role, share) in [(Role::Board, 0.8), (Role::Reading, 0.64)] {
        let y = yield_share(&build(role), &Settings::default())
            .unwrap()
            .unwrap();
        // Four binomial deviations.
        let slack = 4.0 * (share * (1.0 - share) / y.boards as f64).sqrt();
        assert!((y.share - share).abs() < slack, "{role:?} {}", y.share);
    }
}

#[test]
fn property_scrambled_points_and_control_keep_their_promise_and_save_trials() {
    // Against the exact quantile of a sum of rectangles, over 40 seeds: the
    // stated 95 % tolerance holds in at least 33 (a binomial variable with 40
    // and 0.95 is below in 1 of 1e3 cases), and control lowers the tolerance.
    let halves = [1.0, 0.8, 0.6, 0.5, 0.4];
    let inputs: Vec<(&str, Shape)> = halves.iter().map(|&h| ("r", rectangular(h))).collect();
    let m = model(&inputs, |v| v.iter().copied().reduce(|a, b| a + b).unwrap());
    let exact = statistics::irwin_hall::quantile_unequal(0.5 + 0.5 * 0.9973, &halves);
    let mut typical = Vec::new();
    for (points, control) in [
        (Points::Streams, false),
        (Points::Streams, true),
        (Points::Scrambled, false),
        (Points::Scrambled, true),
    ] {
        let (mut kept, mut tolerance) = (0, 0.0);
        for seed in 0..40 {
            let s = sample(
                &m,
                &[],
                &Settings {
                    seed,
                    points,
                    control,
                    first_trials: 1 << 14,
                    most_trials: 1 << 14,
                    ..Settings::default()
                },
            )
            .unwrap();
            kept += u32::from((s.half_width - exact).abs() <= s.half_width_tolerance + 1e-9);
            tolerance += s.half_width_tolerance / 40.0;
        }
        assert!(kept >= 33, "{points:?} {control}: {kept} of 40");
        typical.push(tolerance);
    }
    // The error is its own linear part: the control knows all of it, and what
    // is left is the spacing of the trials, 1/(1.96·√(0.0027·16384)) = 0.08 of
    // the tolerance without it.
    assert!(typical[1] < 0.15 * typical[0], "{typical:?}");
    assert!(typical[2] < 0.9 * typical[0], "{typical:?}");
}

#[test]
fn property_no_number_counts_as_not_met_and_is_counted() {
    let b = Builder::new();
    let x = b.input("x", "", 0.0);
    let tape = b.finish(&[x.sqrt() * 0.5, b.constant(1.0)]);
    let m = Model {
        tape,
        inputs: vec![Input::board("x", "", rectangular(1.0), 1)],
        error: 0,
        limit: Some(1),
    };
    let s = sample(&m, &[], &Settings::default()).unwrap();
    let (share, _, _) = s.met.unwrap();
    assert!((share - 0.5).abs() < 0.02);
    assert_eq!(s.lost, s.trials - (share * s.trials as f64).round() as u64);
    assert_eq!(s.half_width, f64::INFINITY);
}

#[test]
fn property_an_evaluation_agrees_with_its_parts_and_concludes() {
    for (limit, expected) in [(0.02, Conclusion::Meets), (0.002, Conclusion::Fails)] {
        let m = channel(0.002, 0.0005, limit);
        let stages = std::cell::RefCell::new(Vec::new());
        let e = evaluate(&m, &Settings::default(), &|p| {
            stages.borrow_mut().push(p.stage)
        })
        .unwrap();
        assert_eq!(e.conclusion, Some(expected));
        assert_eq!(e.screened.len(), 12);
        assert!(!stages.borrow().is_empty());
        // Gain and drift grow with quantity and ambient: worst in that corner.
        assert_eq!(e.worst_conditions, vec![0.9, 60.0]);
        let worst = e.worst_sampled().unwrap();
        let p = &e.propagated_there;
        assert!((worst.sampled.half_width - p.half_width).abs() < 0.1 * p.half_width);
        assert!(e.worst_case.magnitude() > worst.sampled.half_width);
        assert!(e.boards.unwrap().share <= 1.0);
    }
}

#[test]
fn property_an_inverse_answer_put_back_gives_the_limit() {
    for limit in [0.01, 0.1, 0.5] {
        let f = |r: f64| Some(r / (r + 9e3));
        match largest(f, 1.0, 1e6, limit, &Search::default()) {
            Answer::Value {
                value,
                result,
                tolerance,
                other_crossings,
            } => {
                assert!(other_crossings.is_empty());
                assert!(result <= limit && f(value + tolerance).unwrap() >= limit);
                assert!((result - limit).abs() < 1e-5 * limit, "{result}");
                assert!((value - 9e3 * limit / (1.0 - limit)).abs() < 2e-6 * value);
            }
            other => panic!("{other:?}"),
        }
        let g = |r: f64| Some(1.0 / r);
        match smallest(g, 1.0, 1e6, limit, &Search::default()) {
            Answer::Value { value, .. } => assert!((value - 1.0 / limit).abs() < 2e-6 * value),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn property_inverse_questions_without_a_single_border_say_so() {
    let search = Search::default();
    assert_eq!(
        largest(|_| Some(0.0), -1.0, 1.0, 0.5, &search),
        Answer::Always
    );
    assert_eq!(
        largest(|_| Some(1.0), -1.0, 1.0, 0.5, &search),
        Answer::Never
    );
    assert_eq!(largest(|_| None, -1.0, 1.0, 0.5, &search), Answer::Never);
    assert_eq!(
        largest(|_| Some(0.0), 1.0, 1.0, 0.5, &search),
        Answer::NoRange
    );
    // Within up to −0.5, outside to 0.5, within again.
    match largest(|x| Some(0.25 - x * x), -1.0, 1.0, 0.0, &search) {
        Answer::Value {
            value,
            other_crossings,
            ..
        } => {
            assert!((value + 0.5).abs() < 1e-5);
            assert_eq!(other_crossings.len(), 1);
            assert!((other_crossings[0] - 0.5).abs() < 1e-5);
        }
        other => panic!("{other:?}"),
    }
    // A window, failing where there is no result.
    match largest(
        |x| (x < 0.6).then_some(x.abs() - 0.3),
        -1.0,
        1.0,
        0.0,
        &search,
    ) {
        Answer::Value {
            value,
            other_crossings,
            ..
        } => {
            assert!((value - 0.3).abs() < 1e-5);
            assert!((other_crossings[0] + 0.3).abs() < 1e-5);
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn what_has_no_sense_is_refused() {
    let m = channel(0.002, 0.0005, 0.01);
    let settings = Settings {
        probability: 1.0,
        ..Settings::default()
    };
    assert_eq!(
        sample(&m, &[0.9, 60.0], &settings),
        Err(ModelFault::BadSetting("probability"))
    );
    assert!(matches!(
        propagate(&m, &[0.9], 0.95),
        Err(ModelFault::ConditionCount { model: 2, given: 1 })
    ));
    let mut twice = m.clone();
    twice.inputs[3].stream = twice.inputs[2].stream;
    assert!(matches!(
        worst_case(&twice),
        Err(ModelFault::SharedStream(_, _))
    ));
    let mut missing = m.clone();
    missing.limit = Some(9);
    assert_eq!(worst_case(&missing), Err(ModelFault::NoOutput(9)));
    let mut fewer = m;
    fewer.inputs.pop();
    assert!(evaluate(&fewer, &Settings::default(), &|_| {}).is_err());
}
