//! Finding and replacing single values in a board file.

use document::{Content, Item};
use finding::{SourceId, Span};

/// A value found by its path.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// The text as written, without quotes.
    pub text: String,
    /// Where it stands, quotes included.
    pub span: Span,
}

/// Why a path leads nowhere.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EditFault {
    /// What is wrong.
    pub message: String,
    /// What the path could go on with at the point where it fails.
    pub known: Vec<String>,
}

/// The value at a path of keys and list positions, for example
/// `channels.tank-1.chain.0.pull-up` or `rails.main.voltage`. List elements
/// may also be named by the name given to them or by their stage
/// (`channels.tank-1.chain.pull-up` is the first pull-up).
///
/// # Errors
/// [`EditFault`] says where the path fails.
pub fn locate(text: &str, path: &str) -> Result<Setting, EditFault> {
    let (table, faults) = document::parse(SourceId(0), text);
    if !faults.is_empty() {
        return Err(EditFault {
            message: "the file is not TOML".to_owned(),
            known: Vec::new(),
        });
    }
    let mut here = Item {
        span: table.span,
        content: Content::Table(table),
    };
    let mut walked = String::new();
    for word in path.split('.') {
        let (next, known) = step(&here, word);
        match next {
            Some(item) => here = item,
            None => {
                let at = if walked.is_empty() {
                    "the file".to_owned()
                } else {
                    format!("`{walked}`")
                };
                return Err(EditFault {
                    message: format!("{at} has no `{word}`"),
                    known,
                });
            }
        }
        if !walked.is_empty() {
            walked.push('.');
        }
        walked.push_str(word);
    }
    match &here.content {
        Content::Text(t, _) => Ok(Setting {
            text: t.clone(),
            span: here.span,
        }),
        Content::Whole(n) => Ok(Setting {
            text: n.to_string(),
            span: here.span,
        }),
        Content::Real(x) => Ok(Setting {
            text: x.to_string(),
            span: here.span,
        }),
        Content::Table(t) => Err(EditFault {
            message: format!("`{path}` is a table"),
            known: t.entries.iter().map(|(k, _)| k.name.clone()).collect(),
        }),
        other => Err(EditFault {
            message: format!("`{path}` is {}", other.describe()),
            known: Vec::new(),
        }),
    }
}

fn step(here: &Item, word: &str) -> (Option<Item>, Vec<String>) {
    match &here.content {
        Content::Table(t) => (
            t.get(word).cloned(),
            t.entries.iter().map(|(k, _)| k.name.clone()).collect(),
        ),
        Content::List(list) => {
            if let Ok(n) = word.parse::<usize>() {
                return (
                    list.get(n).cloned(),
                    (0..list.len()).map(|n| n.to_string()).collect(),
                );
            }
            // By the name given, else by the key that makes it a stage.
            for item in list {
                if let Content::Table(t) = &item.content
                    && matches!(t.get("name").map(|i| &i.content), Some(Content::Text(n, _)) if n == word)
                {
                    let main = t.entries.iter().find(|(k, _)| {
                        !matches!(k.name.as_str(), "name" | "from" | "to" | "supply")
                    });
                    return (main.map(|(_, v)| v.clone()), Vec::new());
                }
            }
            for item in list {
                if let Content::Table(t) = &item.content
                    && let Some(found) = t.get(word)
                {
                    return (Some(found.clone()), Vec::new());
                }
            }
            let mut known: Vec<String> = (0..list.len()).map(|n| n.to_string()).collect();
            for item in list {
                if let Content::Table(t) = &item.content {
                    known.extend(t.entries.first().map(|(k, _)| k.name.clone()));
                }
            }
            (None, known)
        }
        _ => (None, Vec::new()),
    }
}

