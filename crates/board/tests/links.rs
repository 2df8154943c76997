//! Devices and links as they are written, and what is said of wrong ones.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use board::{BusMode, Gauge, LinkKind, Vocabulary, read};
use finding::SourceId;

const RAILS: &str = r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.room]
part = "sht41"
supply = "logic"
[devices.hall]
part = "bme-like"
supply = "logic"
address = "0x77"
[parts.bme-like]
kind = "digital-sensor"
title = "pressure"
basis = "invented"
addresses = [0x76, 0x77]
buses = ["i2c"]
figures = { supply = { min = "1.7 V", max = "3.6 V" } }
"#;

fn board(links: &str) -> Result<board::Board, Vec<String>> {
    let text = format!("{RAILS}{links}");
    let (board, faults) = read(
        SourceId(0),
        &text,
        parts::Library::shipped(),
        &Vocabulary {
            stages: Vec::new(),
            elements: Vec::new(),
            laws: Vec::new(),
            law_auxiliaries: |_| &[],
        },
    );
    board.ok_or_else(|| {
        faults
            .iter()
            .map(|f| {
                let at = usize::try_from(f.span.start).unwrap();
                let line = text[..at].lines().count().max(1);
                format!("{line}: {} ({}) {:?}", f.message, f.expected, f.suggestion)
            })
            .collect()
    })
}

#[test]
fn a_bus_is_read_with_all_it_says() {
    let b = board(
        r#"
[links.near]
kind = "i2c"
controller = "mcu.i2c1"
devices = ["room", { device = "hall", poll = "2 /s", bytes = 6, pull-up = "10 kΩ" }]
pins = { clock = "PB6", data = "PB7" }
pull-ups = ["4.7 kΩ 1 %", "10 kΩ"]
clock = "100 kHz"
mode = "standard"
cable = { length = "3 m", capacitance = "60 pF/m", gauge = "24 AWG" }
traces = "15 pF"
"#,
    )
    .unwrap();
    let link = &b.links[0];
    assert_eq!(link.kind, LinkKind::I2c);
    assert_eq!(link.mode.as_ref().unwrap().value, BusMode::Standard);
    assert_eq!(link.pull_ups.len(), 2);
    assert_eq!(b.address_of(&link.members[0]), Some(0x44));
    assert_eq!(b.address_of(&link.members[1]), Some(0x77));
    let cable = link.cable.as_ref().unwrap();
    assert_eq!(cable.gauge.as_ref().unwrap().value, Gauge::Awg(24.0));
    assert!((cable.capacitance_per_m.as_ref().unwrap().value.nominal - 60e-12).abs() < 1e-20);
}

#[test]
fn a_wire_needs_a_driver_and_somebody_who_listens() {
    let faults = board("[links.data]\nkind = \"wire\"\n").unwrap_err();
    assert_eq!(faults.len(), 2, "{faults:?}");
    assert!(faults[0].contains("has no driver"), "{faults:?}");
}

#[test]
fn wrong_links_are_told_at_their_lines_all_at_once() {
    let faults = board(
        r#"[links.a]
kind = "i2c"
devices = ["rom", "room", "room", { device = "hall", address = 0xD0 }]
driver = "mcu.PA1"
pull-ups = "0 Ω"
via = { device = "hall", from = "b" }
mode = 3
"#,
    )
    .unwrap_err();
    for said in [
        "no device is named `rom`",
        "on the link already",
        "0xD0 has eight bits: on the wire the seven-bit address 0x68",
        "belongs to a link of kind wire",
        "a resistor must be above zero",
        "no link is named `b`",
    ] {
        assert!(
            faults.iter().any(|f| f.contains(said)),
            "{said}: {faults:#?}"
        );
    }
}

#[test]
fn no_segment_lies_behind_itself() {
    let faults = board(
        r#"[links.a]
kind = "i2c"
via = { device = "hall", from = "b" }
[links.b]
kind = "i2c"
via = { device = "hall", from = "a" }
"#,
    )
    .unwrap_err();
    assert!(faults[0].contains("lies behind itself"), "{faults:?}");
}
