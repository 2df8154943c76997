//! Rails, heat and returns: read, and what is wrong with a place.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::float_cmp,
    reason = "tests"
)]

use board::{
    Board, Field, FieldKind, HeatSource, ReturnCurrent, Schema, Vocabulary, WarmTarget, Warmth,
};
use finding::Sources;
use parts::Library;
use quantity::Dimension;

const RESISTOR: &[Field] = &[Field::required(
    "r",
    FieldKind::Valued(Dimension::RESISTANCE),
    "resistance",
)];

fn vocabulary() -> Vocabulary {
    Vocabulary {
        stages: vec![Schema {
            name: "series",
            primary: Some("r"),
            fields: RESISTOR,
            meaning: "a resistor",
        }],
        elements: Vec::new(),
        laws: vec!["direct-voltage"],
        law_auxiliaries: |_| &[],
    }
}

const BASE: &str = r#"
[rails.main]
voltage = "5 V"
[converters.adc]
supply = "main"
bits = 12
[channels.feed]
quantity = "voltage"
span = "0 V to 3 V"
chain = [{ series = "1 kΩ" }]
input = "adc"
"#;

fn read(more: &str) -> (Option<Board>, Vec<String>) {
    let text = format!("{BASE}{more}");
    let mut sources = Sources::new();
    let id = sources.add("board.toml", &text);
    let (board, faults) = board::read(id, &text, Library::shipped(), &vocabulary());
    let told = faults
        .iter()
        .map(|f| {
            let at = sources.place(f.span).to_string();
            let near = f.suggestion.clone().unwrap_or_default();
            format!("{at}: {} [{}] ({near})", f.message, f.expected)
        })
        .collect();
    (board, told)
}

fn good(more: &str) -> Board {
    let (board, faults) = read(more);
    board.unwrap_or_else(|| panic!("{faults:#?}"))
}

/// Exactly one fault, which says this, on this line of `more`.
fn refused(more: &str, line: usize, says: &str) {
    let (_, faults) = read(more);
    let [one] = faults.as_slice() else {
        panic!("{more}: {faults:#?}");
    };
    assert!(one.contains(says), "`{says}` in {one}");
    let at = BASE.lines().count() + line;
    assert!(
        one.contains(&format!("board.toml:{at}:")),
        "line {at}: {one}"
    );
}

#[test]
fn everything_of_a_rail_is_read() {
    let b = good(
        r#"[rails.pack]
voltage = "4.5 V"
source-resistance = "0.2 Ω ± 0.1 Ω"
connector = { pins = 2, each = "3 A", contact = "20 mΩ" }
reservoir = { c = "470 µF 20 %", esr = "50 mΩ" }
load-power = "2 W"
bursts = [{ current = "300 mA", for = "2 ms", every = "1 s" }]
battery = { cells = 3, strings = 2, capacity = "2.5 Ah", usable = "80 %", cell-resistance = [["-20 °C", "0.4 Ω"], ["20 °C", "0.1 Ω"]] }
off = "0.2 V"
start = "1 ms"
droop = "0.3 V"
ripple = "30 mV"
"#,
    );
    let p = &b.rails[1].power;
    assert!(p.switched, "a rail with `off` can be off");
    assert_eq!(p.off_v, 0.2);
    assert_eq!(p.connector.as_ref().unwrap().pins, 2);
    assert_eq!(p.load_w.as_ref().unwrap().value, 2.0);
    assert!((p.bursts[0].duty() - 0.002).abs() < 1e-15);
    assert_eq!(p.bursts[0].name, "pack, burst");
    let battery = p.battery.as_ref().unwrap();
    assert_eq!(battery.capacity_as.as_ref().unwrap().value, 9000.0);
    // Three cells in series, two strings: 3/2 of a cell, which is between its
    // points at 0 °C and level beyond them.
    assert!((battery.ohm_at(273.15) - 1.5 * 0.25).abs() < 1e-12);
    assert!((battery.ohm_at(200.0) - 1.5 * 0.4).abs() < 1e-12);
    assert!((battery.ohm_at(400.0) - 1.5 * 0.1).abs() < 1e-12);
}

