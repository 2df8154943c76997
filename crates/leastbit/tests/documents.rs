//! What the documents say of the files is what the program reads.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::path::PathBuf;

use board::{Field, FieldKind, Schema};
use parts::Library;

fn file(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
        .join("../..")
        .join(name)
}

fn text(name: &str) -> String {
    std::fs::read_to_string(file(name)).unwrap()
}

/// A board with a key that nobody knows in one of its tables.
fn with_unknown(place: &str) -> String {
    let channel = |more: &str| {
        format!(
            "[rails.v]\nvoltage = \"5 V\"\n[converters.adc]\nsupply = \"v\"\nbits = 8\n[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\n{more}\n"
        )
    };
    let fragment = channel("");
    match place {
        "file" => format!("zz = 1\n{fragment}"),
        "board" | "conditions" | "judging" | "scan" => format!("{fragment}[{place}]\nzz = 1\n"),
        "rails" => format!("{fragment}[rails.b]\nvoltage = \"3 V\"\nzz = 1\n"),
        "controllers" => format!("{fragment}[controllers.m]\npart = \"rp2040\"\nzz = 1\n"),
        "references" => format!("{fragment}[references.r]\nvoltage = \"3 V\"\nzz = 1\n"),
        "channels" => channel("zz = 1"),
        "input" => channel("input = { at = \"adc\", zz = 1 }"),
        "ac" => channel("ac = { frequency = \"50 Hz\", zz = 1 }"),
        "sensor" => channel("sensor = { zz = 1 }"),
        "conversion" => channel("conversion = { zz = 1 }"),
        "calibrate" => channel("calibrate = { at = [\"0 V\"], zz = 1 }"),
        "other" => channel("other = [{ name = \"a\", size = \"1 V\", zz = 1 }]"),
        "derived" => format!(
            "{fragment}[derived.d]\nquantity = \"voltage\"\nspan = \"0 V to 1 V\"\nformula = \"x\"\nzz = 1\n"
        ),
        "interferers" => {
            format!("{fragment}[interferers.i]\nfrequency = \"1 kHz\"\nzz = 1\n")
        }
        "battery" => {
            format!("{fragment}[rails.b]\nvoltage = \"3 V\"\nbattery = {{ zz = 1 }}\n")
        }
        "load" => format!(
            "{fragment}[rails.b]\nvoltage = \"3 V\"\nloads = [{{ name = \"l\", current = \"1 A\", zz = 1 }}]\n"
        ),
        "burst" => format!(
            "{fragment}[rails.b]\nvoltage = \"3 V\"\nbursts = [{{ current = \"1 A\", for = \"1 s\", zz = 1 }}]\n"
        ),
        "heat" => format!("{fragment}[heat.h]\npower = \"1 W\"\nzz = 1\n"),
        "returns" => {
            format!("{fragment}[returns.r]\nresistance = \"1 Ω\"\ncurrents = []\nzz = 1\n")
        }
        "devices" => format!("{fragment}[devices.d]\npart = \"sht41\"\nzz = 1\n"),
        "links" => format!("{fragment}[links.l]\nkind = \"i2c\"\nzz = 1\n"),
        "link-device" => format!(
            "{fragment}[links.l]\nkind = \"i2c\"\ndevices = [{{ device = \"adc\", zz = 1 }}]\n"
        ),
        "link-cable" => {
            format!("{fragment}[links.l]\nkind = \"i2c\"\ncable = {{ length = \"1 m\", zz = 1 }}\n")
        }
        "pins" => format!(
            "{fragment}[controllers.m]\npart = \"stm32f103\"\n[pins.m]\nPA0 = {{ zz = 1 }}\n"
        ),
        "period" => channel("period = { clock = \"1 MHz\", zz = 1 }"),
        "parts" => {
            format!("{fragment}[parts.p]\nkind = \"resistor\"\nzz = 1\n")
        }
        "words" => format!(
            "{fragment}[words.w]\nquantity = \"voltage\"\nbits = 8\nstep = \"1 mV\"\nzz = 1\n"
        ),
        "word-check" => format!(
            "{fragment}[words.w]\nquantity = \"voltage\"\nbits = 8\nstep = \"1 mV\"\ncheck = {{ kind = \"crc\", polynomial = 7, zz = 1 }}\n"
        ),
        "scenarios" => {
            format!("{fragment}[scenarios.s]\nset = {{ \"rails.v.voltage\" = \"4 V\" }}\nzz = 1\n")
        }
        "events" => format!(
            "{fragment}[scenarios.s]\nevents = [{{ at = \"0 s\", set = {{ \"rails.v.voltage\" = \"4 V\" }}, zz = 1 }}]\n"
        ),
        "claims" => format!(
            "{fragment}[[claims]]\nchannel = \"x\"\nresult = \"code\"\nvalue = \"3\"\nzz = 1\n"
        ),
        "cause" => format!(
            "{fragment}[[claims]]\nchannel = \"x\"\ncause = {{ shift = \"1 mV\", of = \"ground\", zz = 1 }}\n"
        ),
        "terminals" => format!("{fragment}[terminals.x]\nzz = 1\n"),
        "states" => {
            format!("{fragment}[terminals.x]\nstates = [{{ name = \"a\", open = true, zz = 1 }}]\n")
        }
        "networks" => format!("{fragment}[networks.n]\nelements = []\nzz = 1\n"),
        _ => panic!("no board for `{place}`"),
    }
}

