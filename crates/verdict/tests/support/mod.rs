//! A board's text, checked.
#![allow(dead_code, clippy::unwrap_used, clippy::panic, reason = "tests")]

use finding::{Severity, Sources};
use parts::Library;
use report::{Check, Finding};

/// Reads and judges a board; a text that cannot be read is a fault of the
/// test.
pub fn check(text: &str) -> Check {
    let (board, sources) = read(text);
    verdict::check(&board, &sources, &|_, _| {})
}

/// Reads a board.
pub fn read(text: &str) -> (board::Board, Sources) {
    let mut sources = Library::sources();
    let id = sources.add("case.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    (board.unwrap_or_else(|| panic!("{said:#?}")), sources)
}

/// The only finding of an id.
pub fn only<'a>(check: &'a Check, id: &str) -> &'a Finding {
    let found: Vec<&Finding> = check.findings.iter().filter(|f| f.id == id).collect();
    match found.as_slice() {
        [one] => one,
        _ => panic!("{id}: {:#?}", check.findings),
    }
}

/// Ids and severities of all findings.
pub fn ids(check: &Check) -> Vec<(&str, Severity)> {
    check
        .findings
        .iter()
        .map(|f| (f.id.as_str(), f.severity))
        .collect()
}
