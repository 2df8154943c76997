//! `[scenarios.NAME]` and `[[claims]]`: what is written of them, and the board
//! with their changes.

use std::sync::Arc;

use document::{Content, Faults, Fields, Item, Key, Located, Table};
use finding::{InputFault, Span, nearest_of};
use quantity::{Dimension, Valued};

use crate::model::{Board, Channel, Supply};
use crate::read::Reader;
use crate::scenario::{
    Cause, CauseKind, Change, Claim, Claimed, Event, FigureOf, Scenario, ShiftOf,
};

impl Reader<'_> {
    /// Every scenario, its board not read yet.
    pub(super) fn scenarios(&self, top: &Fields<'_>) -> Vec<Scenario> {
        top.named("scenarios")
            .into_iter()
            .map(|(key, table)| {
                let f = Fields::new(table, format!("scenario {}", key.name), self.faults);
                let set = self.changes(&f);
                let mut events: Vec<Event> = f
                    .list("events")
                    .map(|(list, _)| list.iter().filter_map(|i| self.event(i)).collect())
                    .unwrap_or_default();
                events.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
                let told = f.truth("firmware-knows").is_some_and(|t| t.value);
                let _ = f.text("note");
                f.finish();
                if set.is_empty() && events.is_empty() {
                    self.faults.add(
                        table.span,
                        format!("nothing is otherwise in scenario {}", key.name),
                        "set = { \"rails.main.voltage\" = \"4.2 V\" }, or events = [{ at = \"0 s\", set = { … } }]",
                    );
                }
                Scenario {
                    name: key.name.clone(),
                    set,
                    events,
                    told,
                    board: None,
                    span: table.span,
                }
            })
            .collect()
    }

    /// The changes under `set`.
    fn changes(&self, f: &Fields<'_>) -> Vec<Change> {
        f.sub("set").map_or_else(Vec::new, |table| {
            let mut list = Vec::new();
            flat(table, "", &mut list);
            list
        })
    }

    fn event(&self, item: &Item) -> Option<Event> {
        const EXAMPLE: &str = "{ at = \"10 ms\", set = { \"rails.main.load\" = \"0.4 A\" } }";
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("an event is {}", item.content.describe()),
                EXAMPLE,
            );
            return None;
        };
        let f = Fields::new(table, "an event", self.faults);
        let at = f
            .required("at", EXAMPLE)
            .and_then(|_| f.quantity("at", Dimension::TIME));
        let set = self.changes(&f);
        f.finish();
        if set.is_empty() {
            self.faults
                .add(item.span, "nothing is otherwise after the event", EXAMPLE);
        }
        Some(Event {
            at_s: at?.value.value,
            set,
            board: None,
            span: item.span,
        })
    }

    /// Every claim, its boards not read yet; `channels` is empty where not
    /// all could be read.
    pub(super) fn claims(
        &self,
        top: &Fields<'_>,
        channels: &[Channel],
        scenarios: &[Scenario],
    ) -> Vec<Claim> {
        let Some((list, _)) = top.list("claims") else {
            return Vec::new();
        };
        list.iter()
            .filter_map(|item| match &item.content {
                Content::Table(table) => self.claimed(table, channels, scenarios),
                other => {
                    self.faults.add(
                        item.span,
                        format!("a claim is {}", other.describe()),
                        "[[claims]] with channel and cause, or with result and value",
                    );
                    None
                }
            })
            .collect()
    }

    fn claimed(
        &self,
        table: &Table,
        channels: &[Channel],
        scenarios: &[Scenario],
    ) -> Option<Claim> {
        let f = Fields::new(table, "a claim", self.faults);
        let name = f.text("name").map(|t| t.value.to_owned());
        let channel = f
            .required_text("channel", "channel = \"NAME\"")
            .and_then(|t| self.channel_named(t.value, t.span));
        let scenario = f.text("scenario").and_then(|t| {
            let found = scenarios.iter().position(|s| s.name == t.value);
            if found.is_none() {
                let known: Vec<&str> = scenarios.iter().map(|s| s.name.as_str()).collect();
                self.faults.push(
                    InputFault::new(
                        t.span,
                        format!("no scenario is named `{}`", t.value),
                        if known.is_empty() {
                            "a [scenarios.NAME]".to_owned()
                        } else {
                            format!("one of {}", known.join(", "))
                        },
                    )
                    .suggest(nearest_of(t.value, known.iter().copied())),
                );
            }
            found
        });
        let causes = f.item("cause").map(|item| self.causes(item));
        let result = f.word("result", &FigureOf::ALL);
        // Without a channel nothing says which quantity is meant.
        let of = channel.and_then(|c| channels.get(c));
        let Some(of) = of else {
            for key in ["at", "error", "value", "note"] {
                let _ = f.item(key);
            }
            f.finish();
            return None;
        };
        let dimension = of.dimension;
        let at = self.at(&f, dimension);
        let error = f.item("error").and_then(|item| self.moved(item, dimension));
        let value = result
            .as_ref()
            .and_then(|r| self.quoted(&f, r.value, dimension));
        if result.is_none() {
            let _ = f.item("value");
        }
        let _ = f.text("note");
        f.finish();
        let what = match (causes, result) {
            (Some(causes), None) => Claimed::Causes { causes, error },
            (None, Some(result)) => Claimed::Figure {
                result: result.value,
                value: value?,
            },
            _ => {
                self.faults.add(
                    table.span,
                    "a claim names a cause, or a result with its value",
                    "cause = { shift = \"30 mV\", of = \"ground\" } and error = \"-20 °C to -10 °C\", or result = \"pin-voltage\" and value = \"1.65 V\"",
                );
                return None;
            }
        };
        Some(Claim {
            name: name.unwrap_or_default(),
            channel: channel?,
            scenario,
            at,
            what,
            span: table.span,
        })
    }

    /// One value of the quantity or a list of them.
    fn at(&self, f: &Fields<'_>, dimension: Dimension) -> Vec<f64> {
        let Some(item) = f.item("at") else {
            return Vec::new();
        };
        let one = std::slice::from_ref(item);
        let list: &[Item] = match &item.content {
            Content::List(list) => list,
            _ => one,
        };
        list.iter()
            .filter_map(|i| {
                f.read_item("at", i, "25 °C", |t| quantity::value(t, dimension))
                    .map(|q| q.value.value)
            })
            .collect()
    }

    /// A difference or a range of differences: `"-20 °C to -10 °C"`, `"5 K"`.
    fn moved(&self, item: &Item, dimension: Dimension) -> Option<Located<(f64, f64)>> {
        const EXAMPLE: &str = "\"-20 °C to -10 °C\", or one difference such as \"5 °C\"";
        let Content::Text(text, _) = &item.content else {
            self.faults.add(
                item.span,
                format!("`error` is {}", item.content.describe()),
                EXAMPLE,
            );
            return None;
        };
        let ends: Vec<&str> = text.split(" to ").collect();
        let read: Vec<f64> = ends
            .iter()
            .filter_map(|t| quantity::difference(t.trim(), dimension).ok())
            .map(|q| q.value)
            .collect();
        let pair = match (ends.len(), read.as_slice()) {
            (1, [a]) => Some((*a, *a)),
            (2, [a, b]) => Some((a.min(*b), a.max(*b))),
            _ => None,
        };
        if pair.is_none() {
            self.faults.add(
                item.span,
                format!("\"{text}\" is no change of the quantity"),
                EXAMPLE,
            );
        }
        Some(Located {
            value: pair?,
            span: item.span,
        })
    }

    /// The value quoted for a result.
    fn quoted(
        &self,
        f: &Fields<'_>,
        result: FigureOf,
        dimension: Dimension,
    ) -> Option<Located<Valued>> {
        const EXAMPLE: &str = "1.65 V ± 1 %";
        f.required("value", EXAMPLE)?;
        let per_volt = Dimension::NONE.over(Dimension::VOLTAGE);
        f.read("value", EXAMPLE, |t| match result {
            FigureOf::PinVoltage | FigureOf::Reference => quantity::valued(t, Dimension::VOLTAGE),
            FigureOf::Code => quantity::valued(t, Dimension::NONE)
                .or_else(|_| quantity::valued(t, Dimension::CODE)),
            FigureOf::Reading => quantity::valued(t, dimension),
            FigureOf::Error | FigureOf::CodeWidth => quantity::valued_difference(t, dimension),
            FigureOf::CodesPerVolt => quantity::valued(t, per_volt),
        })
    }

    /// One cause or a list of them.
    fn causes(&self, item: &Item) -> Vec<Cause> {
        let one = std::slice::from_ref(item);
        let list: &[Item] = match &item.content {
            Content::List(list) => list,
            _ => one,
        };
        list.iter().filter_map(|i| self.cause(i)).collect()
    }

    fn cause(&self, item: &Item) -> Option<Cause> {
        const EXAMPLE: &str = "{ shift = \"30 mV\", of = \"ground\" }, of being ground, input, foot, a rail or a reference; or { set = { \"rails.main.voltage\" = \"4.9 V\" } }";
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("a cause is {}", item.content.describe()),
                EXAMPLE,
            );
            return None;
        };
        let f = Fields::new(table, "a cause", self.faults);
        let shift = f.quantity("shift", Dimension::VOLTAGE);
        let of = f.text("of").and_then(|t| {
            Some(match t.value {
                "ground" | "gnd" => ShiftOf::Ground,
                "input" => ShiftOf::Input,
                "foot" => ShiftOf::Foot,
                name => ShiftOf::Supply(self.shifted(name, t.span)?),
            })
        });
        let set = self.changes(&f);
        let asked = f.has("shift") || f.has("of");
        let name = f.text("of").map_or("", |t| t.value).to_owned();
        let has = (f.has("shift"), f.has("of"));
        f.finish();
        let (text, kind) = match (shift, of, set.is_empty()) {
            (Some(volt), Some(of), true) => {
                let shown = quantity::engineering(volt.value.value, "V", 3);
                let text = match of {
                    ShiftOf::Ground => format!("{shown} between the grounds"),
                    ShiftOf::Input => format!("{shown} at the converter's input"),
                    ShiftOf::Foot => format!("{shown} at the foot of the sensor"),
                    ShiftOf::Supply(_) => format!("{shown} on {name}"),
                };
                (
                    text,
                    CauseKind::Shift {
                        volt: volt.value.value,
                        of,
                    },
                )
            }
            (None, None, false) if !asked => {
                let text = set
                    .iter()
                    .map(|c| match &c.value.content {
                        Content::Text(t, _) => format!("{} = {t}", c.path.value),
                        _ => format!("{} changed", c.path.value),
                    })
                    .collect::<Vec<_>>()
                    .join(", ");
                (text, CauseKind::Set { set, board: None })
            }
            _ => {
                if !asked || !has.1 || !has.0 || !set.is_empty() {
                    self.faults.add(
                        item.span,
                        "a cause is a shift of something, or a value that is otherwise",
                        EXAMPLE,
                    );
                }
                return None;
            }
        };
        Some(Cause {
            text,
            kind,
            span: item.span,
        })
    }

    /// A rail or a reference that may be shifted.
    fn shifted(&self, name: &str, span: Span) -> Option<Supply> {
        match self.supply(name, span)? {
            Supply::Internal(..) => {
                self.faults.add(
                    span,
                    format!("`{name}` is inside a part and cannot be shifted by itself"),
                    "a rail, a reference of [references], ground, input or foot",
                );
                None
            }
            other => Some(other),
        }
    }
}

