//! `response`, `noise`, `schedule` and `course` with their pictures.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use support::{code, examples, folder, run, stderr, stdout};

/// The four, with what they need.
fn commands(board: &str) -> Vec<Vec<&str>> {
    vec![
        vec!["response", board],
        vec!["noise", board],
        vec!["schedule", board],
        vec!["course", board, "room"],
    ]
}

#[test]
fn a_picture_is_written_whole_and_never_over_another_unasked() {
    let own = folder("pictures");
    let board = examples("first-board.toml");
    for arguments in commands(&board) {
        let file = own.join(&format!("{}.svg", arguments[0]));
        let with = |more: &[&str]| {
            let mut all = arguments.clone();
            all.extend_from_slice(&["--svg", &file]);
            all.extend_from_slice(more);
            run(&all)
        };
        let first = with(&[]);
        assert!(code(&first) <= 1, "{arguments:?}: {}", stderr(&first));
        assert!(stdout(&first).contains(&format!("Picture: {file}")));
        let svg = std::fs::read_to_string(&file).unwrap();
        assert!(svg.starts_with("<svg ") && svg.ends_with("</svg>\n"));
        // Not over it, and nothing is told instead.
        let again = with(&[]);
        assert_eq!(code(&again), 2, "{arguments:?}");
        assert!(stderr(&again).contains("is there already"));
        assert_eq!(stdout(&again), "");
        std::fs::write(&file, "something else").unwrap();
        assert_eq!(code(&with(&[])), 2);
        assert_eq!(std::fs::read_to_string(&file).unwrap(), "something else");
        // Asked for, it is, with the same bytes.
        assert_eq!(code(&with(&["--force"])), code(&first));
        assert_eq!(std::fs::read_to_string(&file).unwrap(), svg);
        // Beside data nothing else is printed.
        let json = with(&["--force", "--json"]);
        let value: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
        assert!(value["version"].as_u64().is_some_and(|v| v >= 2));
    }
    // No drafts are left behind.
    let left = std::fs::read_dir(own.path()).unwrap().count();
    assert_eq!(left, 4);
}

#[test]
fn a_picture_that_cannot_be_written_is_said() {
    let board = examples("first-board.toml");
    let output = run(&["response", &board, "--svg", "/no/such/folder/x.svg"]);
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("/no/such/folder/x.svg: cannot be written"));
}

#[test]
fn unknown_channels_and_frequencies_are_refused() {
    let board = examples("first-board.toml");
    for (arguments, said) in [
        (vec!["response", &board, "rom"], "did you mean: room"),
        (vec!["noise", &board, "rom"], "did you mean: room"),
        (vec!["course", &board, "rom"], "did you mean: room"),
        (vec!["response", &board, "--at", "3 kg"], "--at 3 kg"),
        (vec!["response", &board, "--at", "0 Hz"], "above 0 Hz"),
        (vec!["response", &board, "--at", "-1 Hz"], "--at"),
        (
            vec!["course", &board, "room", "--until", "0 s"],
            "more than 0 s",
        ),
        (vec!["course", &board, "room", "--until", "x"], "--until x"),
        (vec!["response", &board, "--force"], "--svg"),
    ] {
        let output = run(&arguments);
        assert_eq!(code(&output), 2, "{arguments:?}: {}", stdout(&output));
        assert!(
            stderr(&output).contains(said),
            "{arguments:?}: {}",
            stderr(&output)
        );
    }
}

/// The commands agree with each other where they tell the same thing.
#[test]
fn a_channel_alone_is_told_as_among_all() {
    let board = examples("cellar-rack.toml");
    let json = |arguments: &[&str]| -> serde_json::Value {
        serde_json::from_slice(&run(arguments).stdout).unwrap()
    };
    for command in ["response", "noise"] {
        let all = json(&[command, &board, "--json"]);
        for c in all["channels"].as_array().unwrap() {
            let name = c["name"].as_str().unwrap();
            let alone = json(&[command, &board, name, "--json"]);
            assert_eq!(&alone["channels"][0], c, "{command} {name}");
        }
    }
}

#[test]
fn every_channel_of_every_example_has_an_answer_or_a_reason() {
    for name in [
        "first-board.toml",
        "first-divider.toml",
        "battery-trolley.toml",
        "cellar-rack-mistakes.toml",
    ] {
        let board = examples(name);
        for command in ["response", "noise", "schedule"] {
            let output = run(&[command, &board]);
            assert!(code(&output) <= 1, "{name} {command}: {}", stderr(&output));
            let text = stdout(&output);
            assert!(
                !text.contains("NaN") && !text.contains("inf "),
                "{name}: {text}"
            );
        }
    }
}

#[test]
fn other_frequencies_can_be_asked_for() {
    let board = examples("cellar-rack.toml");
    let output = run(&[
        "response", &board, "tank-1", "--at", "300 kHz", "--at", "1.5 MHz",
    ]);
    let text = stdout(&output);
    assert!(
        text.contains("300 kHz") && text.contains("1.5 MHz"),
        "{text}"
    );
    assert_eq!(text.matches("asked for").count(), 2);
}

#[test]
fn a_course_follows_what_is_asked() {
    let board = examples("cellar-rack.toml");
    let step = stdout(&run(&["course", &board, "tank-1"]));
    assert!(step.contains("steps from −5 °C to 35 °C"), "{step}");
    let up = run(&[
        "course", &board, "tank-1", "--event", "power-up", "--until", "20 ms",
    ]);
    assert_eq!(code(&up), 0, "{}", stderr(&up));
    assert!(stdout(&up).contains("20.0"), "{}", stdout(&up));
}

/// The pictures of the documents are those that the program draws.
#[test]
fn snapshot_pictures_of_the_documents() {
    let own = folder("documents");
    let here = support::root();
    for (name, arguments) in [
        (
            "response",
            vec!["response", "examples/cellar-rack.toml", "must-ph"],
        ),
        (
            "noise",
            vec!["noise", "examples/cellar-rack.toml", "must-ph"],
        ),
        ("check", vec!["check", "examples/cellar-rack.toml"]),
        ("schedule", vec!["schedule", "examples/cellar-rack.toml"]),
        (
            "course",
            vec!["course", "examples/cellar-rack.toml", "tank-1"],
        ),
    ] {
        let drawn = own.join(&format!("{name}.svg"));
        let output = support::command()
            .args(&arguments)
            .args(["--svg", &drawn])
            .current_dir(&here)
            .output()
            .unwrap();
        assert!(code(&output) <= 1, "{}", stderr(&output));
        let now = std::fs::read_to_string(&drawn).unwrap();
        let kept = here.join("docs/pictures").join(format!("{name}.svg"));
        if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
            std::fs::write(&kept, &now).unwrap();
            continue;
        }
        let there = std::fs::read_to_string(&kept).unwrap();
        assert!(
            now == there,
            "docs/pictures/{name}.svg is behind the program; run LEASTBIT_WRITE_DOCS=1 cargo test -p leastbit --test timed"
        );
    }
}
