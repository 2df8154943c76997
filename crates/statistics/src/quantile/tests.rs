use super::*;
use crate::{Shape, irwin_hall, stream};

#[test]
fn reference_quantiles_against_numpy() {
    // numpy 2.4.6, numpy.quantile(…, method="hazen")
    let values = [3.1, -2.0, 7.5, 7.5, 0.25, 11.0, 4.75, 9.125];
    let mut sorted = values;
    sort(&mut sorted);
    for (p, expected) in [
        (0.0, -2.0),
        (0.01, -2.0),
        (0.1, -1.325),
        (0.25, 1.675),
        (1.0 / 3.0, 3.375),
        (0.5, 6.125),
        (0.9, 10.4375),
        (0.97, 11.0),
        (1.0, 11.0),
    ] {
        let found = quantile_in_place(&mut values.clone(), p);
        assert!((found - expected).abs() < 1e-14, "{p}: {found}");
        assert_eq!(found, quantile_of_sorted(&sorted, p));
    }
}

#[test]
fn published_numerical_tolerances() {
    // JCGM 101:2008, 7.9.2, examples: u = 0.000 35 g with two digits,
    // δ = 0.000 005 g; one digit of 2 K, δ = 0.5 K.
    for (u, digits, expected) in [
        (0.000_35, 2, 0.000_005),
        (2.0, 1, 0.5),
        (0.075, 2, 0.0005),
        (0.0996, 2, 0.005),
        (999.6, 3, 5.0),
        (1.0, 1, 0.5),
        (1e-9, 2, 0.5e-10),
    ] {
        let found = numerical_tolerance(u, digits);
        assert!(
            (found / expected - 1.0).abs() < 1e-12,
            "{u} {digits}: {found:e}"
        );
    }
    assert_eq!(numerical_tolerance(0.0, 2), 0.0);
    assert!(numerical_tolerance(-1.0, 2).is_nan());
    assert!(numerical_tolerance(1.0, 0).is_nan());
    assert!(numerical_tolerance(f64::MIN_POSITIVE, 30).is_finite());
    assert_eq!(block_size(0.95), 10_000);
    assert_eq!(block_size(0.9973), 37_038);
}

/// Sum of one draw of every shape per trial.
fn drawn_sums(shapes: &[Shape], trials: usize) -> Vec<f64> {
    let mut sums = vec![0.0; trials];
    let mut drawn = vec![0.0; trials];
    for (variable, shape) in shapes.iter().enumerate() {
        shape.fill(stream::key(101, variable as u64), 0, &mut drawn);
        for (sum, x) in sums.iter_mut().zip(&drawn) {
            *sum += x;
        }
    }
    sort(&mut sums);
    sums
}

#[test]
fn published_sums_of_four() {
    // JCGM 101:2008, 9.2.2 to 9.2.4: standard uncertainty and ends of the
    // 95 % interval; four normal, four rectangular of unit deviation, one of
    // them ten times wider.
    let normal = Shape::Normal {
        mean: 0.0,
        deviation: 1.0,
    };
    let rectangular = |deviation: f64| Shape::Rectangular {
        low: -deviation * 3.0_f64.sqrt(),
        high: deviation * 3.0_f64.sqrt(),
    };
    let root_three = 3.0_f64.sqrt();
    let exact_equal = 2.0 * root_three * (2.0 - 0.6_f64.sqrt().sqrt());
    let exact_unequal = irwin_hall::quantile_unequal(
        0.975,
        &[root_three, root_three, root_three, 10.0 * root_three],
    );
    assert!((exact_equal - 3.88).abs() < 0.005);
    assert!((exact_unequal - 17.0).abs() < 0.05, "{exact_unequal}");
    let trials = 1 << 20;
    for (shapes, u, end, exact) in [
        ([normal; 4], 2.0, 3.92, 3.919_928),
        ([rectangular(1.0); 4], 2.0, 3.88, exact_equal),
        (
            [
                rectangular(1.0),
                rectangular(1.0),
                rectangular(1.0),
                rectangular(10.0),
            ],
            10.1,
            17.0,
            exact_unequal,
        ),
    ] {
        let sums = drawn_sums(&shapes, trials);
        let deviation = moments::deviation(&sums);
        assert!((deviation - u).abs() < 0.06, "{deviation}");
        assert!(moments::mean(&sums).abs() < 5.0 * u / 1024.0);
        let symmetric = symmetric_interval(&sums, 0.95).unwrap();
        assert!((symmetric.high - end).abs() < 0.05, "{symmetric:?}");
        // The deviation of a sample quantile is √(p(1−p)/n)/density; the
        // density there is above 0.006 (the third case).
        for found in [symmetric.high, -symmetric.low] {
            assert!(
                (found - exact).abs() < 5.0 * 1.5e-4 / 0.006 / 4.0,
                "{found} {exact}"
            );
        }
        let shortest = shortest_interval(&sums, 0.95).unwrap();
        assert!(shortest.width() <= symmetric.width());
        assert!((shortest.high - end).abs() < 0.3, "{shortest:?}");
    }
}

