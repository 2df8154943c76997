//! Preferred numbers against IEC 60063:2015.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::Series;

const TABLE: &str = include_str!("../testdata/iec60063_e_series.csv");

fn published(series: Series) -> Vec<u16> {
    TABLE
        .lines()
        .filter_map(|line| line.split_once(','))
        .filter(|(name, _)| *name == series.name())
        .map(|(_, value)| value.parse().unwrap())
        .collect()
}

/// The `n`-th root of ten by bisection, so that no library power is needed.
fn root_of_ten(n: usize) -> f64 {
    let (mut low, mut high) = (1.0, 10.0);
    for _ in 0..200 {
        let middle: f64 = 0.5 * (low + high);
        if (0..n).fold(1.0, |product, _| product * middle) > 10.0 {
            high = middle;
        } else {
            low = middle;
        }
    }
    low
}

/// round(10^(i/n)) with the digits of the series, the defining formula of IEC 60063.
fn rounded_powers(series: Series) -> Vec<u16> {
    let n = series.values().len();
    let ratio = root_of_ten(n);
    let scale = if n <= 24 { 10.0 } else { 100.0 };
    (0..n)
        .map(|i| ((0..i).fold(1.0, |product, _| product * ratio) * scale).round() as u16)
        .collect()
}

#[test]
fn published_iec60063_every_value() {
    for series in Series::ALL {
        assert_eq!(series.values(), published(series), "{series}");
    }
}

#[test]
fn published_iec60063_counts() {
    let counts: Vec<usize> = Series::ALL.iter().map(|s| s.values().len()).collect();
    assert_eq!(counts, [3, 6, 12, 24, 48, 96, 192]);
}

#[test]
fn published_iec60063_exceptions_from_the_rounded_powers() {
    let exceptions = |series: Series| -> Vec<(u16, u16)> {
        series
            .values()
            .iter()
            .copied()
            .zip(rounded_powers(series))
            .filter(|(value, power)| value != power)
            .collect()
    };
    assert_eq!(
        exceptions(Series::E24),
        [
            (27, 26),
            (30, 29),
            (33, 32),
            (36, 35),
            (39, 38),
            (43, 42),
            (47, 46),
            (82, 83)
        ]
    );
    assert_eq!(exceptions(Series::E48), []);
    assert_eq!(exceptions(Series::E96), []);
    assert_eq!(exceptions(Series::E192), [(920, 919)]);
}

#[test]
fn published_iec60063_subsets() {
    let inside =
        |small: Series, large: Series| small.values().iter().all(|v| large.values().contains(v));
    assert!(inside(Series::E3, Series::E6));
    assert!(inside(Series::E6, Series::E12));
    assert!(inside(Series::E12, Series::E24));
    assert!(inside(Series::E48, Series::E96));
    assert!(inside(Series::E96, Series::E192));
    let e24_in_e48 = Series::E24
        .values()
        .iter()
        .all(|v| Series::E48.values().contains(&(v * 10)));
    assert!(!e24_in_e48);
}

#[test]
fn published_iec60063_e96_neighbours() {
    assert_eq!(Series::E96.at_most(4.70), Some(4.64));
    assert_eq!(Series::E96.at_least(4.70), Some(4.75));
    assert_eq!(Series::E96.nearest(4.70), Some(4.75));
}

#[test]
fn published_iec60063_usual_tolerances() {
    // The association stands in IEC 60063, from memory; E3 is "wider than 20 %".
    let percent: Vec<f64> = Series::ALL
        .iter()
        .map(|s| s.usual_tolerance() * 100.0)
        .collect();
    assert_eq!(percent, [20.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5]);
}

#[test]
fn reference_results_are_the_nearest_doubles() {
    assert_eq!(Series::E24.nearest(4_650.0), Some(4_700.0));
    assert_eq!(Series::E6.at_least(1e-7), Some(1e-7));
    assert_eq!(Series::E6.at_most(99e-9), Some(68e-9));
    // Every value of every decade equals its literal.
    for series in Series::ALL {
        for decade in -15..12 {
            for value in series.values() {
                let literal: f64 = format!("{value}e{decade}").parse().unwrap();
                for found in [
                    series.nearest(literal),
                    series.at_most(literal),
                    series.at_least(literal),
                ] {
                    assert_eq!(found, Some(literal), "{series} {literal:e}");
                }
                assert!(series.contains(literal));
                let up = series.step_up(literal).unwrap();
                assert!(up > literal);
                assert_eq!(series.step_down(up), Some(literal));
            }
        }
    }
}

#[test]
fn reference_steps_cross_the_decade() {
    assert_eq!(Series::E12.step_up(8_200.0), Some(10_000.0));
    assert_eq!(Series::E12.step_down(10_000.0), Some(8_200.0));
    assert_eq!(Series::E192.step_up(9.88), Some(10.0));
    assert_eq!(Series::E3.at_most(9.9), Some(4.7));
    assert_eq!(Series::E3.at_least(9.9), Some(10.0));
    assert_eq!(Series::E12.step_down(8_300.0), Some(8_200.0));
}

#[test]
fn reference_unusable_values_have_no_neighbour() {
    for value in [0.0, -1.0, f64::NAN, f64::INFINITY, 1e31, 1e-31] {
        for series in Series::ALL {
            assert_eq!(series.nearest(value), None);
            assert_eq!(series.at_most(value), None);
            assert_eq!(series.at_least(value), None);
            assert_eq!(series.step_up(value), None);
            assert_eq!(series.step_down(value), None);
            assert_eq!(series.between(value, 1.0), []);
            assert!(!series.contains(value));
        }
    }
}

#[test]
fn reference_series_are_named() {
    for series in Series::ALL {
        assert_eq!(Series::from_name(series.name()), Some(series));
        assert_eq!(
            Series::from_name(&series.to_string().to_lowercase()),
            Some(series)
        );
    }
    assert_eq!(Series::from_name("E7"), None);
    assert_eq!(Series::E24.between(1.0, 10.0).len(), 25);
}
