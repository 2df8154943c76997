//! What the README shows is what the program prints.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use std::path::{Path, PathBuf};

use support::{command, folder, root};

/// Line that stands for lines left out.
const CUT: &str = "…";
/// Mark before a block whose commands run away from the project.
const FRESH: &str = "<!-- in a fresh folder -->";

/// What a command of the README prints.
fn printed(line: &str, here: &Path) -> String {
    let words: Vec<&str> = line.split_whitespace().collect();
    match words.as_slice() {
        ["leastbit", arguments @ ..] => {
            let output = command()
                .args(arguments)
                .current_dir(here)
                .output()
                .unwrap();
            assert!(
                output.stderr.is_empty(),
                "{line}: {}",
                String::from_utf8_lossy(&output.stderr)
            );
            String::from_utf8(output.stdout).unwrap()
        }
        ["cat", file] => std::fs::read_to_string(here.join(file)).unwrap(),
        _ => panic!("the README has a command that the test does not know: {line}"),
    }
}

/// A block with the output of its commands as it is now, cut where it was.
fn renewed(block: &str, here: &Path) -> String {
    let mut out = String::new();
    let mut pieces: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in block.lines() {
        match line.strip_prefix("$ ") {
            Some(command) => pieces.push((command, Vec::new())),
            None => pieces.last_mut().unwrap().1.push(line),
        }
    }
    for (command, shown) in pieces {
        out.push_str(&format!("$ {command}\n"));
        let text = printed(command, here);
        let lines: Vec<&str> = text.lines().collect();
        // As many lines before and behind the cut as the README has.
        let cut = shown.iter().position(|l| *l == CUT);
        let (before, behind) = match cut {
            Some(at) if shown.len() > 1 => (at, shown.len() - at - 1),
            _ => (lines.len(), 0),
        };
        let from = lines.len().saturating_sub(behind).max(before);
        for (n, line) in lines.iter().enumerate() {
            if n == before && n < from {
                out.push_str(&format!("{CUT}\n"));
            }
            if n < before || n >= from {
                out.push_str(line.trim_end());
                out.push('\n');
            }
        }
    }
    out
}

#[test]
fn snapshot_readme_shows_what_the_program_prints() {
    let path: PathBuf = root().join("README.md");
    let there = std::fs::read_to_string(&path).unwrap();
    let fresh = folder("readme");
    let mut now = String::new();
    let mut rest = there.as_str();
    let mut commands = 0;
    while let Some(at) = rest.find("```\n") {
        let (before, after) = rest.split_at(at + 4);
        let end = after.find("```").unwrap();
        let (block, behind) = after.split_at(end);
        now.push_str(before);
        if block.starts_with("$ ") {
            let place = before.trim_end_matches("```\n").trim_end();
            let here = if place.ends_with(FRESH) {
                PathBuf::from(fresh.path())
            } else {
                root()
            };
            now.push_str(&renewed(block, &here));
            commands += 1;
        } else {
            now.push_str(block);
        }
        now.push_str("```");
        rest = behind.strip_prefix("```").unwrap();
    }
    now.push_str(rest);
    assert!(commands >= 4, "{commands}");
    if std::env::var_os("LEASTBIT_WRITE_DOCS").is_some() {
        std::fs::write(&path, now).unwrap();
        return;
    }
    let first = there.lines().zip(now.lines()).find(|(a, b)| a != b);
    assert!(
        there == now,
        "the README is behind the program: {first:?}\nrun LEASTBIT_WRITE_DOCS=1 cargo test -p leastbit --test readme"
    );
}
