//! The cellar rack with mistakes planted: exactly they are found, each repair
//! takes its own finding away and no other, and nothing is left in the end.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::collections::BTreeSet;
use std::process::Command;

/// A planted mistake.
struct Mistake {
    /// Heading of the table it stands in.
    table: &'static str,
    /// What is written there.
    bad: &'static str,
    /// What should be.
    good: &'static str,
    /// The finding that names it.
    id: &'static str,
    /// The channel it is said of.
    channel: &'static str,
}

const fn mistake(
    table: &'static str,
    bad: &'static str,
    good: &'static str,
    id: &'static str,
    channel: &'static str,
) -> Mistake {
    Mistake {
        table,
        bad,
        good,
        id,
        channel,
    }
}

const MISTAKES: &[Mistake] = &[
    mistake(
        "[networks.tanks]",
        "\"1.5 kΩ 0.1 % 10 ppm/K\", name = \"pull-1\"",
        "\"10 kΩ 0.1 % 10 ppm/K\", name = \"pull-1\"",
        "sensor.self-heating",
        "tank-1",
    ),
    mistake(
        "[networks.tanks]",
        "\"100 Ω 0.1 % 10 ppm/K\", name = \"lift-2\"",
        "\"1 kΩ 0.1 % 10 ppm/K\", name = \"lift-2\"",
        "converter.input-range",
        "tank-2",
    ),
    mistake(
        "[channels.tank-1-level]",
        "burden = \"120 Ω",
        "burden = \"100 Ω",
        "loop.bands",
        "tank-1-level",
    ),
    mistake(
        "[channels.feed]",
        "reference = \"spare\"",
        "reference = \"vref\"",
        "reference.pin-shared",
        "feed",
    ),
    mistake(
        "[channels.headspace]",
        "- 0.4)",
        "- 0.04)",
        "firmware.conversion-differs",
        "headspace",
    ),
    mistake(
        "[channels.must-ph]",
        "supply = \"logic\"",
        "supply = \"main\"",
        "supply.device-range",
        "must-ph",
    ),
    mistake(
        "[channels.pump]",
        "{ steps = [{ let = \"scaled\", type = \"u16\", formula = \"code * 100\" }, { let = \
         \"reading\", type = \"f32\", formula = \"(scaled / 100.0 / feed.code - 0.5) / 0.037\" }] }",
        "{ formula = \"(code / feed.code - 0.5) / 0.037\", type = \"f32\" }",
        "firmware.overflow",
        "pump",
    ),
    mistake(
        "[channels.glycol]",
        "gate = \"0.5 s\"",
        "gate = \"5 s\"",
        "accuracy.not-met",
        "glycol",
    ),
    mistake(
        "[channels.backup-battery]",
        "bottom = \"12 kΩ",
        "bottom = \"9.1 kΩ",
        "reference.span-exceeds",
        "backup-battery",
    ),
    mistake(
        "[channels.room-humidity]",
        "sensor = { device = \"room\" }",
        "sensor = { device = \"room\", figures = { accuracy = { max = \"3.5 %RH\", basis = \
         \"measured\", document = \"press house, incoming inspection over salt solutions\" } } }",
        "figure.typical-only",
        "room-humidity",
    ),
    mistake(
        "[channels.room-temperature]",
        "warmed = \"3 K ± 1 K\", ",
        "",
        "sensor.warmed",
        "room-temperature",
    ),
    mistake(
        "[channels.room-co2]",
        "accuracy = \"70 ppm\"",
        "accuracy = [\"100 ppm\", \"5 % of reading\"]",
        "accuracy.thin",
        "room-co2",
    ),
    mistake(
        "[converters.scale]",
        "supply = \"logic\"",
        "supply = \"main\"",
        "reference.above-supply",
        "filling",
    ),
    mistake(
        "[channels.filling]",
        "reference = \"main\"\n",
        "reference = \"main\"\ncalibrate = { at = [\"0 kg\", \"40 kg\"], ambient = \"21 °C ± 2 \
         °C\", standard = \"10 g\" }\n",
        "accuracy.not-met",
        "filling",
    ),
    mistake(
        "[links.rack-bus]",
        "pull-ups = [\"33 kΩ 1 %\"]",
        "pull-ups = [\"4.7 kΩ 1 %\"]",
        "bus.pull-up-weak",
        "rack-bus",
    ),
    mistake(
        "[links.rack-bus]",
        "devices = [{ device = \"room\", poll = \"0.5 /s\", bytes = 8 }, \"hall\"]",
        "devices = [{ device = \"room\", poll = \"0.5 /s\", bytes = 8 }]",
        "bus.address-clash",
        "rack-bus",
    ),
    mistake(
        "[devices.room]",
        "supply = \"sensors\"",
        "supply = \"logic\"",
        "link.unpowered",
        "rack-bus",
    ),
    mistake(
        "[links.floor-bus]",
        "poll = \"2 /s\"",
        "poll = \"0.2 /s\"",
        "bus.polled-too-fast",
        "floor-bus",
    ),
    mistake(
        "[links.floor-bus]",
        "length = \"4 m\"",
        "length = \"2 m\"",
        "bus.pull-up-weak",
        "floor-bus",
    ),
    mistake(
        "[rails.logic]",
        "c = \"4.7 µF 20 %\"",
        "c = \"470 µF 20 %\"",
        "rail.droop",
        "logic",
    ),
    mistake(
        "[rails.main]",
        "limit = \"100 mA\"",
        "limit = \"2 A\"",
        "rail.over-limit",
        "main",
    ),
    mistake(
        "[returns.plug]",
        "currents = [\"2.5 A\"]",
        "currents = [\"60 mA\"]",
        "return.shift",
        "backup-battery",
    ),
    mistake(
        "[devices.relays]",
        "[devices.relays]\npart = \"levels-cmos\"\nsupply = \"main\"\nfigures.supply-current = { typ = \"1 mA\", max = \"2 mA\" }\n\n[links.fan]\nkind = \"wire\"\ndriver = \"mcu\"\nreceivers = [\"relays\"]\n\n",
        "",
        "link.level-high",
        "fan",
    ),
    mistake(
        "[words.co2]",
        "bits = 12",
        "bits = 16",
        "word.too-small",
        "room-co2",
    ),
    mistake(
        "[terminals.tank-1-level]",
        "current = \"3.9 mA\"",
        "current = \"3.4 mA\"",
        "fault.not-detected",
        "tank-1-level",
    ),
    mistake(
        "[terminals.tank-1-level]",
        "over-voltage = [\"24 V\"]\nstates",
        "states",
        "fault.damage",
        "tank-1-level",
    ),
];

