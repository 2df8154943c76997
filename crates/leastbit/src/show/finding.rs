//! Findings.

use std::fmt::Write as _;

use finding::Severity;
use report::Finding;

use super::{ink, lines};

/// The column at which findings' texts begin.
const INDENT: &str = "        ";

/// One finding in full.
pub(super) fn full(f: &Finding) -> String {
    let mut out = head(f);
    for line in &f.working {
        out.push_str(&lines::hanging(&format!("{INDENT}= "), line));
    }
    if !f.figures.is_empty() {
        for u in &f.figures {
            let source = if u.source.is_empty() {
                String::new()
            } else {
                format!(" ({})", u.source)
            };
            let text = format!("{}: {}{source}", u.name, u.value);
            out.push_str(&lines::hanging(&format!("{INDENT}· "), &text));
        }
    }
    for line in &f.remedies {
        out.push_str(&lines::hanging(&format!("{INDENT}→ "), line));
    }
    out
}

/// The first lines of a finding: severity, subject, headline, id and place.
pub(super) fn head(f: &Finding) -> String {
    let word = lines::left(f.severity.word(), INDENT.len());
    let subject = if f.subjects.is_empty() {
        String::new()
    } else {
        format!("{}: ", f.subjects.join(", "))
    };
    let text = lines::hanging(INDENT, &format!("{subject}{}", f.headline));
    let text = text.strip_prefix(INDENT).unwrap_or(&text);
    let mut out = format!("{}{text}", ink::severity(f.severity, &word));
    let places: Vec<String> = f.places.iter().map(|s| s.place.to_string()).collect();
    let mut id = f.id.clone();
    for place in places.iter().take(4) {
        id.push_str(" · ");
        id.push_str(place);
    }
    if places.len() > 4 {
        let _ = write!(id, " · and {} more places", places.len() - 4);
    }
    let _ = writeln!(out, "{INDENT}{}", ink::soft(&id));
    if f.severity != Severity::Hazard
        && let [only] = f.places.as_slice()
        && lines::width(&only.text) < 100
    {
        let _ = writeln!(out, "{INDENT}{}", ink::soft(&format!("| {}", only.text)));
    }
    out
}
