//! How far one value may go: answers worked out by hand beside each.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use parts::Library;
use report::{Bound, Found};
use verdict::{Ask, BoardFile, BoundFault, Sought, Vary};

fn ask(path: &str) -> Ask<'_> {
    Ask {
        path,
        vary: Vary::Value,
        channel: None,
        sought: Sought::HalfWidth,
        limit: None,
        largest: true,
        from: None,
        to: None,
    }
}

fn bound(text: &str, ask: &Ask<'_>) -> Result<Bound, BoundFault> {
    let (board, mut sources) = support::read(text);
    let source = sources.add("case.toml", text);
    verdict::bound(
        BoardFile {
            source,
            text,
            library: Library::shipped(),
            board,
        },
        ask,
        &|_| {},
    )
}

/// The value found and the result there.
fn value(found: &Bound) -> (f64, f64) {
    match found.found {
        Found::Value { value, result, .. } => (value, result),
        _ => panic!("{found:#?}"),
    }
}

/// A voltage over a pull-down of 10 kΩ, 2.25 V of 2.5 V at the top.
const LOADED: &str = r#"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 2.25 V"
accuracy = "10 mV"
sensor = { source-resistance = "0 Ω exact" }
chain = [{ pull-down = "10 kΩ 1 %" }]
input = "adc"
reference = "vref"
"#;

#[test]
fn the_largest_source_resistance_for_half_a_code_is_that_of_the_divider_it_makes() {
    // 4096 · 0.9 codes fall by the share r/(10 kΩ + r); half a code is the
    // share s = 0.5/3686.4, so r = 10 kΩ · s/(1 − s) = 1.3565 Ω.
    let share = 0.5 / (4096.0 * 0.9);
    let expected = 10e3 * share / (1.0 - share);
    let question = Ask {
        sought: Sought::CodeShift,
        from: Some("1 mΩ"),
        to: Some("1 MΩ"),
        ..ask("channels.x.sensor.source-resistance")
    };
    let found = bound(LOADED, &question).unwrap();
    let (r, codes) = value(&found);
    assert!((r / expected - 1.0).abs() < 1e-5, "{r} {expected}");
    assert!(codes <= 0.5 && codes > 0.4999, "{codes}");
    assert_eq!(found.value_unit, "Ω");
    // Preferred values on the safe side (IEC 60063: 1.3 and 1.33).
    let buy: Vec<(&str, f64)> = found
        .buy
        .iter()
        .map(|b| (b.series.as_str(), b.value))
        .collect();
    assert_eq!(buy, [("E24", 1.3), ("E96", 1.33)]);
    assert!(found.buy.iter().all(|b| b.result <= 0.5));
    // The reading moves by the same share: 10 mV of 2.25 V.
    let share = 10e-3 / 2.25;
    let question = Ask {
        sought: Sought::Shift,
        ..question
    };
    let (r, _) = value(&bound(LOADED, &question).unwrap());
    let expected = 10e3 * share / (1.0 - share);
    assert!((r / expected - 1.0).abs() < 1e-4, "{r} {expected}");
}

#[test]
fn the_tolerance_that_a_need_leaves_is_what_the_other_limits_leave() {
    // A divider of two equal resistors, the lower one exact: a relative
    // deviation d of the upper one turns 1/(2) into 1/(2 + d), seen from the
    // firmware's 2·V: an error of 4 V · d/(2 + d) at most, for d = −t.
    let text = r#"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[converters.adc]
supply = "logic"
bits = 24
[channels.x]
quantity = "voltage"
span = "0 V to 4 V"
accuracy = "10 mV"
chain = [{ divider = { top = "10 kΩ 0.1 %", bottom = "10 kΩ exact" } }]
input = "adc"
reference = "vref"
"#;
    let question = Ask {
        vary: Vary::Tolerance,
        sought: Sought::WorstCase,
        ..ask("channels.x.chain.divider.top")
    };
    let found = bound(text, &question).unwrap();
    // 4 V · t/(2 − t) = 10 mV gives t = 0.02/4.01 = 0.49875 %.
    let (t, error) = value(&found);
    assert!((t / (100.0 * 0.02 / 4.01) - 1.0).abs() < 1e-3, "{t}");
    assert!(error <= 10e-3 && error > 9.99e-3);
    assert_eq!(
        (found.value_unit.as_str(), found.varied.as_str()),
        ("%", "tolerance")
    );
    assert!(found.buy.is_empty(), "a tolerance is no value to buy");
}

#[test]
fn the_series_resistor_of_a_starved_shunt_reference() {
    // 100 µA at least for the reference and 100 µA for the converter, from a
    // rail of 4.75 V at least, at 3.000 V + 0.5 %:
    // (4.75 − 3.015)/200 µA = 8.675 kΩ.
    let text = r#"
[rails.main]
voltage = "5 V ± 5 %"
[parts.shunt-3v]
kind = "shunt-reference"
[parts.shunt-3v.figures]
voltage = { typ = "3.000 V" }
initial-accuracy = { max = "0.5 %" }
minimum-current = { max = "100 µA" }
[references.vref]
part = "shunt-3v"
supply = "main"
series = "10 kΩ exact"
load = "100 µA"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 2.9 V"
accuracy = "50 mV"
input = "adc"
reference = "vref"
"#;
    let question = Ask {
        sought: Sought::Check("shunt-current-low".to_owned()),
        ..ask("references.vref.series")
    };
    let found = bound(text, &question).unwrap();
    let (r, current) = value(&found);
    assert!((r - 8675.0).abs() < 1.0, "{r}");
    assert!((current - 100e-6).abs() < 1e-9, "{current}");
    assert_eq!(found.result_unit, "A");
    let buy: Vec<f64> = found.buy.iter().map(|b| b.value).collect();
    assert_eq!(buy, [8200.0, 8660.0]);
}

