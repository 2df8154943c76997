//! The verdicts of a board.

use std::fmt::Write as _;

use report::{Channel, Check, Condition, Judged, LevelPair, Signal, Unpublished, Verdict, number};

use super::{bars, finding, ink, lines};

/// Columns of the labels.
const LABEL: usize = 14;

/// The last line of every verdict.
pub(super) const AID: &str = "An aid to design: it certifies nothing.";

/// The whole answer of `check`.
pub(crate) fn check(result: &Check, brief: bool) -> String {
    let mut out = format!("{}\n", ink::title(&result.board));
    let mut under = result.conditions.join(" · ");
    let counted = counts(result);
    if !counted.is_empty() {
        under.push_str(" · ");
        under.push_str(&counted);
    }
    let _ = writeln!(out, "{}", ink::soft(&under));
    if result.channels.is_empty() {
        // Nothing is measured: links and rails are all there is.
    } else if brief {
        out.push('\n');
        out.push_str(&brief_channels(result));
    } else {
        for c in &result.channels {
            out.push('\n');
            out.push_str(&channel(c, result.probability));
        }
    }
    out.push_str(&around(result));
    out.push_str(&scenarios(result));
    if !result.findings.is_empty() {
        let _ = writeln!(out, "\n{}", ink::title("Findings"));
        for f in &result.findings {
            if !brief {
                out.push('\n');
            }
            out.push_str(&if brief {
                finding::head(f)
            } else {
                finding::full(f)
            });
        }
        let _ = writeln!(
            out,
            "\n{}",
            ink::soft("`leastbit explain ID` has a page on each.")
        );
    }
    let _ = writeln!(out, "\n{}", ink::soft(AID));
    out
}

/// Links and rails, a line each: how they stand and what is nearest to its
/// limit. Rails that nothing is asked of are left out.
fn around(result: &Check) -> String {
    let links = result
        .links
        .iter()
        .map(|l| (l.name.clone(), l.verdict, nearest(&l.quantities, &l.levels)));
    let rails = result
        .rails
        .iter()
        .filter(|r| r.verdict != Verdict::Fragment)
        .map(|r| {
            (
                format!("rail {}", r.name),
                r.verdict,
                nearest(&r.quantities, &[]),
            )
        });
    let lines: Vec<(String, Verdict, String)> = links.chain(rails).collect();
    if lines.is_empty() {
        return String::new();
    }
    let wide = lines
        .iter()
        .map(|(name, ..)| name.chars().count())
        .max()
        .unwrap_or(0);
    let mut out = format!("\n{}\n", ink::title("Links and rails"));
    for (name, verdict, says) in lines {
        let word = format!("{} {}", verdict.shape(), verdict.word());
        let pad = " ".repeat(wide - name.chars().count() + 2);
        let fill = " ".repeat(9_usize.saturating_sub(word.chars().count()));
        let _ = writeln!(
            out,
            "{name}{pad}{}{fill}{says}",
            ink::verdict(verdict, &word)
        );
    }
    out
}

/// How the verdicts differ in other circumstances, a line each.
fn scenarios(result: &Check) -> String {
    if result.scenarios.is_empty() {
        return String::new();
    }
    let mut out = format!("\n{}\n", ink::title("Scenarios"));
    for s in &result.scenarios {
        let name = match s.after_s {
            Some(at) => format!("{}, from {} on", s.name, number::about(at, "s")),
            None => s.name.clone(),
        };
        out.push_str(&lines::hanging("  ", &format!("{name}: {}", s.text)));
    }
    out
}

/// What lies nearest to its limit, in words.
fn nearest(quantities: &[Judged], levels: &[LevelPair]) -> String {
    let worst = |v: Verdict| match v {
        Verdict::Fails => 0,
        Verdict::Thin | Verdict::Undecided => 1,
        _ => 2,
    };
    let level = levels.iter().min_by_key(|p| worst(p.verdict));
    let quantity = quantities
        .iter()
        .filter(|q| q.low.is_some() || q.high.is_some())
        .min_by(|a, b| {
            let share = |q: &Judged| {
                let limit = q.high.or(q.low).unwrap_or(1.0);
                q.margin.map_or(f64::INFINITY, |m| m / limit.abs())
            };
            worst(a.verdict)
                .cmp(&worst(b.verdict))
                .then(share(a).total_cmp(&share(b)))
        });
    let of_level = |p: &LevelPair| {
        let left = [p.margin_low, p.margin_high]
            .into_iter()
            .flatten()
            .fold(f64::INFINITY, f64::min);
        format!(
            "{} to {}: {} left",
            p.driver,
            p.receiver,
            number::measured(left, "V", 3)
        )
    };
    let of_quantity = |q: &Judged| {
        let limit = match (q.low, q.high) {
            (Some(low), Some(high)) => format!(
                "{} to {}",
                number::measured(low, &q.unit, 3),
                number::measured(high, &q.unit, 3)
            ),
            (Some(low), None) => format!("at least {}", number::measured(low, &q.unit, 3)),
            (None, high) => format!(
                "at most {}",
                number::measured(high.unwrap_or(f64::NAN), &q.unit, 3)
            ),
        };
        format!(
            "{} {}, {limit}",
            q.name,
            number::measured(q.value, &q.unit, 3)
        )
    };
    match (level, quantity) {
        (Some(l), Some(q)) if worst(q.verdict) < worst(l.verdict) => of_quantity(q),
        (Some(l), _) => of_level(l),
        (None, Some(q)) => of_quantity(q),
        (None, None) => String::new(),
    }
}

