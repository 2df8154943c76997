//! Help, exit codes, colour.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use support::{code, command, examples, run, stderr, stdout};

const COMMANDS: &[&str] = &[
    "new",
    "desk",
    "check",
    "budget",
    "response",
    "noise",
    "schedule",
    "links",
    "course",
    "rails",
    "faults",
    "bound",
    "interference",
    "words",
    "parts",
    "explain",
];

#[test]
fn every_command_has_help_with_examples_and_exit_codes() {
    let all = stdout(&run(&["--help"]));
    for name in COMMANDS {
        assert!(all.contains(&format!("\n  {name} ")), "{name}: {all}");
        let output = run(&[name, "--help"]);
        assert_eq!(code(&output), 0);
        let help = stdout(&output);
        assert!(help.contains("Examples:\n  leastbit "), "{name}: {help}");
        assert!(help.contains("Exit codes: 0 "), "{name}: {help}");
        assert!(help.contains("--json"), "{name}: {help}");
    }
    // None is left out above.
    let listed = all
        .lines()
        .skip_while(|l| *l != "Commands:")
        .skip(1)
        .take_while(|l| !l.is_empty())
        .filter(|l| !l.trim_start().starts_with("help"))
        .filter(|l| l.starts_with("  ") && !l.starts_with("   "))
        .count();
    assert_eq!(listed, COMMANDS.len(), "{all}");
}

#[test]
fn every_example_of_the_help_is_one_that_can_be_parsed() {
    for name in COMMANDS {
        let help = stdout(&run(&[name, "--help"])).replace("\\\n", " ");
        for line in help.lines().filter(|l| l.starts_with("  leastbit ")) {
            let line = line.split(" > ").next().unwrap();
            let mut words: Vec<String> = Vec::new();
            for (i, piece) in line.split('"').enumerate() {
                if i % 2 == 1 {
                    words.push(piece.to_owned());
                } else {
                    words.extend(piece.split_whitespace().map(str::to_owned));
                }
            }
            let arguments: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
            // Files that are not there are refused, not the arguments.
            let output = command()
                .args(&arguments)
                .current_dir(std::env::temp_dir())
                .output()
                .unwrap();
            let said = stderr(&output);
            assert!(!said.contains("Usage:"), "{line}: {said}");
        }
    }
}

#[test]
fn wrong_arguments_exit_with_2() {
    for arguments in [
        vec!["chekc"],
        vec![],
        vec!["check"],
        vec!["check", "--loud", "x.toml"],
        vec!["bound", "x.toml"],
        vec!["new", "x.toml"],
        vec!["new", "x.toml", "--controller", "rp2040"],
        vec!["explain", "no.such-finding"],
        vec!["parts", "show", "no-such-part"],
    ] {
        let output = run(&arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {}", stderr(&output));
        assert!(!stderr(&output).is_empty());
    }
}

#[test]
fn version_and_lists() {
    assert!(stdout(&run(&["--version"])).starts_with("leastbit "));
    for arguments in [vec!["parts"], vec!["explain"], vec!["new", "--list"]] {
        let output = run(&arguments);
        assert_eq!(code(&output), 0);
        assert!(stdout(&output).lines().count() > 10, "{arguments:?}");
    }
    let output = run(&["parts", "search", "no such thing at all"]);
    assert_eq!(code(&output), 1);
}

#[test]
fn colour_is_never_alone_and_never_where_it_is_not_wanted() {
    let board = examples("cellar-rack.toml");
    for arguments in [
        vec!["check", &board],
        vec!["budget", &board, "tank-1"],
        vec!["response", &board, "tank-1"],
        vec!["noise", &board, "tank-1"],
        vec!["schedule", &board],
        vec!["links", &board],
        vec!["course", &board, "tank-1"],
        vec!["rails", &board],
        vec!["faults", &board],
        vec!["parts", "show", "adr5041-b"],
        vec!["explain", "accuracy.not-met"],
    ] {
        let plain = run(&arguments);
        assert!(!stdout(&plain).contains('\x1b'), "{arguments:?}");
        let forced = command()
            .args(&arguments)
            .env("CLICOLOR_FORCE", "1")
            .output()
            .unwrap();
        let coloured = stdout(&forced);
        assert!(coloured.contains('\x1b'), "{arguments:?}");
        assert_eq!(bare(&coloured), stdout(&plain), "{arguments:?}");
        let unwanted = command()
            .args(&arguments)
            .env("NO_COLOR", "1")
            .output()
            .unwrap();
        assert_eq!(stdout(&unwanted), stdout(&plain));
    }
}

/// A text without its colours.
fn bare(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some(at) = rest.find('\x1b') {
        out.push_str(&rest[..at]);
        let end = rest[at..].find('m').unwrap();
        rest = &rest[at + end + 1..];
    }
    out + rest
}

#[test]
fn nothing_is_told_of_progress_where_nobody_looks() {
    let output = run(&["check", &examples("cellar-rack.toml")]);
    assert_eq!(stderr(&output), "");
}

#[test]
fn json_is_versioned_and_whole() {
    let board = examples("first-board.toml");
    for arguments in [
        vec!["check", &board, "--json"],
        vec!["budget", &board, "room", "--json"],
        vec![
            "bound",
            &board,
            "channels.room.chain.pull-up",
            "--result",
            "propagation",
            "--json",
        ],
        vec!["response", &board, "--json"],
        vec!["noise", &board, "room", "--json"],
        vec!["course", &board, "room", "--json"],
        vec!["parts", "--json"],
        vec!["parts", "--json", "show", "bpw34"],
        vec!["explain", "--json"],
        vec!["explain", "accuracy.thin", "--json"],
        vec!["new", "--list", "--json"],
    ] {
        let output = run(&arguments);
        assert_eq!(code(&output), 0, "{arguments:?}: {}", stderr(&output));
        let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        assert!(
            json["version"].as_u64().is_some_and(|v| v >= 2),
            "{arguments:?}"
        );
    }
}

#[test]
fn a_reader_that_goes_away_is_no_fault() {
    use std::process::Stdio;
    let mut child = command()
        .args(["parts", "--json"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert!(!stderr(&output).contains("panicked"), "{}", stderr(&output));
}

#[test]
fn budget_and_check_agree_on_every_verdict() {
    let board = examples("cellar-rack.toml");
    let json = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_slice(&run(arguments).stdout).unwrap()
    };
    let check = json(&["check", &board, "--json"]);
    for c in check["channels"].as_array().unwrap() {
        let name = c["name"].as_str().unwrap();
        let budget = json(&["budget", &board, name, "--json"]);
        assert_eq!(&budget["channel"], c, "{name}");
    }
}
