//! Input that no program should trust: a clear message each, and never a
//! panic.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use std::fmt::Write as _;
use std::process::Output;

use support::{code, folder, run, stderr, stdout, written};

const GOOD: &str = include_str!("../../../examples/first-divider.toml");

/// Every command that reads a board, on a file with this text.
fn everywhere(name: &str, text: impl AsRef<[u8]>) -> Vec<Output> {
    let file = written(name, text);
    let path = file.path();
    vec![
        run(&["check", &path]),
        run(&["check", "--json", &path]),
        run(&["budget", &path, "pump-supply"]),
        run(&["interference", &path]),
        run(&["response", &path]),
        run(&["noise", &path, "pump-supply"]),
        run(&["schedule", &path]),
        run(&["links", &path]),
        run(&["rails", &path]),
        run(&["course", &path, "pump-supply"]),
        run(&[
            "bound",
            &path,
            "channels.pump-supply.chain.divider.top",
            "--result",
            "propagation",
        ]),
    ]
}

/// Refused with exit code 2 by every command, with all of these words on the
/// error stream and nothing printed.
fn refused(name: &str, text: impl AsRef<[u8]>, wanted: &[&str]) {
    for output in everywhere(name, text) {
        let said = stderr(&output);
        assert_eq!(code(&output), 2, "{name}: {said}{}", stdout(&output));
        for w in wanted {
            assert!(said.contains(w), "{name}: no `{w}` in:\n{said}");
        }
        assert!(!said.contains("panicked"), "{said}");
        assert_eq!(stdout(&output), "", "{name}");
    }
}

/// Read and judged, whatever comes of it.
fn judged(name: &str, text: &str) -> String {
    let file = written(name, text);
    let output = run(&["check", &file.path()]);
    let said = stderr(&output);
    assert!(matches!(code(&output), 0 | 1), "{name}: {said}");
    assert!(!said.contains("panicked"), "{said}");
    let path = file.path();
    let mut asked = vec![
        vec!["response", path.as_str()],
        vec!["noise", path.as_str()],
        vec!["schedule", path.as_str()],
        vec!["links", path.as_str()],
    ];
    if text.contains("[channels.pump-supply]") {
        asked.push(vec!["course", path.as_str(), "pump-supply"]);
    }
    for arguments in asked {
        let output = run(&arguments);
        let said = stderr(&output);
        assert!(
            matches!(code(&output), 0 | 1),
            "{name} {arguments:?}: {said}"
        );
        assert!(!said.contains("panicked"), "{name} {arguments:?}: {said}");
    }
    stdout(&output)
}

fn with(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from), "{from}");
    GOOD.replace(from, to)
}

#[test]
fn files_that_are_none() {
    refused("empty", "", &["describes no channel", "[channels.NAME]"]);
    refused("blank", "\n\n  \n# nothing\n", &["describes no channel"]);
    refused("binary", b"\x7fELF\x02\x01\xff\xfe\x00\x80", &["not UTF-8"]);
    refused("zeros", [0_u8; 4096], &["expected"]);
    let large = format!("# {}\n{GOOD}", "x".repeat(10 << 20));
    refused("large", large, &["bytes", "at the most"]);
    let output = run(&["check", "/no/such/board.toml"]);
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("/no/such/board.toml: cannot be read"));
    let here = folder("as-board");
    let output = run(&["check", &here.path()]);
    assert_eq!(code(&output), 2);
    assert!(
        stderr(&output).contains("it is a folder"),
        "{}",
        stderr(&output)
    );
}

#[cfg(unix)]
#[test]
fn a_file_that_may_not_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let file = written("unreadable", GOOD);
    std::fs::set_permissions(file.path(), std::fs::Permissions::from_mode(0o000)).unwrap();
    let output = run(&["check", &file.path()]);
    if std::fs::read(file.path()).is_ok() {
        // Some users may read everything.
        assert_eq!(code(&output), 0);
    } else {
        assert_eq!(code(&output), 2);
        assert!(stderr(&output).contains("cannot be read"));
    }
}

