//! Reading of part files.

use std::collections::BTreeMap;

use document::{Content, Faults, Fields, Item, Key, Table};
use finding::{InputFault, SourceId, nearest_of};

use crate::kinds::{KindSpec, Scope, kind, kinds};
use crate::laws::laws;
use crate::merge;
use crate::part::{CarrierRail, Figures, Measure, Part, Pin};
use crate::provenance::{Basis, Origin, Source};
use crate::quantities::{BUSES, HABITS, PIN_ATTRIBUTES, quantity_dimension, quantity_names};
use crate::read_converter::converters;
use crate::read_figure::{Defaults, figures_from_table};

/// The keys a part file may have at its top.
const TOP_KEYS: [&str; 7] = [
    "part",
    "figures",
    "measures",
    "converter",
    "pins",
    "rails",
    "variants",
];

/// Reads the text of a part file: the parts in it, one for the family and one
/// for each variant, and everything that is wrong, in the order of the file.
///
/// A part comes back even if figures of it could not be read. Whether what
/// was read makes sense is for [`Part::check`].
///
/// ```
/// use finding::SourceId;
/// let text = r#"
/// [part]
/// id = "my-divider-resistor"
/// kind = "resistor"
/// title = "Resistor from the drawer"
/// basis = "measured"
/// source = { document = "bench book", place = "page 12" }
/// [figures]
/// tolerance = "0.3 %"
/// drift = { max = "50 ppm/K" }
/// "#;
/// let (parts, faults) = parts::parse(SourceId(0), text, &parts::Origin::User("mine.toml".into()));
/// assert!(faults.is_empty());
/// assert_eq!(parts[0].figures["tolerance"].max, Some(0.003));
/// ```
#[must_use]
pub fn parse(source: SourceId, text: &str, origin: &Origin) -> (Vec<Part>, Vec<InputFault>) {
    let (table, syntax) = document::parse(source, text);
    let faults = Faults::new();
    for fault in syntax {
        faults.push(fault);
    }
    let parts = parts_of_file(&table, origin, &faults);
    (parts, faults.into_list())
}

fn parts_of_file(table: &Table, origin: &Origin, faults: &Faults) -> Vec<Part> {
    let top = Fields::new(table, "a part file", faults);
    for key in TOP_KEYS {
        let _ = top.item(key);
    }
    if top
        .required("part", "[part] with id, kind and title")
        .is_none()
    {
        top.finish();
        return Vec::new();
    }
    top.finish();
    let mut parts = Vec::new();
    let family = merge::sub(table, "part");
    let only_variants = family
        .and_then(|part| part.get("only-variants"))
        .is_some_and(|item| item.content == Content::Truth(true));
    if !only_variants {
        parts.extend(part_from_table(table, origin, faults));
    }
    let family_id = family
        .and_then(|part| part.get("id"))
        .and_then(|item| match &item.content {
            Content::Text(id, _) => Some(id.as_str()),
            _ => None,
        })
        .unwrap_or_default();
    let variants = Fields::new(table, "a part file", faults).named("variants");
    if only_variants && variants.is_empty() {
        faults.add(
            table.span,
            "the file has only-variants set and no variants",
            "[variants.…], or no only-variants",
        );
    }
    for (key, variant) in variants {
        let varied = vary(table, variant, key, family_id, faults);
        parts.extend(part_from_table(&varied, origin, faults));
    }
    parts
}

/// Keys of `[part]` that a variant may change.
const VARIANT_PART_KEYS: [&str; 9] = [
    "id",
    "title",
    "maker",
    "note",
    "basis",
    "source",
    "options",
    "addresses",
    "open",
];

