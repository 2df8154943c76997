//! Buses of whole boards, written from the situation.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::Board;
use finding::SourceId;
use parts::Library;
use system::buses::Buses;

fn read(text: &str) -> Board {
    let (board, faults) = board::read(SourceId(0), text, Library::shipped(), &chain::vocabulary());
    assert!(faults.is_empty(), "{faults:#?}");
    board.unwrap()
}

fn buses(text: &str) -> Buses {
    system::buses::analyse(&read(text))
}

fn near(value: f64, expected: f64, within: f64) {
    assert!(
        (value - expected).abs() <= within,
        "{value}, not {expected}"
    );
}

/// Three boards with 2.2 kΩ each at 5 V, 3 mA at 0.4 V (UM10204, table 9):
/// 733 Ω, 6.27 mA, at least 1533 Ω; one board of 2.2 kΩ, three of 4.7 kΩ, six
/// of 10 kΩ. At 3.3 V the lowest is 967 Ω.
#[test]
fn published_three_boards_of_pull_ups() {
    let text = |v| {
        format!(
            "[rails.v]\nvoltage = \"{v}\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\npull-ups = [\"2.2 kΩ\", \"2.2 kΩ\", \"2.2 kΩ\"]\n"
        )
    };
    let five = buses(&text("5 V"));
    let s = &five.segments[0];
    near(s.fitted.unwrap().nominal, 733.3, 0.1);
    near(s.lowest.as_ref().unwrap().ohm, 1533.3, 0.1);
    near(s.sink_a.unwrap(), 6.27e-3, 0.01e-3);
    assert_eq!(s.is_too_strong(), Some(true));
    assert_eq!(s.proposal.boards, [(2.2e3, 1), (4.7e3, 3), (10e3, 6)]);
    assert_eq!(s.proposal.keep, Some(vec![0]));
    let three = buses(&text("3.3 V"));
    near(three.segments[0].lowest.as_ref().unwrap().ohm, 966.7, 0.1);
    assert_eq!(three.segments[0].is_too_strong(), Some(true));
}

/// 10 kΩ on both sides of a transistor at 400 kHz: 300 ns = 0.8473 R C leave
/// 35.4 pF for each node; 200 pF take 1.77 kΩ.
#[test]
fn published_transistor_between_two_segments() {
    let text = |traces: &str| {
        format!(
            "[rails.low]\nvoltage = \"3.3 V\"\n[rails.high]\nvoltage = \"5 V\"\n[devices.shift]\npart = \"bss138\"\n\
             [links.near]\nkind = \"i2c\"\nsupply = \"low\"\nclock = \"400 kHz\"\npull-ups = [\"10 kΩ\"]\ntraces = \"{traces}\"\n\
             [links.far]\nkind = \"i2c\"\nsupply = \"high\"\nclock = \"400 kHz\"\npull-ups = [\"10 kΩ\"]\ntraces = \"{traces}\"\nvia = {{ device = \"shift\", from = \"near\" }}\n"
        )
    };
    // The transistor's own 13 pF count as well (BSS138 data sheet, Coss typ).
    let b = buses(&text("187 pF"));
    for s in &b.segments {
        near(s.line_farad, 200e-12, 1e-15);
        near(s.proposal.farad.unwrap(), 35.4e-12, 0.1e-12);
        near(s.largest.as_ref().unwrap().ohm, 1770.3, 0.1);
        assert_eq!(s.is_too_weak(), Some(true));
    }
    // A low level takes the current of both pull-ups: (5 - 0.4)/10 kΩ.
    near(b.segments[0].joined_a, 0.46e-3, 1e-9);
    let free = buses(&text("20 pF"));
    assert_eq!(free.segments[0].is_too_weak(), Some(false));
}

/// UM10204: the fast-mode full load of 400 pF has no pull-up at 3 mA.
#[test]
fn published_no_window_at_full_load() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\nmode = \"fast\"\npull-ups = [\"1 kΩ\"]\ntraces = \"400 pF\"\n",
    );
    assert!(b.segments[0].has_no_window());
    assert_eq!(b.segments[0].proposal.ohm, None);
}

