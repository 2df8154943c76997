//! Grades: what a variant changes, laid over the part it varies.

use document::{Content, Item, Table};

/// Keys of a figure that are its value and are replaced together, so that a
/// grade never mixes its own limit with the other grade's typical value.
const VALUE_KEYS: [&str; 7] = [
    "min",
    "typ",
    "max",
    "value",
    "points",
    "points-of",
    "choices",
];

/// `base` with the figures of `over` laid over it. Notes such as conditions
/// and place stay where the variant does not give its own.
pub(crate) fn figures(base: &Table, over: &Table) -> Table {
    overlay(base, over, &|old, new| match (&old.content, &new.content) {
        (Content::Table(old_table), Content::Table(new_table)) => Item {
            span: new.span,
            content: Content::Table(figure(old_table, new_table)),
        },
        _ => new.clone(),
    })
}

fn figure(base: &Table, over: &Table) -> Table {
    let replaces_value = over
        .entries
        .iter()
        .any(|(key, _)| VALUE_KEYS.contains(&key.name.as_str()));
    let mut kept = base.clone();
    if replaces_value {
        kept.entries
            .retain(|(key, _)| !VALUE_KEYS.contains(&key.name.as_str()));
    }
    overlay(&kept, over, &|_, new| new.clone())
}

/// `base` with every key of `over`; a key in both goes through `both`.
pub(crate) fn overlay(base: &Table, over: &Table, both: &dyn Fn(&Item, &Item) -> Item) -> Table {
    let mut result = base.clone();
    result.span = over.span;
    for (key, new) in &over.entries {
        match result.entries.iter_mut().find(|(k, _)| k.name == key.name) {
            Some((old_key, old)) => {
                *old = both(old, new);
                old_key.span = key.span;
            }
            None => result.entries.push((key.clone(), new.clone())),
        }
    }
    result
}

/// A table below a key, if there is one.
pub(crate) fn sub<'a>(table: &'a Table, key: &str) -> Option<&'a Table> {
    match table.get(key).map(|item| &item.content) {
        Some(Content::Table(sub)) => Some(sub),
        _ => None,
    }
}