/// The file as it would stand for one variant alone.
fn vary(file: &Table, variant: &Table, key: &Key, family_id: &str, faults: &Faults) -> Table {
    let fields = Fields::new(variant, format!("variant `{}`", key.name), faults);
    for known in VARIANT_PART_KEYS {
        let _ = fields.item(known);
    }
    let mut varied = file.clone();
    if let Some(figures) = fields.sub("figures") {
        overlay_at(&mut varied, "figures", figures, &merge::figures);
    }
    for (quantity, figures) in fields.named("measures") {
        let mut wrapper = Table {
            entries: Vec::new(),
            span: quantity.span,
        };
        wrapper.entries.push((
            quantity.clone(),
            Item {
                span: figures.span,
                content: Content::Table(figures.clone()),
            },
        ));
        overlay_at(&mut varied, "measures", &wrapper, &|base, over| {
            merge::overlay(base, over, &|old, new| match (&old.content, &new.content) {
                (Content::Table(a), Content::Table(b)) => Item {
                    span: new.span,
                    content: Content::Table(merge::figures(a, b)),
                },
                _ => new.clone(),
            })
        });
    }
    for (name, changes) in fields.named("converters") {
        vary_converter(&mut varied, name, changes, faults);
    }
    fields.finish();
    let id = Item {
        span: key.span,
        content: Content::Text(format!("{family_id}-{}", key.name), false),
    };
    if let Some(Content::Table(part)) = content_of(&mut varied, "part") {
        part.entries.retain(|(k, _)| k.name != "only-variants");
        for (k, item) in part.entries.iter_mut() {
            if k.name == "id" {
                *item = id.clone();
            }
        }
        for known in VARIANT_PART_KEYS {
            if let Some(item) = variant.get(known) {
                part.entries.retain(|(k, _)| k.name != known);
                let key = variant.entries.iter().find(|(k, _)| k.name == known);
                part.entries
                    .extend(key.map(|(k, _)| (k.clone(), item.clone())));
            }
        }
        part.span = variant.span;
    }
    varied
}

fn content_of<'a>(table: &'a mut Table, key: &str) -> Option<&'a mut Content> {
    table
        .entries
        .iter_mut()
        .find(|(k, _)| k.name == key)
        .map(|(_, item)| &mut item.content)
}

fn overlay_at(file: &mut Table, key: &str, over: &Table, merged: &dyn Fn(&Table, &Table) -> Table) {
    match content_of(file, key) {
        Some(Content::Table(base)) => *base = merged(base, over),
        _ => {
            let entry = (
                Key {
                    name: key.to_owned(),
                    span: over.span,
                },
                Item {
                    span: over.span,
                    content: Content::Table(over.clone()),
                },
            );
            file.entries.push(entry);
        }
    }
}

fn vary_converter(file: &mut Table, name: &Key, changes: &Table, faults: &Faults) {
    let units = match content_of(file, "converter") {
        Some(Content::List(units)) => units.as_mut_slice(),
        _ => &mut [],
    };
    let unit = units.iter_mut().find_map(|item| match &mut item.content {
        Content::Table(unit)
            if matches!(unit.get("name").map(|n| &n.content),
                Some(Content::Text(text, _)) if *text == name.name) =>
        {
            Some(unit)
        }
        _ => None,
    });
    let Some(unit) = unit else {
        faults.add(
            name.span,
            format!("the part has no converter `{}`", name.name),
            "the name of a [[converter]]",
        );
        return;
    };
    *unit = merge::overlay(
        unit,
        changes,
        &|old, new| match (&old.content, &new.content) {
            (Content::Table(a), Content::Table(b)) => Item {
                span: new.span,
                content: Content::Table(merge::figures(a, b)),
            },
            _ => new.clone(),
        },
    );
}

/// Reads one part from the tables of its file.
pub(crate) fn part_from_table(table: &Table, origin: &Origin, faults: &Faults) -> Option<Part> {
    let file = Fields::new(table, "a part file", faults);
    let part = Fields::new(file.sub("part")?, "part", faults);
    let id = part.required_text("id", "a name in lower case with hyphens");
    let kind_spec = read_kind(&part);
    let title = part.required_text("title", "what the part is, one line");
    let quantity = read_quantity(&part);
    let law = read_law(&part);
    let text = |key| part.text(key).map(|t| t.value.to_owned());
    let maker = text("maker").unwrap_or_default();
    let note = text("note").unwrap_or_default();
    let controller = text("controller");
    let _ = part.truth("only-variants");
    let defaults = read_defaults(&part);
    let options = read_options(&part);
    let buses = words(&part, "buses", Some(BUSES));
    let exposes = words(&part, "exposes", None);
    let open = words(&part, "open", None);
    let addresses = numbers(&part, "addresses", 127);
    let spi_modes = numbers(&part, "spi-modes", 3);
    let habits = words(&part, "habits", Some(HABITS));
    part.finish();
    let kind_spec = kind_spec?;
    let scope = Scope::Part {
        kind: kind_spec,
        quantity: quantity.as_deref().and_then(quantity_dimension),
        law: law.as_deref(),
    };
    let figures = figures_below(&file, &scope, &defaults);
    Some(Part {
        id: id?.value.to_owned(),
        kind: kind_spec.name.to_owned(),
        title: title.map_or(String::new(), |t| t.value.to_owned()),
        maker,
        note,
        options,
        figures,
        measures: read_measures(&file, &defaults),
        converters: converters(&file, &defaults),
        pins: read_pins(&file),
        buses,
        addresses,
        spi_modes,
        habits,
        controller,
        exposes,
        open,
        rails: read_rails(&file, &defaults),
        basis: defaults.basis,
        source: defaults.source,
        quantity,
        law,
        origin: origin.clone(),
        span: id?.span,
    })
}

