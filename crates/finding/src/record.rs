//! The finding record and the table type of ids.

use serde::Serialize;

use crate::place::Span;

/// How serious a finding is; the order is that in which they are shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Can hurt somebody.
    Hazard,
    /// A rating or a need is not met.
    Fail,
    /// Met with little margin.
    Thin,
    /// Worth knowing.
    Note,
}

impl Severity {
    /// The word shown.
    #[must_use]
    pub fn word(self) -> &'static str {
        match self {
            Severity::Hazard => "hazard",
            Severity::Fail => "fail",
            Severity::Thin => "thin",
            Severity::Note => "note",
        }
    }
}

/// One entry of a crate's table of findings.
#[derive(Clone, Copy, Debug)]
pub struct Kind {
    /// Stable dotted id, `what.happened`.
    pub id: &'static str,
    /// Usual severity.
    pub severity: Severity,
    /// What it is about, in a few words.
    pub title: &'static str,
    /// One page of Markdown: what it means, why it matters, how it is
    /// computed, what to do.
    pub explanation: &'static str,
}

/// A figure a finding rests on.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FigureUsed {
    /// What it is, for example `minimum current`.
    pub name: String,
    /// The value with its unit, as shown.
    pub value: String,
    /// Where it comes from: document and table, or the place in the file.
    pub source: String,
}

/// One thing the program has to say.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Finding {
    /// Stable dotted id.
    pub id: String,
    /// How serious it is here.
    pub severity: Severity,
    /// Channel, rail or part it concerns; empty for the whole board.
    pub subject: String,
    /// Understandable alone, with the decisive numbers.
    pub headline: String,
    /// Where it belongs, the most telling place first.
    pub spans: Vec<Span>,
    /// Figures used.
    pub figures: Vec<FigureUsed>,
    /// Formulas with the numbers put in, a line each.
    pub working: Vec<String>,
    /// What to do, with computed values wherever one can be computed.
    pub remedies: Vec<String>,
}

impl Finding {
    /// A finding with its headline; the rest is added by the methods below.
    #[must_use]
    pub fn new(kind: &Kind, subject: &str, headline: String) -> Self {
        Finding {
            id: kind.id.to_owned(),
            severity: kind.severity,
            subject: subject.to_owned(),
            headline,
            spans: Vec::new(),
            figures: Vec::new(),
            working: Vec::new(),
            remedies: Vec::new(),
        }
    }

    /// With another severity than usual.
    #[must_use]
    pub fn severity(mut self, severity: Severity) -> Self {
        self.severity = severity;
        self
    }

    /// With a place (where one is known).
    #[must_use]
    pub fn at(mut self, span: impl Into<Option<Span>>) -> Self {
        self.spans.extend(span.into());
        self
    }

    /// With a figure it rests on.
    #[must_use]
    pub fn figure(mut self, name: &str, value: String, source: String) -> Self {
        self.figures.push(FigureUsed {
            name: name.to_owned(),
            value,
            source,
        });
        self
    }

    /// With a line of working.
    #[must_use]
    pub fn working(mut self, line: String) -> Self {
        self.working.push(line);
        self
    }

    /// With something to do about it.
    #[must_use]
    pub fn remedy(mut self, line: String) -> Self {
        self.remedies.push(line);
        self
    }
}