/// ADT7420 data sheet Rev. 0: 0.4 V at 1 mA at 3.3 V, so that part asks for
/// (3.3 - 0.4) V/1 mA = 2.9 kΩ although the bus would take 967 Ω.
#[test]
fn published_weakest_part_decides() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[controllers.mcu]\npart = \"stm32f103\"\nsupply = \"v\"\n[devices.room]\npart = \"adt7420\"\nsupply = \"v\"\n[links.bus]\nkind = \"i2c\"\ncontroller = \"mcu\"\ndevices = [\"room\"]\npull-ups = [\"4.7 kΩ 1 %\"]\ntraces = \"15 pF\"\n",
    );
    let s = &b.segments[0];
    near(s.lowest.as_ref().unwrap().ohm, 2900.0, 0.1);
    assert_eq!(s.weakest.as_ref().unwrap().0, "room");
    // STM32F103 5 pF, ADT7420 10 pF at most, traces 15 pF.
    near(s.line_farad, 30e-12, 1e-15);
    assert_eq!(
        (s.is_too_strong(), s.is_too_weak()),
        (Some(false), Some(false))
    );
}

/// Two sensors whose address pin chooses 0x76 or 0x77 (MS5611 data sheet):
/// both left as they are clash, one moved cures it; a third cannot be had.
#[test]
fn published_two_of_one_address() {
    let text = |count: usize| {
        let mut t = "[rails.v]\nvoltage = \"3.3 V\"\n".to_owned();
        let names: Vec<String> = (0..count).map(|i| format!("\"p{i}\"")).collect();
        for i in 0..count {
            t += &format!("[devices.p{i}]\npart = \"ms5611\"\nsupply = \"v\"\n");
        }
        t + &format!(
            "[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\ndevices = [{}]\npull-ups = [\"4.7 kΩ\"]\n",
            names.join(", ")
        )
    };
    let two = buses(&text(2));
    let c = &two.addressing.clashes[0];
    assert_eq!((c.address, c.who.len(), c.fits), (0x76, 2, 2));
    assert_eq!(c.cure, Some(vec![("p0".to_owned(), 0x77)]));
    let three = buses(&text(3));
    assert_eq!(three.addressing.clashes[0].cure, None);
    assert_eq!(three.addressing.clashes[0].fits, 2);
}

/// A conversion of 0.22 s gives at most 4.5 numbers a second.
#[test]
fn published_polling_faster_than_a_conversion() {
    let b = buses(
        "[rails.v]\nvoltage = \"5 V\"\n[parts.tc]\nkind = \"digital-sensor\"\nbuses = [\"spi\"]\nhabits = [\"read-restarts\"]\nfigures = { supply = { min = \"3 V\", max = \"5.5 V\" }, conversion-time = { typ = \"0.17 s\", max = \"0.22 s\" } }\n[devices.a]\npart = \"tc\"\nsupply = \"v\"\n[devices.b]\npart = \"tc\"\nsupply = \"v\"\n[links.bus]\nkind = \"spi\"\nsupply = \"v\"\nclock = \"1 MHz\"\npoll = \"10 /s\"\nbytes = 2\ndevices = [{ device = \"a\", select = \"PB0\", cache = \"shared\" }, { device = \"b\", select = \"PB0\", cache = \"shared\" }]\n",
    );
    let p = &b.polling.polls[0];
    near(p.fastest_hz().unwrap(), 4.545, 0.001);
    assert!(p.is_too_fast() && p.is_restarted);
    assert_eq!(b.polling.caches[0].who, ["a", "b"]);
    // 2 × 10 readings of 16 bits at 1 MHz.
    near(b.polling.occupied[0].share, 20.0 * 16e-6, 1e-12);
    assert_eq!(b.serials[0].selects.len(), 1);
}

/// 1 MHz, a quarter period, 7 ns/m: 17.9 m of cable; at 18 m 0.99 MHz.
#[test]
fn published_cable_of_a_serial_bus() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[links.bus]\nkind = \"spi\"\nsupply = \"v\"\nclock = \"1 MHz\"\nskew = \"25 %\"\ncable = { length = \"18 m\", delay = \"7 ns/m\" }\n",
    );
    near(b.serials[0].longest_m.unwrap(), 17.86, 0.01);
    near(b.serials[0].fastest_hz, 0.992e6, 1e3);
}

