//! Taking values out of a table, collecting what does not fit.

use std::cell::RefCell;

use finding::{InputFault, Span, nearest_of};
use quantity::{AccuracyTerm, Dimension, Fault, Quantity, Range, Valued};

use crate::tree::{Content, Item, Key, Table};

/// A value with the place it was read from; equal when the values are.
#[derive(Clone, Copy, Debug)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it was written.
    pub span: Span,
}

impl<T: PartialEq> PartialEq for Located<T> {
    fn eq(&self, other: &Self) -> bool {
        self.value == other.value
    }
}

impl<T> Located<T> {
    /// The same place with another value.
    pub fn map<U>(self, f: impl FnOnce(T) -> U) -> Located<U> {
        Located {
            value: f(self.value),
            span: self.span,
        }
    }
}

/// Faults collected so far.
#[derive(Debug, Default)]
pub struct Faults {
    list: RefCell<Vec<InputFault>>,
}

impl Faults {
    /// None yet.
    #[must_use]
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds one.
    pub fn push(&self, fault: InputFault) {
        self.list.borrow_mut().push(fault);
    }

    /// Adds one with message and expectation.
    pub fn add(&self, span: Span, message: impl Into<String>, expected: impl Into<String>) {
        self.push(InputFault::new(span, message, expected));
    }

    /// How many.
    #[must_use]
    pub fn count(&self) -> usize {
        self.list.borrow().len()
    }

    /// All of them, in the order of the file.
    #[must_use]
    pub fn into_list(self) -> Vec<InputFault> {
        let mut list = self.list.into_inner();
        list.sort_by_key(|f| (f.span, f.message.clone()));
        list.dedup();
        list
    }

    /// A fault found inside a text value: points into the text where that is
    /// possible.
    pub fn inside(&self, item: &Item, fault: Fault) {
        let span = match &item.content {
            Content::Text(_, true) => {
                let from = item.span.start as usize + 1;
                Span::new(
                    item.span.source,
                    from + fault.start..from + fault.end.max(fault.start),
                )
            }
            _ => item.span,
        };
        let span = if span.end > span.start {
            span
        } else {
            item.span
        };
        self.push(InputFault {
            span,
            message: fault.message,
            expected: fault.expected,
            suggestion: fault.suggestion,
        });
    }
}

/// Reads the keys of one table.
pub struct Fields<'a> {
    table: &'a Table,
    what: String,
    faults: &'a Faults,
    asked: RefCell<Vec<&'a str>>,
}

impl<'a> Fields<'a> {
    /// A reader of `table`; `what` names it in messages, for example
    /// `channel tank-1`.
    pub fn new(table: &'a Table, what: impl Into<String>, faults: &'a Faults) -> Self {
        Fields {
            table,
            what: what.into(),
            faults,
            asked: RefCell::new(Vec::new()),
        }
    }