#[test]
fn heat_and_returns_find_what_they_name() {
    let b = good(
        r#"[heat.hot]
source = "adc"
resistance = "60 K/W"
warms = { feed = "12 K/W", "channels.feed.chain.0.r" = "10 K" }
[returns.wire]
cable = { length = "2 m", gauge = "24 AWG" }
currents = ["rails.main", "adc", "feed", "0 A to 0.5 A"]
channels = ["feed"]
left = "1 %"
"#,
    );
    let h = &b.heats[0];
    assert!(matches!(h.source, HeatSource::Device(0)));
    assert_eq!(h.warms[0].target, WarmTarget::Channel(0));
    assert!(matches!(&h.warms[0].by, Warmth::PerWatt(v) if v.nominal == 12.0));
    assert_eq!(
        h.warms[1].target,
        WarmTarget::Element("channels.feed.chain.0.r".to_owned())
    );
    assert!(matches!(&h.warms[1].by, Warmth::Rise(v) if v.nominal == 10.0));
    let r = &b.returns[0];
    assert!(matches!(r.currents[0], ReturnCurrent::Rail(0, _)));
    assert!(matches!(r.currents[1], ReturnCurrent::Device(0, _)));
    assert!(matches!(r.currents[2], ReturnCurrent::Sensor(0, _)));
    assert!(
        matches!(r.currents[3], ReturnCurrent::Stated((low, high), _) if low == 0.0 && high == 0.5)
    );
    assert_eq!(r.channels, [0]);
    assert_eq!(r.left.as_ref().unwrap().value, 0.01);
}

#[test]
fn what_is_wrong_is_told_at_its_place() {
    let rail = |more: &str| format!("[rails.b]\nvoltage = \"3 V\"\n{more}\n");
    for (more, line, says) in [
        (
            rail("source-resistance = \"-1 Ω\""),
            3,
            "`source-resistance` is negative",
        ),
        (rail("reservoir = { esr = \"1 Ω\" }"), 3, "`c`"),
        (rail("reservoir = { c = \"0 F\" }"), 3, "holds nothing"),
        (
            rail("bursts = [{ current = \"1 A\", for = \"2 s\", every = \"1 s\" }]"),
            3,
            "before it ends",
        ),
        (rail("bursts = [\"1 A\"]"), 3, "a burst is a text"),
        (rail("start = \"0 s\""), 3, "`start` must be above zero"),
        (rail("battery = { usable = 1.5 }"), 3, "quantity in quotes"),
        (
            rail("battery = { usable = \"150 %\" }"),
            3,
            "`usable` is 1.5",
        ),
        (
            rail("battery = { cell-resistance = [[\"20 °C\", \"1 Ω\"], [\"0 °C\", \"2 Ω\"]] }"),
            3,
            "not by rising temperature",
        ),
        (
            rail("battery = { cell-resistance = [[\"20 °C\"]] }"),
            3,
            "a pair has two values",
        ),
        (rail("connector = { pins = 0 }"), 3, "pins"),
        (
            "[heat.h]\nsource = \"rails.mian\"\n".to_owned(),
            2,
            "(rails.main)",
        ),
        ("[heat.h]\nwarms = {}\n".to_owned(), 1, "what gets warm"),
        (
            "[heat.h]\nsource = \"adc\"\npower = \"1 W\"\n".to_owned(),
            1,
            "both a source and a power",
        ),
        (
            "[heat.h]\npower = \"1 W\"\nwarms = { feet = \"1 K\" }\n".to_owned(),
            3,
            "(feed)",
        ),
        (
            "[heat.h]\npower = \"1 W\"\nwarms = { feed = \"1 V\" }\n".to_owned(),
            3,
            "K",
        ),
        (
            "[heat.h]\npower = \"1 W\"\nwarms = { \"channels.feed.chain.3.r\" = \"1 K\" }\n"
                .to_owned(),
            3,
            "no such stage",
        ),
        (
            "[heat.h]\npower = \"1 W\"\nwarms = { \"channels.feed.chain.0.c\" = \"1 K\" }\n"
                .to_owned(),
            3,
            "no value named `c`",
        ),
        (
            "[returns.r]\ncurrents = [\"1 A\"]\n".to_owned(),
            1,
            "has no resistance",
        ),
        (
            "[returns.r]\nresistance = \"1 Ω\"\n".to_owned(),
            1,
            "currents",
        ),
        (
            "[returns.r]\nresistance = \"1 Ω\"\ncurrents = [\"rails.mian\"]\n".to_owned(),
            3,
            "(rails.main)",
        ),
        (
            "[returns.r]\nresistance = \"1 Ω\"\ncurrents = [\"1 V\"]\n".to_owned(),
            3,
            "1 V",
        ),
        (
            "[returns.r]\nresistance = \"1 Ω\"\ncurrents = []\nchannels = [\"fed\"]\n".to_owned(),
            4,
            "(feed)",
        ),
        (
            "[returns.r]\ncable = { length = \"1 m\" }\ncurrents = []\n".to_owned(),
            2,
            "no resistance",
        ),
        (
            "[returns.r]\ncopper = { length = \"1 m\" }\ncurrents = []\n".to_owned(),
            2,
            "`width`",
        ),
    ] {
        refused(&more, line, says);
    }
}
