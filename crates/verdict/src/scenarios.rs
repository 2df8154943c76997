//! How the verdicts differ in the circumstances the file names.

use board::Board;
use finding::{Severity, Sources};
use report::{Check, Counts, ScenarioVerdict, Verdict, number};
use uncertainty::Settings;

/// One for each scenario, or for each of its events.
pub(crate) fn of(
    board: &Board,
    before: &Check,
    sources: &Sources,
    settings: &Settings,
) -> Vec<ScenarioVerdict> {
    let mut list = Vec::new();
    for s in &board.scenarios {
        let events = s
            .events
            .iter()
            .filter_map(|e| Some((Some(e.at_s), e.board.as_deref()?)));
        let whole = s.board.as_deref().filter(|_| s.events.is_empty());
        for (after_s, other) in events.chain(whole.map(|b| (None, b))) {
            let then = crate::check_with(other, sources, settings, &|_, _| {});
            list.push(compared(&s.name, after_s, before, &then));
        }
    }
    list
}

fn compared(name: &str, after_s: Option<f64>, before: &Check, then: &Check) -> ScenarioVerdict {
    let mut changes: Vec<(String, Verdict, Verdict)> = Vec::new();
    let mut moved: Vec<String> = Vec::new();
    for c in &then.channels {
        let Some(old) = before.channels.iter().find(|o| o.name == c.name) else {
            continue;
        };
        if old.verdict != c.verdict {
            changes.push((c.name.clone(), old.verdict, c.verdict));
            continue;
        }
        // The same verdict with another error is worth a word.
        let half = |c: &report::Channel| c.monte_carlo.as_ref().map(|m| m.half_width);
        if let (Some(was), Some(is)) = (half(old), half(c))
            && (is - was).abs() > NOTABLE * was.abs()
        {
            let size = |x: f64| number::measured(x, &c.error_unit, 3);
            moved.push(format!(
                "{} ±{} instead of ±{}",
                c.name,
                size(is),
                size(was)
            ));
        }
    }
    let fails: Vec<(String, String)> = then
        .findings
        .iter()
        .filter(|f| {
            f.severity == Severity::Fail
                && !before
                    .findings
                    .iter()
                    .any(|o| o.id == f.id && o.subjects == f.subjects)
        })
        .map(|f| {
            (
                f.id.clone(),
                format!("{}{}", subjects(&f.subjects), f.headline),
            )
        })
        .collect();
    let mut parts: Vec<String> = changes
        .iter()
        .map(|(c, was, is)| format!("{c} {} instead of {}", is.word(), was.word()))
        .collect();
    parts.extend(moved);
    parts.extend(
        fails
            .iter()
            .map(|(id, headline)| format!("fails: {headline} ({id})")),
    );
    ScenarioVerdict {
        name: name.to_owned(),
        after_s,
        counts: Counts::of(then.channels.iter().map(|c| c.verdict)),
        changes,
        fails,
        text: if parts.is_empty() {
            "all as on the board as written".to_owned()
        } else {
            parts.join("; ")
        },
    }
}

/// A change of an error that is worth a word, as a share.
const NOTABLE: f64 = 0.1;

fn subjects(list: &[String]) -> String {
    if list.is_empty() {
        String::new()
    } else {
        format!("{}: ", list.join(", "))
    }
}
