//! What reading says, and that nothing can make it fall over.
#![allow(
    clippy::expect_used,
    clippy::unwrap_used,
    clippy::panic,
    reason = "tests"
)]

use finding::{InputFault, SourceId, Sources};
use parts::{Basis, DriftMethod, Library, Origin, Part, parse};
use proptest::prelude::*;

fn read(text: &str) -> (Vec<Part>, Vec<InputFault>) {
    parse(SourceId(0), text, &Origin::User("mine.toml".to_owned()))
}

fn said(text: &str) -> Vec<String> {
    let mut sources = Sources::new();
    let _ = sources.add("mine.toml", text);
    let (_, faults) = read(text);
    faults
        .iter()
        .map(|f| {
            let near = f
                .suggestion
                .as_deref()
                .map_or(String::new(), |s| format!(" -> {s}"));
            format!("{} {}{near}", sources.place(f.span), f.message)
        })
        .collect()
}

#[test]
fn all_faults_come_in_one_go_with_place_and_right_spelling() {
    let text = "\
[part]
id = \"x\"
kind = \"resistor\"
title = \"x\"
mkaer = \"y\"
basis = \"publshed\"
[figures]
tolerence = \"1 %\"
drift = { max = \"3 mV\", overr = 3 }
power = { max = 3 }
voltage = { conditions = \"none\" }
";
    assert_eq!(
        said(text),
        [
            "mine.toml:5:1 unknown key `mkaer` in part -> maker",
            "mine.toml:6:9 \"publshed\" is not one of the words for `basis` -> published",
            "mine.toml:8:1 a part of kind resistor has no figure `tolerence` -> tolerance",
            "mine.toml:9:18 3 mV is a voltage, not a relative change per kelvin",
            "mine.toml:9:25 unknown key `overr` in figure `drift` -> over",
            "mine.toml:10:17 `max` is a number without a unit",
            "mine.toml:11:11 figure `voltage` has no value",
        ]
    );
}

#[test]
fn unknown_kind_law_and_quantity_name_the_nearest() {
    let text = "[part]\nid = \"x\"\nkind = \"sensr\"\ntitle = \"x\"\nlaw = \"platinium\"\nquantity = \"temprature\"\n";
    assert_eq!(
        said(text),
        [
            "mine.toml:3:8 \"sensr\" is not a kind of part -> sensor",
            "mine.toml:5:7 \"platinium\" is not a known sensor law -> platinum",
            "mine.toml:6:12 \"temprature\" is not a known quantity -> temperature",
        ]
    );
}

#[test]
fn what_is_missing_is_said() {
    assert!(said("")[0].contains("has no `part`"));
    let messages = said("[part]\n").join("\n");
    for key in ["id", "kind", "title"] {
        assert!(
            messages.contains(&format!("part has no `{key}`")),
            "{messages}"
        );
    }
}

#[test]
fn points_must_be_pairs_in_order_of_one_unit() {
    let swing = |points: &str| {
        said(&format!(
            "[part]\nid = \"x\"\nkind = \"amplifier\"\ntitle = \"x\"\n[figures]\nswing-low = {{ points = {points} }}\n"
        ))
        .join("\n")
    };
    assert_eq!(swing("[[\"0 A\", \"5 mV\"], [\"1 mA\", \"20 mV\"]]"), "");
    assert!(swing("[[\"1 mA\", \"5 mV\"], [\"0 A\", \"20 mV\"]]").contains("not in order"));
    assert!(swing("[[\"1 mA\"]]").contains("not a pair"));
    assert!(swing("[3]").contains("not a pair"));
    assert!(swing("[]").contains("`points` is empty"));
    assert!(swing("[[\"1 V\", \"5 mV\"]]").contains("not a current"));
    assert!(swing("3").contains("`points`"));
    let mixed = "[part]\nid = \"x\"\nkind = \"controller\"\ntitle = \"x\"\n[[converter]]\nname = \"a\"\nbits = 8\n\
                 figures.inl = { min = \"-1 LSB\", max = \"2 mV\" }\n";
    assert!(
        said(mixed)
            .join("\n")
            .contains("mixes a number of codes with a voltage")
    );
}

#[test]
fn a_drift_or_words_after_a_value_are_refused() {
    let text = "[part]\nid = \"x\"\nkind = \"resistor\"\ntitle = \"x\"\n[figures]\nresistance = \"10 kΩ 1 % 25 ppm/K\"\n";
    assert!(said(text)[0].contains("has a drift after its value"));
    let text = text.replace("25 ppm/K", "film");
    assert!(said(&text)[0].contains("has words after its value"));
}

const FAMILY: &str = "\
[part]
id = \"family\"
kind = \"series-reference\"
title = \"family\"
source = { document = \"sheet\", revision = \"Rev. A\", place = \"page 1\" }
[figures]
voltage = { typ = \"2.5 V\" }
drift = { typ = \"5 ppm/K\", max = \"25 ppm/K\", over = \"0 °C to 70 °C\", place = \"Table 2\" }
noise-low-frequency = { typ = \"4 µV\", given-as = \"peak-to-peak\", basis = \"from-memory\" }
[variants.b]
title = \"grade b\"
figures.drift = { max = \"10 ppm/K\" }
figures.dropout = { max = \"0.3 V\", document = \"other sheet\" }
";

#[test]
fn a_grade_is_laid_over_its_family() {
    let (parts, faults) = read(FAMILY);
    assert!(faults.is_empty(), "{faults:?}");
    let ids: Vec<&str> = parts.iter().map(|p| p.id.as_str()).collect();
    assert_eq!(ids, ["family", "family-b"]);
    let (base, grade) = (&parts[0], &parts[1]);
    assert_eq!(base.figures["drift"].typ, Some(5e-6));
    let drift = &grade.figures["drift"];
    // The value is replaced as a whole, what is noted beside it stays.
    assert_eq!((drift.typ, drift.max), (None, Some(10e-6)));
    assert_eq!(drift.over_k, Some((273.15, 343.15)));
    assert_eq!(drift.source.to_string(), "sheet, Rev. A, Table 2");
    assert_eq!(drift.method, Some(DriftMethod::Box));
    assert!(!base.figures.contains_key("dropout"));
    assert_eq!(grade.title, "grade b");
}

#[test]
fn a_figure_names_only_documents_it_was_read_in() {
    let (parts, _) = read(FAMILY);
    let grade = &parts[1];
    assert_eq!(
        grade.figures["voltage"].source.to_string(),
        "sheet, Rev. A, page 1"
    );
    // Another document takes neither revision nor place of the first.
    assert_eq!(grade.figures["dropout"].source.to_string(), "other sheet");
    let noise = &grade.figures["noise-low-frequency"];
    assert_eq!(
        (noise.basis, noise.source.document.as_str()),
        (Basis::FromMemory, "")
    );
}

#[test]
fn a_family_may_consist_of_its_grades_alone() {
    let text = FAMILY.replace(
        "title = \"family\"",
        "title = \"family\"\nonly-variants = true",
    );
    let (parts, faults) = read(&text);
    assert!(faults.is_empty(), "{faults:?}");
    assert_eq!(parts.len(), 1);
    let without = text.split("[variants.b]").next().expect("the family");
    assert!(
        said(without)
            .join("\n")
            .contains("only-variants set and no variants")
    );
}

#[test]
fn a_grade_changes_a_converter_by_name() {
    let text = "[part]\nid = \"c\"\nkind = \"converter\"\ntitle = \"c\"\n[[converter]]\nname = \"adc\"\nbits = 24\n\
                figures.inl = { max = \"15 ppm\", conditions = \"all\" }\n\
                [variants.low]\nconverters.adc.bits = 16\nconverters.adc.figures.inl = { max = \"30 ppm\" }\n";
    let (parts, faults) = read(text);
    assert!(faults.is_empty(), "{faults:?}");
    let bits: Vec<u8> = parts.iter().map(|p| p.converters[0].bits).collect();
    assert_eq!(bits, [24, 16]);
    let inl = &parts[1].converters[0].figures["inl"];
    assert_eq!((inl.max, inl.conditions.as_str()), (Some(30e-6), "all"));
    let wrong = text.replace("converters.adc", "converters.dac");
    assert!(
        said(&wrong)
            .join("\n")
            .contains("the part has no converter `dac`")
    );
}

/// Texts of shipped files, the best start for damage.
fn shipped_texts() -> Vec<String> {
    let sources = Library::sources();
    (0..)
        .map(|i| sources.text(SourceId(i)).to_owned())
        .take_while(|text| !text.is_empty())
        .collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    /// Any text at all.
    #[test]
    fn property_no_text_makes_reading_panic(text in any::<String>()) {
        let (parts, _) = read(&text);
        for part in parts {
            let _ = part.check();
        }
    }

    /// TOML of the right shape with values that are not.
    #[test]
    fn property_no_value_makes_reading_panic(
        key in "[a-z-]{1,12}",
        value in prop_oneof![
            "\"[^\"\\\\\\n]{0,24}\"", "-?[0-9]{1,20}", "-?[0-9]{1,3}\\.[0-9]{1,3}e-?[0-9]{1,3}",
            "\\[\\[1, [0-9]{1,3}\\]\\]", "\\{ (min|max|typ) = \"[ -~]{0,12}\" \\}", "nan", "inf", "1979-05-27",
        ],
        kind in prop_oneof!["sensor", "amplifier", "controller", "capacitor", "[a-z]{1,8}"],
    ) {
        let value = value.replace("\"\"\"", "\"");
        let text = format!(
            "[part]\nid = \"x\"\nkind = \"{kind}\"\ntitle = \"x\"\nlaw = \"bridge\"\n[figures]\nsupply = {value}\n{key} = {value}\n"
        );
        let (parts, _) = read(&text);
        for part in parts {
            let _ = part.check();
            for (_, figure) in part.all_figures() {
                let _ = (figure.spread(), figure.at(0.0), figure.at_variable(f64::NAN));
            }
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// A shipped file with a piece cut out and another put in.
    #[test]
    fn property_a_damaged_file_never_makes_reading_panic(
        which in any::<prop::sample::Index>(),
        at in any::<prop::sample::Index>(),
        length in 0usize..40,
        inserted in prop_oneof!["[ -~]{0,8}", "[\\[\\]{}\"=.,\\n]{1,6}", "\\PC{0,4}"],
    ) {
        let texts = shipped_texts();
        let text = &texts[which.index(texts.len())];
        let characters: Vec<char> = text.chars().collect();
        let start = at.index(characters.len());
        let end = (start + length).min(characters.len());
        let mut damaged: String = characters[..start].iter().collect();
        damaged.push_str(&inserted);
        damaged.extend(&characters[end..]);
        let (parts, faults) = read(&damaged);
        for part in &parts {
            let _ = part.check();
        }
        for fault in &faults {
            let range = fault.span.range();
            prop_assert!(range.start <= range.end && range.end <= damaged.len());
        }
    }
}
