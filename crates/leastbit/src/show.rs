//! Results as text for the terminal.

use std::fmt::Write as _;

use finding::{InputFault, Sources};
use report::{Channel, Check, Verdict};

/// Faults of a file, each with its line.
pub(crate) fn faults(sources: &Sources, faults: &[InputFault]) -> String {
    let mut out = String::new();
    for f in faults {
        let place = sources.place(f.span);
        let _ = writeln!(out, "{place}: {}", f.message);
        let _ = writeln!(out, "    {}", sources.line(f.span));
        let _ = writeln!(
            out,
            "    {}{}",
            " ".repeat(place.column - 1),
            "^".repeat(place.length)
        );
        if !f.expected.is_empty() {
            let _ = writeln!(out, "    expected: {}", f.expected);
        }
        if let Some(s) = &f.suggestion {
            let _ = writeln!(out, "    did you mean: {s}");
        }
    }
    out
}

/// The verdicts.
pub(crate) fn check(result: &Check) -> String {
    let mut out = format!("{}\n", result.board);
    for c in &result.channels {
        let _ = writeln!(out, "\n{}  {} {}", c.name, sign(c.verdict), word(c.verdict));
        if !c.reason.is_empty() {
            let _ = writeln!(out, "    {}", c.reason);
            continue;
        }
        let _ = writeln!(
            out,
            "    span          {} to {} {}",
            number(c.span.0),
            number(c.span.1),
            c.unit
        );
        if let Some(limit) = c.limit {
            let _ = writeln!(out, "    need          ±{}", size(limit, c));
        }
        for (name, value) in [
            ("worst case", c.worst_case),
            ("propagation", c.propagation),
            ("Monte Carlo", c.monte_carlo),
        ] {
            if let Some(v) = value {
                let _ = writeln!(out, "    {name:<13} ±{}", size(v, c));
            }
        }
        if let Some((q, t)) = c.worst_at {
            let _ = writeln!(
                out,
                "    worst at      {} {}, ambient {} °C",
                number(q),
                c.unit,
                number(t)
            );
        }
        for k in c.contributors.iter().take(3) {
            let source = if k.source.is_empty() {
                String::new()
            } else {
                format!("  ({})", k.source)
            };
            let _ = writeln!(
                out,
                "    {:>3.0} %         {}: ±{}{source}",
                100.0 * k.share,
                k.name,
                size(k.size, c)
            );
        }
    }
    out
}

fn number(x: f64) -> String {
    quantity::plain(x, 4)
}

fn size(x: f64, c: &Channel) -> String {
    // A difference of temperatures is in kelvin.
    let unit = if c.unit == "°C" {
        "K"
    } else {
        c.unit.as_str()
    };
    format!("{} {unit}", quantity::plain(x, 3))
}

fn sign(v: Verdict) -> &'static str {
    match v {
        Verdict::Meets => "●",
        Verdict::Thin | Verdict::Undecided => "◐",
        Verdict::Fails => "○",
        Verdict::Fragment | Verdict::Unmodelled => "·",
    }
}

fn word(v: Verdict) -> &'static str {
    match v {
        Verdict::Meets => "meets",
        Verdict::Thin => "thin",
        Verdict::Fails => "fails",
        Verdict::Undecided => "undecided",
        Verdict::Fragment => "values without a verdict",
        Verdict::Unmodelled => "cannot be judged",
    }
}
