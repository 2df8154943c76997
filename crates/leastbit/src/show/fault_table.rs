//! Faults of wires and components.

use report::{FaultChannel, FaultRow, Faults, Reach, Verdict, number};

use super::{check, finding, ink, lines};

/// The answer of `faults`; `components` shows single faults of components
/// that the board need not stand, too.
pub(crate) fn fault_table(f: &Faults, components: bool) -> String {
    let mut out = format!("{}\n", ink::title(&f.board));
    // Channels that behave alike share their table.
    let mut told: Vec<(Vec<String>, String)> = Vec::new();
    for c in &f.channels {
        let text = channel(c, components);
        match told.iter_mut().find(|(_, t)| *t == text) {
            Some((names, _)) => names.push(c.name.clone()),
            None => told.push((vec![c.name.clone()], text)),
        }
    }
    for (names, text) in told {
        out.push('\n');
        out.push_str(&format!("{}\n", ink::title(&names.join(", "))));
        out.push_str(&text);
    }
    if f.channels.is_empty() {
        out.push_str("\nNo channel of this board has wires of its own.\n");
    }
    for one in &f.findings {
        out.push('\n');
        out.push_str(&finding::full(one));
    }
    out
}

fn channel(c: &FaultChannel, components: bool) -> String {
    if !c.reason.is_empty() {
        return check::labelled("none", &c.reason);
    }
    let mut out = check::labelled(
        "real",
        &format!(
            "{} to {}: {}",
            number::short(rounded(c.valid.0)),
            with_unit(c.valid.1, &c.unit),
            c.valid_by
        ),
    );
    let shown: Vec<&FaultRow> = c
        .rows
        .iter()
        .filter(|r| components || r.kind != "components" || r.judged || r.must_detect)
        .collect();
    for r in &shown {
        out.push_str(&row(c, r));
    }
    let left = c.rows.len() - shown.len();
    if left > 0 {
        let broken = c
            .rows
            .iter()
            .filter(|r| r.kind == "components" && !r.damage.is_empty())
            .count();
        let worst = match broken {
            0 => "none of which destroys a part".to_owned(),
            n => format!("{n} of which destroy a part"),
        };
        out.push_str(&lines::hanging(
            "  ",
            &ink::soft(&format!(
                "and {left} faults of single components, {worst}; --components shows them"
            )),
        ));
    }
    out
}

/// Widths of the band beyond which a reading is only called far outside.
const FAR: f64 = 100.0;

fn rounded(x: f64) -> f64 {
    quantity::plain(x, 4)
        .replace('\u{2212}', "-")
        .parse()
        .unwrap_or(x)
}

fn with_unit(x: f64, unit: &str) -> String {
    if unit == "°C" || unit.contains('/') {
        format!("{} {unit}", number::short(rounded(x)))
    } else {
        number::about(x, unit)
    }
}

/// Two ends of a value, or one where they agree to three digits.
fn reach(r: &Reach, of: impl Fn(f64) -> String) -> String {
    let (low, high) = (of(r.low), of(r.high));
    if low == high {
        low
    } else {
        format!("{low} to {high}")
    }
}

fn row(c: &FaultChannel, r: &FaultRow) -> String {
    let shape = match r.verdict {
        Verdict::Fragment => "·",
        v => v.shape(),
    };
    let mark = ink::verdict(r.verdict, shape);
    let mut out = format!("  {mark} {}\n", capital(&r.what));
    let mut line = |text: &str| out.push_str(&lines::hanging("      ", text));
    if !r.reason.is_empty() {
        line(&ink::soft(&r.reason));
        return out;
    }
    let volt = |v: f64| number::measured(v, "V", 3);
    let mut facts: Vec<String> = r
        .pins
        .iter()
        .map(|p| {
            let mut text = format!("{} {}", p.name, reach(&p.volt, volt));
            let ampere = p.into_supply_a.max(p.from_ground_a);
            if ampere > 2e-6 {
                text.push_str(&format!(
                    " with {} in its diode",
                    number::measured(ampere, "A", 3)
                ));
            }
            text
        })
        .collect();
    facts.extend(
        r.into_rails
            .iter()
            .map(|(rail, a)| format!("{} into rail {rail}", number::measured(*a, "A", 3))),
    );
    if let Some((name, watt)) = &r.hottest
        && *watt > 0.01
    {
        facts.push(format!("{name} {}", number::measured(*watt, "W", 3)));
    }
    if !facts.is_empty() {
        line(&facts.join("; "));
    }
    let mut seen = Vec::new();
    if let Some(code) = &r.code {
        seen.push(format!("code {}", reach(code, number::count)));
    }
    if let Some(reading) = &r.reading
        && reading.low.is_finite()
        && reading.high.is_finite()
    {
        // What a formula makes of the far end of a scale is no quantity.
        let far = FAR * (c.valid.1 - c.valid.0).abs();
        let beyond = |x: f64| x < c.valid.0 - far || x > c.valid.1 + far;
        seen.push(if beyond(reading.low) || beyond(reading.high) {
            "reads far outside".to_owned()
        } else {
            format!("reads {}", reach(reading, |x| with_unit(x, &c.unit)))
        });
    }
    let how = if r.how.is_empty() {
        r.told.clone()
    } else {
        format!("{}: {}", r.told, r.how)
    };
    seen.push(how);
    line(&seen.join(", "));
    for d in &r.damage {
        line(&ink::verdict(r.verdict, d));
    }
    out
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    match chars.next() {
        Some(first) => first.to_uppercase().chain(chars).collect(),
        None => String::new(),
    }
}
