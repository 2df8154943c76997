//! What is wrong with input files.

use std::fmt::Write as _;

use finding::{InputFault, Sources};

use super::ink;

/// Faults shown at the most; the rest is counted.
const MOST: usize = 50;
/// Longest part of a line that is shown.
const LONGEST_LINE: usize = 160;

/// Faults of files, each with its line and a mark under it.
pub(crate) fn faults(sources: &Sources, faults: &[InputFault]) -> String {
    let mut out = String::new();
    for f in faults.iter().take(MOST) {
        let place = sources.place(f.span);
        let _ = writeln!(out, "{} {}", ink::soft(&format!("{place}:")), f.message);
        let (line, column, length) = window(sources.line(f.span), place.column, place.length);
        let _ = writeln!(out, "    {line}");
        let _ = writeln!(
            out,
            "    {}{}",
            " ".repeat(column - 1),
            ink::severity(finding::Severity::Fail, &"^".repeat(length))
        );
        if !f.expected.is_empty() {
            let _ = writeln!(out, "    expected: {}", f.expected);
        }
        if let Some(s) = &f.suggestion {
            let _ = writeln!(out, "    did you mean: {s}");
        }
    }
    if faults.len() > MOST {
        let _ = writeln!(out, "and {} more", faults.len() - MOST);
    }
    out
}

/// The part of a line about a place, with the place's column in it; control
/// characters are shown as spaces, so that no file can steer the terminal.
fn window(line: &str, column: usize, length: usize) -> (String, usize, usize) {
    let letters: Vec<char> = line
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let column = column.max(1);
    let from = if column > LONGEST_LINE / 2 {
        (column - 1).saturating_sub(LONGEST_LINE / 4)
    } else {
        0
    };
    let shown: String = letters.iter().skip(from).take(LONGEST_LINE).collect();
    let column = column - from;
    let room = LONGEST_LINE.saturating_sub(column - 1).max(1);
    (shown, column, length.clamp(1, room))
}