/// ADXL345 accepts mode 3 only (data sheet Rev. 0), LIS3DH 0 and 3 in its
/// file; a stated mode 0 leaves the first out.
#[test]
fn modes_of_all_parts_must_meet() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[devices.a]\npart = \"adxl345\"\nsupply = \"v\"\n[links.bus]\nkind = \"spi\"\nsupply = \"v\"\nmode = 0\nclock = \"8 MHz\"\ndevices = [\"a\"]\n",
    );
    assert_eq!(b.serials[0].unlike, [("a".to_owned(), vec![3])]);
    // ADXL345 data sheet: 5 MHz at most.
    assert_eq!(b.serials[0].limits[0].hz, 5e6);
}

/// 2 % at the far end and a rate of 115 200 Bd divided from 16 MHz by 9
/// (3.55 % slow) are more than the 4.6 % that ten bits bear.
#[test]
fn clocks_of_an_asynchronous_line_add() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[links.line]\nkind = \"uart\"\nsupply = \"v\"\nbaud = \"115200 /s\"\ndivided-from = \"16 MHz\"\nclock-tolerance = \"2 %\"\n",
    );
    let a = &b.asynchronous[0];
    near(a.together(), 0.0355 + 0.0001 + 0.02, 1e-4);
    assert!(a.together() > a.permitted);
}

/// 4.7 kΩ and 20 m of 60 pF/m: 1.2 nF rise to 0.7 V_DD in 1.204 R C = 6.8 µs,
/// of 15 µs that a slot of 60 µs leaves.
#[test]
fn a_single_wire_rises_in_time() {
    let b = buses(
        "[rails.v]\nvoltage = \"5 V\"\n[links.wire]\nkind = \"single-wire\"\nsupply = \"v\"\npull-ups = [\"4.7 kΩ\"]\ncable = { length = \"20 m\", capacitance = \"60 pF/m\" }\n",
    );
    let w = &b.singles[0];
    near(w.rise_s.unwrap(), 1.20397 * 4.7e3 * 1.2e-9, 1e-9);
    near(w.lowest.as_ref().unwrap().value, 1150.0, 0.1);
    near(
        w.longest_m.unwrap(),
        15e-6 / (1.20397 * 4.7e3) / 60e-12,
        0.01,
    );
}

/// The clock runs through a repeater: behind it the rise time is that of fast
/// mode, and its readings count on the trunk. LPS25HB data sheet: 0x5C, 0x5D.
#[test]
fn a_clock_runs_through_a_translator() {
    let b = buses(
        "[rails.v]\nvoltage = \"3.3 V\"\n[rails.w]\nvoltage = \"2.5 V\"\n[devices.r]\npart = \"pca9517a\"\nsupply = \"w\"\nsupply-b = \"v\"\n[devices.near-one]\npart = \"lps25hb\"\nsupply = \"v\"\n[devices.far-one]\npart = \"lps25hb\"\nsupply = \"w\"\n[links.near]\nkind = \"i2c\"\nsupply = \"v\"\nclock = \"400 kHz\"\npull-ups = \"2.2 kΩ\"\ndevices = [{ device = \"near-one\", poll = \"100 /s\", bytes = 7 }]\n[links.far]\nkind = \"i2c\"\nsupply = \"w\"\nvia = { device = \"r\", from = \"near\" }\npull-ups = \"2.2 kΩ\"\ndevices = [{ device = \"far-one\", poll = \"100 /s\", bytes = 7 }]\n",
    );
    assert_eq!(b.segments[1].clock_hz, 400e3);
    // Two times 100 readings of 9 · 7 + 3 bits at 400 kHz.
    assert_eq!(b.polling.occupied.len(), 1);
    near(b.polling.occupied[0].share, 200.0 * 66.0 / 400e3, 1e-12);
    // Both answer at the address that their part offers first.
    assert_eq!(b.addressing.clashes[0].address, 0x5C);
}