#[cfg(unix)]
#[test]
fn a_device_without_an_end_is_not_read() {
    let output = run(&["check", "/dev/zero"]);
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("/dev/zero"), "{}", stderr(&output));
}

#[test]
fn text_that_is_not_toml() {
    refused("unclosed", with("[board]", "[board"), &[":2:", "expected"]);
    let cut = GOOD.find("span = ").unwrap() + 9;
    refused("half", &GOOD[..cut], &["expected"]);
    refused("prose", "Dear sir,\nthe board is ready.\n", &[":1:"]);
    let deep = format!("x = {}", "[".repeat(100_000));
    refused("deep", deep, &[":1:"]);
    let deep = format!("x = {}1{}", "{ a = ".repeat(50_000), " }".repeat(50_000));
    refused("deep-tables", deep, &[":1:"]);
    let twice = format!("{GOOD}\n[board]\nname = \"again\"\n");
    refused("twice", twice, &["board"]);
}

#[test]
fn numbers_that_are_none_or_make_no_sense() {
    for (name, from, to, wanted) in [
        ("nan", "\"60 mV\"", "nan", "accuracy"),
        ("nan-text", "\"60 mV\"", "\"NaN V\"", "NaN"),
        ("inf", "\"60 mV\"", "\"inf V\"", "inf"),
        ("unit", "47 kΩ", "47 kV", "resistance"),
        ("negative", "\"47 kΩ", "\"-47 kΩ", "negative"),
        (
            "no-capacitor",
            "{ divider = {",
            "{ low-pass = { r = \"1 kΩ\", c = \"0 F\" } }, { divider = {",
            "a capacitor of nothing",
        ),
        ("reversed", "0 V to 14 V", "14 V to 0 V", "span"),
        ("no-width", "0 V to 14 V", "3 V to 3 V", "width"),
        ("zero-accuracy", "\"60 mV\"", "\"0 V\"", "zero"),
        ("negative-accuracy", "\"60 mV\"", "\"-60 mV\"", "negative"),
        ("whole-tolerance", "47 kΩ 0.1 %", "47 kΩ 100 %", "100 %"),
        ("minus-tolerance", "47 kΩ 0.1 %", "47 kΩ ± -0.1 %", "sign"),
        ("bits", "bits = 12", "bits = 0", "bits"),
        ("many-bits", "bits = 12", "bits = 4000000000", "bits"),
        ("cold", "2 °C to 38 °C", "-300 °C to 38 °C", "absolute zero"),
        (
            "ambient-reversed",
            "2 °C to 38 °C",
            "38 °C to 2 °C",
            "38 °C",
        ),
    ] {
        refused(name, with(from, to), &[wanted]);
    }
}

#[test]
fn magnitudes_beyond_reason_give_an_answer_or_a_message() {
    for (name, from, to) in [
        ("zero-tolerance", "47 kΩ 0.1 %", "47 kΩ 0 %"),
        ("huge-resistor", "47 kΩ 0.1 %", "1e300 Ω 0.1 %"),
        ("tiny-resistor", "47 kΩ 0.1 %", "1e-300 Ω 0.1 %"),
        ("zero-resistor", "47 kΩ 0.1 %", "0 Ω"),
        ("huge-span", "0 V to 14 V", "0 V to 1e300 V"),
        ("tiny-span", "0 V to 14 V", "0 V to 1e-300 V"),
        ("hot", "2 °C to 38 °C", "2 °C to 1e12 °C"),
        ("strict", "\"60 mV\"", "\"1e-300 V\""),
        ("generous", "\"60 mV\"", "\"1e300 V\""),
        ("drift", "25 ppm/K", "1e12 ppm/K"),
        ("reference", "2.5 V ± 0.1 % 10 ppm/K", "1e-300 V"),
        ("reference-zero", "2.5 V ± 0.1 % 10 ppm/K", "0 V"),
        ("reference-minus", "2.5 V ± 0.1 % 10 ppm/K", "-2.5 V"),
    ] {
        let file = written(name, with(from, to));
        for arguments in [vec!["check"], vec!["check", "--json"]] {
            let path = file.path();
            let mut all = arguments.clone();
            all.push(&path);
            let output = run(&all);
            let said = format!("{}{}", stdout(&output), stderr(&output));
            assert!(matches!(code(&output), 0..=2), "{name}: {said}");
            assert!(!said.contains("panicked"), "{name}: {said}");
            assert!(said.len() > 20, "{name}: says nothing");
        }
    }
}

