//! Links: their levels as a result and in words.

use board::{Board, Link};
use finding::{Finding, Kind, Severity, Sources};
use report::{Condition, DevicePins, LevelPair, LinkResult, Links, PinRow, Verdict, number};
use system::Analysis;
use system::levels::ends::Known;
use system::levels::{Fix, LinkLevels, Margin, Over, Pair, Stands};

use crate::findings;

/// Ids of the findings that `links` shows begin with one of these.
const ABOUT: &[&str] = &["link.", "bus.", "pin."];

/// A voltage as shown.
pub(crate) fn volt(v: f64) -> String {
    // What is only rounding is nothing.
    let v = if v.abs() < 1e-9 { 0.0 } else { v };
    number::measured(v, "V", if v.abs() < 1.0 { 3 } else { 4 })
}

fn milli(v: f64) -> String {
    let v = if v.abs() < 1e-9 { 0.0 } else { v };
    let text = number::fixed(v, 3);
    format!("{text} V")
}

/// The links of a board: levels, buses and what is to be said of them.
#[must_use]
pub fn links(board: &Board, sources: &Sources) -> Links {
    let system = system::analyse(board);
    let findings = findings::about(board, &system, sources, ABOUT);
    Links {
        version: report::VERSION,
        board: board.name.clone(),
        links: results(board, &system, &findings),
        pins: pins(board, &system),
        findings,
    }
}

/// One result for each link, in the light of what was found.
pub(crate) fn results(
    board: &Board,
    system: &Analysis,
    findings: &[report::Finding],
) -> Vec<LinkResult> {
    board
        .links
        .iter()
        .enumerate()
        .map(|(i, link)| result(board, system, i, link, findings))
        .collect()
}

/// Pins in use and proposed, device by device.
fn pins(board: &Board, system: &Analysis) -> Vec<DevicePins> {
    let mut found = Vec::new();
    for d in &system.pins.devices {
        let Some(device) = board.devices.get(d.device) else {
            continue;
        };
        if d.uses.is_empty() && d.proposal == system::pins::Proposal::default() {
            continue;
        }
        let functions = |pin: &str, wanted: &[String]| {
            wanted
                .iter()
                .find(|w| {
                    device
                        .part
                        .pin(pin)
                        .is_some_and(|p| p.functions.contains(*w))
                })
                .cloned()
                .unwrap_or_default()
        };
        let used = d.uses.iter().map(|u| PinRow {
            pin: u.pin.clone(),
            user: u.user.clone(),
            function: functions(&u.pin, &u.functions),
            proposed: false,
        });
        let proposed = d.proposal.assigned.iter().map(|a| PinRow {
            pin: a.pin.clone(),
            user: format!("{}, {}", a.user, a.role),
            function: a.function.clone(),
            proposed: true,
        });
        found.push(DevicePins {
            device: device.name.clone(),
            pins: used.chain(proposed).collect(),
            without: d.proposal.without.clone(),
            unused: d.unused.clone(),
        });
    }
    found
}

fn result(
    board: &Board,
    system: &Analysis,
    i: usize,
    link: &Link,
    findings: &[report::Finding],
) -> LinkResult {
    let name = |device: usize| board.devices.get(device).map(|d| d.name.clone());
    let ends = link
        .controller
        .iter()
        .chain(&link.driver)
        .chain(link.members.iter().map(|m| &m.port))
        .chain(&link.receivers)
        .chain(link.via.iter().map(|v| &v.device))
        .filter_map(|p| name(p.device))
        .collect();
    let supply = system::levels::pairs::rail_of(board, link)
        .and_then(|r| board.rails.get(r))
        .map_or_else(String::new, |r| r.name.clone());
    let levels: &[Pair] = system.levels.links.get(i).map_or(&[], |l| &l.pairs);
    let levels: Vec<LevelPair> = levels.iter().map(|p| pair(board, p)).collect();
    let quantities = crate::bus_rows::rows(board, system, i);
    let mut verdict = levels
        .iter()
        .map(|l| l.verdict)
        .chain(quantities.iter().map(|q| q.verdict))
        .fold(Verdict::Fragment, worse);
    for f in findings.iter().filter(|f| f.subjects.contains(&link.name)) {
        verdict = match f.severity {
            Severity::Fail => worse(verdict, Verdict::Fails),
            Severity::Thin => worse(verdict, Verdict::Thin),
            _ => verdict,
        };
    }
    LinkResult {
        name: link.name.clone(),
        kind: link.kind.word().to_owned(),
        supply,
        ends,
        without: system
            .levels
            .links
            .get(i)
            .map_or_else(Vec::new, |l| l.without.clone()),
        levels,
        quantities,
        verdict,
    }
}

