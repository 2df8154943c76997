use super::*;

/// Successes, trials, confidence; Clopper–Pearson low and high, Wilson low
/// and high: `scipy.stats.binomtest(…).proportion_ci`, SciPy 1.17.1.
const INTERVALS: &[(u64, u64, f64, f64, f64, f64, f64)] = &[
    (
        0,
        10,
        0.95,
        0.0,
        0.30849710781876294,
        0.0,
        0.27753279986288926,
    ),
    (
        3,
        10,
        0.95,
        0.06673951117773447,
        0.652452850060008,
        0.10779126740630102,
        0.6032218525388546,
    ),
    (
        10,
        10,
        0.95,
        0.6915028921812371,
        1.0,
        0.7224672001371109,
        1.0,
    ),
    (
        995,
        1000,
        0.95,
        0.9883705294401879,
        0.9983745804826267,
        0.9883490446266248,
        0.9978624644726755,
    ),
    (
        9973,
        10000,
        0.99,
        0.9956539004076392,
        0.9984501225279804,
        0.9955939930196407,
        0.9983465377154603,
    ),
    (
        999990,
        1000000,
        0.95,
        0.9999816097211081,
        0.9999952046015905,
        0.9999815906276047,
        0.9999945680051602,
    ),
    (
        50,
        100,
        0.9,
        0.4136217146309117,
        0.5863782853690883,
        0.41884779611252954,
        0.5811522038874705,
    ),
];

#[test]
fn reference_intervals_against_scipy() {
    for &(successes, trials, confidence, low, high, wilson_low, wilson_high) in INTERVALS {
        let exact = clopper_pearson(successes, trials, confidence);
        assert!(
            (exact.low - low).abs() < 1e-12,
            "{successes}/{trials}: {exact:?}"
        );
        assert!(
            (exact.high - high).abs() < 1e-12,
            "{successes}/{trials}: {exact:?}"
        );
        let short = wilson(successes, trials, confidence);
        assert!(
            (short.low - wilson_low).abs() < 1e-12,
            "{successes}/{trials}: {short:?}"
        );
        assert!(
            (short.high - wilson_high).abs() < 1e-12,
            "{successes}/{trials}: {short:?}"
        );
    }
}

#[test]
fn property_bounds_solve_the_binomial_tail() {
    // At the lower bound the probability of so many successes or more is
    // exactly what the confidence leaves.
    for (k, n) in [(3, 10), (9, 10), (17, 40)] {
        let p = lower_bound(k, n, 0.9);
        let mut tail = 0.0;
        for j in k..=n {
            let mut term = 1.0;
            for i in 0..j {
                term *= (n - i) as f64 / (i + 1) as f64 * p;
            }
            for _ in j..n {
                term *= 1.0 - p;
            }
            tail += term;
        }
        assert!((tail - 0.1).abs() < 1e-12, "{k}/{n}: {tail}");
    }
    // No failure in n: the classical (1 − C)^(1/n).
    let p = lower_bound(1000, 1000, 0.95);
    assert!((elementary::pow(0.05, 1e-3) - p).abs() < 1e-13);
}

#[test]
fn property_unusable_arguments_give_nan() {
    assert!(lower_bound(3, 2, 0.9).is_nan());
    assert!(upper_bound(0, 0, 0.9).is_nan());
    assert!(wilson(1, 2, 1.0).low.is_nan());
    assert!(clopper_pearson(1, 2, f64::NAN).high.is_nan());
    assert_eq!(lower_bound(0, 5, 0.9), 0.0);
    assert_eq!(upper_bound(5, 5, 0.9), 1.0);
}

#[test]
fn property_large_counts_stay_fast_and_accurate() {
    // 10^8 trials: near the normal approximation, z·√(pq/n) from the share.
    let interval = clopper_pearson(99_730_000, 100_000_000, 0.95);
    let half = 1.959_964 * (0.9973_f64 * 0.0027 / 1e8).sqrt();
    assert!((interval.low - (0.9973 - half)).abs() < 0.01 * half);
    assert!((interval.high - (0.9973 + half)).abs() < 0.01 * half);
}