/// The file with the value at `path` replaced by `value` (a text without
/// quotes); everything else, comments included, stays as it is.
///
/// # Errors
/// As [`locate`].
pub fn with_value(text: &str, path: &str, value: &str) -> Result<String, EditFault> {
    let found = locate(text, path)?;
    let range = found.span.range();
    let quoted = text
        .as_bytes()
        .get(range.start)
        .is_some_and(|b| matches!(b, b'"' | b'\''));
    let mut new = String::with_capacity(text.len() + value.len());
    new.push_str(text.get(..range.start).unwrap_or(""));
    if quoted {
        new.push('"');
        for c in value.chars() {
            if matches!(c, '"' | '\\') {
                new.push('\\');
            }
            new.push(c);
        }
        new.push('"');
    } else {
        new.push_str(value);
    }
    new.push_str(text.get(range.end..).unwrap_or(""));
    Ok(new)
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "# rack\n[channels.t]\nspan = \"0 °C to 9 °C\" # all\nchain = [ { pull-up = \"2.2 kΩ 1 %\", to = \"v\" }, { series = \"1 kΩ\", name = \"rs\" } ]\nn = 3\n";

    #[test]
    fn a_value_is_replaced_and_nothing_else() {
        let new = with_value(TEXT, "channels.t.chain.0.pull-up", "4.7 kΩ 1 %").unwrap();
        assert_eq!(new, TEXT.replace("2.2 kΩ", "4.7 kΩ"));
        let new = with_value(TEXT, "channels.t.chain.rs", "2 kΩ").unwrap();
        assert_eq!(new, TEXT.replace("\"1 kΩ\"", "\"2 kΩ\""));
        let new = with_value(TEXT, "channels.t.n", "4").unwrap();
        assert_eq!(new, TEXT.replace("n = 3", "n = 4"));
        assert_eq!(
            locate(TEXT, "channels.t.chain.pull-up").unwrap().text,
            "2.2 kΩ 1 %"
        );
    }

    #[test]
    fn a_wrong_path_says_where_it_fails() {
        let fault = locate(TEXT, "channels.t.chian").unwrap_err();
        assert_eq!(fault.message, "`channels.t` has no `chian`");
        assert!(fault.known.contains(&"chain".to_owned()));
    }
}

/// A value that stands in a file, and the path that leads to it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Listed {
    /// As [`locate`] takes it.
    pub path: String,
    /// The value as written, without quotes.
    pub text: String,
    /// It stands in quotes.
    pub quoted: bool,
    /// Where.
    pub span: Span,
}

/// Every single value below a path (the whole file for an empty one), in the
/// order of the file; empty where the path leads nowhere.
///
/// ```
/// let list = board::listed("[rails.a]\nvoltage = \"5 V\"\n", "rails");
/// assert_eq!(list[0].path, "rails.a.voltage");
/// assert_eq!(list[0].text, "5 V");
/// ```
#[must_use]
pub fn listed(text: &str, path: &str) -> Vec<Listed> {
    let (table, _) = document::parse(SourceId(0), text);
    let mut here = Item {
        span: table.span,
        content: Content::Table(table),
    };
    for word in path.split('.').filter(|w| !w.is_empty()) {
        match step(&here, word).0 {
            Some(item) => here = item,
            None => return Vec::new(),
        }
    }
    let mut found = Vec::new();
    gather(&here, path, &mut found);
    found
}

fn gather(item: &Item, path: &str, found: &mut Vec<Listed>) {
    let below = |word: &str| {
        if path.is_empty() {
            word.to_owned()
        } else {
            format!("{path}.{word}")
        }
    };
    let mut add = |text: String, quoted: bool| {
        found.push(Listed {
            path: path.to_owned(),
            text,
            quoted,
            span: item.span,
        });
    };
    match &item.content {
        Content::Text(t, _) => add(t.clone(), true),
        Content::Whole(n) => add(n.to_string(), false),
        Content::Real(x) => add(x.to_string(), false),
        Content::Truth(_) | Content::Moment => {}
        Content::List(list) => {
            for (n, item) in list.iter().enumerate() {
                gather(item, &below(&n.to_string()), found);
            }
        }
        Content::Table(table) => {
            for (key, item) in &table.entries {
                gather(item, &below(&key.name), found);
            }
        }
    }
}
