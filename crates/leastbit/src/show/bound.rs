//! How far a value may go.

use std::fmt::Write as _;

use report::{Bound, Found, number};

use super::{ink, lines};

/// Columns of the labels.
const LABEL: usize = 12;
/// Columns of the bar of a result.
const BAR: usize = 24;
/// Lines of the picture at the most.
const MOST: usize = 17;

/// The answer of `bound`.
pub(crate) fn bound(b: &Bound) -> String {
    let mut out = format!("{}\n", ink::title(&b.board));
    let value = |x: f64| number::measured(x, &b.value_unit, 4);
    let result = |x: f64| size(b, x);
    let what = if b.varied == "value" {
        b.path.clone()
    } else {
        format!("{} of {}", b.varied, b.path)
    };
    let mut line = |label: &str, text: &str| {
        out.push_str(&lines::hanging(
            &format!("  {}", lines::left(label, LABEL)),
            text,
        ));
    };
    line("varied", &format!("{what}, written {}", b.written));
    let against = if b.within { "within" } else { "at least" };
    line(
        "asked",
        &format!("{}: {}, {against} {}", b.channel, b.result, limit(b)),
    );
    if let Some(now) = b.as_written {
        line("as written", &result(now));
    }
    let word = if b.largest { "largest" } else { "smallest" };
    match &b.found {
        Found::Value {
            value: found,
            result: there,
            other_crossings,
            ..
        } => {
            line(
                word,
                &format!("{}: {} there", value(*found), result(*there)),
            );
            for buy in &b.buy {
                line(
                    "to buy",
                    &format!(
                        "{} ({}): {}",
                        number::amount(buy.value, &b.value_unit),
                        buy.series,
                        result(buy.result)
                    ),
                );
            }
            if !b.decides.is_empty() {
                line("decides", &b.decides);
            }
            if !b.beyond.is_empty() {
                line("beyond", &b.beyond);
            }
            if !other_crossings.is_empty() {
                let list: Vec<String> = other_crossings.iter().map(|&x| value(x)).collect();
                line(
                    "note",
                    &format!(
                        "the limit is crossed at {} too: not everything on this side of the value found is within it",
                        list.join(", ")
                    ),
                );
            }
            for other in &b.breaks {
                line("but there", other);
            }
        }
        Found::Always => {
            line(
                word,
                &format!(
                    "within the limit everywhere from {} to {}",
                    value(b.range.0),
                    value(b.range.1)
                ),
            );
        }
        Found::Never => {
            line(
                word,
                &format!(
                    "nowhere within the limit from {} to {}",
                    value(b.range.0),
                    value(b.range.1)
                ),
            );
            if !b.beyond.is_empty() {
                line("because", &b.beyond);
            }
        }
    }
    out.push('\n');
    out.push_str(&picture(b));
    out
}

/// The limit, as a person would write it.
fn limit(b: &Bound) -> String {
    match b.result_unit.as_str() {
        "" | "codes" => size(b, b.limit),
        unit => number::amount(b.limit, unit),
    }
}

/// A result with its unit.
fn size(b: &Bound, x: f64) -> String {
    match b.result_unit.as_str() {
        "" if !b.within => number::share(x),
        "codes" => format!("{} codes", number::measured(x, "", 3)),
        unit => number::measured(x, unit, 3),
    }
}

/// The result over the range, a bar a value; the limit is a fence.
fn picture(b: &Bound) -> String {
    let mut points: Vec<&(f64, Option<f64>)> = b.sweep.points.iter().collect();
    // Where the search closed in, lines would repeat each other.
    let found = match b.found {
        Found::Value { value, .. } => Some(value),
        _ => None,
    };
    while points.len() > MOST {
        let closest = points
            .windows(2)
            .enumerate()
            .skip(1)
            .filter(|(_, pair)| Some(pair[0].0) != found)
            .min_by(|(_, a), (_, c)| gap(a).total_cmp(&gap(c)))
            .map(|(i, _)| i);
        match closest {
            Some(i) if i < points.len() => {
                points.remove(i);
            }
            _ => break,
        }
    }
    let mut rows: Vec<Vec<String>> = Vec::new();
    for (x, y) in points {
        let text = y.map_or_else(|| "no result".to_owned(), |y| size(b, y));
        rows.push(vec![
            number::measured(*x, &b.value_unit, 3),
            text,
            y.map_or_else(String::new, |y| bar(y / b.limit)),
        ]);
    }
    let mut out = String::new();
    for line in lines::table(&rows, &[true, true, false]) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// How far two neighbours are apart, in ratio where both are above zero.
fn gap(pair: &[&(f64, Option<f64>)]) -> f64 {
    match pair {
        [a, b] if a.0 > 0.0 => b.0 / a.0 - 1.0,
        [a, b] => b.0 - a.0,
        _ => f64::INFINITY,
    }
}

/// A bar whose fence is the limit; what goes beyond the ruler ends in an
/// arrow.
fn bar(ratio: f64) -> String {
    let fence = BAR / 2;
    let end = ratio * fence as f64;
    if !(end >= 0.0) {
        return String::new();
    }
    (0..=BAR)
        .map(|i| {
            if i == BAR && end > BAR as f64 {
                '▸'
            } else if i == fence {
                '┃'
            } else if (i as f64) < end.round() {
                '█'
            } else {
                ' '
            }
        })
        .collect::<String>()
        .trim_end()
        .to_owned()
}
