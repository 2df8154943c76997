//! Budgets.

use std::fmt::Write as _;

use report::{Budget, Line, Table, number};

use super::{check, ink, lines};

/// Columns of the bar of shares.
const BAR: usize = 8;

/// Columns of a share.
const SHARE: usize = 7;

/// Least columns of a name, so that tables line up below one another.
const NAME: usize = 40;

/// Contributors with less than this share of the variance are named together.
const LEAST: f64 = 1e-3;

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
    let (shown, rest): (Vec<&Line>, Vec<&Line>) = t.lines.iter().partition(|l| l.share >= LEAST);
    let mut rows = vec![
        ["share", "", "contributor", "u"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let largest = t.lines.iter().map(|l| l.contribution).fold(0.0, f64::max);
    let (factor, symbol) = number::prefixed(largest, unit);
    let places = number::decimals(largest * factor, 3);
    rows.extend(shown.iter().map(|l| row(l, factor, &symbol, places)));
    let laid = lines::table(&rows, &[true, false, false, true]);
    let indent = " ".repeat(2 + SHARE + 2 + BAR + 2);
    for (n, line) in laid.iter().enumerate() {
        let _ = writeln!(out, "  {line}");
        if let Some(l) = n.checked_sub(1).and_then(|n| shown.get(n)) {
            let text = format!("{}, {}, {}; {}", l.kind, limits(l), slope(l, unit), from(l));
            out.push_str(&ink::soft(&lines::hanging(&indent, &text)));
        }
    }
    if !rest.is_empty() {
        let sum: f64 = rest.iter().map(|l| l.share).sum();
        let names: Vec<&str> = rest.iter().map(|l| l.name.as_str()).collect();
        out.push_str(&lines::hanging(
            "  ",
            &format!(
                "and {} of together {} of the variance: {}",
                rest.len(),
                number::part(sum),
                names.join("; ")
            ),
        ));
    }
    let size = |x: f64| number::measured(x, unit, 3);
    let bias = if t.bias.abs() < 0.01 * t.u {
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

fn row(l: &Line, factor: f64, symbol: &str, places: usize) -> Vec<String> {
    let full = (l.share * BAR as f64).round().clamp(0.0, BAR as f64) as usize;
    let bar = format!("{}{}", "█".repeat(full), "·".repeat(BAR - full));
    let size = l.contribution * factor;
    let size = if number::decimals(size, 1) > places {
        number::fixed(size, number::decimals(size, 1))
    } else {
        number::fixed(size, places)
    };
    vec![
        lines::right(&number::part(l.share), SHARE),
        bar,
        lines::left(&l.name, NAME),
        format!("{size} {symbol}").trim_end().to_owned(),
    ]
}

/// Where a contributor's limits are written.
fn from(l: &Line) -> String {
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
    from
}

fn limits(l: &Line) -> String {
    let text = if l.low == -l.high && l.unit.is_empty() {
        format!("±{}", number::relative(l.high, 2))
    } else if l.low == -l.high {
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
        format!("{text} at 3 u")
    }
}

/// Change of the error per unit of the input, in a unit that its limits are
/// shown in.
fn slope(l: &Line, unit: &str) -> String {
    // Of an error in the quantity's own unit so much arrives; a current in
    // the way of a measured current is something else.
    if l.unit == unit && (0.05..20.0).contains(&l.sensitivity.abs()) {
        return format!("{} of it", number::measured(l.sensitivity, "", 3));
    }
    let (step, name) = if l.unit == "1/K" {
        (1e-6, "ppm/K".to_owned())
    } else if l.unit.is_empty() && l.low == -l.high {
        let (factor, name) = number::relative_unit(l.high);
        (1.0 / factor, name.to_owned())
    } else {
        let (factor, name) = number::prefixed(l.high.abs().max(l.low.abs()), &l.unit);
        (1.0 / factor, name)
    };
    let (factor, symbol) = number::prefixed(step * l.sensitivity, unit);
    let size = number::measured(step * l.sensitivity * factor, "", 3);
    format!("{size} {symbol} per {name}")
        .replace(" per  ", " ")
        .trim_end_matches(" per ")
        .to_owned()
}
