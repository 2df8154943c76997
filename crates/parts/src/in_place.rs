//! Figures and parts written in a board file.

use document::{Content, Faults, Fields, Item, Table};
use finding::{InputFault, nearest_of};
use quantity::Dimension;

use crate::figure::{DriftMethod, Figure, Role, ShapeName};
use crate::kinds::{Scope, kind, kinds};
use crate::part::{ConverterUnit, Figures, Part, ReferenceChoice, Rounding};
use crate::provenance::{Basis, Origin, Source};
use crate::quantities::{quantity_dimension, quantity_names};

/// What a figure says of itself where it says nothing.
#[derive(Clone, Debug)]
pub struct Defaults {
    /// How it is founded.
    pub basis: Basis,
    /// Where it was read.
    pub source: Source,
}

/// Reads one figure: a text such as `"10 kΩ 1 %"`, or a table with `min`,
/// `typ`, `max` and what is to be said of them.
///
/// Faults go to `faults`; `None` if the figure cannot be used.
pub fn figure_in_place(
    name: &str,
    item: &Item,
    scope: &Scope<'_>,
    defaults: &Defaults,
    faults: &Faults,
) -> Option<Figure> {
    let Some(spec) = scope.figure(name) else {
        let known: Vec<&str> = scope.known().iter().map(|f| f.name).collect();
        faults.push(
            InputFault::new(
                item.span,
                format!("{} has no figure `{name}`", scope.describe()),
                format!("one of {}", known.join(", ")),
            )
            .suggest(nearest_of(name, known.iter().copied())),
        );
        return None;
    };
    let dimensions = spec.dimensions(scope.quantity());
    let read = |text: &str| {
        let one = |d: Dimension| {
            if d == Dimension::TEMPERATURE && !spec.is_absolute() {
                quantity::valued_difference(text, d)
            } else {
                quantity::valued(text, d)
            }
        };
        match &dimensions {
            None => quantity::any(text).map(|q| q.dimension).and_then(one),
            Some(list) => {
                let mut first = None;
                for &d in list {
                    match one(d) {
                        Ok(v) => return Ok(v),
                        Err(fault) => first = first.or(Some(fault)),
                    }
                }
                first.map_or_else(|| one(Dimension::NONE), Err)
            }
        }
    };
    let mut figure = Figure {
        name: name.to_owned(),
        dimension: dimensions
            .as_ref()
            .and_then(|d| d.first().copied())
            .unwrap_or(Dimension::NONE),
        min: None,
        typ: None,
        max: None,
        min_supply: None,
        typ_supply: None,
        max_supply: None,
        points: Vec::new(),
        variable: None,
        choices: Vec::new(),
        role: spec.role,
        shape: None,
        coverage: 2.0,
        method: spec.method,
        reference_temperature_k: None,
        over_k: None,
        conditions: String::new(),
        per: String::new(),
        basis: defaults.basis,
        source: defaults.source.clone(),
        span: item.span,
        text: String::new(),
        alternatives: Vec::new(),
    };
    match &item.content {
        Content::Text(text, _) => match read(text) {
            Ok(v) => {
                figure.dimension = v.dimension;
                figure.text.clone_from(text);
                if let Some(t) = v.tolerance {
                    let (low, high) = t.limits(v.nominal);
                    figure.min = Some(low);
                    figure.max = Some(high);
                }
                // A bare deviation is its limit, a bare level its centre.
                if spec.role == Role::Deviation && v.tolerance.is_none() {
                    figure.max = Some(v.nominal);
                } else {
                    figure.typ = Some(v.nominal);
                }
                Some(figure)
            }
            Err(fault) => {
                faults.inside(item, fault);
                None
            }
        },
        Content::Table(table) => {
            let f = Fields::new(table, format!("figure {name}"), faults);
            let mut parts = Vec::new();
            let mut number = |key: &'static str| {
                let v = f.read(key, "10 kΩ", read)?;
                parts.push(format!("{key} {}", text_of(table, key)));
                Some(v.value)
            };
            let (min, typ, max) = (number("min"), number("typ"), number("max"));
            figure.text = parts.join(", ");
            for v in [&min, &typ, &max].into_iter().flatten() {
                figure.dimension = v.dimension;
            }
            figure.min = min.map(|v| v.nominal);
            figure.typ = typ.map(|v| v.nominal);
            figure.max = max.map(|v| v.nominal);
            let text = |key: &'static str| f.text(key).map(|t| t.value.to_owned());
            figure.conditions = text("conditions").unwrap_or_default();
            if let Some(document) = text("document") {
                figure.source.document = document;
            }
            if let Some(revision) = text("revision") {
                figure.source.revision = revision;
            }
            if let Some(place) = text("place") {
                figure.source.place = place;
            }
            if let Some(b) = f.word("basis", &Basis::ALL) {
                figure.basis = b.value;
            }
            if let Some(r) = f.word("role", &Role::ALL) {
                figure.role = r.value;
            }
            figure.shape = f.word("shape", &ShapeName::ALL).map(|s| s.value);
            figure.method = f
                .word("method", &DriftMethod::ALL)
                .map(|m| m.value)
                .or(spec.method);
            figure.reference_temperature_k = f
                .quantity("reference-temperature", Dimension::TEMPERATURE)
                .map(|q| q.value.value);
            figure.over_k = f
                .range("over", Dimension::TEMPERATURE)
                .map(|r| (r.value.low, r.value.high));
            f.finish();
            let ordered = [figure.min, figure.typ, figure.max]
                .into_iter()
                .flatten()
                .collect::<Vec<_>>();
            if ordered.is_empty() {
                faults.add(
                    item.span,
                    format!("figure `{name}` has no value"),
                    "min, typ or max",
                );
                return None;
            }
            if figure.role != Role::Deviation && ordered.windows(2).any(|w| w[0] > w[1]) {
                faults.add(
                    item.span,
                    format!("figure `{name}` has min, typ and max out of order"),
                    "min ≤ typ ≤ max",
                );
                return None;
            }
            Some(figure)
        }
        other => {
            faults.add(
                item.span,
                format!("figure `{name}` is {}", other.describe()),
                "\"10 kΩ 1 %\" or { typ = …, max = … }",
            );
            None
        }
    }
}

