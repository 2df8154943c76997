//! Parts.

use std::fmt::Write as _;

use report::{Part, PartFigure, Parts};

use super::{ink, lines};

/// A list of parts.
pub(crate) fn parts(result: &Parts) -> String {
    if result.parts.is_empty() {
        return format!("no part has all of: {}\n", result.words);
    }
    let rows: Vec<Vec<String>> = result
        .parts
        .iter()
        .map(|p| {
            let title = if p.origin == "the shipped library" {
                p.title.clone()
            } else {
                format!("{} ({})", p.title, p.origin)
            };
            vec![p.id.clone(), p.kind.clone(), title]
        })
        .collect();
    let mut out = String::new();
    for line in lines::table(&rows, &[false, false, false]) {
        let _ = writeln!(out, "{line}");
    }
    let _ = writeln!(
        out,
        "{}",
        ink::soft(&format!(
            "{}; `leastbit parts show NAME` has the figures",
            match result.parts.len() {
                1 => "1 part".to_owned(),
                n => format!("{n} parts"),
            }
        ))
    );
    out
}

/// One part with its figures.
pub(crate) fn part(p: &Part) -> String {
    let mut out = format!("{}  {}\n", ink::title(&p.line.id), p.line.title);
    let mut under = p.line.kind.clone();
    for more in [&p.line.maker, &p.quantity, &p.law] {
        if !more.is_empty() {
            under.push_str(" · ");
            under.push_str(more);
        }
    }
    let _ = writeln!(out, "{}", ink::soft(&under));
    let _ = writeln!(out, "{}", ink::soft(&format!("from {}", p.line.origin)));
    if !p.source.is_empty() {
        out.push_str(&lines::hanging("source  ", &p.source));
    }
    if !p.note.is_empty() {
        out.push_str(&lines::hanging("note    ", &p.note));
    }
    for (name, text) in &p.facts {
        out.push_str(&lines::hanging(&format!("{name}: "), text));
    }
    let mut group: Option<&str> = None;
    let mut rows: Vec<Vec<String>> = Vec::new();
    for f in &p.figures {
        if group != Some(f.group.as_str()) {
            flush(&mut out, &mut rows);
            let title = if f.group.is_empty() {
                "figures"
            } else {
                f.group.as_str()
            };
            let _ = writeln!(out, "\n{}", ink::title(title));
            rows.push(
                ["", "min", "typ", "max", "from"]
                    .map(str::to_owned)
                    .to_vec(),
            );
            group = Some(&f.group);
        }
        push(&mut rows, f, &f.name, &p.source);
        for a in &f.alternatives {
            push(&mut rows, a, "  or", &p.source);
        }
    }
    flush(&mut out, &mut rows);
    out
}

/// A figure's row; below it the conditions it holds under.
fn push(rows: &mut Vec<Vec<String>>, f: &PartFigure, name: &str, usual: &str) {
    // The document of the whole part is not repeated at every figure.
    let place = match f.source.strip_prefix(usual) {
        Some("") if !usual.is_empty() => String::new(),
        Some(rest) if !usual.is_empty() => rest.trim_start_matches(", ").to_owned(),
        _ => f.source.clone(),
    };
    let mut from = Vec::new();
    if f.basis != "published" {
        from.push(f.basis.clone());
    }
    if !place.is_empty() {
        from.push(place);
    }
    if !f.conditions.is_empty() {
        from.push(f.conditions.clone());
    }
    rows.push(vec![
        name.to_owned(),
        f.min.clone(),
        f.typ.clone(),
        f.max.clone(),
        from.join("; "),
    ]);
}

fn flush(out: &mut String, rows: &mut Vec<Vec<String>>) {
    for line in lines::table(rows, &[false, true, true, true, false]) {
        let _ = writeln!(out, "  {line}");
    }
    rows.clear();
}