/// The leaves of a table of changes: keys in quotes are whole paths, tables
/// below them go on with them.
fn flat(table: &Table, before: &str, list: &mut Vec<Change>) {
    for (key, item) in &table.entries {
        let path = if before.is_empty() {
            key.name.clone()
        } else {
            format!("{before}.{}", key.name)
        };
        // A dotted key without quotes is a table in a table.
        match &item.content {
            Content::Table(inner) if !key.name.contains('.') && goes_on(inner) => {
                flat(inner, &path, list);
            }
            _ => list.push(Change {
                path: Located {
                    value: path,
                    span: key.span,
                },
                value: item.clone(),
            }),
        }
    }
}

/// Whether a table below a change was written by dots: then it has no braces
/// of its own, and one key.
fn goes_on(table: &Table) -> bool {
    table.entries.len() == 1
        || table
            .entries
            .iter()
            .all(|(_, i)| matches!(i.content, Content::Table(_)))
}

/// Reads the boards of all scenarios, events and suspected values.
pub(super) fn boards(
    board: &mut Board,
    table: &Table,
    faults: &Faults,
    read: &dyn Fn(&Table, &Faults) -> Board,
) {
    if board.scenarios.is_empty() && board.claims.is_empty() {
        return;
    }
    let as_written = Arc::new(Board {
        scenarios: Vec::new(),
        claims: Vec::new(),
        ..board.clone()
    });
    let made = |set: &[Change], told: bool| -> Option<Arc<Board>> {
        let tree = match changed(table, set) {
            Ok(tree) => tree,
            Err((span, message, expected)) => {
                faults.add(span, message, expected);
                return None;
            }
        };
        let inner = Faults::new();
        let mut other = read(&tree, &inner);
        if let Some(fault) = inner.into_list().into_iter().next() {
            let place = set.first().map_or(fault.span, |c| c.path.span);
            faults.add(
                place,
                format!("with this the board cannot be read: {}", fault.message),
                fault.expected,
            );
            return None;
        }
        other.scenarios.clear();
        other.claims.clear();
        // The firmware goes on as it was written, whatever happens around it.
        for channel in &mut other.channels {
            let before = as_written.channels.iter().find(|c| c.name == channel.name);
            let constants = before.and_then(|c| c.conversion.assumed.clone());
            channel.conversion.assumed = match (constants, before, told) {
                (Some(constants), ..) => Some(constants),
                (None, Some(_), false) => Some(Arc::clone(&as_written)),
                _ => None,
            };
        }
        Some(Arc::new(other))
    };
    let mut scenarios = std::mem::take(&mut board.scenarios);
    for s in &mut scenarios {
        let mut all = s.set.clone();
        s.board = made(&all, s.told);
        for event in &mut s.events {
            all.extend(event.set.iter().cloned());
            event.board = made(&all, s.told);
            s.board.clone_from(&event.board);
        }
    }
    for claim in &mut board.claims {
        let Claimed::Causes { causes, .. } = &mut claim.what else {
            continue;
        };
        let around = claim.scenario.and_then(|i| scenarios.get(i));
        for cause in causes {
            if let CauseKind::Set { set, board } = &mut cause.kind {
                let mut all: Vec<Change> = around
                    .into_iter()
                    .flat_map(|s| s.set.iter().chain(s.events.iter().flat_map(|e| &e.set)))
                    .cloned()
                    .collect();
                all.extend(set.iter().cloned());
                *board = made(&all, false);
            }
        }
    }
    board.scenarios = scenarios;
}

