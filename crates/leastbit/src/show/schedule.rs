//! Schedules.

use std::fmt::Write as _;

use report::{ConverterSchedule, Schedule, Turn, Verdict, number};

use super::{check, ink, lines};

/// Errors below this are not told apart, codes.
const LEAST_CODES: f64 = 0.001;

/// Sequences per second beyond which nothing limits them, Hz.
const ANY_HZ: f64 = 1e9;
/// The largest resistance that is looked at, Ω.
const ANY_OHM: f64 = 1e9;
/// The shortest acquisition that is looked at, s.
const LEAST_S: f64 = 1e-9;

/// The answer of `schedule`.
pub(crate) fn schedule(s: &Schedule) -> String {
    let mut out = format!("{}\n", ink::title(&s.board));
    for c in &s.converters {
        out.push('\n');
        out.push_str(&converter(c));
    }
    out
}

fn converter(c: &ConverterSchedule) -> String {
    let mut out = format!("{}\n", ink::title(&c.name));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !c.reason.is_empty() {
        line("none", &c.reason);
        return out;
    }
    let seconds = |s: f64| number::about(s, "s");
    if let Some(hz) = c.clock_hz {
        line("clock", &number::about(hz, "Hz"));
    }
    if let (Some(farad), Some(ohm)) = (c.sample_farad, c.switch_ohm) {
        line(
            "samples",
            &format!(
                "on {} behind {}, which begins with {}",
                number::about(farad, "F"),
                number::about(ohm, "Ω"),
                c.start
            ),
        );
    }
    line(
        "sequence",
        &format!(
            "{} of every {}: busy {} of the time",
            seconds(c.sequence_s),
            seconds(c.period_s),
            number::share(c.busy)
        ),
    );
    if c.fastest_hz.is_some_and(|hz| hz > ANY_HZ) {
        line("fastest", "any pace settles");
    } else if let Some(hz) = c.fastest_hz {
        line(
            "fastest",
            &format!("{} sequences a second settle", number::measured(hz, "", 3)),
        );
    }
    for text in &c.misfits {
        line("misfit", text);
    }
    for (n, text) in c.assumed.iter().enumerate() {
        line(if n == 0 { "takes" } else { "" }, text);
    }
    out.push('\n');
    out.push_str(&table(c));
    for t in &c.turns {
        out.push('\n');
        out.push_str(&turn(t));
    }
    out
}

/// Who has how much time.
fn table(c: &ConverterSchedule) -> String {
    let mut rows = vec![
        [
            "channel",
            "from",
            "acquires",
            "converts",
            "in a row",
            "readings/s",
            "asked",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    rows.extend(c.turns.iter().map(|t| {
        vec![
            t.channel.clone(),
            number::about(t.from_s, "s"),
            if t.acquire_s > 0.0 {
                number::about(t.acquire_s, "s")
            } else {
                "averages".to_owned()
            },
            number::about(t.convert_s, "s"),
            t.repeats.to_string(),
            number::about(t.rate_hz, ""),
            t.asked_hz
                .map_or_else(String::new, |hz| number::about(hz, "")),
        ]
    }));
    let mut out = String::new();
    for line in lines::table(&rows, &[false, true, true, true, true, true, true]) {
        let _ = writeln!(out, "  {line}");
    }
    out
}

/// How one channel settles.
fn turn(t: &Turn) -> String {
    let verdict = match (t.settles, t.is_in_time) {
        (Some(false), _) => (Verdict::Fails, "does not settle"),
        (_, Some(false)) => (Verdict::Fails, "is read too seldom"),
        (Some(true), _) => (Verdict::Meets, "settles"),
        (None, _) => (Verdict::Unmodelled, "settling is not judged"),
    };
    let word = ink::verdict(verdict.0, &format!("{} {}", verdict.0.shape(), verdict.1));
    let mut out = format!("{}  {word}\n", ink::title(&t.channel));
    let mut line = |label: &str, text: &str| out.push_str(&check::labelled(label, text));
    if !t.reason.is_empty() {
        line("none", &t.reason);
        return out;
    }
    if let Some(e) = &t.worst {
        let size = if e.codes.abs() < LEAST_CODES {
            format!("less than {} codes", number::short(LEAST_CODES))
        } else {
            format!(
                "{} codes, {}, at most",
                number::measured(e.codes, "", 2),
                number::measured(e.error, &t.error_unit, 2)
            )
        };
        line(
            "error left",
            &format!("{size}; {} taken for none", number::short(t.limit_codes)),
        );
    }
    let memory: Vec<String> = t
        .memory
        .iter()
        .filter(|m| m.share.abs() >= 1e-9)
        .map(|m| format!("{} of {}'s change", number::relative(m.share, 2), m.of))
        .collect();
    if !memory.is_empty() {
        line("memory", &memory.join(", "));
    }
    if let Some(ohm) = t.source_ohm {
        let most = t.largest_ohm.map_or_else(
            || "a plain one of none would not settle either".to_owned(),
            |most| {
                if most >= ANY_OHM {
                    "any plain one settles".to_owned()
                } else {
                    format!(
                        "a plain one settles up to {}",
                        number::measured(most, "Ω", 3)
                    )
                }
            },
        );
        line(
            "source",
            &format!(
                "{} seen from the pin; {most}",
                number::measured(ohm, "Ω", 3)
            ),
        );
    }
    if let Some(s) = t.shortest_acquire_s {
        let text = if s <= LEAST_S {
            "any acquisition settles".to_owned()
        } else {
            format!("an acquisition of {} settles", number::measured(s, "s", 3))
        };
        line("shortest", &text);
    }
    if let Some(farad) = t.pin_farad {
        line(
            "or",
            &format!(
                "{} or more at the pin settles as it is",
                number::measured(farad, "F", 2)
            ),
        );
    }
    if !t.proposal.is_empty() {
        line("proposal", &t.proposal);
    }
    out
}
