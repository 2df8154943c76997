//! The tree of a TOML text.

use finding::{InputFault, SourceId, Span};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A value and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct Item {
    /// Byte range of the value, quotes included.
    pub span: Span,
    /// The value.
    pub content: Content,
}

/// What a value is.
#[derive(Clone, Debug, PartialEq)]
pub enum Content {
    /// A string; the flag says whether it stands in the file letter by letter
    /// (no escapes), so that places inside it can be pointed at.
    Text(String, bool),
    /// A whole number.
    Whole(i64),
    /// A number with a fraction.
    Real(f64),
    /// true or false.
    Truth(bool),
    /// An array.
    List(Vec<Item>),
    /// A table, inline or not.
    Table(Table),
    /// A date or time, which nothing here uses.
    Moment,
}

impl Content {
    /// What it is, in words.
    #[must_use]
    pub fn describe(&self) -> &'static str {
        match self {
            Content::Text(..) => "a text",
            Content::Whole(_) => "a whole number",
            Content::Real(_) => "a number",
            Content::Truth(_) => "true or false",
            Content::List(_) => "a list",
            Content::Table(_) => "a table",
            Content::Moment => "a date",
        }
    }
}

/// A key and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Key {
    /// The name.
    pub name: String,
    /// Byte range.
    pub span: Span,
}

/// A table in the order of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Keys with their values.
    pub entries: Vec<(Key, Item)>,
    /// Byte range: of the header or of the braces.
    pub span: Span,
}

impl Table {
    /// The value of a key.
    #[must_use]
    pub fn get(&self, key: &str) -> Option<&Item> {
        self.entries
            .iter()
            .find(|(k, _)| k.name == key)
            .map(|(_, v)| v)
    }
}

/// Reads a TOML 1.0 text; what could be read and all faults of its syntax.
#[must_use]
pub fn parse(source: SourceId, text: &str) -> (Table, Vec<InputFault>) {
    let (table, errors) = DeTable::parse_recoverable(text);
    let mut faults: Vec<InputFault> = Vec::new();
    for error in &errors {
        let range = error.span().unwrap_or(0..0);
        let (message, expected) = split_message(error.message());
        let fault = InputFault::new(Span::new(source, range), message, expected);
        if !faults.contains(&fault) {
            faults.push(fault);
        }
    }
    let span = Span::new(source, table.span());
    (convert_table(source, text, table.get_ref(), span), faults)
}

/// The parser's message is `what\nexpected …` at times.
fn split_message(message: &str) -> (String, String) {
    let mut lines = message.lines();
    let first = lines.next().unwrap_or("this is not TOML").to_owned();
    let rest = lines.collect::<Vec<_>>().join(" ");
    let rest = rest
        .strip_prefix("expected ")
        .map(str::to_owned)
        .unwrap_or(rest);
    let expected = if rest.is_empty() {
        "TOML 1.0, for example `key = \"10 kΩ\"`".to_owned()
    } else {
        rest
    };
    (first, expected)
}

fn convert_table(source: SourceId, text: &str, table: &DeTable<'_>, span: Span) -> Table {
    let mut entries: Vec<(Key, Item)> = table
        .iter()
        .map(|(k, v)| {
            let key = Key {
                name: k.get_ref().to_string(),
                span: Span::new(source, k.span()),
            };
            (key, convert(source, text, v))
        })
        .collect();
    entries.sort_by_key(|(k, _)| k.span.start);
    Table { entries, span }
}

fn convert(source: SourceId, text: &str, value: &Spanned<DeValue<'_>>) -> Item {
    let range = value.span();
    let span = Span::new(source, range.clone());
    let content = match value.get_ref() {
        DeValue::String(s) => {
            let inside = text.get(range.start + 1..range.end.saturating_sub(1));
            Content::Text(s.to_string(), inside == Some(s.as_ref()))
        }
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix())
            .map_or(Content::Real(f64::NAN), Content::Whole),
        DeValue::Float(f) => Content::Real(f.as_str().parse().unwrap_or(f64::NAN)),
        DeValue::Boolean(b) => Content::Truth(*b),
        DeValue::Datetime(_) => Content::Moment,
        DeValue::Array(list) => {
            Content::List(list.iter().map(|v| convert(source, text, v)).collect())
        }
        DeValue::Table(table) => Content::Table(convert_table(source, text, table, span)),
    };
    Item { span, content }
}
