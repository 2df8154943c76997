//! Colours, which are never alone: a word or a shape always says the same.

use anstyle::{AnsiColor, Style};
use finding::Severity;
use report::Verdict;

/// A text in a style.
fn styled(style: Style, text: &str) -> String {
    format!("{}{text}{}", style.render(), style.render_reset())
}

/// A title.
pub(super) fn title(text: &str) -> String {
    styled(Style::new().bold(), text)
}

/// What is beside the point: places, ids, units of measure.
pub(super) fn soft(text: &str) -> String {
    styled(Style::new().dimmed(), text)
}

/// The signal.
pub(super) fn signal(text: &str) -> String {
    styled(colour(AnsiColor::Cyan), text)
}

fn colour(c: AnsiColor) -> Style {
    c.on_default()
}

/// A text in a verdict's colour.
pub(super) fn verdict(v: Verdict, text: &str) -> String {
    let style = match v {
        Verdict::Meets => colour(AnsiColor::Green),
        Verdict::Thin | Verdict::Undecided => colour(AnsiColor::Yellow),
        Verdict::Fails => colour(AnsiColor::Red),
        Verdict::Fragment | Verdict::Unmodelled => Style::new(),
    };
    styled(style, text)
}

/// A text in a severity's colour.
pub(super) fn severity(s: Severity, text: &str) -> String {
    let style = match s {
        Severity::Hazard => colour(AnsiColor::Magenta),
        Severity::Fail => colour(AnsiColor::Red),
        Severity::Thin => colour(AnsiColor::Yellow),
        Severity::Note => Style::new(),
    };
    styled(style, text)
}
