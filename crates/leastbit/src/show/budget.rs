//! Budgets.

use std::fmt::Write as _;

use report::{Budget, Line, Table, number};

use super::{check, ink, lines};

/// Columns of the bar of shares.
const BAR: usize = 12;

/// Where one channel's error comes from.
pub(crate) fn budget(result: &Budget, working: bool, probability: f64) -> String {
    let mut out = format!("{}\n\n", ink::title(&result.board));
    out.push_str(&check::channel(&result.channel, probability));
    let unit = &result.channel.error_unit;
    let tables = [
        (
            &result.before,
            if result.after.is_some() {
                "Before calibration"
            } else {
                "Budget"
            },
        ),
        (&result.after, "After calibration"),
    ];
    for (table, title) in tables {
        if let Some(table) = table {
            out.push_str(&one(table, title, unit, working));
        }
    }
    out
}

fn one(t: &Table, title: &str, unit: &str, working: bool) -> String {
    let mut out = format!(
        "\n{}  {}\n",
        ink::title(title),
        ink::soft(&format!("at {}", check::conditions(&t.at)))
    );
    let mut rows = vec![
        [
            "share",
            "",
            "contributor",
            "kind",
            "limits",
            "sensitivity",
            "u of the error",
            "from",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    rows.extend(t.lines.iter().map(|l| row(l, unit)));
    for line in lines::table(&rows, &[true, false, false, false, true, true, true, false]) {
        let _ = writeln!(out, "  {line}");
    }
    let size = |x: f64| number::measured(x, unit, 3);
    let bias = if t.bias == 0.0 {
        String::new()
    } else {
        format!(" about {}", size(t.bias))
    };
    let limit = t.limit.map_or_else(String::new, |l| {
        format!(", ±{} permitted", number::amount(l, unit))
    });
    out.push_str(&lines::hanging(
        "  ",
        &format!(
            "u = {}, k = {}: ±{}{bias}{limit}",
            size(t.u),
            number::measured(t.k, "", 3),
            size(t.half_width)
        ),
    ));
    let kinds: Vec<String> = t
        .kinds
        .iter()
        .filter(|(_, share)| *share >= 0.0005)
        .map(|(kind, share)| format!("{kind} {}", number::part(*share)))
        .collect();
    out.push_str(&lines::hanging("  by kind: ", &kinds.join(", ")));
    if working && !t.working.is_empty() {
        let _ = writeln!(out, "\n  {}", ink::title("Working, everything nominal"));
        for line in &t.working {
            out.push_str(&lines::hanging("  = ", line));
        }
    }
    out
}

fn row(l: &Line, unit: &str) -> Vec<String> {
    let full = (l.share * BAR as f64).round().clamp(0.0, BAR as f64) as usize;
    let bar = format!("{}{}", "█".repeat(full), "·".repeat(BAR - full));
    let mut from = l.source.clone();
    if !l.basis.is_empty() && l.basis != "published" {
        from = if from.is_empty() {
            l.basis.clone()
        } else {
            format!("{from} ({})", l.basis)
        };
    }
    if from == "the board file" && !l.place.is_empty() {
        from.clone_from(&l.place);
    }
    vec![
        number::part(l.share),
        bar,
        l.name.clone(),
        l.kind.clone(),
        limits(l),
        slope(l, unit),
        number::measured(l.contribution, unit, 3),
        from,
    ]
}

fn limits(l: &Line) -> String {
    let text = if l.low == -l.high {
        format!("±{}", number::measured(l.high, &l.unit, 2))
    } else {
        format!(
            "{} to {}",
            number::measured(l.low, &l.unit, 2),
            number::measured(l.high, &l.unit, 2)
        )
    };
    if l.bound {
        text
    } else {
        format!("{text} (not a bound)")
    }
}

/// Change of the error per unit of the input.
fn slope(l: &Line, unit: &str) -> String {
    if l.unit == unit {
        return number::measured(l.sensitivity, "", 3);
    }
    if l.unit == "1/K" {
        let size = number::measured(1e-6 * l.sensitivity, unit, 3);
        return format!("{size} per ppm/K");
    }
    let size = number::measured(l.sensitivity, unit, 3);
    if l.unit.is_empty() {
        size
    } else {
        format!("{size} per {}", l.unit)
    }
}
