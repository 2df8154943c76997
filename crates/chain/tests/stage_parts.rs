//! Parts of stages: from the library, of the file, in place, or like another
//! one but for some figures.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use finding::Sources;
use parts::Library;
use stage_support::{at, close, model, volt};

fn board(parts: &str, stage: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "5 V"
{parts}
[channels.x]
quantity = "voltage"
span = "0.1 V to 4 V"
chain = [{stage}]
"#
    )
}

fn faults(text: &str) -> Vec<String> {
    let mut sources = Sources::new();
    let id = sources.add("stage.toml", text);
    let (_, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    faults.iter().map(|f| f.message.clone()).collect()
}

const OFFSET: &str = "channels.x.chain.0.offset-voltage";

/// The limit of the offset of the only stage, V.
fn offset_limit(text: &str) -> f64 {
    let m = model(text);
    let v = m.variables.iter().find(|v| v.key == OFFSET).unwrap();
    // One offset moves the output by as much.
    let set = ("channels.x.quantity", 2.0);
    close(
        volt(&m, &[set, (OFFSET, 1e-3)]) - volt(&m, &[set]),
        1e-3,
        1e-4,
    );
    match v.lies {
        chain::variables::Lies::Between(low, high) => {
            assert_eq!(-low, high);
            high
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn property_a_part_may_be_written_anywhere() {
    // AD8655 data sheet, Table 1: 250 µV at most.
    let library = board("", r#"{ buffer = "ad8655", supply = "main" }"#);
    close(offset_limit(&library), 250e-6, 1e-12);
    let figures = r#"figures = { offset-voltage = { max = "20 µV" } }"#;
    let own = r#"supply = { min = "2 V", max = "6 V" }, offset-voltage = { max = "20 µV" }"#;
    let beside = board(
        "",
        &format!(r#"{{ buffer = "ad8655", supply = "main", {figures} }}"#),
    );
    let inside = board(
        "",
        &format!(r#"{{ buffer = {{ part = "ad8655", supply = "main", {figures} }} }}"#),
    );
    let like_in_place = board(
        "",
        &format!(r#"{{ buffer = {{ like = "ad8655", {figures} }}, supply = "main" }}"#),
    );
    let like = board(
        &format!("[parts.selected]\nlike = \"ad8655\"\n{figures}"),
        r#"{ buffer = "selected", supply = "main" }"#,
    );
    // Like one that stands further down, and like a part of the file.
    let like_own = board(
        &format!(
            "[parts.b]\nlike = \"a\"\n{figures}\n[parts.a]\nkind = \"amplifier\"\nfigures = {{ {own} }}"
        ),
        r#"{ buffer = "b", supply = "main" }"#,
    );
    let in_place = board(
        "",
        &format!(
            r#"{{ buffer = {{ kind = "amplifier", figures = {{ {own} }} }}, supply = "main" }}"#
        ),
    );
    let as_part = board(
        "",
        &format!(
            r#"{{ buffer = {{ part = {{ kind = "amplifier", figures = {{ {own} }} }}, supply = "main" }} }}"#
        ),
    );
    for text in [
        &beside,
        &inside,
        &like_in_place,
        &like,
        &like_own,
        &in_place,
        &as_part,
    ] {
        assert_eq!(faults(text), Vec::<String>::new(), "{text}");
        close(offset_limit(text), 20e-6, 1e-12);
    }
    // What is not overridden stays: the swing of 30 mV.
    let o = at(&model(&like), &[("channels.x.quantity", 0.02)]);
    close(o[chain::channel::VOLT], 0.03, 1e-9);
}

#[test]
fn property_what_is_wrong_with_a_part_is_said() {
    let said = |parts: &str, stage: &str, expected: &str| {
        let list = faults(&board(parts, stage));
        assert!(
            list.iter().any(|m| m.contains(expected)),
            "{expected}: {list:#?}"
        );
    };
    said(
        "",
        r#"{ buffer = { supply = "main" } }"#,
        "`buffer` has no `part`",
    );
    said(
        "",
        r#"{ buffer = "ad8422", supply = "main" }"#,
        "does not fit here",
    );
    said(
        "",
        r#"{ buffer = { kind = "resistor", figures = { tolerance = "1 %" } }, supply = "main" }"#,
        "this is a resistor",
    );
    said(
        "[parts.p]\nlike = \"ad8566\"",
        r#"{ buffer = "p", supply = "main" }"#,
        "no part `ad8566`",
    );
    said(
        "",
        r#"{ series = "1 kΩ", figures = { offset-voltage = "1 V" } }"#,
        "unknown key `figures`",
    );
    said(
        "",
        r#"{ clamp = { high = "diode-silicon", low = "diode-silicon", to = "main", figures = { power = "1 W" } } }"#,
        "beside several",
    );
    said(
        "",
        r#"{ buffer = "ad8655", supply = "main", figures = { offset-volts = "1 V" } }"#,
        "offset-volts",
    );
    // A capacitor has a dielectric, a resistor has none.
    said(
        "",
        r#"{ low-pass = { r = "1 kΩ", c = "1 µF X8X" } }"#,
        "`X8X` says nothing",
    );
    said(
        "",
        r#"{ low-pass = { r = "1 kΩ X7R", c = "1 µF X7R" } }"#,
        "`X7R` says nothing",
    );
}
