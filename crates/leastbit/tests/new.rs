//! `leastbit new`, the real binary.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use support::{code, folder, run, stderr, stdout};

#[test]
fn a_starter_board_is_written_and_judged() {
    let here = folder("new");
    let file = here.join("cellar.toml");
    let output = run(&[
        "new",
        &file,
        "--controller",
        "press-house-f103",
        "--sensor",
        "room=ntc-10k-3950-1-percent",
        "--sensor",
        "tank=platinum-1000-class-a",
    ]);
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    assert!(
        stdout(&output).contains("room, tank"),
        "{}",
        stdout(&output)
    );
    let text = std::fs::read_to_string(&file).unwrap();
    assert!(
        text.starts_with('#') && text.contains("name = \"cellar\""),
        "{text}"
    );
    let checked = run(&["check", &file]);
    assert_eq!(code(&checked), 0, "{}{text}", stdout(&checked));
    // Nothing else is left behind.
    assert_eq!(std::fs::read_dir(here.path()).unwrap().count(), 1);
}

#[test]
fn a_file_is_never_written_over() {
    let here = folder("new-again");
    let file = here.join("board.toml");
    std::fs::write(&file, "mine").unwrap();
    let arguments = ["new", &file, "--controller", "rp2040", "--sensor", "sht41"];
    let output = run(&arguments);
    assert_eq!(code(&output), 2);
    assert!(
        stderr(&output).contains("not overwritten"),
        "{}",
        stderr(&output)
    );
    assert_eq!(std::fs::read_to_string(&file).unwrap(), "mine");
    assert_eq!(std::fs::read_dir(here.path()).unwrap().count(), 1);
}

#[test]
fn nothing_is_written_if_something_is_wrong() {
    let here = folder("new-wrong");
    for (arguments, wanted) in [
        (
            vec!["--controller", "rp2o40", "--sensor", "sht41"],
            "did you mean: rp2040",
        ),
        (
            vec!["--controller", "rp2040", "--sensor", "sth41"],
            "did you mean: sht41",
        ),
        (
            vec!["--controller", "sht41", "--sensor", "sht41"],
            "is a digital-sensor",
        ),
        (
            vec!["--controller", "rp2040", "--sensor", "a/b=sht41"],
            "no name for a channel",
        ),
    ] {
        let file = here.join("board.toml");
        let mut all = vec!["new", file.as_str()];
        all.extend(&arguments);
        let output = run(&all);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(
            stderr(&output).contains(wanted),
            "{arguments:?}: {}",
            stderr(&output)
        );
        assert_eq!(std::fs::read_dir(here.path()).unwrap().count(), 0);
    }
    let nowhere = here.join("no/such/folder/board.toml");
    let output = run(&[
        "new",
        &nowhere,
        "--controller",
        "rp2040",
        "--sensor",
        "sht41",
    ]);
    assert_eq!(code(&output), 2);
    assert!(
        stderr(&output).contains("cannot be written"),
        "{}",
        stderr(&output)
    );
}

#[test]
fn what_is_possible_is_listed() {
    let output = run(&["new", "--list"]);
    let said = stdout(&output);
    for wanted in [
        "press-house-f103",
        "stm32f103",
        "ad7124-4",
        "platinum-1000-class-a",
        "sht41",
    ] {
        assert!(said.contains(wanted), "{wanted}: {said}");
    }
    // References and amplifiers are neither.
    assert!(
        !said.contains("adr5041") && !said.contains("ad8628"),
        "{said}"
    );
}