#[test]
fn what_is_named_and_is_not_there() {
    let board = |part: &str| {
        format!(
            "[rails.logic]\nvoltage = \"3.3 V\"\n[controllers.mcu]\npart = \"{part}\"\nsupply = \"logic\"\n[channels.pump-supply]\nquantity = \"voltage\"\nspan = \"0 V to 2 V\"\ninput = \"mcu\"\n"
        )
    };
    refused(
        "part",
        board("stm32f1o3"),
        &["stm32f1o3", "did you mean: stm32f103", ":4:"],
    );
    refused(
        "kind",
        board("ntc-10k-3950-1-percent"),
        &["does not fit here"],
    );
    refused(
        "rail",
        with("reference = \"vref\"", "reference = \"verf\""),
        &["did you mean: vref"],
    );
    refused(
        "key",
        with("accuracy =", "acuracy ="),
        &["acuracy", "did you mean: accuracy"],
    );
    refused(
        "stage",
        with("{ divider", "{ dividre"),
        &["did you mean: divider"],
    );
    refused(
        "quantity",
        with("\"voltage\"", "\"voltaeg\""),
        &["did you mean: voltage"],
    );
    // Several faults come in one go.
    let several = with("accuracy =", "acuracy =").replace("47 kΩ", "47 kV");
    refused("several", several, &["acuracy", "47 kV"]);
}

#[test]
fn rails_that_feed_each_other() {
    let ring = format!("{GOOD}\n[rails.a]\nfrom = \"b\"\n[rails.b]\nfrom = \"a\"\n");
    refused("ring", ring, &["in a loop", "a, b"]);
    let own = format!("{GOOD}\n[rails.a]\nfrom = \"a\"\n");
    refused("own", own, &["in a loop"]);
}

#[test]
fn a_circuit_that_has_no_solution_is_named() {
    // A current with nowhere to go.
    let floating = "[rails.logic]\nvoltage = \"3.3 V\"\n[converters.adc]\nsupply = \"logic\"\nbits = 12\n[channels.x]\nquantity = \"current\"\nspan = \"0 A to 1 mA\"\naccuracy = \"1 µA\"\ninput = \"adc\"\n";
    let file = written("floating", floating);
    let output = run(&["check", &file.path()]);
    assert_eq!(code(&output), 1, "{}", stderr(&output));
    let said = stdout(&output);
    assert!(said.contains("cannot be judged"), "{said}");
    assert!(said.contains("sensor"), "names the node: {said}");
}

/// A platinum element from `a` to ground with a resistor above it, and what
/// else stands in its network.
fn beside(elements: &str) -> String {
    format!(
        r#"[rails.main]
voltage = "3.3 V ± 1 %"
[controllers.mcu]
part = "stm32f103"
supply = "main"
[networks.loop]
elements = [
  {{ sensor = "room", from = "a", to = "gnd" }},
  {{ resistor = "1 kΩ 1 %", name = "top", from = "main", to = "a" }},
{elements}
]
[channels.room]
quantity = "temperature"
span = "0 °C to 250 °C"
accuracy = "2 °C"
sensor = "platinum-100-class-a"
network = "loop"
input = {{ at = "mcu.adc.0", plus = "a" }}
"#
    )
}