fn read_kind(part: &Fields<'_>) -> Option<&'static KindSpec> {
    let names = || kinds().iter().map(|k| k.name);
    let written = part.required_text("kind", &names().collect::<Vec<_>>().join(", "))?;
    let found = kind(written.value);
    if found.is_none() {
        part.faults().push(
            InputFault::new(
                written.span,
                format!("\"{}\" is not a kind of part", written.value),
                format!("one of {}", names().collect::<Vec<_>>().join(", ")),
            )
            .suggest(nearest_of(written.value, names())),
        );
    }
    found
}

fn read_quantity(part: &Fields<'_>) -> Option<String> {
    let written = part.text("quantity")?;
    if quantity_dimension(written.value).is_none() {
        part.faults().push(
            InputFault::new(
                written.span,
                format!("\"{}\" is not a known quantity", written.value),
                format!("one of {}", quantity_names().collect::<Vec<_>>().join(", ")),
            )
            .suggest(nearest_of(written.value, quantity_names())),
        );
        return None;
    }
    Some(written.value.to_owned())
}

fn read_law(part: &Fields<'_>) -> Option<String> {
    let written = part.text("law")?;
    let names = || laws().iter().map(|l| l.name);
    if !names().any(|name| name == written.value) {
        part.faults().push(
            InputFault::new(
                written.span,
                format!("\"{}\" is not a known sensor law", written.value),
                format!("one of {}", names().collect::<Vec<_>>().join(", ")),
            )
            .suggest(nearest_of(written.value, names())),
        );
        return None;
    }
    Some(written.value.to_owned())
}

pub(crate) fn read_defaults(part: &Fields<'_>) -> Defaults {
    let mut source = Source::default();
    if let Some(table) = part.sub("source") {
        let fields = Fields::new(table, "source", part.faults());
        let text = |key| fields.text(key).map(|t| t.value.to_owned());
        source = Source {
            document: text("document").unwrap_or_default(),
            revision: text("revision").unwrap_or_default(),
            place: text("place").unwrap_or_default(),
        };
        fields.finish();
    }
    let basis = part
        .word("basis", &Basis::ALL)
        .map_or(Basis::Published, |w| w.value);
    Defaults { basis, source }
}

fn read_options(part: &Fields<'_>) -> BTreeMap<String, String> {
    let Some(table) = part.sub("options") else {
        return BTreeMap::new();
    };
    table
        .entries
        .iter()
        .filter_map(|(key, item)| match &item.content {
            Content::Text(text, _) => Some((key.name.clone(), text.clone())),
            other => {
                part.faults().add(
                    item.span,
                    format!("option `{}` is {}", key.name, other.describe()),
                    "a word in quotes",
                );
                None
            }
        })
        .collect()
}

/// A list of words, each one of `known` if that is given.
pub(crate) fn words(fields: &Fields<'_>, key: &'static str, known: Option<&[&str]>) -> Vec<String> {
    let Some((list, _)) = fields.list(key) else {
        return Vec::new();
    };
    words_of_list(key, list, known, fields.faults())
}

pub(crate) fn words_of_list(
    key: &str,
    list: &[Item],
    known: Option<&[&str]>,
    faults: &Faults,
) -> Vec<String> {
    let mut words = Vec::new();
    for item in list {
        let Content::Text(text, _) = &item.content else {
            faults.add(
                item.span,
                format!("an entry of `{key}` is {}", item.content.describe()),
                "a word in quotes",
            );
            continue;
        };
        if let Some(known) = known.filter(|known| !known.contains(&text.as_str())) {
            faults.push(
                InputFault::new(
                    item.span,
                    format!("\"{text}\" is not one of the words for `{key}`"),
                    format!("one of {}", known.join(", ")),
                )
                .suggest(nearest_of(text, known.iter().copied())),
            );
            continue;
        }
        words.push(text.clone());
    }
    words
}

pub(crate) fn numbers(fields: &Fields<'_>, key: &'static str, largest: u8) -> Vec<u8> {
    let Some((list, _)) = fields.list(key) else {
        return Vec::new();
    };
    let mut numbers = Vec::new();
    for item in list {
        let number = match item.content {
            Content::Whole(n) => u8::try_from(n).ok().filter(|n| *n <= largest),
            _ => None,
        };
        match number {
            Some(n) => numbers.push(n),
            None => {
                let eight = match item.content {
                    Content::Whole(n @ 128..=255) if key == "addresses" => {
                        format!("; {n:#04x} is address {:#04x} as a byte on the wire", n / 2)
                    }
                    _ => String::new(),
                };
                fields.faults().add(
                    item.span,
                    format!("an entry of `{key}` does not fit{eight}"),
                    format!("whole numbers from 0 to {largest}"),
                );
            }
        }
    }
    numbers
}

pub(crate) fn read_measures(file: &Fields<'_>, defaults: &Defaults) -> Vec<Measure> {
    file.named("measures")
        .into_iter()
        .filter_map(|(key, table)| {
            let Some(dimension) = quantity_dimension(&key.name) else {
                file.faults().push(
                    InputFault::new(
                        key.span,
                        format!("\"{}\" is not a known quantity", key.name),
                        format!("one of {}", quantity_names().collect::<Vec<_>>().join(", ")),
                    )
                    .suggest(nearest_of(&key.name, quantity_names())),
                );
                return None;
            };
            let scope = Scope::Measure {
                quantity: dimension,
            };
            Some(Measure {
                quantity: key.name.clone(),
                dimension,
                figures: figures_from_table(table, &scope, defaults, file.faults()),
                span: key.span,
            })
        })
        .collect()
}

pub(crate) fn read_pins(file: &Fields<'_>) -> Vec<Pin> {
    let Some(table) = file.sub("pins") else {
        return Vec::new();
    };
    let pin = |key: &Key, functions, attributes| Pin {
        name: key.name.clone(),
        functions,
        attributes,
        span: key.span,
    };
    let faults = file.faults();
    table
        .entries
        .iter()
        .filter_map(|(key, item)| match &item.content {
            Content::List(list) => Some(pin(
                key,
                words_of_list("functions", list, None, faults),
                Vec::new(),
            )),
            Content::Table(sub) => {
                let fields = Fields::new(sub, format!("pin {}", key.name), faults);
                let functions = words(&fields, "functions", None);
                let attributes = words(&fields, "attributes", Some(PIN_ATTRIBUTES));
                fields.finish();
                Some(pin(key, functions, attributes))
            }
            other => {
                faults.add(
                    item.span,
                    format!("pin `{}` is {}", key.name, other.describe()),
                    "a list of functions, or { functions = […], attributes = […] }",
                );
                None
            }
        })
        .collect()
}

fn read_rails(file: &Fields<'_>, defaults: &Defaults) -> Vec<CarrierRail> {
    file.named("rails")
        .into_iter()
        .map(|(key, table)| {
            let fields = Fields::new(table, format!("rail {}", key.name), file.faults());
            let feeds = words(&fields, "feeds", None);
            let figures = figures_below(&fields, &Scope::Rail, defaults);
            fields.finish();
            CarrierRail {
                name: key.name.clone(),
                feeds,
                figures,
                span: key.span,
            }
        })
        .collect()
}

/// Figures below the key `figures` of a table.
pub(crate) fn figures_below(
    fields: &Fields<'_>,
    scope: &Scope<'_>,
    defaults: &Defaults,
) -> Figures {
    fields
        .sub("figures")
        .map(|t| figures_from_table(t, scope, defaults, fields.faults()))
        .unwrap_or_default()
}
