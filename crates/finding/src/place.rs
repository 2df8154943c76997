//! Places in input texts.

use std::sync::Arc;

use serde::Serialize;

/// Which of the loaded texts.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct SourceId(pub u32);

/// A byte range of a loaded text.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct Span {
    /// Which text.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// First byte after it.
    pub end: u32,
}

impl Span {
    /// The range `range` of `source`.
    #[must_use]
    pub fn new(source: SourceId, range: std::ops::Range<usize>) -> Self {
        let bounded = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span {
            source,
            start: bounded(range.start),
            end: bounded(range.end),
        }
    }

    /// As a byte range.
    #[must_use]
    pub fn range(&self) -> std::ops::Range<usize> {
        self.start as usize..self.end as usize
    }
}

/// A place as people count: line and column from one, columns in characters.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
pub struct Place {
    /// File name as given.
    pub file: String,
    /// Line, from 1.
    pub line: usize,
    /// Column in characters, from 1.
    pub column: usize,
    /// Length in characters on that line, at least 1.
    pub length: usize,
}

impl std::fmt::Display for Place {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}:{}", self.file, self.line, self.column)
    }
}

/// All texts read so far, each with the name it was read under.
#[derive(Clone, Debug, Default)]
pub struct Sources {
    list: Vec<(String, Arc<str>)>,
}

impl Sources {
    /// No texts.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds a text.
    pub fn add(&mut self, name: &str, text: &str) -> SourceId {
        self.list.push((name.to_owned(), Arc::from(text)));
        SourceId(u32::try_from(self.list.len() - 1).unwrap_or(u32::MAX))
    }

    /// Name of a text; empty if there is no such text.
    #[must_use]
    pub fn name(&self, id: SourceId) -> &str {
        self.list.get(id.0 as usize).map_or("", |s| &s.0)
    }

    /// A text; empty if there is no such text.
    #[must_use]
    pub fn text(&self, id: SourceId) -> &str {
        self.list.get(id.0 as usize).map_or("", |s| &s.1)
    }

    /// The characters of a span; empty where it does not fit the text.
    #[must_use]
    pub fn slice(&self, span: Span) -> &str {
        self.text(span.source).get(span.range()).unwrap_or("")
    }

    /// A span as people count.
    #[must_use]
    pub fn place(&self, span: Span) -> Place {
        let text = self.text(span.source);
        let mut start = (span.start as usize).min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let before = &text[..start];
        let line_start = before.rfind('\n').map_or(0, |i| i + 1);
        let rest = &text[start..];
        let mut length = (span.end as usize).saturating_sub(start).min(rest.len());
        while !rest.is_char_boundary(length) {
            length -= 1;
        }
        let on_line = rest[..length].lines().next().unwrap_or("");
        Place {
            file: self.name(span.source).to_owned(),
            line: before.matches('\n').count() + 1,
            column: text[line_start..start].chars().count() + 1,
            length: on_line.chars().count().max(1),
        }
    }

    /// The whole line a place is on, without its end.
    #[must_use]
    pub fn line(&self, span: Span) -> &str {
        let text = self.text(span.source);
        let mut start = (span.start as usize).min(text.len());
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let from = text[..start].rfind('\n').map_or(0, |i| i + 1);
        text[from..].lines().next().unwrap_or("")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_count_characters_and_not_bytes() {
        let mut sources = Sources::new();
        let id = sources.add("a.toml", "r = 1\nohm = \"10 kΩ ± 1 %\" # x\n");
        let text = sources.text(id).to_owned();
        let at = text.find("1 %").unwrap();
        let span = Span::new(id, at..at + 3);
        let place = sources.place(span);
        assert_eq!((place.line, place.column, place.length), (2, 16, 3));
        assert_eq!(place.to_string(), "a.toml:2:16");
        assert_eq!(sources.slice(span), "1 %");
        assert_eq!(sources.line(span), "ohm = \"10 kΩ ± 1 %\" # x");
    }

    #[test]
    fn a_span_that_does_not_fit_is_harmless() {
        let mut sources = Sources::new();
        let id = sources.add("a", "Ω");
        for (s, e) in [(0, 1), (1, 2), (5, 9), (2, 1)] {
            let span = Span {
                source: id,
                start: s,
                end: e,
            };
            let _ = sources.place(span);
            let _ = sources.slice(span);
            let _ = sources.line(span);
        }
        assert_eq!(sources.name(SourceId(7)), "");
    }
}