#[test]
fn all_channels_are_asked_where_none_is_meant() {
    // Both hang on one rail's tolerance as an absolute voltage against it;
    // the one that asks more of it decides: 4 mV of 2 V is 0.2 %.
    let channel = |name: &str, accuracy: &str| {
        format!(
            "[channels.{name}]\nquantity = \"voltage\"\nspan = \"0 V to 2 V\"\naccuracy = \"{accuracy}\"\ninput = \"adc\"\nreference = \"logic\"\n"
        )
    };
    let text = format!(
        "[rails.logic]\nvoltage = \"3.3 V ± 1 %\"\n[converters.adc]\nsupply = \"logic\"\nbits = 24\n{}{}",
        channel("loose", "40 mV"),
        channel("strict", "4 mV")
    );
    let question = Ask {
        vary: Vary::Tolerance,
        sought: Sought::WorstCase,
        ..ask("rails.logic.voltage")
    };
    let found = bound(&text, &question).unwrap();
    let (t, _) = value(&found);
    assert_eq!(found.channel, "strict");
    // A rail lower by t reads 2/(1 − t): 2t/(1 − t) = 4 mV.
    let expected = 100.0 * 0.004 / 2.004;
    assert!((t / expected - 1.0).abs() < 1e-3, "{t} {expected}");
    let one = Ask {
        channel: Some("loose"),
        ..question
    };
    let (t, _) = value(&bound(&text, &one).unwrap());
    assert!((t / (100.0 * 0.04 / 2.04) - 1.0).abs() < 1e-3, "{t}");
}

#[test]
fn smallest_and_ends_and_bare_numbers() {
    // The smallest pull-down for a source of 10 Ω and half a code: the same
    // divider seen from its other end.
    let text = LOADED.replace("\"0 Ω exact\"", "\"10 Ω\"");
    let question = Ask {
        sought: Sought::Check("nothing".to_owned()),
        ..ask("channels.x.chain.pull-down")
    };
    let fault = bound(&text, &question).unwrap_err();
    assert!(fault.message.contains("no result `nothing`"), "{fault:?}");
    assert!(fault.expected.contains("half-width"), "{fault:?}");
    // The end of the span up to which an error of 1 % of what is read stays
    // within 10 mV: 1 V, worst case, exact otherwise.
    let text = LOADED
        .replace("bits = 12", "bits = 24")
        .replace("\"2.5 V\"", "\"2.5 V ± 1 %\"");
    let question = Ask {
        vary: Vary::High,
        sought: Sought::WorstCase,
        ..ask("channels.x.span")
    };
    let (end, _) = value(&bound(&text, &question).unwrap());
    // Read too high by 1/(0.99): q · 0.01/0.99 = 10 mV.
    assert!((end - 0.99).abs() < 1e-3, "{end}");
    // Bits are whole numbers; a code of half the error asked is enough:
    // 2.5 V/2^n · 0.5 ≤ 10 mV gives n = 7.
    let text = LOADED.replace(" 1 %\"", " exact\"");
    let question = Ask {
        largest: false,
        sought: Sought::WorstCase,
        from: Some("2"),
        to: Some("24"),
        ..ask("converters.adc.bits")
    };
    let found = bound(&text, &question).unwrap();
    assert!((value(&found).0 - 7.0).abs() < 1e-12, "{found:?}");
}

#[test]
fn never_and_always_are_answers() {
    let question = Ask {
        limit: Some("1 µV"),
        sought: Sought::Propagation,
        ..ask("channels.x.chain.pull-down")
    };
    let found = bound(LOADED, &question).unwrap();
    assert_eq!(found.found, Found::Never);
    let question = Ask {
        limit: Some("1 V"),
        ..question
    };
    assert_eq!(bound(LOADED, &question).unwrap().found, Found::Always);
}

#[test]
fn what_cannot_be_asked_is_said_with_the_nearest_right_spelling() {
    let fault = |question: &Ask<'_>| bound(LOADED, question).unwrap_err();
    let f = fault(&ask("channels.x.chian"));
    assert!(f.message.contains("has no `chian`"), "{f:?}");
    assert_eq!(f.suggestion.as_deref(), Some("chain"));
    let f = fault(&Ask {
        channel: Some("y"),
        ..ask("rails.logic.voltage")
    });
    assert!(f.expected.contains('x'), "{f:?}");
    let f = fault(&Ask {
        limit: Some("10 kΩ"),
        ..ask("channels.x.chain.pull-down")
    });
    assert!(f.message.contains("10 kΩ"), "{f:?}");
    let f = fault(&ask("channels.x.sensor.source-resistance"));
    assert!(f.expected.contains("--from"), "{f:?}");
    let f = fault(&ask("channels.x"));
    assert!(f.message.contains("is a table"), "{f:?}");
    let f = fault(&ask("channels.x.span"));
    assert!(f.expected.contains("--vary"), "{f:?}");
}

#[test]
fn a_board_that_cannot_be_read_beyond_is_told() {
    // Above the high end of the span there is no low end.
    let question = Ask {
        vary: Vary::Low,
        from: Some("0 V"),
        to: Some("3 V"),
        sought: Sought::Propagation,
        ..ask("channels.x.span")
    };
    let found = bound(LOADED, &question).unwrap();
    let (low, _) = value(&found);
    assert!(low < 2.25 && low > 2.24, "{low}");
    assert!(!found.beyond.is_empty(), "{found:?}");
}
