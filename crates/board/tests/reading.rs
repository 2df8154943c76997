//! Reading board files: what is right, and what is wrong with a place.
#![allow(clippy::unwrap_used, reason = "tests")]

use board::{Field, FieldKind, Schema, Vocabulary};
use finding::Sources;
use parts::Library;
use quantity::Dimension;

const DIVIDER: &[Field] = &[
    Field::required(
        "top",
        FieldKind::Valued(Dimension::RESISTANCE),
        "upper resistor",
    ),
    Field::required(
        "bottom",
        FieldKind::Valued(Dimension::RESISTANCE),
        "lower resistor",
    ),
];

fn vocabulary() -> Vocabulary {
    Vocabulary {
        stages: vec![Schema {
            name: "divider",
            primary: None,
            fields: DIVIDER,
            meaning: "divides",
        }],
        elements: Vec::new(),
        laws: vec!["direct-voltage", "platinum"],
        law_auxiliaries: |_| &[],
    }
}

const GOOD: &str = r#"
[board]
name = "Press house, one divider"
[conditions]
ambient = "2 °C to 38 °C"
[rails.main]
voltage = "3.3 V ± 2 %"
[converters.adc]
supply = "main"
bits = 12
[channels.half]
quantity = "voltage"
span = "0 V to 5 V"
accuracy = ["20 mV", "0.5 % of reading"]
chain = [{ divider = { top = "10 kΩ 0.1 %", bottom = "15 kΩ 0.1 % 25 ppm/K" } }]
input = "adc"
"#;

fn faults(text: &str) -> Vec<String> {
    let mut sources = Sources::new();
    let id = sources.add("b.toml", text);
    let (board, faults) = board::read(id, text, &Library::new(), &vocabulary());
    assert_eq!(board.is_none(), !faults.is_empty());
    faults
        .iter()
        .map(|f| {
            let p = sources.place(f.span);
            format!(
                "{}:{} {}{}",
                p.line,
                p.column,
                f.message,
                f.suggestion
                    .as_ref()
                    .map(|s| format!(" [{s}]"))
                    .unwrap_or_default()
            )
        })
        .collect()
}

#[test]
fn a_small_board_is_read() {
    let mut sources = Sources::new();
    let id = sources.add("b.toml", GOOD);
    let (board, faults) = board::read(id, GOOD, &Library::new(), &vocabulary());
    assert!(faults.is_empty(), "{faults:?}");
    let board = board.unwrap();
    assert_eq!(board.conditions.ambient_k, (275.15, 311.15));
    let channel = &board.channels[0];
    assert_eq!(
        channel.chain[0].valued("bottom").unwrap().value.nominal,
        15e3
    );
    // 20 mV + 0.5 % of 4 V
    assert!((channel.limit_at(4.0).unwrap() - 0.04).abs() < 1e-15);
    assert!(matches!(
        channel.reference.as_ref().unwrap().value,
        board::Against::Supply(board::Supply::Rail(0))
    ));
}

#[test]
fn all_faults_come_at_once_each_at_its_place() {
    let text = GOOD
        .replace("\"3.3 V ± 2 %\"", "\"3.3 A ± 2 %\"")
        .replace("0 V to 5 V", "5 V to 0 V")
        .replace("top = \"10 kΩ 0.1 %\"", "topp = \"10 kΩ 0.1 %\"")
        .replace("input = \"adc\"", "input = \"acd\"")
        .replace(
            "quantity = \"voltage\"",
            "quantity = \"voltage\"\nacuracy = \"1 V\"",
        );
    let said = faults(&text);
    let has = |start: &str, part: &str| {
        assert!(
            said.iter()
                .any(|s| s.starts_with(start) && s.contains(part)),
            "{start} {part}\n{said:#?}"
        )
    };
    has("7:", "current");
    has("13:1 ", "unknown key `acuracy`");
    has("14:", "");
    has("16:", "unknown key `topp`");
    has("16:", "has no `top`");
    has("17:9 ", "no controller or converter is named `acd`");
    assert!(said.iter().any(|s| s.contains("[adc]")), "{said:#?}");
    assert!(said.iter().any(|s| s.contains("[top]")), "{said:#?}");
}

#[test]
fn rails_in_a_loop_and_names_used_twice_are_told() {
    let text = format!(
        "{GOOD}[rails.a]\nfrom = \"b\"\n[rails.b]\nfrom = \"a\"\n[references.main]\nvoltage = \"2.5 V\"\n"
    );
    let said = faults(&text);
    assert!(
        said.iter()
            .any(|s| s.contains("feed each other in a loop: a, b")),
        "{said:#?}"
    );
    assert!(
        said.iter().any(|s| s.contains("`main` is used twice")),
        "{said:#?}"
    );
}

#[test]
fn hostile_texts_give_faults_and_no_panic() {
    for text in [
        "",
        "channels = 3",
        "[channels.x]\nquantity = \"voltage\"\nspan = \"NaN V to 1 V\"",
        "[channels.x]\nquantity = \"voltage\"\nspan = \"1 V to 1 V\"",
        "[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1e999 V\"",
        "[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\nchain = [{ divider = { top = \"-1 kΩ\", bottom = \"1 kΩ\" } }]",
        "[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\naccuracy = \"0 V\"",
        "[channels.\"\"]\n",
        "a = [[[[[[[[",
        "\u{0}",
    ] {
        assert!(!faults(text).is_empty(), "{text:?}");
    }
}