fn text_of(table: &Table, key: &str) -> String {
    match table.get(key).map(|i| &i.content) {
        Some(Content::Text(t, _)) => t.clone(),
        _ => String::new(),
    }
}

fn figures(table: &Table, scope: &Scope<'_>, defaults: &Defaults, faults: &Faults) -> Figures {
    let mut found = Figures::new();
    for (key, item) in &table.entries {
        if let Some(f) = figure_in_place(&key.name, item, scope, defaults, faults) {
            found.insert(key.name.clone(), f);
        }
    }
    found
}

/// Source of what stands in a board file without one.
fn board_defaults() -> Defaults {
    Defaults {
        basis: Basis::Published,
        source: Source {
            document: "the board file".to_owned(),
            ..Source::default()
        },
    }
}

/// A part written in a board file as `[parts.NAME]`, of any kind but those
/// that hold converters.
pub fn part_in_place(name: &str, table: &Table, faults: &Faults) -> Option<Part> {
    let f = Fields::new(table, format!("part {name}"), faults);
    let kind_name = f.required_text("kind", "the kind of part, for example \"sensor\"")?;
    let Some(spec) = kind(kind_name.value) else {
        let known: Vec<&str> = kinds().iter().map(|k| k.name).collect();
        faults.push(
            InputFault::new(
                kind_name.span,
                format!("no kind of part is `{}`", kind_name.value),
                known.join(", "),
            )
            .suggest(nearest_of(kind_name.value, known.iter().copied())),
        );
        return None;
    };
    let law = f.text("law").map(|t| t.value.to_owned());
    let quantity = f.text("quantity");
    let dimension = quantity.and_then(|q| {
        let found = quantity_dimension(q.value);
        if found.is_none() {
            faults.push(
                InputFault::new(
                    q.span,
                    format!("unknown quantity `{}`", q.value),
                    "the name of a quantity",
                )
                .suggest(nearest_of(q.value, quantity_names())),
            );
        }
        found
    });
    let scope = Scope::Part {
        kind: spec,
        quantity: dimension,
        law: law.as_deref(),
    };
    let mut defaults = board_defaults();
    if let Some(b) = f.word("basis", &Basis::ALL) {
        defaults.basis = b.value;
    }
    let figures = f
        .sub("figures")
        .map(|t| figures(t, &scope, &defaults, faults))
        .unwrap_or_default();
    let part = Part {
        figures,
        quantity: quantity.map(|q| q.value.to_owned()),
        title: f
            .text("title")
            .map_or_else(|| name.to_owned(), |t| t.value.to_owned()),
        maker: f
            .text("maker")
            .map(|t| t.value.to_owned())
            .unwrap_or_default(),
        note: f
            .text("note")
            .map(|t| t.value.to_owned())
            .unwrap_or_default(),
        law: law.clone(),
        ..empty(name, spec.name, &defaults, table)
    };
    f.finish();
    Some(part)
}

