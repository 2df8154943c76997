//! Links.

use std::fmt::Write as _;

use report::{DevicePins, Judged, LinkResult, Links, Verdict, number};

use super::{check, finding, ink, lines};

/// The answer of `links`.
pub(crate) fn links(result: &Links) -> String {
    let mut out = format!("{}\n", ink::title(&result.board));
    if result.links.is_empty() {
        out.push_str("\nThe board has no links.\n");
    }
    for l in &result.links {
        out.push('\n');
        out.push_str(&link(l));
    }
    for d in &result.pins {
        out.push('\n');
        out.push_str(&pins(d));
    }
    if !result.findings.is_empty() {
        let _ = writeln!(out, "\n{}", ink::title("Findings"));
        for f in &result.findings {
            out.push('\n');
            out.push_str(&finding::full(f));
        }
        let _ = writeln!(
            out,
            "\n{}",
            ink::soft("`leastbit explain ID` has a page on each.")
        );
    }
    let _ = writeln!(out, "\n{}", ink::soft(check::AID));
    out
}

fn word(verdict: Verdict) -> String {
    ink::verdict(verdict, &format!("{} {}", verdict.shape(), verdict.word()))
}

fn link(l: &LinkResult) -> String {
    let mut out = format!("{}  {}\n", ink::title(&l.name), word(l.verdict));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    line("kind", &l.kind);
    if !l.supply.is_empty() {
        line("rail", &l.supply);
    }
    if !l.ends.is_empty() {
        line("ends", &l.ends.join(", "));
    }
    if !l.without.is_empty() {
        line("unjudged", &l.without.join("; "));
    }
    if !l.levels.is_empty() {
        out.push('\n');
        out.push_str(&levels(l));
    }
    if !l.quantities.is_empty() {
        out.push('\n');
        out.push_str(&quantities(&l.quantities));
    }
    out
}

/// Pins of one device.
fn pins(d: &DevicePins) -> String {
    let mut out = format!("{}\n", ink::title(&format!("pins of {}", d.device)));
    let mut rows = vec![["pin", "user", "as"].map(str::to_owned).to_vec()];
    rows.extend(d.pins.iter().map(|p| {
        let mut function = p.function.clone();
        if p.proposed {
            function.push_str(" (proposed)");
        }
        vec![p.pin.clone(), p.user.clone(), function]
    }));
    for line in lines::table(&rows, &[false; 3]) {
        let _ = writeln!(out, "  {line}");
    }
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !d.without.is_empty() {
        line("no pin", &d.without.join(", "));
    }
    if !d.unused.is_empty() {
        line("unused", &d.unused.join(", "));
    }
    out
}

/// Levels at the worst corner of each pair.
fn levels(l: &LinkResult) -> String {
    let mut rows = vec![
        [
            "from",
            "to",
            "line",
            "low",
            "reads low",
            "left",
            "high",
            "reads high",
            "left",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    let volt = |v: Option<f64>| v.map_or_else(String::new, |v| number::fixed(v, 2));
    rows.extend(l.levels.iter().map(|p| {
        vec![
            p.driver.clone(),
            p.receiver.clone(),
            p.lines.clone(),
            number::fixed(p.low.1, 2),
            volt(p.input_low),
            volt(p.margin_low),
            number::fixed(p.high.0, 2),
            volt(p.input_high),
            volt(p.margin_high),
        ]
    }));
    let right = [false, false, false, true, true, true, true, true, true];
    let mut out = String::new();
    for line in lines::table(&rows, &right) {
        let _ = writeln!(out, "  {line}");
    }
    let _ = writeln!(out, "  {}", ink::soft("volts, each at its worst corner"));
    out
}

/// Everything else with limits.
fn quantities(all: &[Judged]) -> String {
    let shown = |v: f64, unit: &str| {
        if v.is_finite() {
            number::measured(v, unit, 3)
        } else {
            String::new()
        }
    };
    let mut rows = vec![
        ["what", "value", "at least", "at most", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(all.iter().map(|q| {
        vec![
            q.name.clone(),
            shown(q.value, &q.unit),
            q.low.map_or_else(String::new, |v| shown(v, &q.unit)),
            q.high.map_or_else(String::new, |v| shown(v, &q.unit)),
            q.verdict.word().to_owned(),
        ]
    }));
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, false]) {
        let _ = writeln!(out, "  {line}");
    }
    out
}
