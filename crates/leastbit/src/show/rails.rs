//! Rails, heat and shared returns.

use std::fmt::Write as _;

use report::{HeatResult, Judged, RailResult, Rails, ReturnResult, Verdict, number};

use super::{finding, ink, lines};

/// The answer of `rails`.
pub(crate) fn rails(r: &Rails) -> String {
    let mut out = format!("{}\n", ink::title(&r.board));
    if r.rails.is_empty() {
        out.push_str("\nThe board has no rails.\n");
    } else {
        out.push('\n');
        out.push_str(&tree(r));
    }
    for one in &r.rails {
        out.push('\n');
        out.push_str(&rail(one));
    }
    if !r.heat.is_empty() {
        let _ = writeln!(out, "\n{}", ink::title("Heat"));
        for h in &r.heat {
            out.push_str(&heat(h));
        }
    }
    if !r.returns.is_empty() {
        let _ = writeln!(out, "\n{}", ink::title("Shared returns"));
        for one in &r.returns {
            out.push_str(&returned(one));
        }
    }
    if !r.findings.is_empty() {
        let _ = writeln!(out, "\n{}", ink::title("Findings"));
        for f in &r.findings {
            out.push('\n');
            out.push_str(&finding::full(f));
        }
        let _ = writeln!(
            out,
            "\n{}",
            ink::soft("`leastbit explain ID` has a page on each.")
        );
    }
    out
}

fn word(verdict: Verdict) -> String {
    ink::verdict(verdict, &format!("{} {}", verdict.shape(), verdict.word()))
}

fn ampere(a: f64) -> String {
    if a.is_finite() {
        number::about(a, "A")
    } else {
        String::new()
    }
}

fn volt(v: f64) -> String {
    if v.is_finite() {
        number::about(v, "V")
    } else {
        String::new()
    }
}

/// All rails, each below the one that feeds it.
fn tree(r: &Rails) -> String {
    let mut rows = vec![
        [
            "rail", "by", "nominal", "lowest", "usual", "average", "most", "may give",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    rows.extend(below(r, "").into_iter().map(|one| {
        vec![
            format!("{}{}", "  ".repeat(one.depth), one.name),
            one.by.clone(),
            volt(one.free_v[1]),
            volt(one.low_v),
            ampere(one.usual_a),
            ampere(one.average_a),
            ampere(one.most_a),
            one.limit_a.map_or_else(String::new, ampere),
        ]
    }));
    let mut out = String::new();
    let right = [false, false, true, true, true, true, true, true];
    for line in lines::table(&rows, &right) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// Those fed by a rail, each followed by those it feeds.
fn below<'a>(r: &'a Rails, from: &str) -> Vec<&'a RailResult> {
    let mut list = Vec::new();
    for one in r.rails.iter().filter(|x| x.from == from) {
        list.push(one);
        list.extend(below(r, &one.name));
    }
    list
}

fn rail(r: &RailResult) -> String {
    let mut out = format!("{}  {}\n", ink::title(&r.name), word(r.verdict));
    if !r.loads.is_empty() {
        let mut rows = vec![
            ["draws from it", "usual", "most", ""]
                .map(str::to_owned)
                .to_vec(),
        ];
        rows.extend(r.loads.iter().map(|l| {
            vec![
                l.name.clone(),
                ampere(l.usual_a),
                ampere(l.most_a),
                if l.typical_only {
                    "typical only".to_owned()
                } else {
                    String::new()
                },
            ]
        }));
        for line in lines::table(&rows, &[false, true, true, false]) {
            let _ = writeln!(out, "  {}", line.trim_end());
        }
    }
    if r.quantities.iter().any(|q| q.margin.is_some()) {
        out.push_str(&quantities(&r.quantities));
    }
    out
}

fn quantities(all: &[Judged]) -> String {
    let shown = |v: f64, unit: &str| {
        if unit == "s" && v >= 86_400.0 {
            format!("{} d", quantity::plain(v / 86_400.0, 3))
        } else {
            number::about(v, unit)
        }
    };
    let mut rows = vec![
        ["", "value", "at least", "at most", ""]
            .map(str::to_owned)
            .to_vec(),
    ];
    rows.extend(all.iter().map(|q| {
        vec![
            q.name.clone(),
            shown(q.value, &q.unit),
            q.low.map_or_else(String::new, |v| shown(v, &q.unit)),
            q.high.map_or_else(String::new, |v| shown(v, &q.unit)),
            if q.margin.is_some() {
                q.verdict.word().to_owned()
            } else {
                String::new()
            },
        ]
    }));
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, false]) {
        let _ = writeln!(out, "  {}", line.trim_end());
    }
    out
}

fn heat(h: &HeatResult) -> String {
    let mut out = String::new();
    let watt = |w: f64| number::about(w, "W");
    let mut text = format!("{} as usual, {} at most", watt(h.usual_w), watt(h.most_w));
    if let Some(j) = &h.junction {
        let _ = write!(
            text,
            "; {} °C inside ({}), {} °C permitted: {}",
            number::short(j.value.round()),
            j.working,
            number::short(j.high.unwrap_or(f64::NAN)),
            j.verdict.word()
        );
    }
    out.push_str(&lines::hanging("  ", &format!("{}: {text}", h.source)));
    for w in &h.warms {
        out.push_str(&lines::hanging(
            "    ",
            &format!(
                "warms {} by {} as usual, {} at most",
                w.name,
                number::about(w.usual_k, "K"),
                number::about(w.most_k, "K")
            ),
        ));
    }
    out
}

fn returned(r: &ReturnResult) -> String {
    let mut out = lines::hanging(
        "  ",
        &format!(
            "{}: {} ({}), {} to {}: {} to {}",
            r.name,
            number::about(r.ohm, "Ω"),
            r.pieces.join("; "),
            ampere(r.current_a[0]),
            ampere(r.current_a[1]),
            number::measured(r.shift_v[0], "V", 3),
            number::measured(r.shift_v[2], "V", 3)
        ),
    );
    for c in &r.channels {
        let codes = c.codes.map_or_else(String::new, |n| {
            format!(", {} codes", number::measured(n, "", 2))
        });
        out.push_str(&lines::hanging(
            "    ",
            &format!(
                "{} reads {} off at most{codes}",
                c.name,
                number::measured(c.error, &c.unit, 3)
            ),
        ));
    }
    out
}
