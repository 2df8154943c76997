//! Digital words.

use report::{Misread, SeenWord, ShownReading, Verdict, Word, Words, number};

use super::{check, ink, lines};

/// The answer of `words`.
pub(crate) fn words(result: &Words) -> String {
    let mut out = format!("{}\n", ink::title(&result.board));
    if result.words.is_empty() {
        out.push_str(&lines::hanging(
            "  ",
            "no word is described: [words.NAME] with bits, form and step",
        ));
    }
    for w in &result.words {
        out.push('\n');
        out.push_str(&word(w));
    }
    out
}

fn word(w: &Word) -> String {
    let (verdict, said) = if w.is_too_small {
        (Verdict::Fails, "holds too little")
    } else {
        (Verdict::Meets, "holds its range")
    };
    let head = if w.range.is_some() {
        ink::verdict(verdict, &format!("{} {said}", verdict.shape()))
    } else {
        String::new()
    };
    let mut out = format!("{}  {head}", ink::title(&w.name))
        .trim_end()
        .to_owned()
        + "\n";
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    let of: Vec<String> = [("device", &w.device), ("channel", &w.channel)]
        .into_iter()
        .filter_map(|(what, name)| name.as_ref().map(|n| format!("{what} {n}")))
        .collect();
    if !of.is_empty() {
        line("of", &of.join(", "));
    }
    let below = match w.below {
        0 => String::new(),
        1 => " above one other".to_owned(),
        n => format!(" above {n} others"),
    };
    let check = if w.check.is_empty() {
        String::new()
    } else {
        format!("; {}", w.check)
    };
    line(
        "stands as",
        &format!(
            "{} bits{below} in {} {}, {}, {}{check}",
            w.bits,
            w.bytes,
            if w.bytes == 1 { "byte" } else { "bytes" },
            w.order,
            w.form.replace('-', " "),
        ),
    );
    line(
        "holds",
        &format!(
            "{} to {} in steps of {}; codes {} to {}",
            number::about(w.holds.0, &w.unit),
            number::about(w.holds.1, &w.unit),
            number::about(w.step, &w.difference_unit),
            w.codes.0,
            w.codes.1
        ),
    );
    if let Some((low, high)) = w.range {
        line(
            "must hold",
            &format!(
                "{} to {}",
                number::about(low, &w.unit),
                number::about(high, &w.unit)
            ),
        );
    }
    line("figures", &w.source);
    for e in &w.ends {
        line(
            &number::about(e.value, &w.unit),
            &format!("is {}, code {}", e.bytes, e.code),
        );
        line("", &wrong("taken wrongly it reads", &e.misread, &w.unit));
    }
    for s in &w.seen {
        line("seen", &s.bytes);
        line("", &seen(s, &w.unit));
        if s.reason.is_empty() {
            line("", &wrong("taken in another way", &s.misread, &w.unit));
        }
    }
    for s in &w.shown {
        line("shows", &shown(s, &w.unit));
    }
    out
}

/// What may stand behind a reading.
fn shown(s: &ShownReading, unit: &str) -> String {
    let value = number::about(s.value, unit);
    let can = if s.is_possible {
        ""
    } else {
        ", which the word cannot say"
    };
    if s.behind.is_empty() {
        return format!("{value}{can}: no wrong way of reading explains it");
    }
    let each: Vec<String> = s
        .behind
        .iter()
        .map(|b| {
            let (low, high) = b.values;
            let what = if low == high {
                number::about(low, unit)
            } else {
                format!(
                    "{} to {}",
                    number::about(low, unit),
                    number::about(high, unit)
                )
            };
            format!("{what} ({}; {})", b.how, b.bytes)
        })
        .collect();
    format!("{value}{can}: may be {}", each.join(", or "))
}

fn seen(s: &SeenWord, unit: &str) -> String {
    if !s.reason.is_empty() {
        return s.reason.clone();
    }
    let mut text = format!("code {}, {}", s.code, number::about(s.value, unit));
    if !s.check.is_empty() {
        text.push_str(&format!("; check {}", s.check));
    }
    for flag in &s.flags {
        text.push_str(&format!("; {flag}"));
    }
    if !s.is_usable {
        text.push_str("; not a reading to be used");
    }
    text
}

/// Wrong readings; those that could be believed are marked.
fn wrong(lead: &str, list: &[Misread], unit: &str) -> String {
    if list.is_empty() {
        return format!("{lead}: nothing else");
    }
    let each: Vec<String> = list
        .iter()
        .map(|m| {
            let mark = if m.is_plausible { " (!)" } else { "" };
            format!("{} {}{mark}", m.how, number::about(m.value, unit))
        })
        .collect();
    let note = if list.iter().any(|m| m.is_plausible) {
        "; (!) could be believed"
    } else {
        ""
    };
    format!("{lead}: {}{note}", each.join(", "))
}
