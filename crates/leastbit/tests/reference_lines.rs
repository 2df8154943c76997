//! Levels of digital lines against Kirchhoff's current law at their nodes,
//! written by hand from the drawing and solved by numpy: `reference/lines.py`,
//! where each line is described in words.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::collections::BTreeMap;

use finding::Sources;
use parts::Library;

const TABLE: &str = include_str!("../../../testdata/reference/lines.csv");

type Values = BTreeMap<String, f64>;

/// Given and found values of the cases of one line.
fn cases(line: &str) -> Vec<(Values, Values)> {
    let mut cases: BTreeMap<&str, (Values, Values)> = BTreeMap::new();
    for row in TABLE.lines().skip(1) {
        let [name, what, key, value] = row.split(',').collect::<Vec<_>>()[..] else {
            panic!("{row}");
        };
        if name.split(' ').next() == Some(line) {
            let case = cases.entry(name).or_default();
            let list = match what {
                "given" => &mut case.0,
                _ => &mut case.1,
            };
            list.insert(key.to_owned(), value.parse().unwrap());
        }
    }
    assert!(cases.len() >= 4, "{line}");
    cases.into_values().collect()
}

/// An end whose low output is `sink` ohms to ground and whose high output is
/// `out` ohms to its supply.
fn end(sink: f64, out: f64) -> String {
    format!(
        "[parts.end]\nkind = \"controller\"\ntitle = \"an end\"\nbasis = \"invented\"\n[parts.end.figures]\nsupply = {{ min = \"1 V\", max = \"6 V\" }}\ninput-low = {{ max = \"0.3 × supply\" }}\ninput-high = {{ min = \"0.7 × supply\" }}\noutput-low = {{ max = \"{} V\" }}\noutput-low-current = \"1 mA\"\noutput-high = {{ min = \"supply - {} V\" }}\noutput-high-current = \"1 mA\"\n",
        sink * 1e-3,
        out * 1e-3
    )
}

fn links(text: &str) -> report::Links {
    let mut sources = Sources::new();
    let id = sources.add("line.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    verdict::links(
        &board.unwrap_or_else(|| panic!("{faults:#?}\n{text}")),
        &sources,
    )
}

fn pair<'a>(links: &'a report::Links, link: &str, from: &str, to: &str) -> &'a report::LevelPair {
    let link = links.links.iter().find(|l| l.name == link).unwrap();
    link.levels
        .iter()
        .find(|p| p.driver == from && p.receiver == to)
        .unwrap_or_else(|| panic!("{:#?}", link.levels))
}

#[track_caller]
fn near(found: f64, wanted: f64) {
    assert!(
        (found - wanted).abs() <= 1e-6 * wanted.abs(),
        "{found} instead of {wanted}"
    );
}

#[test]
fn reference_a_pushed_line_with_a_divider() {
    for (g, found) in cases("pushed") {
        let (volt, series, top, bottom) = (g["volt"], g["series"], g["top"], g["bottom"]);
        let text = format!(
            "{}[rails.v]\nvoltage = \"{volt} V exact\"\n[controllers.a]\npart = \"end\"\nsupply = \"v\"\n[controllers.b]\npart = \"end\"\nsupply = \"v\"\n[links.l]\nkind = \"wire\"\ndriver = \"a\"\nreceivers = [\"b\"]\nseries = \"{series} Ω exact\"\ndivider = {{ top = \"{top} Ω exact\", bottom = \"{bottom} Ω exact\" }}\n",
            end(50.0, g["out"]),
        );
        let l = links(&text);
        let p = pair(&l, "l", "a", "b");
        near(p.high.0, found["high"]);
        near(p.high.1, found["high"]);
    }
}

#[test]
fn reference_an_open_drain_with_two_pull_ups_and_a_resistor_in_the_line() {
    for (g, found) in cases("pulled") {
        let (volt, series, one, two) = (g["volt"], g["series"], g["one"], g["two"]);
        let text = format!(
            "{}[rails.v]\nvoltage = \"{volt} V exact\"\n[controllers.a]\npart = \"end\"\nsupply = \"v\"\n[controllers.b]\npart = \"end\"\nsupply = \"v\"\n[links.l]\nkind = \"i2c\"\nsupply = \"v\"\ncontroller = \"a\"\ndevices = [\"b\"]\nseries = \"{series} Ω exact\"\npull-ups = [\"{one} Ω exact\", \"{two} Ω exact\"]\n",
            end(g["sink"], 50.0),
        );
        let l = links(&text);
        near(pair(&l, "l", "a", "b").low.1, found["low"]);
    }
}

#[test]
fn reference_a_low_level_on_both_sides_of_one_transistor() {
    for (g, found) in cases("translated") {
        let (v_near, v_far, one, two, on) = (g["near"], g["far"], g["one"], g["two"], g["on"]);
        let text = format!(
            "{}[parts.fet]\nkind = \"transistor\"\ntitle = \"a switch\"\nbasis = \"invented\"\n[parts.fet.figures]\ngate-threshold = {{ max = \"0.9 V\" }}\non-resistance = {{ max = \"{on} Ω\" }}\n[rails.near]\nvoltage = \"{v_near} V exact\"\n[rails.far]\nvoltage = \"{v_far} V exact\"\n[controllers.a]\npart = \"end\"\nsupply = \"near\"\n[controllers.c]\npart = \"end\"\nsupply = \"near\"\n[controllers.b]\npart = \"end\"\nsupply = \"far\"\n[devices.t]\npart = \"fet\"\nsupply = \"near\"\nsupply-b = \"far\"\n[links.n]\nkind = \"i2c\"\nsupply = \"near\"\ncontroller = \"a\"\ndevices = [\"c\"]\npull-ups = [\"{one} Ω exact\"]\n[links.f]\nkind = \"i2c\"\nsupply = \"far\"\nvia = {{ device = \"t\", from = \"n\" }}\ndevices = [\"b\"]\npull-ups = [\"{two} Ω exact\"]\n",
            end(g["sink"], 50.0),
        );
        let l = links(&text);
        near(pair(&l, "f", "a", "b").low.1, found["low_far"]);
        near(pair(&l, "n", "a", "c").low.1, found["low_near"]);
    }
}
