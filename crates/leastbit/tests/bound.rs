//! `leastbit bound`, the real binary.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use support::{code, examples, run, stderr, stdout};

#[test]
fn the_value_found_is_one_that_check_accepts_and_the_next_is_not() {
    let board = examples("first-divider.toml");
    let output = run(&[
        "bound",
        &board,
        "channels.pump-supply.chain.divider.top",
        "--json",
    ]);
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let largest = json["found"]["value"].as_f64().unwrap();
    let text = std::fs::read_to_string(&board).unwrap();
    for (factor, expected) in [(0.995, 0), (1.05, 1)] {
        let changed = text.replace("47 kΩ", &format!("{} Ω", largest * factor));
        let file = support::written("bound-checked", &changed);
        let output = run(&["check", &file.path()]);
        assert_eq!(code(&output), expected, "{factor}: {}", stdout(&output));
    }
}

#[test]
fn the_answer_names_value_unit_limit_and_what_to_buy() {
    let output = run(&[
        "bound",
        &examples("first-board.toml"),
        "channels.room.chain.pull-up",
        "--result",
        "worst-case",
        "--limit",
        "2 °C",
    ]);
    let said = stdout(&output);
    assert_eq!(code(&output), 0, "{said}{}", stderr(&output));
    for wanted in ["largest", "kΩ", "to buy", "E24", "within 2 K", "decide"] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
}

#[test]
fn no_value_in_range_exits_with_1_and_nonsense_with_2() {
    let board = examples("first-board.toml");
    let pull = "channels.room.chain.pull-up";
    let output = run(&[
        "bound",
        &board,
        pull,
        "--limit",
        "1 mK",
        "--result",
        "propagation",
    ]);
    assert_eq!(code(&output), 1, "{}", stdout(&output));
    assert!(stdout(&output).contains("nowhere within the limit"));
    for (arguments, wanted) in [
        (vec!["channels.room.chain.pull-dwon"], "has no `pull-dwon`"),
        (vec!["channels.rom.chain"], "did you mean: room"),
        (vec![pull, "--channel", "cellar"], "no channel `cellar`"),
        (
            vec![pull, "--result", "half-wdith"],
            "did you mean: half-width",
        ),
        (vec![pull, "--limit", "0 °C"], "not above zero"),
        (vec![pull, "--limit", "abc"], "--limit"),
        (vec![pull, "--from", "1 V"], "1 V"),
        (vec![pull, "--from", "1 MΩ", "--to", "1 Ω"], "is empty"),
        (vec![pull, "--vary", "high"], "no two ends"),
        (vec!["board.name"], "no quantity"),
    ] {
        let mut all = vec!["bound", &board];
        all.extend(&arguments);
        let output = run(&all);
        assert_eq!(code(&output), 2, "{arguments:?}: {}", stdout(&output));
        let said = stderr(&output);
        assert!(said.contains(wanted), "{arguments:?}: {said}");
    }
}

/// A value may keep one result within its limit and ruin another: what fails
/// at the value found and does not as written is said with it.
#[test]
fn what_else_fails_at_the_value_found_is_said() {
    let board = examples("first-board.toml");
    let asked = |path: &str, result: &str| {
        let output = run(&["bound", &board, path, "--result", result]);
        assert_eq!(code(&output), 0, "{}", stderr(&output));
        stdout(&output)
    };
    let said = asked("rails.3v3.voltage", "propagation");
    assert!(said.contains("but there"), "{said}");
    assert!(said.contains("supply.device-range"), "{said}");
    let said = asked("channels.room.chain.pull-up", "propagation");
    assert!(!said.contains("but there"), "{said}");
}

#[test]
fn a_need_is_no_value_to_vary_and_what_is_not_written_is_to_be_written_first() {
    let board = examples("first-board.toml");
    for (path, wanted) in [
        ("channels.room.accuracy", "is the limit itself"),
        ("channels.room.accuracy", "leastbit check"),
        (
            "channels.room.sensor.leads",
            "write `leads` where it belongs",
        ),
    ] {
        let output = run(&["bound", &board, path]);
        assert_eq!(code(&output), 2, "{path}");
        let said = stderr(&output);
        assert!(said.contains(wanted), "{path}: {said}");
    }
}
