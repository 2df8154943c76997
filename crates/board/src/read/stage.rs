//! Stages of chains and elements of networks, by their schemas.

use std::collections::BTreeMap;
use std::sync::Arc;

use document::{Content, Fields, Item, Located, Table};
use finding::{InputFault, Span, nearest_of};
use parts::Part;
use quantity::Dimension;

use crate::model::{FieldValue, NetworkSpec, NodeRef, Stage};
use crate::read::Reader;
use crate::vocabulary::{Field, FieldKind, Schema};

impl Reader<'_> {
    /// A network's elements.
    pub(super) fn network(&self, name: &str, table: &Table) -> NetworkSpec {
        let f = Fields::new(table, format!("network {name}"), self.faults);
        let mut elements = Vec::new();
        f.required(
            "elements",
            "a list such as [{ resistor = \"1 kΩ\", from = \"a\", to = \"gnd\" }]",
        );
        if let Some((list, _)) = f.list("elements") {
            for (i, item) in list.iter().enumerate() {
                let path = format!("networks.{name}.elements.{i}");
                elements.extend(self.stage(
                    item,
                    &path,
                    &self.vocabulary.elements,
                    "element",
                    &["from", "to", "name"],
                ));
            }
        }
        let mut seen: Vec<&str> = Vec::new();
        for e in &elements {
            if e.fields.contains_key("name") && seen.contains(&e.name.as_str()) {
                self.faults.add(
                    e.span,
                    format!("two elements are named `{}`", e.name),
                    "different names",
                );
            }
            seen.push(&e.name);
        }
        f.finish();
        NetworkSpec {
            name: name.to_owned(),
            elements,
            span: table.span,
        }
    }

    /// One stage or element: the one key that names a known one decides.
    pub(super) fn stage<'a>(
        &self,
        item: &'a Item,
        path: &str,
        schemas: &[Schema],
        what: &str,
        common: &[&'static str],
    ) -> Option<Stage> {
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("a {what} is {}", item.content.describe()),
                "a table in braces, for example { series = \"1 kΩ 1 %\" }",
            );
            return None;
        };
        let found = table.entries.iter().find_map(|(k, v)| {
            let candidates = schemas.iter().filter(|s| s.name == k.name);
            candidates.into_iter().next().map(|s| (k, v, s))
        });
        let Some((key, value, schema)) = found else {
            let (span, near) = table.entries.first().map_or((item.span, None), |(k, _)| {
                (k.span, nearest_of(&k.name, schemas.iter().map(|s| s.name)))
            });
            let names: Vec<&str> = schemas.iter().map(|s| s.name).collect();
            self.faults.push(
                InputFault::new(
                    span,
                    format!("this {what} names none that is known"),
                    format!("one of {}", names.join(", ")),
                )
                .suggest(near),
            );
            return None;
        };
        let mut fields: BTreeMap<&'static str, Located<FieldValue>> = BTreeMap::new();
        let mut name = path.rsplit('.').next().unwrap_or("").to_owned();
        // Figures that stand in place of those of the stage's part.
        let mut over: Option<(Span, &Item)> = None;
        let has_part = schema.fields.iter().any(is_part);
        let mut read_one = |key: &str, key_span: Span, v: &'a Item, from_primary: bool| {
            if key == "figures" && has_part {
                over = Some((key_span, v));
                return;
            }
            if key == "name" && common.contains(&"name") {
                if let Content::Text(t, _) = &v.content {
                    name.clone_from(t);
                    fields.insert(
                        "name",
                        Located {
                            value: FieldValue::Word(t.clone()),
                            span: v.span,
                        },
                    );
                } else {
                    self.faults
                        .add(v.span, "a name is a text", "name = \"rref\"");
                }
                return;
            }
            if (key == "from" || key == "to")
                && common.contains(&"from")
                && !schema.fields.iter().any(|f| f.key == key)
            {
                if let Some(node) = self.node(v) {
                    let key: &'static str = if key == "from" { "from" } else { "to" };
                    fields.insert(
                        key,
                        Located {
                            value: FieldValue::Node(node),
                            span: v.span,
                        },
                    );
                }
                return;
            }
            let Some(field) = schema.fields.iter().find(|f| f.key == key) else {
                let known: Vec<&str> = schema
                    .fields
                    .iter()
                    .map(|f| f.key)
                    .chain(common.iter().copied())
                    .chain(has_part.then_some("figures"))
                    .collect();
                self.faults.push(
                    InputFault::new(
                        if from_primary { v.span } else { key_span },
                        format!("unknown key `{key}` in {what} `{}`", schema.name),
                        format!("one of {}", known.join(", ")),
                    )
                    .suggest(nearest_of(key, known.iter().copied())),
                );
                return;
            };
            if fields.contains_key(field.key) {
                self.faults
                    .add(key_span, format!("`{key}` is given twice"), "one value");
            }
            if let Some(value) = self.field(field, v, path) {
                fields.insert(
                    field.key,
                    Located {
                        value,
                        span: v.span,
                    },
                );
            }
        };
        // A table behind the name holds the keys of the stage, but for one that
        // is a part in place.
        let primary_field = schema
            .primary
            .and_then(|p| schema.fields.iter().find(|f| f.key == p));
        let spelled_out = match &value.content {
            Content::Table(inner) => {
                !primary_field.is_some_and(is_part)
                    || inner
                        .entries
                        .iter()
                        .all(|(k, _)| k.name != "kind" && k.name != "like")
            }
            _ => false,
        };
        match (&value.content, schema.primary) {
            (Content::Table(inner), _) if spelled_out => {
                for (k, v) in &inner.entries {
                    read_one(&k.name, k.span, v, false);
                }
            }
            (_, Some(primary)) => read_one(primary, key.span, value, true),
            (Content::Truth(true), None) => {}
            (content, None) => self.faults.add(
                value.span,
                format!("`{}` is {}", schema.name, content.describe()),
                format!(
                    "a table with {}",
                    schema
                        .fields
                        .iter()
                        .map(|f| f.key)
                        .collect::<Vec<_>>()
                        .join(", ")
                ),
            ),
        }
        for (k, v) in &table.entries {
            if k.name != schema.name {
                read_one(&k.name, k.span, v, false);
            }
        }
        if let Some((key_span, item)) = over {
            self.overridden(key_span, item, schema, &mut fields);
        }
        for field in schema.fields {
            let given = value_has(value, field.key)
                || table.get(field.key).is_some()
                || (schema.primary == Some(field.key) && !spelled_out);
            if field.required && !given {
                self.faults.add(
                    item.span,
                    format!("{what} `{}` has no `{}`", schema.name, field.key),
                    format!(
                        "{} = {} ({})",
                        field.key,
                        example(field.kind),
                        field.meaning
                    ),
                );
            }
        }
        if common.contains(&"from") {
            for end in ["from", "to"] {
                if !schema.fields.iter().any(|f| f.key == end)
                    && schema
                        .fields
                        .iter()
                        .all(|f| !matches!(f.kind, FieldKind::Node))
                    && table.get(end).is_none()
                {
                    self.faults.add(
                        item.span,
                        format!("{what} `{}` has no `{end}`", schema.name),
                        format!("{end} = \"NODE\""),
                    );
                }
            }
        }
        Some(Stage {
            kind: schema.name,
            name,
            path: path.to_owned(),
            fields,
            span: item.span,
        })
    }

    /// Puts figures in place of those of a stage's part.
    fn overridden(
        &self,
        key_span: Span,
        item: &Item,
        schema: &Schema,
        fields: &mut BTreeMap<&'static str, Located<FieldValue>>,
    ) {
        let Content::Table(table) = &item.content else {
            self.faults.add(
                item.span,
                format!("`figures` is {}", item.content.describe()),
                "a table of figures, as in a part file",
            );
            return;
        };
        let mut parts = schema
            .fields
            .iter()
            .filter(|f| is_part(f) && fields.contains_key(f.key));
        let (Some(field), None) = (parts.next(), parts.next()) else {
            self.faults.add(
                key_span,
                "`figures` stands beside no part or beside several",
                "one part, or figures in [parts.NAME] with like = \"PART\"",
            );
            return;
        };
        if let Some(Located {
            value: FieldValue::Part(part),
            ..
        }) = fields.get_mut(field.key)
            && let Some(changed) = parts::with_figures(part, table, self.faults)
        {
            *part = changed.into();
        }
    }

    /// A part that is described where it is used, of one of some kinds.
    fn part_described(
        &self,
        path: &str,
        item: &Item,
        table: &Table,
        kinds: &[&str],
    ) -> Option<Arc<Part>> {
        if let Some(like) = table.get("like") {
            let Content::Text(base, _) = &like.content else {
                self.faults.add(
                    like.span,
                    format!("`like` is {}", like.content.describe()),
                    "the name of a part in quotes",
                );
                return None;
            };
            let base = self.part(base, like.span, kinds)?;
            return parts::part_like(&base.id, &base, table, self.faults).map(Into::into);
        }
        let part = parts::part_in_place(path, table, self.faults)?;
        if !kinds.is_empty() && !kinds.contains(&part.kind.as_str()) {
            self.faults.add(
                item.span,
                format!("this is a {}, which does not fit here", part.kind),
                format!("a part of kind {}", kinds.join(" or ")),
            );
            return None;
        }
        Some(part.into())
    }

    fn field(&self, field: &Field, item: &Item, path: &str) -> Option<FieldValue> {
        let text = |expected: &str| match &item.content {
            Content::Text(t, _) => Some(t.as_str()),
            other => {
                self.faults.add(
                    item.span,
                    format!("`{}` is {}", field.key, other.describe()),
                    expected.to_owned(),
                );
                None
            }
        };
        match field.kind {
            FieldKind::Valued(dimension) => {
                let t = text(&format!("a quantity in quotes, {}", example(field.kind)))?;
                match quantity::valued(t, dimension) {
                    Ok(v) => {
                        if let Some(word) = unknown_word(&v.words, dimension) {
                            let known = dielectrics(dimension);
                            self.faults.push(
                                InputFault::new(
                                    item.span,
                                    format!("`{word}` says nothing about `{}`", field.key),
                                    if known.is_empty() {
                                        example(field.kind).to_owned()
                                    } else {
                                        format!("a dielectric: {}", known.join(", "))
                                    },
                                )
                                .suggest(nearest_of(word, known.iter().copied())),
                            );
                            return None;
                        }
                        if is_passive(dimension) && v.nominal < 0.0 {
                            self.faults.add(
                                item.span,
                                format!("`{}` is negative", field.key),
                                format!("{} above zero", example(field.kind)),
                            );
                            return None;
                        }
                        if dimension == Dimension::CAPACITANCE && v.nominal == 0.0 {
                            self.faults.add(
                                item.span,
                                format!("`{}` is a capacitor of nothing", field.key),
                                format!("{} above zero, or no such stage", example(field.kind)),
                            );
                            return None;
                        }
                        if is_passive(dimension)
                            && let Some(tolerance) = v.tolerance
                            && v.nominal > 0.0
                            && tolerance.limits(v.nominal).0 <= 0.0
                        {
                            self.faults.add(
                                item.span,
                                format!(
                                    "the tolerance of `{}` reaches down to zero or below",
                                    field.key
                                ),
                                "a tolerance below 100 %",
                            );
                            return None;
                        }
                        Some(FieldValue::Valued(v))
                    }
                    Err(fault) => {
                        self.faults.inside(item, fault);
                        None
                    }
                }
            }
            FieldKind::ValuedDifference(dimension) => {
                let t = text(&format!("a difference in quotes, {}", example(field.kind)))?;
                match quantity::valued_difference(t, dimension) {
                    Ok(v) => Some(FieldValue::Valued(v)),
                    Err(fault) => {
                        self.faults.inside(item, fault);
                        None
                    }
                }
            }
            FieldKind::Supply => {
                let t = text("the name of a rail or reference, or \"gnd\"")?;
                self.supply(t, item.span).map(FieldValue::Supply)
            }
            FieldKind::Node => self.node(item).map(FieldValue::Node),
            FieldKind::Part(kinds) => match &item.content {
                Content::Table(table) => self
                    .part_described(&format!("{path}.{}", field.key), item, table, kinds)
                    .map(FieldValue::Part),
                _ => {
                    let t = text("the name of a part in quotes")?;
                    self.part(t, item.span, kinds).map(FieldValue::Part)
                }
            },
            FieldKind::Word(words) => {
                let t = text("a word in quotes")?;
                if words.is_empty() || words.contains(&t) {
                    return Some(FieldValue::Word(t.to_owned()));
                }
                self.faults.push(
                    InputFault::new(
                        item.span,
                        format!("\"{t}\" is not one of the words for `{}`", field.key),
                        words.join(", "),
                    )
                    .suggest(nearest_of(t, words.iter().copied())),
                );
                None
            }
            FieldKind::Number => match &item.content {
                #[allow(clippy::cast_precision_loss, reason = "numbers in files are small")]
                Content::Whole(n) => Some(FieldValue::Number(*n as f64)),
                Content::Real(x) if x.is_finite() => Some(FieldValue::Number(*x)),
                Content::Text(t, _) => match quantity::value(t, Dimension::NONE) {
                    Ok(q) => Some(FieldValue::Number(q.value)),
                    Err(fault) => {
                        self.faults.inside(item, fault);
                        None
                    }
                },
                other => {
                    self.faults.add(
                        item.span,
                        format!("`{}` is {}", field.key, other.describe()),
                        "a number",
                    );
                    None
                }
            },
            FieldKind::Truth => match item.content {
                Content::Truth(b) => Some(FieldValue::Truth(b)),
                ref other => {
                    self.faults.add(
                        item.span,
                        format!("`{}` is {}", field.key, other.describe()),
                        "true or false",
                    );
                    None
                }
            },
            FieldKind::Channel => {
                let t = text("the name of a channel in quotes")?;
                self.channel_named(t, item.span).map(FieldValue::Channel)
            }
            FieldKind::Points(x, y) => self.points(item, x, y).map(FieldValue::Points),
            FieldKind::ValuedList(dimension) => {
                let Content::List(list) = &item.content else {
                    self.faults.add(
                        item.span,
                        format!("`{}` is {}", field.key, item.content.describe()),
                        "a list of quantities",
                    );
                    return None;
                };
                let mut values = Vec::new();
                for one in list {
                    let Content::Text(t, _) = &one.content else {
                        self.faults
                            .add(one.span, "an entry is not a text", "a quantity in quotes");
                        return None;
                    };
                    match quantity::valued(t, dimension) {
                        Ok(v) => values.push(v),
                        Err(fault) => {
                            self.faults.inside(one, fault);
                            return None;
                        }
                    }
                }
                Some(FieldValue::ValuedList(values))
            }
        }
    }

    /// Points of a curve, as pairs of texts.
    pub(super) fn points(
        &self,
        item: &Item,
        x: Dimension,
        y: Dimension,
    ) -> Option<Vec<(f64, f64)>> {
        let expected = "a list of pairs such as [[\"0 °C\", \"32.65 kΩ\"], [\"25 °C\", \"10 kΩ\"]]";
        let Content::List(list) = &item.content else {
            self.faults.add(
                item.span,
                format!("points are {}", item.content.describe()),
                expected,
            );
            return None;
        };
        let mut points = Vec::new();
        for pair in list {
            let two = match &pair.content {
                Content::List(two) if two.len() == 2 => two,
                _ => {
                    self.faults
                        .add(pair.span, "a point is not a pair", expected);
                    return None;
                }
            };
            let number = |item: &Item, dimension| match &item.content {
                Content::Text(t, _) => match quantity::value(t, dimension) {
                    Ok(q) => Some(q.value),
                    Err(fault) => {
                        self.faults.inside(item, fault);
                        None
                    }
                },
                _ => {
                    self.faults
                        .add(item.span, "a coordinate is not a text", expected);
                    None
                }
            };
            points.push((number(&two[0], x)?, number(&two[1], y)?));
        }
        if points.len() < 2 {
            self.faults
                .add(item.span, "a curve needs at least two points", expected);
            return None;
        }
        if !points.windows(2).all(|w| w[0].0 < w[1].0) {
            self.faults.add(
                item.span,
                "the points do not increase in their first coordinate",
                expected,
            );
            return None;
        }
        Some(points)
    }

    /// A node: a supply where the name is one, else a net of its own.
    pub(super) fn node(&self, item: &Item) -> Option<NodeRef> {
        let Content::Text(t, _) = &item.content else {
            self.faults.add(
                item.span,
                format!("a node is {}", item.content.describe()),
                "a name in quotes",
            );
            return None;
        };
        if t.is_empty() {
            self.faults
                .add(item.span, "a node has no name", "a name such as \"a\"");
            return None;
        }
        let known = t == "gnd"
            || t == "ground"
            || t.contains('.')
            || self.names.iter().any(|(n, _)| n == t);
        if known {
            self.supply(t, item.span).map(NodeRef::Supply)
        } else {
            Some(NodeRef::Named(t.clone()))
        }
    }
}

