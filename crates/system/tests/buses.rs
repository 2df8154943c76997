//! Buses against UM10204 and relations that hold by themselves.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::BusMode;
use system::buses::address::{is_reserved, on_the_wire, parted, reachable};
use system::buses::clocked::{RoundTrip, asynchronous_error, divided_rate};
use system::buses::two_wire::{
    Sink, delay_left, largest_for_leakage, largest_for_rise, limits, mode_of_clock, rise,
};

fn near(value: f64, expected: f64, within: f64) {
    assert!(
        (value - expected).abs() <= within,
        "{value}, not {expected}"
    );
}

/// UM10204 Rev. 6, 7.1: the largest pull-up by rise time and capacitance.
#[test]
fn published_largest_pull_up() {
    for (mode, farad, ohm) in [
        (BusMode::Standard, 400e-12, 2950.5),
        (BusMode::Standard, 100e-12, 11802.2),
        (BusMode::Fast, 400e-12, 885.2),
        (BusMode::Fast, 200e-12, 1770.3),
        (BusMode::Fast, 100e-12, 3540.7),
        (BusMode::FastPlus, 550e-12, 257.5),
        (BusMode::FastPlus, 100e-12, 1416.3),
    ] {
        near(largest_for_rise(limits(mode).rise_s, farad), ohm, 0.1);
    }
}

/// UM10204 Rev. 6, 7.1 and table 9: the lowest pull-up, (V_DD - V_OL)/I_OL.
#[test]
fn published_lowest_pull_up() {
    let sink = |low_v, current_a| Sink { low_v, current_a };
    for (sink, supply, ohm) in [
        (Sink::asked(BusMode::Fast, 3.3), 3.3, 966.67),
        (Sink::asked(BusMode::Standard, 5.0), 5.0, 1533.33),
        (Sink::asked(BusMode::FastPlus, 3.3), 3.3, 145.0),
        (Sink::asked(BusMode::FastPlus, 5.0), 5.0, 230.0),
        (Sink::asked(BusMode::Fast, 1.8), 1.8, 720.0),
        (sink(0.6, 6e-3), 3.3, 450.0),
    ] {
        near(sink.lowest_ohm(supply), ohm, 0.01);
    }
}

/// UM10204 Rev. 6, 7.1: t_r = 0.8473 R C.
#[test]
fn published_rise_times() {
    for (ohm, farad, ns) in [
        (4.7e3, 100e-12, 398.2),
        (2.2e3, 200e-12, 372.8),
        (10e3, 100e-12, 847.3),
    ] {
        near(rise(ohm, farad) * 1e9, ns, 0.1);
    }
}

/// UM10204 Rev. 6, note to table 10: a full load of 400 pF at 400 kHz takes
/// 6 mA at 0.6 V, since 3 mA leave no resistor at all.
#[test]
fn published_full_load_needs_six_milliampere() {
    let most = largest_for_rise(300e-9, 400e-12);
    assert!(Sink::asked(BusMode::Fast, 3.3).lowest_ohm(3.3) > most);
    let strong = Sink {
        low_v: 0.6,
        current_a: 6e-3,
    };
    assert!(strong.lowest_ohm(3.3) < most);
}

/// A clock of 400 kHz with 200 pF on 10 kΩ is far too slow: 35.4 pF would do,
/// or 1.77 kΩ (300 ns = 0.8473 R C).
#[test]
fn published_translator_nodes() {
    near(300e-9 / (0.8473 * 1e4), 35.4e-12, 0.05e-12);
    near(largest_for_rise(300e-9, 35.4e-12), 1e4, 10.0);
    near(largest_for_rise(300e-9, 200e-12), 1770.0, 1.0);
}

/// Ten pins of 10 µA each at 3.3 V: a level of 0.9 V_DD leaves 0.33 V for
/// 100 µA, 3.3 kΩ; and nothing where the level asked is above the supply.
#[test]
fn leakage_holds_a_line_down() {
    near(largest_for_leakage(3.3, 0.9 * 3.3, 100e-6), 3300.0, 1e-6);
    near(largest_for_leakage(3.3, 3.4, 100e-6), 0.0, 0.0);
    assert!(largest_for_leakage(3.3, 2.0, 0.0).is_infinite());
}

