//! Every check finds what it is there for.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "tests"
)]

use finding::SourceId;
use parts::{Origin, Part, parse};

const HEAD: &str = "title = \"x\"\nbasis = \"invented\"\n";

/// The part of a text that reads without a fault.
fn part(text: &str) -> Part {
    let (mut parts, faults) = parse(SourceId(0), text, &Origin::InPlace);
    assert!(faults.is_empty(), "{faults:?}\n{text}");
    parts.remove(0)
}

fn found(part: &Part, message: &str) {
    let messages: Vec<String> = part.check().into_iter().map(|f| f.message).collect();
    assert!(
        messages.iter().any(|m| m.contains(message)),
        "no \"{message}\" in {messages:?}"
    );
}

fn resistor(figures: &str) -> Part {
    part(&format!(
        "[part]\nid = \"r\"\nkind = \"resistor\"\n{HEAD}[figures]\n{figures}\n"
    ))
}

fn sensor(keys: &str, figures: &str) -> Part {
    part(&format!(
        "[part]\nid = \"s\"\nkind = \"sensor\"\n{keys}\n{HEAD}[figures]\n{figures}\n"
    ))
}

fn controller(rest: &str) -> Part {
    part(&format!(
        "[part]\nid = \"c\"\nkind = \"controller\"\n{HEAD}[figures]\nsupply = \"2 V to 3.6 V\"\n{rest}\n"
    ))
}

const UNIT: &str = "[[converter]]\nname = \"adc\"\nbits = 12\n";
const GOOD: &str = "tolerance = \"1 %\"\ndrift = { max = \"50 ppm/K\" }";

#[test]
fn a_good_part_has_no_fault() {
    assert_eq!(resistor(GOOD).check(), []);
    let unit = format!(
        "{UNIT}channels = [\"0\"]\nreferences = [{{ name = \"supply\", from = \"supply\" }}]"
    );
    assert_eq!(controller(&unit).check(), []);
}

#[test]
fn columns_in_order() {
    let swapped = "power = { min = \"2 W\", max = \"1 W\" }";
    found(
        &resistor(&format!("{GOOD}\n{swapped}")),
        "`power` of part `r` has columns out of order",
    );
    let large = "tolerance = { typ = \"3 %\", max = \"1 %\" }\ndrift = { max = \"50 ppm/K\" }";
    found(&resistor(large), "out of order");
}

#[test]
fn alternatives_are_checked_too() {
    let text = "power = [{ max = \"1 W\" }, { min = \"2 W\", max = \"1 W\" }]";
    found(&resistor(&format!("{GOOD}\n{text}")), "out of order");
}

#[test]
fn published_has_document() {
    let text = format!("{GOOD}\npower = {{ max = \"1 W\", basis = \"published\" }}");
    found(&resistor(&text), "is published but names no document");
    let text = format!("{GOOD}\npower = {{ max = \"1 W\", basis = \"measured\" }}");
    found(&resistor(&text), "is measured but names no document");
}

#[test]
fn contained_figure_exists() {
    let text = format!("{GOOD}\nageing = {{ max = \"1 %\", part-of = \"tolerence\" }}");
    let part = resistor(&text);
    found(&part, "is part of `tolerence`");
    let fault = part.check().remove(0);
    assert_eq!(fault.suggestion.as_deref(), Some("tolerance"));
    let text = format!("{GOOD}\nageing = {{ max = \"1 %\", part-of = \"ageing\" }}");
    found(&resistor(&text), "is part of `ageing`");
}

#[test]
fn one_tolerance() {
    let text = format!("{GOOD}\nresistance = \"10 kΩ 1 %\"");
    found(&resistor(&text), "twice");
}

#[test]
fn positive_property() {
    found(
        &resistor(&format!("{GOOD}\nresistance = \"-5 Ω\"")),
        "is negative",
    );
}

#[test]
fn drift_has_method() {
    let mut part = resistor(GOOD);
    part.figures.get_mut("drift").expect("the drift").method = None;
    found(&part, "is a drift without a method");
}

#[test]
fn noise_is_stated() {
    let reference = |figures: &str| {
        part(&format!(
            "[part]\nid = \"v\"\nkind = \"series-reference\"\n{HEAD}[figures]\nvoltage = \"2.5 V 0.1 %\"\n{figures}\n"
        ))
    };
    let slow = "noise-low-frequency = { typ = \"3 µV\" }";
    found(&reference(slow), "does not say how it is given");
    let wide = "noise-wide = { typ = \"100 µV\", given-as = \"rms\" }";
    found(&reference(wide), "does not say over which band");
    let good = "noise-low-frequency = { typ = \"3 µV\", given-as = \"peak-to-peak\" }\nnoise-wide = { typ = \"100 µV\", band = \"10 Hz to 10 kHz\" }";
    assert_eq!(reference(good).check(), []);
}

#[test]
fn numbers_are_finite() {
    let mut part = resistor(GOOD);
    part.figures.get_mut("drift").expect("the drift").max = Some(f64::NAN);
    found(&part, "is not a finite number");
}

#[test]
fn id_spelling_and_title() {
    for id in ["R", "r_1", "-r", "r--1", "r-", ""] {
        let mut part = resistor(GOOD);
        id.clone_into(&mut part.id);
        found(&part, "is not a good id");
    }
    let mut part = resistor(GOOD);
    part.title = " ".to_owned();
    found(&part, "has an empty title");
}

