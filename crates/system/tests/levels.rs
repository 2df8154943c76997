//! Logic levels against the published ones.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use parts::Library;
use system::levels::line::{End, Feed, Line, Ohms, Volts, node_v};
use system::levels::{Stands, Understood};

fn end(part: &str, volt: f64) -> End<'static> {
    End {
        name: part.to_owned(),
        part: Library::shipped().get(part).unwrap(),
        supply: Feed {
            // Each part on a rail of its own voltage.
            name: format!("{volt} V"),
            volt: Volts::exact(volt),
        },
        supply_b: None,
        is_side_b: false,
        is_tolerant: false,
    }
}

fn judged(driver: (&str, f64), receiver: (&str, f64)) -> Understood {
    Line::default().judge(&end(driver.0, driver.1), &end(receiver.0, receiver.1))
}

/// Margins of the rated levels alone.
fn rated(u: &Understood) -> (f64, f64) {
    (
        u.high.rated_margin_v.unwrap(),
        u.low.rated_margin_v.unwrap(),
    )
}

fn near(got: (f64, f64), want: (f64, f64)) {
    let close = |a: f64, b: f64| (a - b).abs() < 1e-9;
    assert!(
        close(got.0, want.0) && close(got.1, want.1),
        "got {got:?}, want {want:?}"
    );
}

// The levels of the families: TTL and 5 V complementary logic from public
// reference tables, 74HC from the MM74HC04 data sheet page 3, JESD8C (3.3 V)
// and JESD8-7 (1.8 V) as restated in tables of single-ended standards. The
// differences below are taken by hand from the printed levels.

#[test]
fn published_ttl_to_ttl() {
    // 2.4 V − 2.0 V and 0.8 V − 0.4 V.
    near(
        rated(&judged(("levels-ttl-5v", 5.0), ("levels-ttl-5v", 5.0))),
        (0.4, 0.4),
    );
}

#[test]
fn published_ttl_does_not_reach_cmos() {
    // 2.4 V − 3.5 V, 1.5 V − 0.4 V.
    let u = judged(("levels-ttl-5v", 5.0), ("levels-cmos", 5.0));
    near(rated(&u), (-1.1, 1.1));
    assert!(u.high.margin_v < 0.0);
}

#[test]
fn published_lvttl_to_ttl() {
    // 2.4 V − 2.0 V, 0.8 V − 0.4 V.
    near(
        rated(&judged(("levels-lvttl-3v3", 3.3), ("levels-ttl-5v", 5.0))),
        (0.4, 0.4),
    );
}

#[test]
fn published_lvcmos_does_not_reach_74hc() {
    // 2.8 V − 3.15 V, 1.35 V − 0.2 V, at 3.0 V and 4.5 V.
    near(
        rated(&judged(("levels-lvcmos-3v3", 3.0), ("levels-74hc", 4.5))),
        (-0.35, 1.15),
    );
}

#[test]
fn published_1v8_does_not_reach_lvttl() {
    // 1.35 V − 2.0 V, 0.8 V − 0.45 V.
    near(
        rated(&judged(("levels-1v8", 1.8), ("levels-lvttl-3v3", 3.3))),
        (-0.65, 0.35),
    );
}

#[test]
fn published_74hc_into_lvttl_is_too_high() {
    // 3.84 V − 2.0 V, 0.8 V − 0.33 V; the input must stand 4.5 V.
    let u = judged(("levels-74hc", 4.5), ("levels-lvttl-3v3", 3.3));
    near(rated(&u), (1.84, 0.47));
    assert_eq!(Stands::of(&u.over), Stands::BeyondUsual);
    assert!((u.over.volt - 4.5).abs() < 1e-12);
}

#[test]
fn published_74hct_understands_3v3() {
    // 74HCT125, DS35336: input high 2.0 V, low 0.8 V at 4.5 V to 5.5 V.
    let u = judged(("levels-lvcmos-3v3", 3.3), ("74hct125", 5.0));
    // The input takes 1 µA through 0.2 V/100 µA = 2 kΩ at most; none is
    // counted here.
    near((u.high.margin_v, u.low.margin_v), (3.3 - 2.0, 0.8));
}

#[test]
fn property_ends_on_one_rail_move_together() {
    // Thresholds follow the supply: the margin at the low rail is the share of
    // the low rail, not the low driver against the high receiver.
    let rail = Feed {
        name: "logic".to_owned(),
        volt: Volts {
            low: 3.0,
            nominal: 3.3,
            high: 3.6,
        },
    };
    let on = |part: &str| End {
        supply: rail.clone(),
        ..end(part, 3.3)
    };
    let u = Line::default().judge(&on("levels-cmos"), &on("levels-cmos"));
    assert!((u.high.margin_v - 0.3 * 3.0).abs() < 1e-9);
    assert!((u.high.nominal.2 - 0.3 * 3.3).abs() < 1e-9);
}

#[test]
fn property_a_loaded_output_gives_way() {
    // 74HCT125 at 4.5 V: 3.84 V at 4 mA is 165 Ω behind 4.5 V. Into a divider
    // of 1 kΩ and 1.2 kΩ flows 4.5 V/2365 Ω; at the tap 4.5·1200/2365.
    let line = Line {
        divider: Some((Ohms::exact(1000.0), Ohms::exact(1200.0))),
        ..Line::default()
    };
    let u = line.judge(&end("74hct125", 4.5), &end("levels-lvttl-3v3", 3.3));
    assert!((u.high.level_v - 4.5 * 1200.0 / 2365.0).abs() < 1e-9);
}

#[test]
fn property_pull_ups_raise_a_low_level() {
    // Open drain: 0.4 V at 3 mA is 133.3 Ω (UM10204 table 9); through 2.2 kΩ
    // from 5 V it comes to 5·133.3/(2200 + 133.3).
    let rail = Feed {
        name: "five".to_owned(),
        volt: Volts::exact(5.0),
    };
    let line = Line {
        pull_up: Some((Ohms::exact(2200.0), rail.clone())),
        is_open_drain: true,
        ..Line::default()
    };
    let bare = parts::Library::shipped().get("adxl345").unwrap();
    let on = |part| End {
        part,
        supply: rail.clone(),
        ..end("levels-cmos", 5.0)
    };
    let u = line.judge(
        &on(bare),
        &on(Library::shipped().get("levels-cmos").unwrap()),
    );
    let ohm = u.low.output.ohm;
    assert!((u.low.level_v - 5.0 * ohm / (2200.0 + ohm)).abs() < 1e-9);
}

#[test]
fn property_nodes_obey_kirchhoff() {
    // 5 V through 1 kΩ and 0 V through 4 kΩ, 0.1 mA taken: (5 mA − 0.1 mA)/1.25 mS.
    assert!((node_v(&[(5.0, 1000.0), (0.0, 4000.0)], 1e-4) - 3.92).abs() < 1e-12);
    assert!((node_v(&[(2.0, 0.0)], 1.0) - 2.0).abs() < 1e-12);
}