fn value_has(item: &Item, key: &str) -> bool {
    matches!(&item.content, Content::Table(t) if t.get(key).is_some())
}

fn is_part(field: &Field) -> bool {
    matches!(field.kind, FieldKind::Part(_))
}

fn is_passive(dimension: Dimension) -> bool {
    dimension == Dimension::RESISTANCE || dimension == Dimension::CAPACITANCE
}

/// Words that may follow a value: the dielectric of a capacitor.
fn dielectrics(dimension: Dimension) -> Vec<&'static str> {
    if dimension == Dimension::CAPACITANCE {
        parts::DIELECTRICS.iter().map(|d| d.0).collect()
    } else {
        Vec::new()
    }
}

/// The first word behind a value that is not known.
pub(super) fn unknown_word(words: &[String], dimension: Dimension) -> Option<&str> {
    let known = dielectrics(dimension);
    words
        .iter()
        .map(String::as_str)
        .find(|w| !known.contains(w) && !is_rated_voltage(w))
}

/// A rated voltage behind a capacitance, as the reader of quantities leaves it.
fn is_rated_voltage(word: &str) -> bool {
    word.strip_suffix('V')
        .is_some_and(|n| n.parse::<f64>().is_ok())
}

fn example(kind: FieldKind) -> &'static str {
    match kind {
        FieldKind::Valued(d) if d == Dimension::RESISTANCE => "\"10 kΩ 1 %\"",
        FieldKind::Valued(d) if d == Dimension::CAPACITANCE => "\"100 nF 10 % X7R\"",
        FieldKind::Valued(d) if d == Dimension::VOLTAGE => "\"2.5 V 0.1 %\"",
        FieldKind::Valued(d) if d == Dimension::CURRENT => "\"1 mA 1 %\"",
        FieldKind::Valued(_) => "a quantity with its unit",
        FieldKind::ValuedDifference(_) => "\"3 K\"",
        FieldKind::Supply => "\"main\"",
        FieldKind::Node => "\"a\"",
        FieldKind::Part(_) => "\"part-name\"",
        FieldKind::Word(_) => "a word",
        FieldKind::Number => "10",
        FieldKind::Truth => "true",
        FieldKind::Channel => "\"channel-name\"",
        FieldKind::Points(..) => "[[…, …], […, …]]",
        FieldKind::ValuedList(_) => "[\"10 kΩ 1 %\"]",
    }
}