/// The tree of the file with changes in it, or the change that leads nowhere
/// and why.
fn changed(table: &Table, set: &[Change]) -> Result<Table, (Span, String, String)> {
    let mut root = Item {
        span: table.span,
        content: Content::Table(table.clone()),
    };
    for change in set {
        put(&mut root, change)?;
    }
    match root.content {
        Content::Table(t) => Ok(t),
        _ => Ok(table.clone()),
    }
}

fn put(root: &mut Item, change: &Change) -> Result<(), (Span, String, String)> {
    let words: Vec<&str> = change.path.value.split('.').collect();
    let Some((last, way)) = words.split_last() else {
        return Ok(());
    };
    let mut here = root;
    let mut walked = String::new();
    for word in way {
        let known = known(here);
        match step(here, word) {
            Some(next) => here = next,
            None => {
                return Err(nowhere(change, &walked, word, &known));
            }
        }
        if !walked.is_empty() {
            walked.push('.');
        }
        walked.push_str(word);
    }
    if let Some(found) = step(here, last) {
        *found = change.value.clone();
        return Ok(());
    }
    match &mut here.content {
        // What is not written yet is added.
        Content::Table(t) => {
            t.entries.push((
                Key {
                    name: (*last).to_owned(),
                    span: change.path.span,
                },
                change.value.clone(),
            ));
            Ok(())
        }
        _ => {
            let known = known(here);
            Err(nowhere(change, &walked, last, &known))
        }
    }
}

