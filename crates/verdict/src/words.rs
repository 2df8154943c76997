//! Sentences about results, and findings made ready to be shown.

use board::{Board, Channel};
use finding::{Finding, Sources};
use report::{Contributor, Spot, number};
use uncertainty::{Doubt, Propagated};

use crate::study::Study;

/// The unit of errors and limits of a channel: a difference of temperatures
/// is in kelvin.
pub(crate) fn error_unit(channel: &Channel) -> &str {
    match channel.unit.symbol.as_str() {
        "°C" => "K",
        other => other,
    }
}

/// A value of the channel's quantity, SI, with its unit.
pub(crate) fn value(channel: &Channel, si: f64) -> String {
    let unit = &channel.unit;
    let (low, high) = channel.span.value;
    let in_unit = unit.number(si);
    // What is only rounding beside the span is nothing.
    let in_unit = if in_unit.abs() < 1e-9 * unit.number_of_difference(high - low) {
        0.0
    } else {
        in_unit
    };
    if unit.symbol == "°C" || unit.symbol.contains('/') {
        let digits = quantity::plain(in_unit, 4);
        let short = if digits.contains('.') && !digits.contains('e') {
            digits.trim_end_matches('0').trim_end_matches('.')
        } else {
            &digits
        };
        return format!("{short} {}", unit.symbol);
    }
    number::about(in_unit, &unit.symbol)
}

/// An error or limit of the channel, SI, with its unit and so many digits.
pub(crate) fn size(channel: &Channel, si: f64, digits: usize) -> String {
    let in_unit = channel.unit.number_of_difference(si);
    let unit = error_unit(channel);
    // A quotient of units reads best as it was written.
    if unit.contains('/') && (0.01..1000.0).contains(&in_unit.abs()) {
        return format!("{} {unit}", quantity::plain(in_unit, digits));
    }
    number::measured(in_unit, unit, digits)
}

/// A limit of the channel as a person would write it.
pub(crate) fn limit(channel: &Channel, si: f64) -> String {
    let in_unit = channel.unit.number_of_difference(si);
    let unit = error_unit(channel);
    if unit.contains('/') && (0.01..1000.0).contains(&in_unit.abs()) {
        return format!("{} {unit}", number::short(in_unit));
    }
    number::amount(in_unit, unit)
}

/// An accuracy as written in the file: what stands in quotes, absolute terms
/// before shares, as a sum.
pub(crate) fn accuracy(written: &str) -> String {
    let mut terms = quoted(written);
    terms.sort_by_key(|t| t.contains('%'));
    terms.join(" + ")
}

/// The unit in which an accuracy is written, for the errors beside it.
pub(crate) fn accuracy_unit(channel: &Channel, written: &str) -> String {
    let usual = error_unit(channel);
    let written = quoted(written)
        .into_iter()
        .filter(|t| !t.contains('%'))
        .find_map(|t| t.rsplit_once(' ').map(|(_, unit)| unit.to_owned()));
    match written.as_deref() {
        Some("°C") | None => usual.to_owned(),
        Some(unit) => match (quantity::unit(unit), quantity::unit(usual)) {
            (Some(a), Some(b)) if a.dimension == b.dimension => unit.to_owned(),
            _ => usual.to_owned(),
        },
    }
}

/// A text of a file without the quotes around it.
pub(crate) fn unquoted(text: &str) -> &str {
    text.trim_matches(['"', '\''])
}

/// The texts in quotes of a piece of a file; all of it where there are none.
fn quoted(text: &str) -> Vec<String> {
    let parts: Vec<String> = text
        .split(['"', '\''])
        .skip(1)
        .step_by(2)
        .map(|t| t.trim_start_matches('±').trim().to_owned())
        .collect();
    if parts.is_empty() {
        vec![text.trim().to_owned()]
    } else {
        parts
    }
}

/// What a board must live with.
pub(crate) fn conditions(board: &Board) -> Vec<String> {
    let c = &board.conditions;
    let (cold, hot) = c.ambient_k;
    let degrees = |k: f64| number::short(k - 273.15);
    let mut list = vec![if cold < hot {
        format!("{} to {} °C", degrees(cold), degrees(hot))
    } else {
        format!("{} °C", degrees(cold))
    }];
    if let Some(hz) = c.mains_hz {
        list.push(format!("{} mains", number::amount(hz, "Hz")));
    }
    if let Some(s) = c.service_s {
        list.push(format!("{} of service", {
            let text = quantity::display(quantity::Dimension::TIME, s, 3);
            match text.split_once(' ') {
                Some((n, unit)) if n.contains('.') => {
                    format!("{} {unit}", n.trim_end_matches('0').trim_end_matches('.'))
                }
                _ => text,
            }
        }));
    }
    if c.wet {
        list.push("wet".to_owned());
    }
    list
}