#[test]
fn published_mass_calibration() {
    // JCGM 101:2008, 9.3 (results from memory): mean 1.234 1 mg, standard
    // uncertainty 0.075 4 mg, shortest 95 % interval 1.083 4 to 1.382 5 mg;
    // recomputed symmetric 1.084 4 to 1.383 4.
    let shapes = [
        Shape::Normal {
            mean: 100_000.0,
            deviation: 0.050,
        },
        Shape::Normal {
            mean: 1.234,
            deviation: 0.020,
        },
        Shape::Rectangular {
            low: 1.10,
            high: 1.30,
        },
        Shape::Rectangular {
            low: 7000.0,
            high: 9000.0,
        },
        Shape::Rectangular {
            low: 7950.0,
            high: 8050.0,
        },
    ];
    let trials = 1 << 20;
    let mut inputs: Vec<Vec<f64>> = Vec::new();
    for (variable, shape) in shapes.iter().enumerate() {
        let mut drawn = vec![0.0; trials];
        shape.fill(stream::key(93, variable as u64), 0, &mut drawn);
        inputs.push(drawn);
    }
    let [reference, correction, air, weight, standard] = &inputs[..] else {
        panic!("five inputs");
    };
    let mut result: Vec<f64> = (0..trials)
        .map(|i| {
            (reference[i] + correction[i])
                * (1.0 + (air[i] - 1.2) * (1.0 / weight[i] - 1.0 / standard[i]))
                - 100_000.0
        })
        .collect();
    sort(&mut result);
    assert!((moments::mean(&result) - 1.2341).abs() < 4e-4);
    assert!((moments::deviation(&result) - 0.0754).abs() < 2e-4);
    let symmetric = symmetric_interval(&result, 0.95).unwrap();
    assert!((symmetric.low - 1.0844).abs() < 0.001, "{symmetric:?}");
    assert!((symmetric.high - 1.3834).abs() < 0.001, "{symmetric:?}");
    let shortest = shortest_interval(&result, 0.95).unwrap();
    assert!((shortest.low - 1.0834).abs() < 0.004, "{shortest:?}");
    assert!((shortest.high - 1.3825).abs() < 0.004, "{shortest:?}");
}

#[test]
fn published_comparison_loss() {
    // JCGM 101:2008, 9.4, uncorrelated, Y = X1² + X2², u = 0.005, in units of
    // 1e-6: mean, standard uncertainty, shortest 95 % interval. Exact values
    // from the noncentral chi-squared distribution (scipy).
    let trials = 1 << 20;
    let deviate = |mean: f64, variable: u64| {
        let mut drawn = vec![0.0; trials];
        Shape::Normal {
            mean,
            deviation: 0.005,
        }
        .fill(stream::key(94, variable), 0, &mut drawn);
        drawn
    };
    let second = deviate(0.0, 9);
    for (variable, (x1, mean, u, low, high)) in [
        (0.0, 50.0, 50.0, 0.0, 149.79),
        (0.010, 150.0, 111.803, 0.0, 366.01),
        (0.050, 2550.0, 502.494, 1593.6, 3548.6),
    ]
    .into_iter()
    .enumerate()
    {
        let first = deviate(x1, variable as u64);
        let mut loss: Vec<f64> = first
            .iter()
            .zip(&second)
            .map(|(a, b)| 1e6 * (a * a + b * b))
            .collect();
        sort(&mut loss);
        assert!((moments::mean(&loss) - mean).abs() < 5.0 * u / 1024.0);
        assert!((moments::deviation(&loss) / u - 1.0).abs() < 0.01);
        let shortest = shortest_interval(&loss, 0.95).unwrap();
        assert!((shortest.low - low).abs() < 10.0, "{shortest:?}");
        assert!((shortest.high - high).abs() < 10.0, "{shortest:?}");
    }
}