fn example(name: &str) -> String {
    let path = format!("{}/../../examples/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

/// The text with one mistake repaired.
fn repaired(text: &str, m: &Mistake) -> String {
    let table = text.find(m.table).expect(m.table);
    let at = table + text[table..].find(m.bad).expect(m.bad);
    format!("{}{}{}", &text[..at], m.good, &text[at + m.bad.len()..])
}

/// Findings but hazards, which no edit repairs: id and channel.
fn findings(text: &str, name: &str) -> BTreeSet<(String, String)> {
    let path = std::env::temp_dir().join(format!("leastbit-m-{}-{name}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("check")
        .arg(&path)
        .arg("--json")
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&output.stderr)));
    let mut found = BTreeSet::new();
    for f in json["findings"].as_array().unwrap() {
        if f["severity"] == "hazard" {
            continue;
        }
        for subject in f["subjects"].as_array().unwrap() {
            let pair = (
                f["id"].as_str().unwrap().to_owned(),
                subject.as_str().unwrap().to_owned(),
            );
            assert!(found.insert(pair), "said twice: {f}");
        }
    }
    found
}

fn planted<'a>(mistakes: impl Iterator<Item = &'a Mistake>) -> BTreeSet<(String, String)> {
    mistakes
        .map(|m| (m.id.to_owned(), m.channel.to_owned()))
        .collect()
}