/// Several things in a row; a semicolon where they hold commas themselves.
pub(crate) fn listed(list: &[String]) -> String {
    let comma = if list.iter().any(|t| t.contains(',')) {
        "; "
    } else {
        ", "
    };
    match list.split_last() {
        Some((last, rest)) if !rest.is_empty() => {
            format!("{} and {last}", rest.join(comma))
        }
        _ => list.concat(),
    }
}

/// Which contributors decide, in a sentence.
pub(crate) fn decides(contributors: &[Contributor]) -> String {
    let named = |c: &Contributor| format!("{} ({})", c.name, number::part(c.share));
    let Some(first) = contributors.first().filter(|c| c.size > 0.0) else {
        return "no figure with limits moves the reading there".to_owned();
    };
    if first.share >= 0.5 {
        return format!("{} decides", named(first));
    }
    let mut sum = 0.0;
    let mut few = Vec::new();
    for c in contributors.iter().take(4) {
        few.push(named(c));
        sum += c.share;
        if sum >= 0.7 {
            break;
        }
    }
    match few.len() {
        2.. => format!("{} decide", listed(&few)),
        _ => format!("{} is the largest of many", named(first)),
    }
}

/// Reasons not to trust propagation.
pub(crate) fn doubts(study: &Study<'_>, there: &Propagated) -> Vec<String> {
    there
        .doubts
        .iter()
        .map(|d| match d {
            Doubt::Curved(second) => format!(
                "terms of second order matter: u would be {} instead of {}",
                study.size(second.u, 3),
                study.size(there.u, 3)
            ),
            Doubt::Bent { tangent, found } => format!(
                "the model bends: far from the middle the error changes by {} where the slopes say {}",
                study.size(*found, 3),
                study.size(*tangent, 3)
            ),
            Doubt::Dominated { input, share, k } => {
                let name = study
                    .model
                    .inputs
                    .get(*input)
                    .map_or("one input", |i| i.name.as_str());
                let better = k.map_or_else(String::new, |k| {
                    format!("; k = {} would fit its shape", quantity::plain(k, 3))
                });
                format!(
                    "{name} alone is {} of the variance and is not normally distributed{better}",
                    number::part(*share)
                )
            }
            Doubt::Undefined => "the error or a slope is not a number there".to_owned(),
        })
        .collect()
}

/// Findings as shown: equal ones as one, the most serious first, then in the
/// order of the file.
pub(crate) fn grouped(found: &[Finding], sources: &Sources) -> Vec<report::Finding> {
    let mut list: Vec<(finding::Span, report::Finding)> = Vec::new();
    for f in found {
        let spots = f.spans.iter().map(|&s| Spot {
            place: sources.place(s),
            text: sources.line(s).trim().to_owned(),
        });
        let same = list.iter_mut().find(|(_, g)| {
            g.id == f.id
                && g.severity == f.severity
                && g.headline == f.headline
                && g.remedies == f.remedies
        });
        if let Some((_, group)) = same {
            if !f.subject.is_empty() && !group.subjects.contains(&f.subject) {
                group.subjects.push(f.subject.clone());
            }
            for spot in spots {
                if !group.places.contains(&spot) {
                    group.places.push(spot);
                }
            }
            continue;
        }
        let first = f.spans.first().copied().unwrap_or(finding::Span {
            source: finding::SourceId(u32::MAX),
            start: 0,
            end: 0,
        });
        list.push((
            first,
            report::Finding {
                id: f.id.clone(),
                severity: f.severity,
                subjects: if f.subject.is_empty() {
                    Vec::new()
                } else {
                    vec![f.subject.clone()]
                },
                headline: f.headline.clone(),
                places: spots.collect(),
                figures: f
                    .figures
                    .iter()
                    .map(|u| report::Figure {
                        name: u.name.clone(),
                        value: u.value.clone(),
                        source: u.source.clone(),
                    })
                    .collect(),
                working: f.working.clone(),
                remedies: f.remedies.clone(),
            },
        ));
    }
    list.sort_by(|a, b| (a.1.severity, a.0, &a.1.id).cmp(&(b.1.severity, b.0, &b.1.id)));
    list.into_iter().map(|(_, f)| f).collect()
}
