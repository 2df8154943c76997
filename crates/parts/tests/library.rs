//! The shipped library as a whole.
#![allow(clippy::expect_used, reason = "tests")]

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use finding::SourceId;
use parts::{Basis, Library, Origin, Part, kinds, parse};

fn toml_files(folder: &Path, found: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(folder).expect("the library folder") {
        let path = entry.expect("a folder entry").path();
        if path.is_dir() {
            toml_files(&path, found);
        } else if path.extension().is_some_and(|e| e == "toml") {
            let text = path.to_string_lossy().replace('\\', "/");
            let at = text.find("library/").expect("a path below the library");
            found.insert(text[at..].to_owned());
        }
    }
}

#[test]
fn every_file_of_the_folder_is_built_in() {
    let mut on_disk = BTreeSet::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../library");
    toml_files(&folder, &mut on_disk);
    let sources = Library::sources();
    let built_in: BTreeSet<String> = (0..)
        .map(|index| sources.name(SourceId(index)).to_owned())
        .take_while(|name| !name.is_empty())
        .collect();
    assert_eq!(on_disk, built_in);
}

#[test]
fn every_kind_has_a_part() {
    let library = Library::shipped();
    let used: BTreeSet<&str> = library.iter().map(|part| part.kind.as_str()).collect();
    let known: BTreeSet<&str> = kinds().iter().map(|kind| kind.name).collect();
    assert_eq!(used, known);
}

/// One id for each family whose figures were gathered from data sheets.
const FAMILIES: [&str; 56] = [
    // controllers
    "stm32f103",
    "stm32g474",
    "kl25",
    "esp32",
    "esp32-s3",
    "aducm360",
    "rp2040",
    "st10f269",
    "mc9s12xe",
    "nrf52840",
    // references
    "adr5041",
    "ref192",
    "adr121",
    "adr441",
    "adr525",
    "lt6654-2v5-a",
    "lt1790-2v5-a",
    // amplifiers
    "ad8422",
    "ad620",
    "ad8237",
    "ad8655",
    "ada4530-1",
    "ad8628",
    "ada4522-2",
    // sensors
    "tmp36",
    "mpx5010",
    "mpxv7002",
    "acs712-5a",
    "bpw34",
    "adxl335",
    "hih4000",
    "platinum-100-class-a",
    "ntcle100e3-2-percent",
    "ntc-10k-3435-1-percent",
    "load-cell",
    "glass-electrode",
    // digital sensors
    "sht40",
    "adt7420",
    "adxl345",
    "lis3dh",
    "lis3mdl",
    "lps25hb",
    "hts221",
    "ms5611",
    "mlx90614-5v",
    "veml7700",
    // converters
    "ad7799",
    "ad7124-4",
    "ltc2415",
    "ltc2401",
    // regulators, transistor and logic
    "ncp189-3v3",
    "bss138",
    "mm74hc125",
    "74lvc1t45",
    "74hct125",
    "pca9517a",
];

#[test]
fn every_family_is_there() {
    let library = Library::shipped();
    let missing: Vec<&str> = FAMILIES
        .into_iter()
        .filter(|id| library.get(id).is_none())
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
    assert!(library.get("lt1761-3v3").is_some());
}

#[test]
fn only_the_fictional_carriers_are_invented() {
    for part in Library::shipped().iter() {
        for (place, figure) in part.all_figures() {
            let invented = figure.basis == Basis::Invented;
            let fictional = part.maker.contains("(fictional)");
            assert_eq!(invented, fictional, "{} {place} {}", part.id, figure.name);
        }
    }
}

#[test]
fn a_carrier_exposes_pins_of_its_controller() {
    let library = Library::shipped();
    let carrier = library.get("press-house-f103").expect("the carrier");
    let controller = library
        .get(carrier.controller.as_deref().expect("its controller"))
        .expect("the controller");
    let converter = controller.converter("").expect("one converter");
    let reachable = converter
        .channels
        .iter()
        .filter(|channel| carrier.exposes.contains(&channel.pin))
        .count();
    // 48-pin packages have ten channels (STM32F103x8/xB data sheet, Table 5).
    assert_eq!(reachable, 10);
}

fn user_part(id: &str, path: &str) -> Part {
    let text = format!(
        "[part]\nid = \"{id}\"\nkind = \"resistor\"\ntitle = \"mine\"\nbasis = \"common-practice\"\n\
         [figures]\ntolerance = \"1 %\"\ndrift = {{ max = \"50 ppm/K\" }}\n"
    );
    let (mut parts, faults) = parse(SourceId(900), &text, &Origin::User(path.to_owned()));
    assert!(faults.is_empty(), "{faults:?}");
    parts.remove(0)
}

#[test]
fn a_user_part_joins_the_shipped_ones() {
    let (library, faults) = Library::with(vec![user_part("my-resistor", "mine.toml")]);
    assert!(faults.is_empty(), "{faults:?}");
    assert_eq!(library.len(), Library::shipped().len() + 1);
    assert!(library.get("my-resistor").is_some());
    assert_eq!(library.nearest("my-resitor"), Some("my-resistor"));
}

#[test]
fn a_user_part_that_shadows_another_is_reported_with_both_places() {
    let (library, faults) = Library::with(vec![user_part("adr5041", "mine.toml")]);
    assert_eq!(faults.len(), 1);
    let message = &faults[0].message;
    assert!(message.contains("mine.toml"), "{message}");
    assert!(message.contains("the shipped library"), "{message}");
    let kept = library.get("adr5041").expect("the shipped part");
    assert_eq!(kept.kind, "shunt-reference");

    let twice = vec![user_part("mine", "one.toml"), user_part("mine", "two.toml")];
    let (_, faults) = Library::with(twice);
    let message = &faults[0].message;
    assert!(
        message.contains("one.toml") && message.contains("two.toml"),
        "{message}"
    );
}

#[test]
fn a_user_part_that_makes_no_sense_is_reported() {
    let mut part = user_part("my-resistor", "mine.toml");
    let tolerance = part.figures.get_mut("tolerance").expect("the tolerance");
    (tolerance.min, tolerance.max) = (Some(0.02), Some(0.01));
    let (_, faults) = Library::with(vec![part]);
    assert!(
        faults.iter().any(|f| f.message.contains("out of order")),
        "{faults:?}"
    );
}

#[test]
fn search_wants_every_word() {
    let library = Library::shipped();
    let found = |words: &str| -> BTreeSet<&str> {
        library
            .search(words)
            .iter()
            .map(|part| part.id.as_str())
            .collect()
    };
    assert!(found("humidity sensirion").contains("sht45"));
    assert!(found("HUMIDITY").contains("hih4000"));
    assert!(!found("humidity sensirion").contains("hih4000"));
    assert_eq!(found("").len(), library.len());
    assert!(found("no such words at all").is_empty());
}

#[test]
fn spans_of_shipped_parts_point_at_their_ids() {
    let sources = Library::sources();
    let mut by_file: BTreeMap<u32, usize> = BTreeMap::new();
    for part in Library::shipped().iter() {
        *by_file.entry(part.span.source.0).or_default() += 1;
        let written = sources.slice(part.span).trim_matches('"');
        assert!(part.id.ends_with(written), "{}: \"{written}\"", part.id);
    }
    assert!(by_file.len() > 70, "{} files", by_file.len());
}
