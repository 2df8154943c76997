//! Pages on findings.

use std::fmt::Write as _;

use report::{Explained, Explanations};

use super::{ink, lines};

/// All findings there are.
pub(crate) fn explanations(all: &Explanations) -> String {
    let rows: Vec<Vec<String>> = all
        .findings
        .iter()
        .map(|p| vec![p.id.clone(), p.severity.word().to_owned(), p.title.clone()])
        .collect();
    let mut out = String::new();
    for line in lines::table(&rows, &[false, false, false]) {
        let _ = writeln!(out, "{line}");
    }
    out
}

/// One page: headings and paragraphs of Markdown.
pub(crate) fn explained(page: &Explained) -> String {
    let mut out = String::new();
    for line in page.text.lines() {
        if let Some(title) = line.strip_prefix("# ") {
            let _ = writeln!(out, "{}", ink::title(title));
            let id = format!("{} · {}", page.page.id, page.page.severity.word());
            let _ = writeln!(out, "{}", ink::soft(&id));
        } else if let Some(section) = line.strip_prefix("## ") {
            let _ = writeln!(out, "{}", ink::title(section));
        } else if let Some(item) = line.strip_prefix("- ") {
            out.push_str(&lines::hanging("- ", item));
        } else if line.is_empty() {
            out.push('\n');
        } else {
            out.push_str(&lines::hanging("", line));
        }
    }
    out
}