#[test]
fn required_figures() {
    found(&resistor("tolerance = \"1 %\""), "has no `drift`");
    let beta = "quantity = \"temperature\"\nlaw = \"thermistor-beta\"";
    found(&sensor(beta, "resistance-25 = \"10 kΩ\""), "has no `beta`");
    let open = format!("{beta}\nopen = [\"beta\"]");
    assert_eq!(sensor(&open, "resistance-25 = \"10 kΩ\"").check(), []);
}

#[test]
fn sensor_has_law_and_quantity() {
    found(&sensor("quantity = \"pressure\"", ""), "has no law");
    found(
        &sensor("law = \"bridge\"\nopen = [\"rated\", \"sensitivity\"]", ""),
        "does not say what it measures",
    );
    let wrong = "quantity = \"pressure\"\nlaw = \"shunt\"";
    found(
        &sensor(wrong, "resistance = \"1 Ω\""),
        "measures pressure by the law shunt",
    );
    let mut part = resistor(GOOD);
    part.law = Some("shunt".to_owned());
    found(&part, "is no sensor and has a law");
}

#[test]
fn options_known() {
    let couple = "quantity = \"temperature\"\nlaw = \"thermocouple\"";
    found(&sensor(couple, ""), "has no type");
    let wrong = format!("{couple}\noptions = {{ type = \"X\" }}");
    found(&sensor(&wrong, ""), "is \"X\"");
    let unknown = format!("{couple}\noptions = {{ type = \"K\", tipe = \"K\" }}");
    found(&sensor(&unknown, ""), "unknown option `tipe`");
}

#[test]
fn digital_sensor_complete() {
    let bare = part(&format!(
        "[part]\nid = \"d\"\nkind = \"digital-sensor\"\n{HEAD}[figures]\nsupply = \"2 V to 3 V\"\n"
    ));
    found(&bare, "measures nothing");
    found(&bare, "has no bus");
    let mut addressless = bare;
    addressless.buses = vec!["i2c".to_owned()];
    found(&addressless, "has no bus address");
}

#[test]
fn converter_complete() {
    found(&controller(UNIT), "has no reference");
    let from = format!("{UNIT}references = [{{ name = \"x\", from = \"suply\" }}]");
    found(&controller(&from), "is taken from \"suply\"");
    let share = format!("{UNIT}references = [{{ name = \"x\", from = \"supply\", share = 2 }}]");
    found(&controller(&share), "is not a share of its supply");
    let gain = format!("{UNIT}gains = [1, 0]\nreferences = [{{ name = \"external\" }}]");
    found(&controller(&gain), "has a gain of zero or less");
    let none = part(&format!(
        "[part]\nid = \"c\"\nkind = \"converter\"\n{HEAD}[figures]\nsupply = \"2 V to 3 V\"\n"
    ));
    found(&none, "has no [[converter]]");
    let mut resistor = resistor(GOOD);
    resistor.converters = controller(UNIT).converters;
    found(&resistor, "has a converter");
}

#[test]
fn channel_pins_exist() {
    let text = format!(
        "{UNIT}channels = [{{ name = \"0\", pin = \"PA00\" }}]\nreferences = [{{ name = \"external\", pin = \"VREF\" }}]\n\
         [pins]\nPA0 = []\n"
    );
    let part = controller(&text);
    found(&part, "uses pin PA00");
    found(&part, "uses pin VREF");
}

#[test]
fn names_differ() {
    let twice = format!(
        "{UNIT}channels = [\"0\", \"0\"]\nreferences = [{{ name = \"a\" }}, {{ name = \"a\" }}]"
    );
    let part = controller(&twice);
    found(&part, "channel of converter `adc`, `0` appears twice");
    found(&part, "reference of converter `adc`, `a` appears twice");
    let units =
        format!("{UNIT}references = [{{ name = \"a\" }}]\n{UNIT}references = [{{ name = \"a\" }}]");
    found(&controller(&units), "converter `adc` appears twice");
}

#[test]
fn carrier_complete() {
    let carrier = part(&format!("[part]\nid = \"k\"\nkind = \"carrier\"\n{HEAD}"));
    found(&carrier, "is not complete");
    let mut resistor = resistor(GOOD);
    resistor.controller = Some("stm32f103".to_owned());
    found(&resistor, "is described as a carrier");
}

#[test]
fn addresses_usable() {
    for address in [0x00, 0x07, 0x78, 0x7f] {
        let mut part = resistor(GOOD);
        part.addresses = vec![address];
        found(&part, "is reserved");
    }
    let mut part = resistor(GOOD);
    part.addresses = vec![0x08, 0x77];
    assert_eq!(part.check(), []);
}

#[test]
fn parts_of_the_kind() {
    let mut part = resistor(GOOD);
    part.kind = "resitor".to_owned();
    found(&part, "is not a kind of part");
    let mut part = resistor(GOOD);
    part.pins = controller("[pins]\nPA0 = []\n").pins;
    found(&part, "has [pins]");
    let text = format!(
        "[part]\nid = \"r\"\nkind = \"resistor\"\n{HEAD}[figures]\n{GOOD}\n[measures.pressure]\naccuracy = \"1 Pa\"\n"
    );
    found(&self::part(&text), "has [measures]");
}