/// The keys that the reader knows in a table: those it offers in place of one
/// that it does not.
fn known(place: &str) -> BTreeSet<String> {
    let text = with_unknown(place);
    let mut sources = finding::Sources::new();
    let id = sources.add("doc.toml", &text);
    let (_, faults) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
    let fault = faults
        .iter()
        .find(|f| f.message.contains("unknown key `zz`"))
        .unwrap_or_else(|| panic!("{place}: {faults:#?}"));
    fault
        .expected
        .trim_start_matches("one of ")
        .split(", ")
        .map(str::to_owned)
        .collect()
}

/// The keys in the first column of the table behind a mark.
fn documented(document: &str, place: &str) -> BTreeSet<String> {
    let rest = document
        .split(&format!("<!-- keys: {place} -->\n"))
        .nth(1)
        .unwrap_or_else(|| panic!("no table of `{place}`"));
    rest.lines()
        .take_while(|l| l.starts_with('|'))
        .skip(2)
        .map(|l| l.split('`').nth(1).unwrap().to_owned())
        .collect()
}

#[test]
fn every_key_of_the_board_file_is_in_its_document_and_no_other() {
    let document = text("docs/board-file.md") + &text("docs/judging.md");
    let places: Vec<&str> = document
        .split("<!-- keys: ")
        .skip(1)
        .map(|r| r.split(" -->").next().unwrap())
        .collect();
    assert!(places.len() >= 15, "{places:?}");
    let mut wrong = Vec::new();
    for place in places {
        let (there, wanted) = (documented(&document, place), known(place));
        for key in there.symmetric_difference(&wanted) {
            wrong.push(format!("{place}: {key}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The same of a part file.
fn known_of_part(place: &str) -> BTreeSet<String> {
    let part =
        "[part]\nid = \"x\"\nkind = \"resistor\"\ntitle = \"x\"\nsource = { document = \"d\" }\n";
    let text = match place {
        "file" => format!("zz = 1\n{part}[figures]\nresistance = \"1 Ω\"\n"),
        "part" => format!("{part}zz = 1\n[figures]\nresistance = \"1 Ω\"\n"),
        "figure" => format!("{part}[figures]\nresistance = {{ typ = \"1 Ω\", zz = 1 }}\n"),
        _ => panic!("no part for `{place}`"),
    };
    let mut sources = finding::Sources::new();
    let id = sources.add("doc.toml", &text);
    let (_, faults) = parts::parse(id, &text, &parts::Origin::Shipped);
    let fault = faults
        .iter()
        .find(|f| f.message.contains("unknown key `zz`"))
        .unwrap_or_else(|| panic!("{place}: {faults:#?}"));
    fault
        .expected
        .trim_start_matches("one of ")
        .split(", ")
        .map(str::to_owned)
        .collect()
}

#[test]
fn every_key_of_the_part_file_is_in_its_document_and_no_other() {
    let document = text("docs/part-file.md").replace("part keys:", "keys:");
    for place in ["file", "part", "figure"] {
        assert_eq!(
            documented(&document, place),
            known_of_part(place),
            "{place}"
        );
    }
}

/// What may stand behind a key.
fn kind(f: &Field) -> String {
    match f.kind {
        FieldKind::Valued(d) => format!("a value{}", dimension(d)),
        FieldKind::ValuedDifference(d) => format!("a difference{}", dimension(d)),
        FieldKind::Supply => "a supply".to_owned(),
        FieldKind::Node => "a node".to_owned(),
        FieldKind::Part(kinds) => format!("a part: {}", kinds.join(", ")),
        FieldKind::Word([]) => "a text".to_owned(),
        FieldKind::Word(words) => format!("one of {}", words.join(", ")),
        FieldKind::Number => "a number".to_owned(),
        FieldKind::Truth => "true or false".to_owned(),
        FieldKind::Channel => "a channel".to_owned(),
        FieldKind::Points(..) => "points, [[x, y], …]".to_owned(),
        FieldKind::ValuedList(d) => format!("a list of values{}", dimension(d)),
    }
}

fn dimension(d: quantity::Dimension) -> String {
    match quantity::symbol(d) {
        Some("") | None => String::new(),
        Some(unit) => format!(" in {unit}"),
    }
}

/// The tables of elements.
fn schemas(list: &[Schema]) -> String {
    let mut out = String::new();
    for s in list {
        let _ = writeln!(out, "### `{}`\n\n{}.\n", s.name, capital(s.meaning));
        if s.fields.is_empty() {
            continue;
        }
        out.push_str("| key | value | what |\n| --- | --- | --- |\n");
        for f in s.fields {
            let mut marks = String::new();
            if s.primary == Some(f.key) {
                marks.push_str(", may stand right behind the name");
            }
            if !f.required {
                marks.push_str(", optional");
            }
            let _ = writeln!(out, "| `{}` | {}{marks} | {} |", f.key, kind(f), f.meaning);
        }
        out.push('\n');
    }
    out
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters
        .next()
        .map(|c| c.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

/// The document with the parts in it that follow from the program.
fn filled(document: &str, parts: &[(&str, String)]) -> String {
    let mut out = document.to_owned();
    for (mark, new) in parts {
        let begin = format!("<!-- generated: {mark} -->\n");
        let end = format!("<!-- end: {mark} -->\n");
        let at = out.find(&begin).unwrap_or_else(|| panic!("no {begin}")) + begin.len();
        let until = out[at..].find(&end).map_or(at, |i| at + i + end.len());
        out.replace_range(at..until, &format!("\n{new}{end}"));
    }
    out
}

/// Compares a document with what it should be; with LEASTBIT_WRITE_DOCS set,
/// writes it instead.
fn compare(name: &str, parts: &[(&str, String)]) {
    let there = text(name);
    let wanted = filled(&there, parts);
    if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
        std::fs::write(file(name), wanted).unwrap();
        return;
    }
    let line = there
        .lines()
        .zip(wanted.lines())
        .find(|(a, b)| a != b)
        .map(|(a, b)| format!("it says\n{a}\nand should say\n{b}"));
    assert!(
        there == wanted,
        "{name} is behind the program: {}\nrun LEASTBIT_WRITE_DOCS=1 cargo test -p leastbit --test documents",
        line.unwrap_or_default()
    );
}

#[test]
fn the_tables_of_the_board_file_that_follow_from_the_program_are_up_to_date() {
    let vocabulary = chain::vocabulary();
    let mut quantities: Vec<&str> = parts::quantity_names().chain(["acidity"]).collect();
    quantities.sort_unstable();
    let ticked = |list: &[&str]| {
        let words: Vec<String> = list.iter().map(|w| format!("`{w}`")).collect();
        words.join(", ")
    };
    compare(
        "docs/board-file.md",
        &[
            (
                "quantities",
                format!("Quantities: {}.\n\n", ticked(&quantities)),
            ),
            ("laws", format!("Laws: {}.\n\n", ticked(&vocabulary.laws))),
            ("elements", schemas(&vocabulary.elements)),
        ],
    );
}

fn figures(list: &[&parts::FigureSpec]) -> String {
    let mut out = String::from("| figure | role | what |\n| --- | --- | --- |\n");
    for f in list {
        let role = parts::Role::ALL
            .iter()
            .find(|(_, r)| *r == f.role)
            .map_or("", |(w, _)| w);
        let _ = writeln!(out, "| `{}` | {role} | {} |", f.name, f.meaning);
    }
    out.push('\n');
    out
}

#[test]
fn the_tables_of_the_part_file_that_follow_from_the_program_are_up_to_date() {
    // What every kind may have stands once.
    let common: Vec<&parts::FigureSpec> = parts::kinds()
        .first()
        .unwrap()
        .all()
        .filter(|f| {
            parts::kinds()
                .iter()
                .all(|k| k.all().any(|g| g.name == f.name))
        })
        .collect();
    let own = |k: &parts::KindSpec| -> Vec<&parts::FigureSpec> {
        k.all()
            .filter(|f| common.iter().all(|c| c.name != f.name))
            .collect()
    };
    let mut kinds = format!("### Of every kind\n\n{}", figures(&common));
    for k in parts::kinds() {
        let _ = writeln!(kinds, "### `{}`\n\n{}.\n", k.name, capital(k.meaning));
        if !k.required.is_empty() {
            let words: Vec<String> = k.required.iter().map(|r| format!("`{r}`")).collect();
            let _ = writeln!(kinds, "It cannot do without {}.\n", words.join(", "));
        }
        if !own(k).is_empty() {
            kinds.push_str(&figures(&own(k)));
        }
    }
    let mut laws = String::new();
    for l in parts::laws() {
        let _ = writeln!(laws, "### `{}`\n\n{}.\n", l.name, capital(l.meaning));
        if !l.required.is_empty() {
            let words: Vec<String> = l.required.iter().map(|r| format!("`{r}`")).collect();
            let _ = writeln!(laws, "It cannot do without {}.\n", words.join(", "));
        }
        for (option, words) in l.options {
            let _ = writeln!(laws, "`options.{option}` is one of {}.\n", words.join(", "));
        }
        laws.push_str(&figures(&l.figures.iter().collect::<Vec<_>>()));
    }
    let inside = |scope: parts::Scope<'_>| figures(&scope.known());
    compare(
        "docs/part-file.md",
        &[
            ("kinds", kinds),
            ("laws", laws),
            ("converters", inside(parts::Scope::Converter)),
            ("converter-references", inside(parts::Scope::Reference)),
            ("converter-ranges", inside(parts::Scope::Range)),
            (
                "measures",
                inside(parts::Scope::Measure {
                    quantity: quantity::Dimension::NONE,
                }),
            ),
            ("carrier-rails", inside(parts::Scope::Rail)),
        ],
    );
}

#[test]
fn every_link_between_documents_leads_somewhere() {
    for name in [
        "README.md",
        "CONTRIBUTING.md",
        "ARCHITECTURE.md",
        "docs/board-file.md",
        "docs/part-file.md",
        "docs/judging.md",
        "docs/stages.md",
        "docs/networks.md",
        "docs/settling.md",
        "docs/adding-a-finding.md",
        "docs/adding-a-part.md",
        "docs/adding-a-sensor-law.md",
        "docs/adding-a-stage.md",
        "docs/dependencies.md",
    ] {
        let here = file(name);
        for piece in text(name).split("](").skip(1) {
            let target = piece.split(')').next().unwrap().split('#').next().unwrap();
            if target.is_empty() || target.starts_with("http") {
                continue;
            }
            let path = here.parent().unwrap().join(target);
            assert!(
                path.exists(),
                "{name} points at {target}, which is not there"
            );
        }
    }
}