fn counts(result: &Check) -> String {
    let c = result.counts;
    let list = [
        (c.meets, "meets", "meet"),
        (c.thin, "thin", "thin"),
        (c.fails, "fails", "fail"),
        (c.undecided, "undecided", "undecided"),
        (c.fragments, "without a need", "without a need"),
        (c.unmodelled, "cannot be judged", "cannot be judged"),
    ];
    let words: Vec<String> = list
        .iter()
        .filter(|(n, ..)| *n > 0)
        .map(|(n, one, more)| format!("{n} {}", if *n == 1 { one } else { more }))
        .collect();
    words.join(", ")
}

fn head(c: &Channel) -> String {
    let word = format!("{} {}", c.verdict.shape(), c.verdict.word());
    ink::verdict(c.verdict, &word)
}

fn brief_channels(result: &Check) -> String {
    let rows: Vec<Vec<String>> = result
        .channels
        .iter()
        .map(|c| {
            let need = c.need.as_ref().map_or_else(String::new, |n| {
                let factor = number::factor(&c.error_unit, &n.unit);
                format!("±{} {}", number::short(factor * n.limit), n.unit)
            });
            let reached = c.monte_carlo.as_ref().map_or_else(String::new, |m| {
                let digits = number::digits(m.half_width, m.tolerance);
                match &c.need {
                    Some(n) => {
                        let factor = number::factor(&c.error_unit, &n.unit);
                        let size = quantity::plain(factor * m.half_width, digits);
                        format!("±{size} {}", n.unit)
                    }
                    None => format!("±{}", number::measured(m.half_width, &c.error_unit, digits)),
                }
            });
            vec![
                c.name.clone(),
                format!("{} {}", c.verdict.shape(), c.verdict.word()),
                reached,
                need,
                if c.reason.is_empty() {
                    c.decides.clone()
                } else {
                    c.reason.clone()
                },
            ]
        })
        .collect();
    let mut out = String::new();
    for (line, c) in lines::table(&rows, &[false, false, true, true, false])
        .iter()
        .zip(&result.channels)
    {
        let word = format!("{} {}", c.verdict.shape(), c.verdict.word());
        let _ = writeln!(out, "{}", line.replacen(&word, &head(c), 1));
    }
    out
}

/// A line behind its label.
pub(super) fn labelled(label: &str, text: &str) -> String {
    lines::hanging(&format!("  {}", lines::left(label, LABEL)), text)
}

/// One channel.
pub(super) fn channel(c: &Channel, probability: f64) -> String {
    let mut out = format!("{}  {}\n", ink::title(&c.name), head(c));
    let span = number::span(c.span.0, c.span.1, &c.unit);
    match &c.need {
        Some(need) => out.push_str(&labelled(
            "need",
            &format!(
                "±{} over {span}, for {} of the readings",
                need.text.trim_start_matches('±').trim(),
                number::share(probability)
            ),
        )),
        None => out.push_str(&labelled("span", &span)),
    }
    if !c.reason.is_empty() {
        out.push_str(&labelled("reason", &c.reason));
        return out;
    }
    if let Some(s) = &c.signal {
        out.push_str(&signal(c, s));
    }
    out.push_str(&answers(c));
    if !c.worst_at.is_empty() {
        out.push_str(&labelled("worst at", &conditions(&c.worst_at)));
    }
    if let (Some(b), Some(_)) = (&c.boards, &c.need) {
        out.push_str(&labelled(
            "yield",
            &format!(
                "{} of the boards meet it everywhere, {} or more (95 % sure; {} drawn)",
                number::share(b.share),
                number::share(b.at_least),
                b.boards
            ),
        ));
    }
    if let Some(m) = c.monte_carlo.as_ref().and_then(|m| m.met) {
        let margin = c.margin.map_or_else(String::new, |m| {
            if m >= 0.0 {
                format!("; {} of the limit is left", number::share(m))
            } else {
                format!("; {} of the limit", number::share(1.0 - m))
            }
        });
        out.push_str(&labelled(
            "readings",
            &format!(
                "{} within the limit ({} to {}){margin}",
                number::share(m.share),
                number::share(m.low),
                number::share(m.high)
            ),
        ));
    }
    out.push_str(&labelled("decides", &c.decides));
    if let Some(u) = &c.unpublished {
        out.push_str(&labelled("rests on", &rests(u)));
    }
    if !c.held_by.is_empty() {
        out.push_str(&labelled(
            c.verdict.word(),
            &format!("for {}, see below", c.held_by.join(", ")),
        ));
    }
    for doubt in &c.doubts {
        out.push_str(&labelled("doubt", &format!("propagation: {doubt}")));
    }
    out
}