fn empty(name: &str, kind: &str, defaults: &Defaults, table: &Table) -> Part {
    Part {
        id: name.to_owned(),
        kind: kind.to_owned(),
        title: name.to_owned(),
        maker: String::new(),
        quantity: None,
        law: None,
        options: std::collections::BTreeMap::new(),
        note: String::new(),
        basis: defaults.basis,
        source: defaults.source.clone(),
        figures: Figures::new(),
        measures: Vec::new(),
        converters: Vec::new(),
        pins: Vec::new(),
        buses: Vec::new(),
        addresses: Vec::new(),
        spi_modes: Vec::new(),
        controller: None,
        exposes: Vec::new(),
        rails: Vec::new(),
        origin: Origin::InPlace,
        span: table.span,
    }
}

/// A converter described where it is used: `bits`, `rounding` and figures;
/// keys in `skip` belong to the caller.
pub fn converter_in_place(
    name: &str,
    table: &Table,
    skip: &[&str],
    faults: &Faults,
) -> Option<Part> {
    let own = Table {
        entries: table
            .entries
            .iter()
            .filter(|(k, _)| !skip.contains(&k.name.as_str()))
            .cloned()
            .collect(),
        span: table.span,
    };
    let f = Fields::new(&own, format!("converter {name}"), faults);
    f.required("bits", "a whole number from 1 to 32, or part = \"…\"");
    let bits = f.whole("bits", 1, 32);
    let rounding = f
        .word("rounding", &Rounding::ALL)
        .map_or(Rounding::Floor, |r| r.value);
    let differential = f.truth("differential").is_some_and(|t| t.value);
    let defaults = board_defaults();
    let found = f
        .sub("figures")
        .map(|t| figures(t, &Scope::Converter, &defaults, faults))
        .unwrap_or_default();
    f.finish();
    let unit = ConverterUnit {
        name: "adc".to_owned(),
        bits: u8::try_from(bits?.value).unwrap_or(1),
        rounding,
        differential,
        bipolar: false,
        delta_sigma: false,
        gains: Vec::new(),
        channels: Vec::new(),
        references: vec![ReferenceChoice {
            name: "supply".to_owned(),
            from: Some("analog-supply".to_owned()),
            pin: String::new(),
            figures: Figures::new(),
            span: table.span,
        }],
        ranges: Vec::new(),
        figures: found,
        span: table.span,
    };
    Some(Part {
        converters: vec![unit],
        ..empty(name, "converter", &defaults, table)
    })
}

/// The part with the figures of `over` in place of its own.
pub fn with_figures(part: &Part, over: &Table, faults: &Faults) -> Option<Part> {
    let quantity = part.quantity.as_deref().and_then(quantity_dimension);
    let scope = Scope::part(&part.kind, quantity, part.law.as_deref())?;
    let mut part = part.clone();
    part.figures
        .extend(figures(over, &scope, &board_defaults(), faults));
    Some(part)
}

/// Figures of a sensor written in place, by its law.
pub fn sensor_figures(law: &str, quantity: Dimension, over: &Table, faults: &Faults) -> Figures {
    match Scope::part("sensor", Some(quantity), Some(law)) {
        Some(scope) => figures(over, &scope, &board_defaults(), faults),
        None => Figures::new(),
    }
}