fn rank(v: Verdict) -> u8 {
    match v {
        Verdict::Fragment => 0,
        Verdict::Meets => 1,
        Verdict::Unmodelled => 2,
        Verdict::Thin => 3,
        Verdict::Undecided => 4,
        Verdict::Fails => 5,
    }
}

fn worse(a: Verdict, b: Verdict) -> Verdict {
    if rank(b) > rank(a) { b } else { a }
}

fn pair(board: &Board, p: &Pair) -> LevelPair {
    let u = &p.understood;
    let wanted = board.judging.level_margin_v;
    let least = u.high.margin_v.min(u.low.margin_v);
    let verdict = if least < 0.0 || p.stands.is_broken() {
        Verdict::Fails
    } else if least < wanted || matches!(p.stands, Stands::BeyondOperating | Stands::BeyondUsual) {
        Verdict::Thin
    } else {
        Verdict::Meets
    };
    let worst = if u.high.margin_v <= u.low.margin_v {
        &u.high
    } else {
        &u.low
    };
    LevelPair {
        driver: p.driver.clone(),
        receiver: p.receiver.clone(),
        lines: p.lines.to_owned(),
        low: u.low_range_v,
        high: (u.high_range_v.0, u.high_range_v.1.max(u.over.volt)),
        input_low: Some(u.low.threshold_v),
        input_high: Some(u.high.threshold_v),
        permitted: (
            Some(u.over.ratings.minimum.value),
            Some(u.over.ratings.maximum.value),
        ),
        margin_low: Some(u.low.margin_v),
        margin_high: Some(u.high.margin_v),
        at: conditions(&worst.corner),
        verdict,
        working: [("high", &u.high), ("low", &u.low)]
            .iter()
            .flat_map(|(word, m)| workings(word, m))
            .collect(),
    }
}

fn conditions(corner: &[(String, f64)]) -> Vec<Condition> {
    corner
        .iter()
        .map(|(name, value)| Condition {
            name: name.clone(),
            value: *value,
            unit: "V".to_owned(),
        })
        .collect()
}

/// How a level and its margin come about.
pub(crate) fn workings(word: &str, m: &Margin) -> Vec<String> {
    let (level, threshold) = (m.level_v, m.threshold_v);
    let formula = if word == "high" {
        format!("{} − {}", milli(level), milli(threshold))
    } else {
        format!("{} − {}", milli(threshold), milli(level))
    };
    vec![
        format!("{word} level: {} ({})", m.working, m.output.origin.text()),
        format!(
            "threshold: {} ({})",
            volt(threshold),
            m.threshold.origin.text()
        ),
        format!("left: {formula} = {}", milli(m.margin_v)),
    ]
}

/// The rails of a corner, in words.
pub(crate) fn at(corner: &[(String, f64)]) -> String {
    let list: Vec<String> = corner
        .iter()
        .map(|(name, v)| format!("{name} {}", volt(*v)))
        .collect();
    list.join(", ")
}

/// Every pair of every link.
pub(crate) fn pairs<'a>(
    board: &'a Board,
    system: &'a Analysis,
) -> impl Iterator<Item = (&'a Link, &'a LinkLevels, &'a Pair)> {
    system.levels.links.iter().flat_map(move |l| {
        board
            .links
            .get(l.link)
            .into_iter()
            .flat_map(move |link| l.pairs.iter().map(move |p| (link, l, p)))
    })
}