/// What hangs in the air or stands against something else is named with its
/// line, and with what would help.
#[test]
fn networks_without_a_solution_name_nodes_elements_and_lines() {
    for (name, elements, wanted) in [
        (
            "behind capacitors",
            r#"  { capacitor = "1 µF 10 %", name = "block", from = "a", to = "d" },
  { capacitor = "1 µF 10 %", name = "other", from = "d", to = "gnd" },"#,
            &["path to ground from d", ":10:3", "resistor from there"][..],
        ),
        (
            "island",
            r#"  { resistor = "1 kΩ 1 %", name = "left", from = "p", to = "q" },
  { resistor = "1 kΩ 1 %", name = "right", from = "q", to = "p" },"#,
            &["path to ground from p, q", ":10:3", "resistor from there"],
        ),
        (
            "behind an open switch",
            r#"  { switch = "open", name = "sw", from = "a", to = "d" },
  { capacitor = "1 µF 10 %", name = "cap", from = "d", to = "gnd" },"#,
            &["path to ground from d", ":10:3"],
        ),
        (
            "amplifier's input",
            r#"  { amplifier = "ad8628", name = "amp", plus = "x", minus = "y", out = "y", supply = "main" },
  { capacitor = "1 µF 10 %", name = "cap", from = "x", to = "gnd" },"#,
            &["path to ground from x", ":10:3"],
        ),
        (
            "two voltages",
            r#"  { voltage-source = "1 V", name = "one", from = "d", to = "gnd" },
  { voltage-source = "2 V", name = "two", from = "d", to = "gnd" },"#,
            &[
                "the current of one",
                "series with one of one and two",
                ":10:3",
            ],
        ),
        (
            "supply shorted",
            r#"  { short = true, name = "wire", from = "main", to = "gnd" },"#,
            &["the current of wire", "one of main and wire", ":10:3"],
        ),
        (
            "current without a way",
            r#"  { current-source = "1 mA", name = "into", from = "gnd", to = "d" },
  { capacitor = "1 µF 10 %", name = "cap", from = "d", to = "gnd" },"#,
            &[
                "the voltage at d",
                "into",
                ":10:3",
                "resistor from d to ground",
            ],
        ),
    ] {
        let file = written("network", beside(elements));
        let output = run(&["check", &file.path()]);
        assert_eq!(code(&output), 1, "{name}: {}", stderr(&output));
        // Lines are broken anywhere.
        let said = stdout(&output)
            .split_whitespace()
            .collect::<Vec<_>>()
            .join(" ");
        assert!(said.contains("cannot be judged"), "{name}: {said}");
        for w in wanted {
            assert!(said.contains(w), "{name}: no `{w}` in {said}");
        }
        assert!(!said.contains("elements."), "{name}: {said}");
    }
    // What only one element names is refused at once.
    let file = written(
        "network",
        beside(r#"  { resistor = "1 kΩ 1 %", name = "loose", from = "a", to = "zz" },"#),
    );
    let path = file.path();
    for arguments in [&["check", &path][..], &["budget", &path, "room"]] {
        let output = run(arguments);
        assert_eq!(code(&output), 2);
        let said = stderr(&output);
        assert!(
            said.contains("nothing else is connected to node `zz`") && said.contains(":10:"),
            "{said}"
        );
    }
}

#[test]
fn steering_characters_of_a_file_do_not_reach_the_terminal() {
    let text = with("accuracy =", "\"\\u001b[2J\\u001b]0;x\\u0007\" =");
    for output in everywhere("steering", text) {
        assert_eq!(code(&output), 2);
        let said = stderr(&output);
        assert!(
            said.chars().all(|c| c == '\n' || !c.is_control()),
            "{said:?}"
        );
    }
    let text = with("name = \"", "name = \"\\u001b[31m");
    let shown = judged("steering-name", &text);
    assert!(
        shown.chars().all(|c| c == '\n' || !c.is_control()),
        "{shown:?}"
    );
}

#[test]
fn very_many_faults_are_counted() {
    let mut text = String::new();
    for n in 0..5_000 {
        let _ = writeln!(text, "[channels.c{n}]\nquantity = \"heat\"");
    }
    refused("many", text, &["unknown quantity", "and 4950 more"]);
}

#[test]
fn names_of_any_letters_are_carried_through() {
    let text = with("[channels.pump-supply]", "[channels.\"pumpe · 電圧\"]");
    let shown = judged("letters", &text);
    assert!(shown.contains("pumpe · 電圧"), "{shown}");
}

#[test]
fn folders_of_parts() {
    let own = folder("parts");
    let board = written("own-part", GOOD);
    let path = board.path();
    let check = || run(&["check", &path, "--parts", &own.path()]);
    // An empty folder adds nothing.
    assert_eq!(code(&check()), 0, "{}", stderr(&check()));
    let part = "[part]\nid = \"my-ntc\"\nkind = \"sensor\"\ntitle = \"a thermistor of ours\"\nquantity = \"temperature\"\nlaw = \"thermistor-beta\"\nbasis = \"measured\"\nsource = { document = \"bench book\" }\n[figures]\nresistance-25 = \"10 kΩ 1 %\"\nbeta = \"3950 K 1 %\"\n";
    std::fs::write(own.join("ntc.toml"), part).unwrap();
    let output = run(&["parts", "show", "my-ntc", "--parts", &own.path()]);
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(
        stdout(&output).contains("bench book"),
        "{}",
        stdout(&output)
    );
    // A part that has the name of a shipped one is told of, with both places.
    std::fs::write(own.join("shadow.toml"), part.replace("my-ntc", "bpw34")).unwrap();
    for output in [
        check(),
        run(&["parts", "--parts", &own.path()]),
        run(&["new", "--list", "--parts", &own.path()]),
        run(&[
            "bound",
            &path,
            "rails.logic.voltage",
            "--parts",
            &own.path(),
        ]),
        run(&["budget", &path, "pump-supply", "--parts", &own.path()]),
    ] {
        assert_eq!(code(&output), 2);
        let said = stderr(&output);
        for wanted in ["shadow.toml", "`bpw34`", "silicon photodiode"] {
            assert!(said.contains(wanted), "{wanted}: {said}");
        }
    }
    std::fs::write(own.join("shadow.toml"), "[part]\nid = \"half").unwrap();
    let output = check();
    assert_eq!(code(&output), 2);
    assert!(
        stderr(&output).contains("shadow.toml:2:"),
        "{}",
        stderr(&output)
    );
    std::fs::write(own.join("shadow.toml"), [0xff, 0xfe]).unwrap();
    let output = check();
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("not UTF-8"), "{}", stderr(&output));
    let output = run(&["check", &path, "--parts", "/no/such/folder"]);
    assert_eq!(code(&output), 2);
    assert!(
        stderr(&output).contains("/no/such/folder"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn interferers_at_the_ends_of_what_can_be_written_have_an_answer() {
    let text = r#"
[conditions]
mains = "50 Hz"
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 16
[interferers.fast]
frequency = "1e12 Hz ± 90 %"
harmonics = 30
on = "input"
[interferers.slow]
frequency = "1e-9 Hz"
harmonics = 1000
on = "main"
[interferers.large]
frequency = "3 GHz ± 50 %"
amplitude = "1e9 V"
[channels.signal]
quantity = "voltage"
span = "0 V to 5 V"
rate = "1e-6 /s"
average = 1000000
accuracy = "1 mV"
chain = [{ low-pass = { r = "10 kΩ", c = "1 nF" } }]
input = "adc"
reference = "main"
"#;
    let file = written("interferers", text);
    for more in [
        &[][..],
        &["--seen", "0 Hz"],
        &["--seen", "1e15 Hz", "--json"],
    ] {
        let output = run(&[&["interference", &file.path()], more].concat());
        assert_eq!(code(&output), 0, "{}", stderr(&output));
        assert!(!stdout(&output).contains("NaN"), "{}", stdout(&output));
    }
    judged("interferers-judged", text);
}
