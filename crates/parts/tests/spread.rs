//! What may be true of a value, from what is written of it.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "tests"
)]

use finding::SourceId;
use parts::{Figure, Origin, SpreadShape, parse};

/// A figure of a series reference, or of an amplifier for the levels.
fn figure(kind: &str, name: &str, written: &str) -> Figure {
    let text = format!(
        "[part]\nid = \"x\"\nkind = \"{kind}\"\ntitle = \"x\"\nbasis = \"invented\"\n\
         [figures]\n{name} = {written}\n"
    );
    let (mut parts, faults) = parse(SourceId(0), &text, &Origin::InPlace);
    assert!(faults.is_empty(), "{faults:?}");
    parts.remove(0).figures.remove(name).expect("the figure")
}

fn offset(written: &str) -> parts::Spread {
    figure("amplifier", "offset-voltage", written)
        .spread()
        .expect("a spread")
}

fn bias(written: &str) -> parts::Spread {
    figure("amplifier", "bias-current", written)
        .spread()
        .expect("a spread")
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * b.abs()
}

/// JCGM 100:2008, 4.3.7: limits ±a and nothing else known give a rectangle
/// about zero with u = a/√3.
#[test]
fn published_symmetric_limits_are_rectangular() {
    for written in [
        "{ max = \"3 mV\" }",
        "\"3 mV\"",
        "{ typ = \"1 mV\", max = \"3 mV\" }",
    ] {
        let s = offset(written);
        assert_eq!(
            s.shape,
            SpreadShape::Rectangular {
                low: -3e-3,
                high: 3e-3
            }
        );
        assert_eq!((s.centre, s.bound, s.typical_only), (0.0, true, false));
    }
}

/// JCGM 100:2008, 4.3.8: limits +b₊ and −b₋ put the expectation in their middle.
#[test]
fn published_unequal_limits_shift_the_mean() {
    let s = offset("{ min = \"-1 mV\", max = \"3 mV\" }");
    assert_eq!(
        s.shape,
        SpreadShape::Rectangular {
            low: -1e-3,
            high: 3e-3
        }
    );
    assert!(near(s.centre, 1e-3));
}

#[test]
fn a_typical_deviation_is_normal_and_no_bound() {
    let s = offset("{ typ = \"2 mV\" }");
    assert_eq!(s.shape, SpreadShape::Normal { mean: 0.0, u: 2e-3 });
    assert!(near(s.high, 6e-3) && near(s.low, -6e-3));
    assert_eq!((s.bound, s.typical_only), (false, true));
}

#[test]
fn a_positive_property_lies_between_zero_and_its_maximum() {
    let s = bias("{ typ = \"1 nA\", max = \"4 nA\" }");
    assert_eq!(
        s.shape,
        SpreadShape::Rectangular {
            low: 0.0,
            high: 4e-9
        }
    );
    assert_eq!(s.centre, 1e-9);
    // Without a typical value the middle of what is possible.
    assert!(near(bias("{ max = \"4 nA\" }").centre, 2e-9));
}

#[test]
fn a_level_with_only_the_lower_limit_is_mirrored_about_its_centre() {
    let s = figure("amplifier", "open-loop-gain", "{ min = 100, typ = 150 }")
        .spread()
        .expect("a spread");
    assert_eq!((s.low, s.centre, s.high), (100.0, 150.0, 200.0));
    let only = figure("amplifier", "open-loop-gain", "{ min = 100 }");
    let s = only.spread().expect("a spread");
    assert_eq!(
        (s.shape, s.bound),
        (SpreadShape::Fixed { value: 100.0 }, true)
    );
}

#[test]
fn a_typical_level_waits_for_a_spread_from_elsewhere() {
    let s = bias("{ typ = \"1 nA\" }");
    assert_eq!(s.shape, SpreadShape::Fixed { value: 1e-9 });
    assert_eq!((s.bound, s.typical_only), (false, true));
}

#[test]
fn a_nominal_whose_deviation_stands_beside_it_is_exact() {
    let text = "[part]\nid = \"x\"\nkind = \"series-reference\"\ntitle = \"x\"\nbasis = \"invented\"\n\
                [figures]\nvoltage = { typ = \"2.5 V\" }\ninitial-accuracy = \"0.1 %\"\n";
    let (parts, _) = parse(SourceId(0), text, &Origin::InPlace);
    let s = parts[0].figures["voltage"].spread().expect("a spread");
    assert_eq!((s.bound, s.typical_only), (true, false));
    let alone = figure("series-reference", "voltage", "{ typ = \"2.5 V\" }");
    assert!(alone.spread().expect("a spread").typical_only);
}

#[test]
fn stated_shapes_are_used() {
    let s = offset("{ max = \"3 mV\", shape = \"normal\" }");
    assert_eq!(s.shape, SpreadShape::Normal { mean: 0.0, u: 1e-3 });
    assert!(!s.bound);
    let s = offset("{ max = \"3 mV\", shape = \"normal\", coverage = 2 }");
    assert_eq!(
        s.shape,
        SpreadShape::Normal {
            mean: 0.0,
            u: 1.5e-3
        }
    );
    let s = offset("{ max = \"3 mV\", shape = \"triangular\" }");
    assert_eq!(
        s.shape,
        SpreadShape::Triangular {
            low: -3e-3,
            high: 3e-3
        }
    );
    let s = offset("{ max = \"3 mV\", shape = \"arcsine\" }");
    assert_eq!(
        s.shape,
        SpreadShape::Arcsine {
            low: -3e-3,
            high: 3e-3
        }
    );
}

#[test]
fn a_text_with_a_tolerance_gives_centre_and_limits() {
    let r = figure(
        "sensor\"\nquantity = \"temperature\"\nlaw = \"thermistor-beta",
        "resistance-25",
        "\"10 kΩ 1 %\"",
    );
    let s = r.spread().expect("a spread");
    assert_eq!(s.centre, 10e3);
    assert!(near(s.low, 9900.0) && near(s.high, 10_100.0));
    let supply = figure("amplifier", "supply", "\"2.7 V to 5.5 V\"");
    assert_eq!((supply.min, supply.max), (Some(2.7), Some(5.5)));
}

#[test]
fn a_limit_is_exact() {
    let s = figure(
        "amplifier",
        "swing-low",
        "{ typ = \"8 mV\", max = \"30 mV\" }",
    );
    let s = s.spread().expect("a spread");
    assert_eq!(
        (s.shape, s.bound),
        (SpreadShape::Fixed { value: 8e-3 }, true)
    );
}

#[test]
fn points_are_joined_by_straight_lines_and_held_beyond_the_ends() {
    let f = figure(
        "amplifier",
        "swing-low",
        "{ points = [[\"0 A\", \"5 mV\"], [\"50 µA\", \"20 mV\"]] }",
    );
    assert!(near(f.at(25e-6).expect("points"), 12.5e-3));
    assert_eq!(f.at(-1.0), Some(5e-3));
    assert_eq!(f.at(1.0), Some(20e-3));
    assert_eq!(f.at_variable(50e-6).max, Some(20e-3));
    assert_eq!(figure("amplifier", "swing-low", "\"5 mV\"").at(0.0), None);
}