/// How much of the budget no document states, in a sentence.
fn rests(u: &Unpublished) -> String {
    let Some(((first, basis), rest)) = u.figures.split_first() else {
        return "figures that a document or the board file states".to_owned();
    };
    let mut names = vec![format!("{first} ({basis})")];
    names.extend(rest.iter().take(2).map(|(n, b)| format!("{n} ({b})")));
    if rest.len() > 2 {
        names.push(format!("{} more", rest.len() - 2));
    }
    format!(
        "{} of the variance on figures that no document states: {}",
        number::part(u.share),
        names.join("; ")
    )
}

/// Conditions in a row.
pub(super) fn conditions(list: &[Condition]) -> String {
    let words: Vec<String> = list
        .iter()
        .map(|c| format!("{} {}", c.name, quantity_text(c.value, &c.unit)))
        .collect();
    words.join(", ")
}

/// A condition's value: found to about four digits.
fn quantity_text(value: f64, unit: &str) -> String {
    let rounded = if value == 0.0 { 0.0 } else { value };
    match unit {
        "°C" => format!("{} °C", number::short((rounded * 100.0).round() / 100.0)),
        _ => number::amount(rounded, unit),
    }
}

fn signal(c: &Channel, s: &Signal) -> String {
    let (before, within, after) = bars::scale(s);
    let volt = |v: f64| number::amount(v, "V");
    let (narrow, wide) = if s.code_width_low < s.code_width_high {
        (s.code_width_low, s.code_width_high)
    } else {
        (s.code_width_high, s.code_width_low)
    };
    let width = |x: f64| number::measured(x, &c.error_unit, 2);
    let each = if wide <= 1.02 * narrow {
        format!("{} each", width(wide))
    } else {
        format!("{} to {} each", width(narrow), width(wide))
    };
    let mut out = format!(
        "  {}{} {}{}{} {}\n",
        lines::left("scale", LABEL),
        volt(s.scale_low),
        before,
        ink::signal(&within),
        after,
        volt(s.scale_high)
    );
    out.push_str(&labelled(
        "",
        &format!(
            "{} to {} uses {} of {} codes, {each}",
            number::measured(s.at_low, "V", 4),
            number::measured(s.at_high, "V", 4),
            number::share(s.share()),
            number::count(s.codes)
        ),
    ));
    out
}

/// The three answers on one ruler, in one unit.
fn answers(c: &Channel) -> String {
    let mut out = String::new();
    let Some(m) = &c.monte_carlo else {
        return out;
    };
    let limit = c.need.as_ref().map(|n| n.limit);
    let (factor, unit) = match &c.need {
        Some(need) if !need.unit.is_empty() => {
            (number::factor(&c.error_unit, &need.unit), need.unit.clone())
        }
        _ => number::prefixed(m.half_width, &c.error_unit),
    };
    let digits = number::digits(m.half_width, m.tolerance);
    let places = number::decimals(factor * m.half_width, digits);
    let wide = [
        c.worst_case.as_ref().map(|w| w.magnitude),
        c.propagation.as_ref().map(|p| p.half_width),
        Some(m.half_width),
    ]
    .into_iter()
    .flatten()
    .map(|x| lines::width(&number::fixed(factor * x, places)))
    .max()
    .unwrap_or(0);
    let mut row = |name: &str, value: f64, ends: (f64, f64), fill: char, note: &str| {
        let size = lines::right(&number::fixed(factor * value, places), wide);
        let bar = limit
            .filter(|l| *l > 0.0)
            .map_or_else(String::new, |l| bars::error(ends.0, ends.1, l, fill));
        let line = format!(
            "  {}±{size} {unit}  {bar}  {note}",
            lines::left(name, LABEL)
        );
        let _ = writeln!(out, "{}", line.trim_end());
    };
    if let Some(w) = &c.worst_case {
        let note = if w.bound { "" } else { "not a bound" };
        row("worst case", w.magnitude, (w.low, w.high), '─', note);
    }
    if let Some(p) = &c.propagation {
        let note = match p.valid {
            Some(false) => "unconfirmed",
            _ => "",
        };
        let ends = (p.bias - p.k * p.u, p.bias + p.k * p.u);
        row("propagation", p.half_width, ends, '▒', note);
    }
    row("Monte Carlo", m.half_width, m.interval, '█', "");
    out
}