    /// The table being read.
    #[must_use]
    pub fn table(&self) -> &'a Table {
        self.table
    }

    /// Where faults go.
    #[must_use]
    pub fn faults(&self) -> &'a Faults {
        self.faults
    }

    /// Place of the table.
    #[must_use]
    pub fn span(&self) -> Span {
        self.table.span
    }

    /// What the table is, for messages.
    #[must_use]
    pub fn what(&self) -> &str {
        &self.what
    }

    /// The item of a key, marking the key as known.
    pub fn item(&self, key: &'static str) -> Option<&'a Item> {
        self.asked.borrow_mut().push(key);
        self.table.get(key)
    }

    /// Whether the table has this key (without marking it as known).
    #[must_use]
    pub fn has(&self, key: &str) -> bool {
        self.table.get(key).is_some()
    }

    /// Place of a key's value, or of the table where there is none.
    #[must_use]
    pub fn span_of(&self, key: &str) -> Span {
        self.table.get(key).map_or(self.table.span, |i| i.span)
    }

    /// The item of a key that must be there.
    pub fn required(&self, key: &'static str, expected: &str) -> Option<&'a Item> {
        let item = self.item(key);
        if item.is_none() {
            self.faults.add(
                self.table.span,
                format!("{} has no `{key}`", self.what),
                expected.to_owned(),
            );
        }
        item
    }

    fn wrong(&self, key: &str, item: &Item, expected: &str) {
        self.faults.add(
            item.span,
            format!("`{key}` is {}", item.content.describe()),
            expected.to_owned(),
        );
    }

    /// A text.
    pub fn text(&self, key: &'static str) -> Option<Located<&'a str>> {
        let item = self.item(key)?;
        match &item.content {
            Content::Text(s, _) => Some(Located {
                value: s.as_str(),
                span: item.span,
            }),
            _ => {
                self.wrong(
                    key,
                    item,
                    &format!("a text in quotes, for example {key} = \"…\""),
                );
                None
            }
        }
    }

    /// A text that must be there.
    pub fn required_text(&self, key: &'static str, expected: &str) -> Option<Located<&'a str>> {
        self.required(key, expected)?;
        self.text(key)
    }

    /// One of a few words.
    pub fn word<T: Copy>(
        &self,
        key: &'static str,
        words: &[(&'static str, T)],
    ) -> Option<Located<T>> {
        let text = self.text(key)?;
        if let Some((_, value)) = words.iter().find(|(w, _)| *w == text.value) {
            return Some(Located {
                value: *value,
                span: text.span,
            });
        }
        let list = words
            .iter()
            .map(|(w, _)| format!("\"{w}\""))
            .collect::<Vec<_>>()
            .join(", ");
        self.faults.push(
            InputFault::new(
                text.span,
                format!("\"{}\" is not one of the words for `{key}`", text.value),
                list,
            )
            .suggest(nearest_of(text.value, words.iter().map(|(w, _)| *w))),
        );
        None
    }

    /// true or false.
    pub fn truth(&self, key: &'static str) -> Option<Located<bool>> {
        let item = self.item(key)?;
        match item.content {
            Content::Truth(b) => Some(Located {
                value: b,
                span: item.span,
            }),
            _ => {
                self.wrong(key, item, "true or false");
                None
            }
        }
    }

    /// A whole number within bounds.
    pub fn whole(&self, key: &'static str, low: i64, high: i64) -> Option<Located<i64>> {
        let item = self.item(key)?;
        match item.content {
            Content::Whole(n) if (low..=high).contains(&n) => Some(Located {
                value: n,
                span: item.span,
            }),
            Content::Whole(n) => {
                self.faults.add(
                    item.span,
                    format!("`{key}` is {n}"),
                    format!("a whole number from {low} to {high}"),
                );
                None
            }
            _ => {
                self.wrong(key, item, &format!("a whole number from {low} to {high}"));
                None
            }
        }
    }

    /// A number without a unit.
    pub fn number(&self, key: &'static str) -> Option<Located<f64>> {
        let item = self.item(key)?;
        let value = match item.content {
            #[allow(clippy::cast_precision_loss, reason = "numbers in files are small")]
            Content::Whole(n) => n as f64,
            Content::Real(x) if x.is_finite() => x,
            Content::Text(ref s, _) => match quantity::value(s, Dimension::NONE) {
                Ok(q) => q.value,
                Err(fault) => {
                    self.faults.inside(item, fault);
                    return None;
                }
            },
            _ => {
                self.wrong(key, item, "a number");
                return None;
            }
        };
        Some(Located {
            value,
            span: item.span,
        })
    }

    /// Reads a text through one of `quantity`'s functions.
    pub fn read<T>(
        &self,
        key: &'static str,
        example: &str,
        f: impl FnOnce(&str) -> Result<T, Fault>,
    ) -> Option<Located<T>> {
        let item = self.item(key)?;
        self.read_item(key, item, example, f)
    }

    /// Reads an item that is already in hand.
    pub fn read_item<T>(
        &self,
        key: &str,
        item: &Item,
        example: &str,
        f: impl FnOnce(&str) -> Result<T, Fault>,
    ) -> Option<Located<T>> {
        let Content::Text(text, _) = &item.content else {
            self.wrong(
                key,
                item,
                &format!("a quantity in quotes, for example \"{example}\""),
            );
            return None;
        };
        match f(text) {
            Ok(value) => Some(Located {
                value,
                span: item.span,
            }),
            Err(fault) => {
                self.faults.inside(item, fault);
                None
            }
        }
    }

    /// A quantity; temperatures are absolute.
    pub fn quantity(&self, key: &'static str, dimension: Dimension) -> Option<Located<Quantity>> {
        self.read(key, "10 kΩ", |t| quantity::value(t, dimension))
    }

    /// A difference of a quantity.
    pub fn difference(&self, key: &'static str, dimension: Dimension) -> Option<Located<Quantity>> {
        self.read(key, "0.3 °C", |t| quantity::difference(t, dimension))
    }

    /// A value with its tolerance.
    pub fn valued(&self, key: &'static str, dimension: Dimension) -> Option<Located<Valued>> {
        self.read(key, "10 kΩ 1 %", |t| quantity::valued(t, dimension))
    }

    /// A range.
    pub fn range(&self, key: &'static str, dimension: Dimension) -> Option<Located<Range>> {
        self.read(key, "-5 °C to 40 °C", |t| quantity::range(t, dimension))
    }

    /// Accuracy terms: one text or a list of texts that are added.
    pub fn accuracy(
        &self,
        key: &'static str,
        dimension: Dimension,
    ) -> Option<Located<Vec<AccuracyTerm>>> {
        let item = self.item(key)?;
        let list: Vec<&Item> = match &item.content {
            Content::List(list) => list.iter().collect(),
            _ => vec![item],
        };
        let mut terms = Vec::new();
        for one in list {
            let term = self.read_item(key, one, "0.3 °C", |t| {
                quantity::accuracy_term(t, dimension)
            })?;
            terms.push(term.value);
        }
        Some(Located {
            value: terms,
            span: item.span,
        })
    }

    /// A list.
    pub fn list(&self, key: &'static str) -> Option<(&'a [Item], Span)> {
        let item = self.item(key)?;
        match &item.content {
            Content::List(list) => Some((list, item.span)),
            _ => {
                self.wrong(key, item, "a list in square brackets");
                None
            }
        }
    }

    /// A table.
    pub fn sub(&self, key: &'static str) -> Option<&'a Table> {
        let item = self.item(key)?;
        match &item.content {
            Content::Table(table) => Some(table),
            _ => {
                self.wrong(
                    key,
                    item,
                    &format!("a table, for example [{key}] or {key} = {{ … }}"),
                );
                None
            }
        }
    }

    /// A table of named tables, such as `[rails.main]`.
    pub fn named(&self, key: &'static str) -> Vec<(&'a Key, &'a Table)> {
        let Some(table) = self.sub(key) else {
            return Vec::new();
        };
        let mut list = Vec::new();
        for (name, item) in &table.entries {
            match &item.content {
                Content::Table(t) => list.push((name, t)),
                _ => self.faults.add(
                    item.span,
                    format!("`{key}.{}` is {}", name.name, item.content.describe()),
                    format!("a table [{key}.{}]", name.name),
                ),
            }
        }
        list
    }

    /// Whether a key has been asked for, be it there or not.
    #[must_use]
    pub fn asked(&self, key: &str) -> bool {
        self.asked.borrow().contains(&key)
    }

    /// The tables under keys that were not asked for yet, whatever they are
    /// called; they count as asked for from now on. For tables that hold keys
    /// of their own and beside them tables with names from elsewhere.
    pub fn others(&self) -> Vec<(&'a Key, &'a Table)> {
        let mut list = Vec::new();
        for (key, item) in &self.table.entries {
            if let Content::Table(table) = &item.content
                && !self.asked(&key.name)
            {
                self.asked.borrow_mut().push(&key.name);
                list.push((key, table));
            }
        }
        list
    }

    /// Reports every key that was not asked for.
    pub fn finish(self) {
        let asked = self.asked.into_inner();
        for (key, _) in &self.table.entries {
            if !asked.contains(&key.name.as_str()) {
                let near = nearest_of(&key.name, asked.iter().copied());
                let mut known: Vec<&str> = asked.clone();
                known.sort_unstable();
                known.dedup();
                self.faults.push(
                    InputFault::new(
                        key.span,
                        format!("unknown key `{}` in {}", key.name, self.what),
                        if known.is_empty() {
                            "no keys here".to_owned()
                        } else {
                            format!("one of {}", known.join(", "))
                        },
                    )
                    .suggest(near),
                );
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use finding::Sources;

    #[test]
    fn all_faults_in_one_go_with_places() {
        let text = "[board]\nnmae = \"x\"\nr = \"10 mA\"\nn = 900\nw = \"fist\"\n";
        let mut sources = Sources::new();
        let id = sources.add("b.toml", text);
        let (table, syntax) = crate::parse(id, text);
        assert!(syntax.is_empty());
        let faults = Faults::new();
        let top = Fields::new(&table, "the file", &faults);
        let board = Fields::new(top.sub("board").unwrap(), "board", &faults);
        assert!(board.text("name").is_none());
        assert!(board.quantity("r", Dimension::RESISTANCE).is_none());
        assert!(board.whole("n", 0, 10).is_none());
        assert!(board.word("w", &[("first", 1), ("last", 2)]).is_none());
        board.finish();
        top.finish();
        let list = faults.into_list();
        let said: Vec<String> = list
            .iter()
            .map(|f| format!("{} {} {:?}", sources.place(f.span), f.message, f.suggestion))
            .collect();
        assert_eq!(said.len(), 4, "{said:#?}");
        assert_eq!(
            said[0],
            "b.toml:2:1 unknown key `nmae` in board Some(\"name\")"
        );
        assert!(said[1].starts_with("b.toml:3:"), "{}", said[1]);
        assert_eq!(said[2], "b.toml:4:5 `n` is 900 None");
        assert_eq!(
            said[3],
            "b.toml:5:5 \"fist\" is not one of the words for `w` Some(\"first\")"
        );
    }

    #[test]
    fn several_syntax_errors_come_together() {
        let text = "a = \nb = 1\nc = \"x\nd = 2 2\n";
        let mut sources = Sources::new();
        let id = sources.add("b.toml", text);
        let (table, faults) = crate::parse(id, text);
        assert!(faults.len() >= 2, "{faults:?}");
        assert!(table.get("b").is_some());
    }
}