/// A finding about a pair, with its places: the link, then both devices.
pub(crate) fn about_pair(
    kind: &Kind,
    board: &Board,
    link: &Link,
    p: &Pair,
    headline: String,
) -> Finding {
    let span = |device: usize| board.devices.get(device).map(|d| d.span);
    Finding::new(kind, &link.name, headline)
        .at(link.span)
        .at(span(p.devices.1))
        .at(span(p.devices.0))
}

/// A threshold or rating as a figure of a finding.
pub(crate) fn figure(finding: Finding, name: &str, known: &Known, unit: &str) -> Finding {
    finding.figure(
        name,
        number::measured(known.value, unit, 4),
        known.origin.text(),
    )
}

/// What a fix is, in words.
pub(crate) fn remedy(fix: &Fix) -> String {
    match fix {
        Fix::LowerSupply {
            rail,
            nominal_v,
            most_v,
        } => format!(
            "feed the receiver ({rail}) from {} at most (with everything as meant {}): its threshold follows its supply",
            number::measured(*most_v, "V", 3),
            number::measured(*nominal_v, "V", 3)
        ),
        Fix::FeedDiode {
            rail,
            drop_v,
            supply_v,
            threshold_v,
            margin_v,
            worst_v,
        } => format!(
            "a diode of {} in its feed ({rail}): at {} it reads high from {}, which leaves {} ({} at the worst corner)",
            number::measured(*drop_v, "V", 2),
            number::measured(*supply_v, "V", 3),
            number::measured(*threshold_v, "V", 3),
            number::measured(*margin_v, "V", 3),
            number::measured(*worst_v, "V", 3)
        ),
        Fix::Buffer {
            part,
            input_margin_v,
            output_margin_v,
        } => format!(
            "a buffer between them, such as {part} fed from the receiver's rail: {} left at its input, {} at the receiver",
            number::measured(*input_margin_v, "V", 3),
            number::measured(*output_margin_v, "V", 3)
        ),
        Fix::Divider {
            top_ohm,
            bottom_ohm,
            margins_v,
            highest_v,
            rise_s,
        } => {
            let rise = rise_s.map_or_else(String::new, |s| {
                format!(", an edge takes {}", number::measured(s, "s", 2))
            });
            format!(
                "a divider of {} over {} (1 %): {} at most, {} left high and {} low{rise}",
                number::about(*top_ohm, "Ω"),
                number::about(*bottom_ohm, "Ω"),
                number::measured(*highest_v, "V", 3),
                number::measured(margins_v.0, "V", 3),
                number::measured(margins_v.1, "V", 3)
            )
        }
        Fix::Series {
            ohm,
            current_a,
            limit_a,
        } => format!(
            "a series resistor of {}: {} flow into its clamp, of {} permitted",
            number::about(*ohm, "Ω"),
            number::measured(*current_a, "A", 3),
            number::measured(*limit_a, "A", 3)
        ),
        Fix::Translator {
            part,
            gate,
            overdrive_v,
        } => format!(
            "two segments, each with pull-ups to its own rail, joined by one transistor a line, such as {part} with its gate at {gate}, which lies {} above its highest threshold",
            number::measured(*overdrive_v, "V", 2)
        ),
        Fix::PullUpTo { rail } => format!(
            "pull-ups to {rail} instead, if everything on the line still reads that as high"
        ),
    }
}

/// How far a pin is beyond what it stands, in words.
pub(crate) fn beyond(over: &Over, stands: Stands) -> String {
    let maximum = volt(over.ratings.maximum.value);
    match stands {
        Stands::ClampOverloaded {
            limit_a,
            is_injection,
        } => format!(
            "{} flow into its clamp at {}, {} {}",
            number::measured(over.clamp_a, "A", 3),
            volt(over.supply_v),
            number::measured(limit_a, "A", 3),
            if is_injection {
                "are what it takes without disturbing its other inputs"
            } else {
                "are permitted"
            }
        ),
        _ => format!("{} at most are permitted", maximum),
    }
}