/// UM10204 Rev. 6, table 10: in fast mode 1.3 µs of low hold 0.9 µs of valid
/// data and 0.1 µs of set-up; 0.3 µs are left for both ways of a cable.
#[test]
fn published_time_left_for_a_cable() {
    near(delay_left(BusMode::Fast, 400e3), 0.3e-6, 1e-12);
    near(delay_left(BusMode::Standard, 100e3), 1.0e-6, 1e-12);
}

#[test]
fn modes_go_with_clocks() {
    assert_eq!(mode_of_clock(100e3), Some(BusMode::Standard));
    assert_eq!(mode_of_clock(101e3), Some(BusMode::Fast));
    assert_eq!(mode_of_clock(1e6), Some(BusMode::FastPlus));
    assert_eq!(mode_of_clock(3e6), Some(BusMode::HighSpeed));
    assert_eq!(mode_of_clock(4e6), None);
}

/// UM10204 Rev. 6, 3.1.12 (reserved addresses) and 3.1.10 (the address in the
/// upper seven bits of the first byte).
#[test]
fn published_addresses() {
    assert_eq!(on_the_wire(0x68), (0xD0, 0xD1));
    assert!(is_reserved(0x00) && is_reserved(0x07) && is_reserved(0x78));
    assert!(!is_reserved(0x08) && !is_reserved(0x77));
}

/// Two sensors with one address pin part, three do not; one with a fixed
/// address makes another give way.
#[test]
fn addresses_part_as_far_as_they_can() {
    let pin: &[u8] = &[0x76, 0x77];
    assert_eq!(
        parted(&[pin, pin]).map(|mut a| {
            a.sort_unstable();
            a
        }),
        Some(vec![0x76, 0x77])
    );
    assert_eq!(parted(&[pin, pin, pin]), None);
    assert_eq!(reachable(&[pin, pin, pin]), 2);
    assert_eq!(parted(&[pin, &[0x76]]), Some(vec![0x77, 0x76]));
    assert_eq!(parted(&[&[0x44], &[0x44]]), None);
    assert_eq!(parted(&[]), Some(Vec::new()));
}

/// A quarter period of 1 MHz is 250 ns, 35.7 m of path at 7 ns/m, 17.9 m of
/// cable; 18 m leave 1/(4 · 18 · 14 ns) = 0.99 MHz.
#[test]
fn published_longest_cable() {
    let bare = RoundTrip::default();
    near(bare.longest_s(1e6, 0.25) / 7e-9, 17.86, 0.01);
    let long = RoundTrip {
        cable_s: 18.0 * 7e-9,
        ..bare
    };
    near(long.fastest_hz(0.25), 0.992e6, 1e3);
}

/// 1/(2 · (5 + 40 + 5 + 10) ns) = 8.333 MHz.
#[test]
fn published_half_period() {
    let trip = RoundTrip {
        cable_s: 5e-9,
        drivers_s: 0.0,
        valid_s: 40e-9,
        set_up_s: 10e-9,
    };
    near(trip.fastest_hz(0.5), 8.3333e6, 1e2);
    near(trip.longest_s(8.33333333e6, 0.5), 5e-9, 1e-16);
    assert!(trip.longest_s(20e6, 0.5) < 0.0);
}

/// Ten bits sampled sixteen times: (0.5 - 0.0625)/9.5 = 4.6 % (common
/// practice); 115 200 Bd of 16 MHz is 3.5 % slow by sixteen samples and 2.1 %
/// fast by eight, as data sheets of controllers with such dividers print.
#[test]
fn published_asynchronous_rates() {
    near(asynchronous_error(10.0, 16.0), 0.04605, 1e-5);
    near(divided_rate(16e6, 16.0, 115_200.0).1, -0.0355, 5e-5);
    near(divided_rate(16e6, 8.0, 115_200.0).1, 0.0212, 5e-5);
    near(divided_rate(16e6, 16.0, 9600.0).1, 0.0016, 5e-5);
}
