//! What holds for every stage there is.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use chain::channel::{CODE, ERROR};
use stage_support::{at, model};

/// A chain with each stage, for the sensor it suits.
const CHAINS: &[(&str, &str, &str)] = &[
    ("series", "volt", r#"{ series = "10 kΩ" }"#),
    ("resistor", "volt", r#"{ resistor = "47 kΩ", to = "vref" }"#),
    ("pull-up", "ohm", r#"{ pull-up = "2.2 kΩ", to = "vref" }"#),
    ("pull-down", "volt", r#"{ pull-down = "100 kΩ" }"#),
    ("current-source", "ohm", r#"{ current-source = "1 mA" }"#),
    ("voltage-source", "volt", r#"{ voltage-source = "10 mV" }"#),
    ("burden", "ampere", r#"{ burden = "100 Ω" }"#),
    (
        "divider",
        "volt",
        r#"{ divider = { top = "10 kΩ", bottom = "15 kΩ", switch = "analog-switch", at = "bottom" } }"#,
    ),
    (
        "level-shift",
        "volt",
        r#"{ level-shift = { r = "10 kΩ", shift = "20 kΩ", to = "vref" } }"#,
    ),
    (
        "low-pass",
        "volt",
        r#"{ low-pass = { r = "1 kΩ", c = "100 nF X7R" } }"#,
    ),
    (
        "clamp",
        "volt",
        r#"{ series = "1 kΩ" }, { clamp = { high = "no-leak", to = "main", low = "no-leak" } }"#,
    ),
    (
        "cable",
        "ohm",
        r#"{ cable = { length = "20 m", resistance = "84 mΩ/m" } }, { pull-up = "2.2 kΩ", to = "vref" }"#,
    ),
    (
        "multiplexer",
        "volt",
        r#"{ multiplexer = "multiplexer-8", supply = "main" }, { pull-down = "1 MΩ" }"#,
    ),
    ("buffer", "volt", r#"{ buffer = "op", supply = "main" }"#),
    (
        "non-inverting",
        "volt",
        r#"{ non-inverting = { part = "op", supply = "main", feedback = "10 kΩ", gain-resistor = "20 kΩ" } }"#,
    ),
    (
        "inverting",
        "volt",
        r#"{ inverting = { part = "op", supply = "main", input = "20 kΩ", feedback = "10 kΩ", to = "vref" } }"#,
    ),
    (
        "summing",
        "volt",
        r#"{ summing = { part = "op", supply = "main", input = "20 kΩ", add = "40 kΩ", from = "vref", feedback = "10 kΩ", to = "vref" } }"#,
    ),
    (
        "difference",
        "kilogram",
        r#"{ difference = { part = "op", supply = "main", input = "10 kΩ", feedback = "1 MΩ", to = "low" } }"#,
    ),
    (
        "instrumentation",
        "kilogram",
        r#"{ instrumentation = { part = "ina", supply = "main", gain-resistor = "100 Ω", reference = "low" } }"#,
    ),
    (
        "transimpedance",
        "ampere",
        r#"{ transimpedance = { part = "op", supply = "main", feedback = "100 Ω", to = "vref" } }"#,
    ),
    (
        "sallen-key",
        "volt",
        r#"{ sallen-key = { part = "op", supply = "main", r1 = "10 kΩ", r2 = "10 kΩ", c1 = "22 nF C0G", c2 = "10 nF C0G" } }"#,
    ),
    (
        "isolation",
        "volt",
        r#"{ isolation = { gain = "0.9", offset = "10 mV" } }"#,
    ),
];

fn board(sensor: &str, chain: &str) -> String {
    let (quantity, span, sensor) = match sensor {
        "ohm" => ("resistance", "100 Ω to 2 kΩ", ""),
        "ampere" => ("current", "4 mA to 20 mA", ""),
        "kilogram" => (
            "mass",
            "0 kg to 20 kg",
            r#"sensor = { law = "bridge", supply = "vref", figures = { sensitivity = { typ = "2 mV/V", max = "2 mV/V", min = "2 mV/V" }, rated = { typ = "20 kg", min = "20 kg", max = "20 kg" } } }"#,
        ),
        _ => (
            "voltage",
            "0.1 V to 2.4 V",
            r#"sensor = { law = "direct-voltage", source-resistance = "1 kΩ" }"#,
        ),
    };
    format!(
        r#"
[conditions]
ambient = "25 °C to 25 °C"
[rails.main]
voltage = "5 V ± 2 %"
[rails.low]
voltage = "0.2 V"
[references.vref]
voltage = "2.5 V"
[references.full]
voltage = "5 V"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = {{ max = "1 mV" }}
bias-current = {{ max = "1 nA" }}
supply = {{ min = "2 V", max = "20 V" }}
[parts.ina]
kind = "instrumentation-amplifier"
[parts.ina.figures]
supply = {{ min = "2 V", max = "20 V" }}
gain-range = {{ min = 1, max = 1000 }}
gain-resistance = {{ typ = "19.8 kΩ" }}
offset-voltage = {{ max = "60 µV" }}
[parts.no-leak]
kind = "diode"
[parts.no-leak.figures]
forward-voltage = {{ points = [["1 nA", "0.3 V"], ["1 mA", "0.7 V"]] }}
[converters.adc]
supply = "main"
bits = 24
[channels.x]
quantity = "{quantity}"
span = "{span}"
{sensor}
chain = [{chain}]
input = "adc"
reference = "full"
"#
    )
}

#[test]
fn property_conversion_that_is_not_spelled_out_inverts_every_stage() {
    // Everything nominal, the reading is the truth: what the stage does to the
    // voltage the conversion undoes, and the code moves.
    for kind in chain::stage::STAGES {
        let name = kind.schema.name;
        let (_, sensor, chain) = CHAINS
            .iter()
            .find(|c| c.0 == name)
            .unwrap_or_else(|| panic!("no chain with the stage {name}"));
        let m = model(&board(sensor, chain));
        let span = m.variables[0].grid.clone();
        let (low, high) = (span[0], span[span.len() - 1]);
        let mut codes = Vec::new();
        for share in [0.0, 0.37, 0.5, 1.0] {
            let truth = low + share * (high - low);
            let o = at(&m, &[("channels.x.quantity", truth)]);
            // Clamps conduct a little, and are not reckoned with.
            let allowed = if name == "clamp" { 1e-3 } else { 1e-9 };
            assert!(
                o[ERROR].abs() <= allowed * (high - low),
                "{name} at {share}: {}",
                o[ERROR]
            );
            codes.push(o[CODE]);
        }
        assert!((codes[3] - codes[0]).abs() > 1000.0, "{name}: {codes:?}");
    }
}

#[test]
fn property_every_stage_is_described() {
    for kind in chain::stage::STAGES {
        let schema = kind.schema;
        assert!(!schema.meaning.is_empty());
        for field in schema.fields {
            assert!(!field.meaning.is_empty(), "{} {}", schema.name, field.key);
        }
        if let Some(primary) = schema.primary {
            assert!(
                schema.fields.iter().any(|f| f.key == primary),
                "{} has no key {primary}",
                schema.name
            );
        }
    }
}

/// What is written for a kind of field.
fn described(kind: board::FieldKind) -> String {
    use board::FieldKind;
    use quantity::Dimension;
    match kind {
        FieldKind::Valued(d) if d == Dimension::NONE => "number".to_owned(),
        FieldKind::Valued(d) => {
            let known = [
                (Dimension::RESISTANCE, "resistance"),
                (Dimension::CAPACITANCE, "capacitance"),
                (Dimension::CURRENT, "current"),
                (Dimension::POWER, "power"),
                (Dimension::LENGTH, "length"),
                (
                    Dimension::RESISTANCE.over(Dimension::LENGTH),
                    "resistance for each length",
                ),
                (
                    Dimension::CAPACITANCE.over(Dimension::LENGTH),
                    "capacitance for each length",
                ),
            ];
            known
                .iter()
                .find(|k| k.0 == d)
                .map(|k| k.1.to_owned())
                .expect("a word for the dimension")
        }
        FieldKind::ValuedDifference(_) => "voltage".to_owned(),
        FieldKind::Supply => "supply".to_owned(),
        FieldKind::Part(kinds) => kinds.join(" or "),
        FieldKind::Word(words) => words.join(", "),
        FieldKind::Number => "number".to_owned(),
        other => panic!("no word for {other:?}"),
    }
}

/// The page on stages, but for its head.
fn page() -> String {
    let mut text = String::new();
    for kind in chain::stage::STAGES {
        let schema = kind.schema;
        let example = CHAINS.iter().find(|c| c.0 == schema.name).unwrap().2;
        text += &format!("\n## {}\n\n{}.\n\n", schema.name, capital(schema.meaning));
        text += &format!("```toml\nchain = [{example}]\n```\n\n");
        text += "| key | what | meaning |\n| --- | --- | --- |\n";
        for field in schema.fields {
            let need = if field.required { "" } else { ", optional" };
            let primary = if schema.primary == Some(field.key) {
                " (or directly behind the name)"
            } else {
                ""
            };
            text += &format!(
                "| `{}`{primary} | {}{need} | {} |\n",
                field.key,
                described(field.kind),
                field.meaning
            );
        }
    }
    text
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().collect::<String>() + letters.as_str())
        .unwrap_or_default()
}

#[test]
fn snapshot_page_on_stages_says_what_the_reader_reads() {
    // docs/stages.md: its head is written by hand, the rest follows from the
    // schemas. After a change take the text this test shows.
    let written = include_str!("../../../docs/stages.md");
    let expected = page();
    let (head, rest) = written.split_at(written.find("\n## ").expect("a first stage"));
    assert!(head.starts_with("# Stages\n"));
    assert!(
        rest == expected,
        "docs/stages.md should go on with:\n{expected}"
    );
}