#[test]
fn published_gauge_block() {
    // JCGM 101:2008, 9.5: deviation from 50 mm in nanometres: mean 838,
    // standard uncertainty 36, 99 % interval 745 to 932.
    let student = |mean, scale, dof| Shape::StudentT { mean, scale, dof };
    let shapes = [
        student(50_000_623.0, 25.0, 18.0),
        student(215.0, 6.0, 24.0),
        student(0.0, 4.0, 5.0),
        student(0.0, 7.0, 8.0),
        Shape::Rectangular {
            low: 9.5e-6,
            high: 13.5e-6,
        },
        Shape::Normal {
            mean: -0.1,
            deviation: 0.2,
        },
        Shape::Arcsine {
            low: -0.5,
            high: 0.5,
        },
        Shape::CurvilinearTrapezoidal {
            low: -1e-6,
            high: 1e-6,
            inexact: 0.1e-6,
        },
        Shape::CurvilinearTrapezoidal {
            low: -0.050,
            high: 0.050,
            inexact: 0.025,
        },
    ];
    let trials = 1 << 20;
    let mut inputs: Vec<Vec<f64>> = Vec::new();
    for (variable, shape) in shapes.iter().enumerate() {
        let mut drawn = vec![0.0; trials];
        shape.fill(stream::key(95, variable as u64), 0, &mut drawn);
        inputs.push(drawn);
    }
    let [
        standard,
        d,
        d1,
        d2,
        alpha,
        theta0,
        cycle,
        delta_alpha,
        delta_theta,
    ] = &inputs[..]
    else {
        panic!("nine inputs");
    };
    let mut result: Vec<f64> = (0..trials)
        .map(|i| {
            let theta = theta0[i] + cycle[i];
            let difference = d[i] + d1[i] + d2[i];
            // The exact model of clause 9.5.2, less 50 mm.
            (standard[i] * (1.0 + alpha[i] * (theta - delta_theta[i])) + difference)
                / (1.0 + (alpha[i] + delta_alpha[i]) * theta)
                - 50_000_000.0
        })
        .collect();
    sort(&mut result);
    assert!((moments::mean(&result) - 838.0).abs() < 0.5);
    assert!((moments::deviation(&result) - 36.0).abs() < 0.5);
    let interval = shortest_interval(&result, 0.99).unwrap();
    assert!((interval.low - 745.0).abs() < 2.0, "{interval:?}");
    assert!((interval.high - 932.0).abs() < 2.0, "{interval:?}");
    let interval = symmetric_interval(&result, 0.95).unwrap();
    // 767.3 to 908.0 recomputed with numpy, four million trials.
    assert!((interval.low - 767.3).abs() < 0.6, "{interval:?}");
    assert!((interval.high - 908.0).abs() < 0.6, "{interval:?}");
}

#[test]
fn property_in_place_equals_sorted() {
    let mut values = vec![0.0; 3001];
    stream::fill_uniform(stream::key(1, 2), 0, &mut values);
    let mut sorted = values.clone();
    sort(&mut sorted);
    for coverage in [0.5, 0.683, 0.95, 0.9973] {
        assert_eq!(
            symmetric_interval_in_place(&mut values.clone(), coverage),
            symmetric_interval(&sorted, coverage)
        );
    }
    for p in [0.0, 0.01, 0.5, 0.77, 1.0] {
        assert_eq!(
            quantile_in_place(&mut values.clone(), p),
            quantile_of_sorted(&sorted, p)
        );
    }
    for rank in [0, 1, 1500, 3000] {
        assert_eq!(select(&mut values.clone(), rank), sorted.get(rank).copied());
    }
    assert_eq!(select(&mut values, 3001), None);
}

#[test]
fn property_shortest_interval_leans_to_the_dense_side() {
    // Of the values 1², 2², …, 100² the densest half is the lowest.
    let sorted: Vec<f64> = (1..=100).map(|i| f64::from(i * i)).collect();
    let found = shortest_interval(&sorted, 0.5).unwrap();
    assert_eq!((found.low, found.high), (1.0, 51.0 * 51.0));
    assert_eq!(shortest_interval(&sorted, 0.999), None);
    assert_eq!(symmetric_interval(&[], 0.5), None);
    assert_eq!(symmetric_interval(&sorted, f64::NAN), None);
    assert!(quantile_of_sorted(&[], 0.5).is_nan());
    assert!(quantile_in_place(&mut [], 0.5).is_nan());
    assert!(quantile_in_place(&mut [1.0], 1.5).is_nan());
}

#[test]
fn property_adaptive_blocks_settle_when_the_blocks_agree() {
    let mut blocks = AdaptiveBlocks::new();
    let interval = |shift: f64| Interval {
        low: -2.0 + shift,
        high: 2.0 + shift,
    };
    blocks.push(0.0, 1.0, interval(0.0));
    assert!(!blocks.is_stable(1e9), "one block tells nothing");
    blocks.push(0.02, 1.0, interval(0.01));
    // Deviation of the average of 0 and 0.02 is 0.01.
    assert_eq!(blocks.blocks(), 2);
    assert!((blocks.deviations_of_averages()[0] - 0.01).abs() < 1e-15);
    assert!(blocks.is_stable(0.021));
    assert!(!blocks.is_stable(0.019));
    assert!((blocks.averages()[0] - 0.01).abs() < 1e-15);
    assert!((blocks.averages()[3] - 2.005).abs() < 1e-15);
}
