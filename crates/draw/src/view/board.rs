//! The board at a glance: a strip for each channel, what was found below.

use report::{Channel, Check, Finding, Severity, Signal, Verdict, number};

use crate::paper::{Area, Paper, coordinate};
use crate::sheet::Inline;
use crate::strip::{Answer, OnScale, Stand, Strip, Strips};
use crate::theme;
use crate::{Picture, Remark, Remarks, Sheet, Weight};

/// The sheet of a judged board: one strip for each channel, then the findings.
#[must_use]
pub fn board(c: &Check) -> Sheet {
    let strips = c.channels.iter().map(of_channel).collect();
    let mut pictures = Vec::new();
    if !c.channels.is_empty() {
        pictures.push(Picture::Strips(Strips {
            heading: String::new(),
            strips,
        }));
    }
    if !c.findings.is_empty() {
        pictures.push(Picture::Remarks(Remarks {
            heading: "Findings".to_owned(),
            remarks: c.findings.iter().map(remark).collect(),
        }));
    }
    let counts = &c.counts;
    let told: Vec<String> = [
        (counts.meets, "meet"),
        (counts.thin, "thin"),
        (counts.fails, "fail"),
        (counts.undecided, "undecided"),
        (counts.fragments, "without a verdict"),
        (counts.unmodelled, "cannot be judged"),
    ]
    .into_iter()
    .filter(|(n, _)| *n > 0)
    .map(|(n, word)| format!("{n} {word}"))
    .collect();
    let mut lead = c.conditions.join(" · ");
    if !told.is_empty() {
        lead = format!("{lead} · {}", told.join(", "));
    }
    Sheet {
        title: c.board.clone(),
        lead,
        description: c
            .channels
            .iter()
            .map(sentence)
            .collect::<Vec<_>>()
            .join(" "),
        pictures,
    }
}

/// A finding as a remark.
pub(crate) fn remark(f: &Finding) -> Remark {
    let place = f.places.first().map_or_else(String::new, |s| {
        let p = &s.place;
        format!("{} {}:{} · ", p.file, p.line, p.column)
    });
    Remark {
        weight: match f.severity {
            Severity::Hazard => Weight::Hazard,
            Severity::Fail => Weight::Fail,
            Severity::Thin => Weight::Thin,
            Severity::Note => Weight::Note,
        },
        text: if f.subjects.is_empty() {
            f.headline.clone()
        } else {
            format!("{}: {}", f.subjects.join(", "), f.headline)
        },
        place: format!("{place}{}", f.id),
    }
}

/// How a verdict stands.
pub(crate) fn stand(verdict: Verdict) -> Stand {
    match verdict {
        Verdict::Meets => Stand::Meets,
        Verdict::Thin => Stand::Thin,
        Verdict::Fails => Stand::Fails,
        Verdict::Undecided | Verdict::Fragment | Verdict::Unmodelled => Stand::Open,
    }
}

fn span(c: &Channel) -> String {
    number::span(c.span.0, c.span.1, &c.unit)
}

/// An error in the unit the need is written in.
fn error(c: &Channel, x: f64) -> String {
    match &c.need {
        Some(n) if !n.unit.is_empty() => {
            let x = x * number::factor(&c.error_unit, &n.unit);
            format!("{} {}", number::fixed(x, number::decimals(x, 3)), n.unit)
        }
        _ => number::measured(x, &c.error_unit, 3),
    }
}

/// One channel in words.
fn sentence(c: &Channel) -> String {
    let sampled = c.monte_carlo.as_ref().map_or_else(String::new, |m| {
        format!(", error ±{}", error(c, m.half_width))
    });
    let asked = c
        .need
        .as_ref()
        .map_or_else(String::new, |n| format!(" of {} asked", n.text));
    format!(
        "{}, {}: {}{sampled}{asked}. {}",
        c.name,
        span(c),
        c.verdict.word(),
        c.decides
    )
}

/// An end of the converter's scale; what is within a code of zero is zero.
fn end(volt: f64, s: &Signal) -> String {
    let code = (s.scale_high - s.scale_low) / s.codes;
    number::amount(if volt.abs() < code { 0.0 } else { volt }, "V")
}

/// The strip of one channel for a page, with the answers it had before a
/// change as a ghost: drawn in columns, or for a narrow place one below the
/// other.
#[must_use]
pub fn strip(c: &Channel, before: Option<&Channel>, narrow: bool) -> Inline {
    let mut strip = of_channel(c);
    if let Some(before) = before {
        let ghost = of_channel(before);
        if ghost.answers != strip.answers {
            strip.ghost = ghost.answers;
        }
    }
    let mut paper = Paper::default();
    let width = if narrow { 330.0 } else { 940.0 };
    let height = strip.alone(&mut paper, width, narrow);
    Inline {
        label: sentence(c),
        size: (width, height),
        body: paper.into_body(),
    }
}

/// A bar so wide, in hue and fill of the n-th kind, for a row of a table.
#[must_use]
pub fn bar(kind: usize, wide: f64) -> String {
    let mut paper = Paper::default();
    let area = Area {
        x0: 0.5,
        y0: 0.5,
        x1: wide.max(1.0),
        y1: 11.5,
    };
    paper.block(&area, theme::of(kind).name, kind, "");
    let wide = coordinate(wide + 1.0);
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}\" height=\"12\" aria-hidden=\"true\">{}</svg>",
        paper.into_body()
    )
}

/// The strip of one channel.
fn of_channel(c: &Channel) -> Strip {
    let unit = |x: f64| error(c, x);
    let mut answers = Vec::new();
    if let Some(w) = &c.worst_case {
        answers.push(Answer {
            name: "worst case".to_owned(),
            range: (w.low.min(0.0), w.high.max(0.0)),
            text: format!("±{}", unit(w.magnitude)),
        });
    }
    if let Some(p) = &c.propagation {
        answers.push(Answer {
            name: "propagation".to_owned(),
            range: (p.bias - p.k * p.u, p.bias + p.k * p.u),
            text: format!("±{}", unit(p.half_width)),
        });
    }
    if let Some(m) = &c.monte_carlo {
        answers.push(Answer {
            name: "sampling".to_owned(),
            range: m.interval,
            text: format!("±{}", unit(m.half_width)),
        });
    }
    let limit = c.need.as_ref().map(|n| n.limit).filter(|l| l.is_finite());
    Strip {
        name: c.name.clone(),
        need: match &c.need {
            Some(n) => format!("{} within ±{}", span(c), n.text),
            None => span(c),
        },
        scale: c.signal.as_ref().map(|s| OnScale {
            scale: (s.scale_low, s.scale_high),
            used: (s.at_low, s.at_high),
            scale_text: (end(s.scale_low, s), end(s.scale_high, s)),
            used_text: (
                number::amount(c.span.0, &c.unit),
                number::amount(c.span.1, &c.unit),
            ),
            note: format!(
                "{} of {} codes, {} a code",
                number::part(s.share()),
                number::short(s.codes),
                unit(s.code_width_low.abs().max(s.code_width_high.abs()))
            ),
        }),
        answers,
        ghost: Vec::new(),
        fence: limit,
        fence_text: limit.map_or_else(String::new, |l| format!("±{} permitted", unit(l))),
        stand: stand(c.verdict),
        word: c.verdict.word().to_owned(),
        decides: if c.reason.is_empty() {
            c.decides.clone()
        } else {
            c.reason.clone()
        },
    }
}