fn nowhere(change: &Change, walked: &str, word: &str, known: &[String]) -> (Span, String, String) {
    let at = if walked.is_empty() {
        "the file".to_owned()
    } else {
        format!("`{walked}`")
    };
    (
        change.path.span,
        format!(
            "`{}` leads nowhere: {at} has no `{word}`",
            change.path.value
        ),
        format!(
            "a path such as rails.main.voltage; it could go on with {}",
            known.join(", ")
        ),
    )
}

/// What a path could go on with.
fn known(here: &Item) -> Vec<String> {
    match &here.content {
        Content::Table(t) => t.entries.iter().map(|(k, _)| k.name.clone()).collect(),
        Content::List(list) => (0..list.len()).map(|n| n.to_string()).collect(),
        _ => Vec::new(),
    }
}

/// One step along a path: a key, a position, an element by its name, or a
/// stage by its kind, as in [`crate::locate`].
fn step<'i>(here: &'i mut Item, word: &str) -> Option<&'i mut Item> {
    match &mut here.content {
        Content::Table(t) => t
            .entries
            .iter_mut()
            .find(|(k, _)| k.name == word)
            .map(|(_, v)| v),
        Content::List(list) => {
            let at = match word.parse::<usize>() {
                Ok(n) => return list.get_mut(n),
                Err(_) => list
                    .iter()
                    .position(|i| {
                        matches!(&i.content, Content::Table(t)
                            if matches!(t.get("name").map(|i| &i.content), Some(Content::Text(n, _)) if n == word))
                    })
                    .map(|n| (n, true))
                    .or_else(|| {
                        list.iter()
                            .position(|i| {
                                matches!(&i.content, Content::Table(t) if t.get(word).is_some())
                            })
                            .map(|n| (n, false))
                    })?,
            };
            let Content::Table(t) = &mut list.get_mut(at.0)?.content else {
                return None;
            };
            if at.1 {
                t.entries
                    .iter_mut()
                    .find(|(k, _)| !matches!(k.name.as_str(), "name" | "from" | "to" | "supply"))
                    .map(|(_, v)| v)
            } else {
                t.entries
                    .iter_mut()
                    .find(|(k, _)| k.name == word)
                    .map(|(_, v)| v)
            }
        }
        _ => None,
    }
}
