//! A part written in a board file says once where its figures are printed.
#![allow(clippy::unwrap_used, reason = "tests")]

use document::Faults;
use finding::SourceId;

#[test]
fn the_source_of_a_part_is_that_of_its_figures() {
    let text = "kind = \"logic\"\nsource = { document = \"DS1234\", revision = \"Rev. B\" }\n[figures]\ninput-low = { max = \"0.8 V\" }\ninput-high = { min = \"2 V\", place = \"Table 5\" }\n";
    let (table, _) = document::parse(SourceId(0), text);
    let faults = Faults::new();
    let part = parts::part_in_place("x", &table, &faults).unwrap();
    assert!(faults.into_list().is_empty());
    let said = |name: &str| part.figure(name).unwrap().source.to_string();
    assert!(
        said("input-low").contains("DS1234"),
        "{}",
        said("input-low")
    );
    let high = said("input-high");
    assert!(
        high.contains("DS1234") && high.contains("Table 5"),
        "{high}"
    );
}