#[test]
fn exactly_the_planted_mistakes_are_found_and_each_repair_removes_its_own() {
    let bad = example("cellar-rack-mistakes.toml");
    assert!(MISTAKES.len() >= 24);
    assert_eq!(findings(&bad, "all"), planted(MISTAKES.iter()));
    std::thread::scope(|scope| {
        for half in [0, 1] {
            let bad = &bad;
            scope.spawn(move || {
                for (i, m) in MISTAKES.iter().enumerate().filter(|(i, _)| i % 2 == half) {
                    let left = MISTAKES.iter().enumerate().filter(|(j, _)| *j != i);
                    assert_eq!(
                        findings(&repaired(bad, m), &i.to_string()),
                        planted(left.map(|(_, m)| m)),
                        "{} repaired",
                        m.id
                    );
                }
            });
        }
    });
}

/// Lines of a table of the file, heading included, counted from 1.
fn lines_of(text: &str, table: &str) -> std::ops::Range<u64> {
    let start = text
        .lines()
        .position(|l| l.starts_with(table))
        .expect(table);
    let rest = text.lines().skip(start + 1);
    let length = rest.take_while(|l| !l.starts_with('[')).count();
    start as u64 + 1..(start + length) as u64 + 2
}

#[test]
fn every_mistake_is_named_in_its_table_or_in_its_channel_or_part() {
    let path = format!(
        "{}/../../examples/cellar-rack-mistakes.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args(["check", "--json", &path])
        .output()
        .unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let text = example("cellar-rack-mistakes.toml");
    for m in MISTAKES {
        let f = json["findings"]
            .as_array()
            .unwrap()
            .iter()
            .find(|f| {
                f["id"] == m.id
                    && f["subjects"]
                        .as_array()
                        .unwrap()
                        .contains(&m.channel.into())
            })
            .unwrap();
        let tables: Vec<String> = ["channels", "links", "rails"]
            .iter()
            .map(|kind| format!("[{kind}.{}]", m.channel))
            .filter(|t| text.contains(t.as_str()))
            .chain([m.table.to_owned()])
            .collect();
        let here = f["places"].as_array().unwrap().iter().any(|p| {
            let line = p["line"].as_u64().unwrap();
            let file = p["file"].as_str().unwrap();
            file.starts_with("library/")
                || tables.iter().any(|t| lines_of(&text, t).contains(&line))
        });
        assert!(here, "{f}");
    }
}

#[test]
fn with_every_repair_it_is_the_cellar_rack_and_nothing_is_found() {
    let mut text = example("cellar-rack-mistakes.toml");
    for m in MISTAKES {
        text = repaired(&text, m);
    }
    // What only the mistakes need goes with them.
    for extra in [
        "[references.spare]\npart = \"lt6654-2v5-a\"\nsupply = \"main\"\n\n",
        "[devices.hall]\npart = \"sht41\"\nsupply = \"logic\"\n\n",
        "[rails.sensors]                    # switched by a pin\nfrom = \"logic\"\nswitched = true\n\n",
    ] {
        assert!(text.contains(extra), "{extra}");
        text = text.replace(extra, "");
    }
    let body = |t: &str| t[t.find("[board]").unwrap()..].to_owned();
    let clean = example("cellar-rack.toml");
    assert_eq!(body(&text), body(&clean));
    assert_eq!(findings(&clean, "clean"), BTreeSet::new());
}

#[test]
fn the_trolley_raises_its_hazards_and_nothing_else() {
    let path = format!(
        "{}/../../examples/battery-trolley.toml",
        env!("CARGO_MANIFEST_DIR")
    );
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args(["check", "--json", &path])
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(0));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let mut ids: Vec<&str> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .map(|f| f["id"].as_str().unwrap())
        .collect();
    ids.sort_unstable();
    assert_eq!(
        ids,
        [
            "hazard.lithium-cells",
            "hazard.motor",
            "hazard.stored-energy",
            "hazard.voltage"
        ]
    );
}
